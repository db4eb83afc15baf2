"""What ``replay`` plays: captures with their own rig and plan, or one receiver's log."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from cabapp.events import Event
from cabapp.hear.lines import LineCounts
from cabapp.plan import Plan, default_plan
from cabapp.record.capture import MAGIC, Capture
from cabapp.replay import log_events
from cabapp.rig import Rig

READ_BYTES = 65536
BAUDS = range(1200, 921_601)  # what a serial wire may be set to
BACK_S = 3600.0  # a receiver that finds its time steps by less


class SourceError(Exception):
    """Files that cannot be played: names them, what was found and the mend."""


@dataclass(frozen=True)
class Source:
    """One thing to play, from its first event; the rest is as in a capture's head."""

    path: Path
    rig: Rig
    plan: Plan
    events: Iterable[Event]
    drivers: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()
    offset_s: float = 0.0
    is_capture: bool = False


def sources(paths: list[Path], rig: Rig | None, baud: int) -> list[Source]:
    """The files as sources, in the order given.

    ``rig`` takes the place of the one in a capture; without it a log is heard by a receiver alone.
    Raises SourceError for files that cannot be read or have no order, CaptureError for a capture
    that is none of this program.
    """
    captures = [_is_capture(path) for path in paths]
    if len(paths) > 1 and not all(captures):
        logs = ", ".join(str(path) for path, capture in zip(paths, captures, strict=True)
                         if not capture)  # fmt: skip
        raise SourceError(
            f"{logs}: logs of two ports without times have no order; replay them one at a time, "
            "or play a capture, which keeps the order"
        )
    return [
        _capture(path, rig) if capture else _log(path, rig or Rig(), baud)
        for path, capture in zip(paths, captures, strict=True)
    ]


def _is_capture(path: Path) -> bool:
    try:
        with open(path, "rb") as file:
            begins = file.read(len(MAGIC))
    except OSError as error:
        raise SourceError(f"{path}: {error.strerror}; name a file that can be read") from None
    if not begins:
        raise SourceError(f"{path}: it is empty, expected a capture or a log; copy it again")
    return begins == MAGIC


def _capture(path: Path, rig: Rig | None) -> Source:
    capture = Capture(path)
    head = capture.head
    return Source(
        path, rig or head.rig, head.plan, capture.events(), head.drivers, head.fields,
        head.offset_s, True,
    )  # fmt: skip


def _log(path: Path, rig: Rig, baud: int) -> Source:
    return Source(path, rig, default_plan(rig), log_events(_blocks(path), rig.receiver.port, baud))


def _blocks(path: Path) -> Iterator[bytes]:
    with open(path, "rb") as file:
        while block := file.read(READ_BYTES):
            yield block


def unheard(path: Path, counts: LineCounts) -> str:
    """What a log held in which no epoch was heard, in one sentence with the mend."""
    return (
        f"{path}: no epoch of a receiver in {counts.bytes} bytes (lines: "
        f"{_lines(counts, 'checked sentences without time or place') or 'none'}), "
        f"expected NMEA 0183 sentences as $GPRMC,...*hh, or a capture; {_mend(path)}"
    )


def unmade(source: Source, counts: Callable[[str], LineCounts]) -> str:
    """What each wire held of which no run can be made, in one sentence with the mend."""
    rig = source.rig
    ports = dict.fromkeys((rig.receiver.port, *(sensor.port for sensor in rig.sensors)))
    wires = (f"{port}: {_lines(counts(port), 'checked sentences') or 'nothing'}" for port in ports)
    return (
        f"{source.path}: no place and no reading of a sensor in it ({', '.join(wires)}), so no run "
        "is made; name one in which the receiver had a fix, or with --rig the rig of these wires"
    )


def _lines(counts: LineCounts, sentences: str) -> str:
    """``60 checked sentences, 2 too long``; "" where no line came."""
    held = (
        (counts.sentences, sentences),
        (counts.bad_checksum, "with a wrong checksum"),
        (counts.no_checksum, "without a checksum"),
        (counts.bad_text, "with bytes that are no text"),
        (counts.other, "of other kinds"),
        (counts.junk, "without a $"),
        (counts.too_long, "too long"),
    )
    return ", ".join(f"{number} {words}" for number, words in held if number)


# What a file that is no log may be by its first bytes, and what to do with it.
_NO_LOGS = (
    (b"\xff\xfe", "it is UTF-16 text, save it as plain text"),
    (b"\xfe\xff", "it is UTF-16 text, save it as plain text"),
    (b"SQLite format 3\0", "it may be a run, which report and export read"),
)


def _mend(path: Path) -> str:
    with open(path, "rb") as file:
        begins = file.read(16)
    found = (mend for first, mend in _NO_LOGS if begins.startswith(first))
    return next(found, "name the receiver's own log")


class Times:
    """Counts the epochs of a replay and sees where their UTC goes back, as in logs joined wrong."""

    def __init__(self) -> None:
        self.epochs = 0
        self.back = ""
        self._last: datetime | None = None

    def see(self, line: Mapping[str, object]) -> None:
        """Take a line of ``replay.told``."""
        if line["kind"] != "epoch":
            return
        self.epochs += 1
        if line["utc"] is None:
            return
        now = datetime.fromisoformat(str(line["utc"]))
        if self._last and (self._last - now).total_seconds() > BACK_S and not self.back:
            self.back = (
                f"its times go back from {self._last:%Y-%m-%d %H:%M} to {now:%Y-%m-%d %H:%M} UTC, "
                "expected forward; if it was joined of several logs, join them oldest first"
            )
        self._last = now

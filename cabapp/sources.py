"""What ``replay`` plays: captures with their own rig and plan, or one receiver's log."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from cabapp.events import Event
from cabapp.plan import Plan, default_plan
from cabapp.record.capture import MAGIC, Capture
from cabapp.replay import log_events
from cabapp.rig import Rig

READ_BYTES = 65536


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
        path, rig or head.rig, head.plan, capture.events(), head.drivers, head.fields, head.offset_s
    )


def _log(path: Path, rig: Rig, baud: int) -> Source:
    return Source(path, rig, default_plan(rig), log_events(_blocks(path), rig.receiver.port, baud))


def _blocks(path: Path) -> Iterator[bytes]:
    with open(path, "rb") as file:
        while block := file.read(READ_BYTES):
            yield block

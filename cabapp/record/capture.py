"""The capture: every event handed to the cab, in order, so that a shift can be played again.

Layout of ``NAME.cap``: the line ``cabapp-capture 1``, then one zlib stream of lines of JSON. The
first is the head: what the cab was made from, and its ``offset_s`` in the shift. Each other one is
``[kind, event]`` with the kinds of ``events.EVENT_TYPES``, a tick shortened to its number. A last
line ``["stopped", why]`` says that it was given up before the shift ended. The stream is pushed out
each second (sync flush), so a cut loses at most that second and the reader takes every whole line
before the cut.
"""

import json
import math
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from cabapp.codec import from_plain, to_plain
from cabapp.events import EVENT_TYPES, Bytes, Event, Tick
from cabapp.plan import Plan
from cabapp.record.disk import Disk
from cabapp.rig import Rig

VERSION = 1
MAGIC = b"cabapp-capture "
READ_BYTES = 65_536
LONGEST_LINE = 256 * 1024 * 1024  # a resumed shift's rows are one line; more is no capture of ours

_KIND_OF = {kind: name for name, kind in EVENT_TYPES.items()}


class CaptureError(Exception):
    """A capture that cannot be read: names the file, what was found and the mend."""


@dataclass(frozen=True)
class CaptureHead:
    """What the cab was made from, and where in its shift this capture begins.

    A cab counts ``t_s`` from its own first event. The run adds ``offset_s`` to that: 0.0 but where
    the engine was started again in the middle of a shift.
    """

    rig: Rig
    plan: Plan
    rig_text: str = ""
    drivers: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()
    offset_s: float = 0.0


class CaptureFile:
    """A capture being written; every method may raise OSError."""

    def __init__(self, path: Path, head: CaptureHead, disk: Disk) -> None:
        self.path = path
        self._file = disk.append(path)
        self._squeeze = zlib.compressobj(6)
        self._waiting = bytearray()
        self._file.write(MAGIC + str(VERSION).encode() + b"\n")
        self._add(to_plain(head))

    def add(self, event: Event) -> None:
        """Take an event; it reaches the disk with the next flush."""
        if isinstance(event, Tick):
            self._add(event.now)
        elif isinstance(event, Bytes):  # by far the most, and plain already
            self._add(["bytes", event.now, event.port, event.data.decode("latin-1")])
        else:
            self._add([_KIND_OF[type(event)], to_plain(event)])

    def flush(self) -> None:
        """Push out all that was added: from here on a kill loses none of it."""
        self._waiting += self._squeeze.flush(zlib.Z_SYNC_FLUSH)
        self._push()

    def end(self, why: str = "") -> None:
        """Close it; ``why`` says what stopped it early."""
        if why:
            self._add(["stopped", why])
        self._waiting += self._squeeze.flush(zlib.Z_FINISH)
        self._push()
        self._file.close()

    def leave(self) -> None:
        """Let go of a capture that the storage no longer takes."""
        self._file.close()

    def _add(self, plain: object) -> None:
        line = json.dumps(plain, allow_nan=False, separators=(",", ":"))
        self._waiting += self._squeeze.compress(line.encode() + b"\n")

    def _push(self) -> None:
        while self._waiting:
            written = self._file.write(self._waiting)
            del self._waiting[: written or 0]


class Capture:
    """A capture to play: its head, then ``events()`` once.

    ``torn`` is True after the events if the file was cut; ``stopped`` says why it was given up.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.torn = False
        self.stopped = ""
        self._lines = self._read_lines()
        first = next(self._lines, None)
        if first is None:
            raise CaptureError(f"{path}: nothing but its first line survived; there is no shift")
        try:
            self.head: CaptureHead = from_plain(CaptureHead, json.loads(first))
        except (KeyError, TypeError, ValueError, AttributeError, RecursionError):
            raise CaptureError(
                f"{path}: its head is none of this program; use another copy"
            ) from None

    def events(self) -> Iterator[Event]:
        """Every event before the end or the cut, in order."""
        for line in self._lines:
            try:
                if not line.startswith(b"["):
                    yield _tick(line)
                    continue
                plain = json.loads(line)
                if plain[0] == "stopped":
                    self.stopped = str(plain[1])
                else:
                    yield _event(plain)
            except (KeyError, TypeError, ValueError, IndexError, AttributeError, RecursionError):
                shown = line[:40].decode("ascii", "replace")
                raise CaptureError(
                    f"{self.path}: the line {shown!r} is no event of this program; use another copy"
                ) from None

    def _read_lines(self) -> Iterator[bytes]:
        spread = zlib.decompressobj()
        rest = b""
        with self._opened() as file:
            self._check_first(file.readline(64))
            while not spread.eof:
                packed = spread.unconsumed_tail or file.read(READ_BYTES)
                if not packed:
                    self.torn = True
                    break
                try:
                    rest += spread.decompress(packed, 1 << 20)
                except zlib.error:
                    self.torn = True
                    break
                *lines, rest = rest.split(b"\n")
                yield from lines
                if len(rest) > LONGEST_LINE:
                    raise CaptureError(f"{self.path}: a line without end; it is no capture")

    def _opened(self) -> BinaryIO:
        try:
            return open(self.path, "rb")
        except OSError as error:
            raise CaptureError(
                f"{self.path}: cannot be read ({error.strerror}); name a file that you may read"
            ) from None

    def _check_first(self, line: bytes) -> None:
        if not line.startswith(MAGIC):
            raise CaptureError(f"{self.path}: not a capture; expected a .cap file of this program")
        version = line[len(MAGIC) :].strip().decode("ascii", "replace")
        if version != str(VERSION):
            raise CaptureError(
                f"{self.path}: capture of version {version}, this program reads {VERSION}; "
                "play it with the program that wrote it"
            )


def _tick(line: bytes) -> Tick:
    now = float(line)
    if not math.isfinite(now):
        raise ValueError(f"found {now}, expected seconds")
    return Tick(now)


def _event(plain: list[Any]) -> Event:
    """An event from its line; raises what from_plain raises if it is none."""
    if plain[0] == "bytes":
        _, now, port, data = plain
        return Bytes(float(now), str(port), data.encode("latin-1"))
    event: Event = from_plain(EVENT_TYPES[plain[0]], plain[1])
    return event

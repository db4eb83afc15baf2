"""What the processes say to one another: one JSON object a line over local pipes.

::

    engine  -> screen    snapshot, alive, samples, ports
    screen  -> engine    tap, plan, samples_wanted, rig_written, alive
    engine  -> speaker   sound, alive, loudness
    speaker -> engine    voice
    each    -> keeper    alive

A line is ``{"type": ..., "sent": monotonic seconds, "body": {...}}``. ``sent`` is the machine's own
monotonic clock, never the scaled one of a demo, so a reader can tell what is stale. The keeper
makes the pipes once and holds both ends, so either side may die and come back on the same pipe; a
reader that joins in the middle of a line drops that line, and a writer begins with a line feed.

What is dropped when a reader does not read is written in TABLE: of a NEWEST kind only the last
one waits, of a QUEUE kind the oldest goes first once ROOM are waiting. Writing never blocks the
caller.
"""

import json
import os
import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from typing import Any

from cabapp.codec import from_plain, to_plain
from cabapp.events import PortCondition, TapKind
from cabapp.outcome import Snapshot, Sound
from cabapp.plan import Plan
from cabapp.readings import Sample

BEAT_S = 0.25  # every process says it is alive this often
ENGINE_GONE_SCREEN_S = 1.5  # a screen that heard nothing for this long shows no number any more
ENGINE_GONE_SPEAKER_S = 2.0  # a speaker that heard nothing for this long sounds by itself
ROOM = 64
LONGEST_LINE = 1 << 20


class Part(Enum):
    """The processes of a cab."""

    KEEPER = "keeper"
    ENGINE = "engine"
    SCREEN = "screen"
    SPEAKER = "speaker"


@dataclass(frozen=True, slots=True)
class Alive:
    """A process's own loop turns. ``drawn`` is the number of the snapshot a screen shows."""

    part: Part
    drawn: int = 0


@dataclass(frozen=True, slots=True)
class TapMade:
    """A tap as the screen saw it; the engine gives it its time."""

    kind: TapKind
    value: str | float | None = None


@dataclass(frozen=True, slots=True)
class PlanMade:
    """A plan to drive by from now on."""

    plan: Plan


@dataclass(frozen=True, slots=True)
class SamplesWanted:
    """An installer's page is open and wants what the wires say, or is closed again."""

    on: bool


@dataclass(frozen=True, slots=True)
class Samples:
    """What the wires said since the last of these, uncalibrated, at most five times a second."""

    samples: tuple[Sample, ...]


@dataclass(frozen=True, slots=True)
class PortLine:
    """How one port is, for an installer's page. ``detail`` is its device, or what it needs."""

    name: str
    condition: PortCondition
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Ports:
    """All ports of the rig, sent at each change and when a page opens."""

    ports: tuple[PortLine, ...]


@dataclass(frozen=True, slots=True)
class RigWritten:
    """Fit-up has written the rig file: read it again and go on with the same shift."""


@dataclass(frozen=True, slots=True)
class Loudness:
    """Shares of full scale as signed for in the running cab: first sound, and stepped up."""

    first: float = 0.6
    stepped: float = 1.0


@dataclass(frozen=True, slots=True)
class Voice:
    """Whether sound comes out, and the number of the last sound that was begun."""

    well: bool
    cause: str = ""
    played: int = 0


class Keep(Enum):
    """What waits for a slow reader."""

    NEWEST = "newest"
    QUEUE = "queue"


@dataclass(frozen=True)
class Kind:
    """A row of the table: the type word on the wire, its body and what waits."""

    word: str
    body: type[Any]
    keep: Keep


TABLE: tuple[Kind, ...] = (
    Kind("snapshot", Snapshot, Keep.NEWEST),
    Kind("alive", Alive, Keep.NEWEST),
    Kind("samples", Samples, Keep.QUEUE),
    Kind("samples_wanted", SamplesWanted, Keep.NEWEST),
    Kind("ports", Ports, Keep.NEWEST),
    Kind("tap", TapMade, Keep.QUEUE),
    Kind("plan", PlanMade, Keep.QUEUE),
    Kind("rig_written", RigWritten, Keep.NEWEST),
    Kind("sound", Sound, Keep.QUEUE),
    Kind("loudness", Loudness, Keep.NEWEST),
    Kind("voice", Voice, Keep.NEWEST),
)
BY_WORD = {kind.word: kind for kind in TABLE}
BY_BODY = {kind.body: kind for kind in TABLE}

Message = (
    Snapshot
    | Alive
    | Samples
    | SamplesWanted
    | Ports
    | TapMade
    | PlanMade
    | RigWritten
    | Sound
    | Loudness
    | Voice
)


@dataclass(frozen=True, slots=True)
class Received:
    """A message and when it was sent, on the machine's monotonic clock."""

    message: Message
    sent: float


def encode(message: Message, sent: float) -> bytes:
    """One line with its line feed."""
    word = BY_BODY[type(message)].word
    line = {"type": word, "sent": sent, "body": to_plain(message)}
    return json.dumps(line, allow_nan=False, separators=(",", ":")).encode() + b"\n"


def decode(line: bytes) -> Received | None:
    """The message of one line, or None for a torn line or an unknown type."""
    try:
        found = json.loads(line)
        kind = BY_WORD[found["type"]]
        return Received(from_plain(kind.body, found["body"]), float(found["sent"]))
    except (ValueError, TypeError, KeyError):
        return None


class Waiting:
    """The messages that wait for one reader, bounded as TABLE says. Pure; no lock of its own."""

    def __init__(self) -> None:
        self._queue: deque[Message] = deque()
        self._newest: dict[type, Message] = {}
        self.dropped = 0

    def put(self, message: Message) -> None:
        """Add a message; drops the oldest of a full queue, replaces the last of a newest kind."""
        if BY_BODY[type(message)].keep is Keep.NEWEST:
            self._newest[type(message)] = message
            return
        if len(self._queue) >= ROOM:
            self._queue.popleft()
            self.dropped += 1
        self._queue.append(message)

    def take(self) -> Message | None:
        """The next message: queued ones first, in order; None when nothing waits."""
        if self._queue:
            return self._queue.popleft()
        if self._newest:
            return self._newest.pop(next(iter(self._newest)))
        return None


class Outbox:
    """Writes messages to a pipe from its own thread; ``put`` never blocks and never raises."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._waiting = Waiting()
        self._lock = threading.Condition()
        threading.Thread(target=self._run, name=f"outbox-{fd}", daemon=True).start()

    def put(self, message: Message) -> None:
        """Send a message as soon as the reader reads."""
        with self._lock:
            self._waiting.put(message)
            self._lock.notify()

    def _next(self) -> Message:
        with self._lock:
            while (message := self._waiting.take()) is None:
                self._lock.wait()
            return message

    def _run(self) -> None:
        self._write(b"\n")  # ends a line that a dead writer before us left torn
        while True:
            self._write(encode(self._next(), time.monotonic()))

    def _write(self, data: bytes) -> None:
        while data:
            try:
                data = data[os.write(self._fd, data) :]
            except OSError:  # nobody holds the other end: the line is lost, the process is not
                time.sleep(BEAT_S)
                return


class Inbox:
    """Reads messages from a pipe in its own thread and hands each to ``take``."""

    def __init__(self, fd: int, take: Callable[[Received], None]) -> None:
        self._fd = fd
        self._take = take
        threading.Thread(target=self._run, name=f"inbox-{fd}", daemon=True).start()

    def _run(self) -> None:
        splitter = LineSplitter()
        while data := os.read(self._fd, 1 << 16):
            for line in splitter.feed(data):
                received = decode(line)
                if received is not None:
                    self._take(received)


class LineSplitter:
    """Cuts a stream into lines; a line longer than LONGEST_LINE is thrown away whole."""

    def __init__(self) -> None:
        self._rest = b""
        self._skipping = False

    def feed(self, data: bytes) -> list[bytes]:
        """The whole lines ending within ``data``, without line feeds; empty ones are left out."""
        *lines, rest = (self._rest + data).split(b"\n")
        if self._skipping and lines:
            lines, self._skipping = lines[1:], False
        if self._skipping or len(rest) > LONGEST_LINE:
            rest, self._skipping = b"", True
        self._rest = rest
        return [line for line in lines if line]


class Freshness:
    """How long ago something was last heard. Starts as heard, so that a start gets its grace."""

    def __init__(self, now: float) -> None:
        self.heard_at = now

    def heard(self, now: float) -> None:
        """Something came."""
        self.heard_at = max(self.heard_at, now)

    def silent_s(self, now: float) -> float:
        """Seconds since something came."""
        return now - self.heard_at

"""Pipes between the processes: writing that never blocks the caller, reading in its own thread.

Every process is started by the keeper as ``python -m MODULE --home DIR --wire NAME:READ:WRITE ...``
with one ``--wire`` for each it talks to, and builds its ends with ``Links``.
"""

import argparse
import os
import threading
import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cabapp.engine.wire import (
    AWAY_S,
    BEAT_S,
    BY_BODY,
    ROOM,
    Alive,
    Keep,
    Leaving,
    Message,
    Part,
    Received,
    decode,
    encode,
)

LONGEST_LINE = 1 << 20
KEEPER_MARK = "keeper"  # the file in the state folder that names the keeper in charge


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


@dataclass(frozen=True)
class Wires:
    """What the keeper told a process: its state folder and its pipe ends, by whom they lead to."""

    home: Path
    ends: dict[Part, tuple[int, int]]
    keeper: str = ""  # the mark of the keeper that started this process
    speed: float = 1.0  # of a demo's scaled clock

    def words(self) -> list[str]:
        """The same as command words, for the keeper."""
        words = ["--home", str(self.home), "--speed", f"{self.speed:g}", "--keeper", self.keeper]
        for part, (read, write) in self.ends.items():
            words += ["--wire", f"{part.value}:{read}:{write}"]
        return words

    def fds(self) -> tuple[int, ...]:
        """The file descriptors a child has to inherit."""
        return tuple(fd for pair in self.ends.values() for fd in pair if fd >= 0)

    def replaced(self) -> bool:
        """True once another keeper has taken over this state folder: then this process leaves.

        A process whose keeper was killed goes on alone: nothing else may end a shift.
        """
        try:
            return (self.home / KEEPER_MARK).read_text() != self.keeper
        except OSError:
            return False


def wires_of(words: Sequence[str]) -> Wires:
    """Read the words that the keeper started a process with."""
    parser = argparse.ArgumentParser(prog="cabapp process", description="Started by cabapp drive.")
    parser.add_argument("--home", type=Path, required=True)
    parser.add_argument("--keeper", default="")
    parser.add_argument("--speed", type=float, default=1.0)
    parser.add_argument("--wire", action="append", default=[], metavar="NAME:READ:WRITE")
    found = parser.parse_args(words)
    ends = {}
    for word in found.wire:
        name, read, write = word.split(":")
        ends[Part(name)] = (int(read), int(write))
    return Wires(found.home, ends, found.keeper, found.speed)


class Links:
    """The ends a screen or a speaker holds: to and from the engine, and to the keeper.

    ``take`` is called in the reading thread with every message of the engine but Alive. ``beat`` is
    called from the process's own loop, so that it stops when that loop hangs; once it answers False
    another keeper is in charge and the process has to leave.
    """

    def __init__(self, wires: Wires, part: Part, take: Callable[[Received], None]) -> None:
        read, write = wires.ends[Part.ENGINE]
        self._wires = wires
        self._part = part
        self._take = take
        self._engine = Outbox(write)
        self._keeper = Outbox(wires.ends[Part.KEEPER][1])
        self._heard = Freshness(time.monotonic())
        self._away_until = float("-inf")
        self.engine_heard = False  # at least once since the start of this process
        Inbox(read, self._receive)

    def _receive(self, received: Received) -> None:
        if received.sent > self._heard.heard_at - BEAT_S:
            self._heard.heard(received.sent)
            self.engine_heard = True
            leaves = isinstance(received.message, Leaving)
            self._away_until = received.sent + AWAY_S if leaves else float("-inf")
        if not isinstance(received.message, Alive):
            self._take(received)

    def send(self, message: Message) -> None:
        """Tell the engine something."""
        self._engine.put(message)

    def beat(self, drawn: int = 0) -> bool:
        """Say that this process's loop turns; call it every BEAT_S. False: leave."""
        alive = Alive(self._part, drawn)
        self._engine.put(alive)
        self._keeper.put(alive)
        return not self._wires.replaced()

    def engine_silent_s(self) -> float:
        """Seconds since the engine last said anything; none while it is away on purpose."""
        now = time.monotonic()
        return 0.0 if now < self._away_until else self._heard.silent_s(now)

"""The keeper: a small parent that starts engine, screen and speaker and starts each again.

Who survives whom: the three talk over pipes that the keeper made and holds open, so each may die,
hang or be stopped and its successor goes on with the same pipes while the other two never notice
more than silence. If the keeper itself is killed the three go on alone, without restarts, until
another keeper takes the state folder over. The service manager restarts the keeper; it is fed only
while engine and screen are both alive.
"""

import logging
import os
import select
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from types import FrameType

from cabapp.engine.pipes import KEEPER_MARK, Freshness, LineSplitter, Wires
from cabapp.engine.service import notify
from cabapp.engine.wire import Alive, Part, decode

LOOK_S = 0.05
# One that had been well is started again at once; one that never got as far as its first beat rests
# twice as long each time.
REST_S = 0.1
REST_MOST_S = 5.0
FEED_S = 1.0  # the service manager hears this often; its limit is many times that
LATE_S = 1.0
END_S = 3.0  # what a process gets to end by itself

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Role:
    """How one process is started and when it counts as hung.

    ``silent_s`` is the longest silence of one that was alive, ``start_s`` the longest start.
    """

    part: Part
    module: str
    silent_s: float
    start_s: float
    links: tuple[Part, ...]


# Screen: a hang must be over in 3 s, of which a start takes about one.
ROLES: tuple[Role, ...] = (
    Role(Part.ENGINE, "cabapp.engine.main", 2.0, 10.0, (Part.SCREEN, Part.SPEAKER)),
    Role(Part.SCREEN, "cabapp.screens.app", 1.25, 20.0, (Part.ENGINE,)),
    Role(Part.SPEAKER, "cabapp.sound.speaker", 1.25, 10.0, (Part.ENGINE,)),
)


def make_pipes() -> dict[tuple[Part, Part], tuple[int, int]]:
    """(read, write) of the pipe from one part to another, for every pair that talks."""
    pairs = [(role.part, other) for role in ROLES for other in role.links]
    pairs += [(role.part, Part.KEEPER) for role in ROLES]
    return {pair: os.pipe() for pair in pairs}


def waited_s(pid: int) -> float:
    """How long a process's own loop has stood ready and got no core, since its start.

    The kernel's count (scheduler statistics, /proc/PID/schedstat, nanoseconds); 0 without one.
    """
    try:
        return int(Path(f"/proc/{pid}/schedstat").read_text().split()[1]) / 1e9
    except (OSError, IndexError, ValueError):
        return 0.0


@dataclass
class Kept:
    """One process under watch.

    What a busy machine takes from it is no silence of its own: to kill it for that would only make
    the machine busier.
    """

    role: Role
    words: list[str]
    fds: tuple[int, ...]
    waited: Callable[[int], float] = waited_s
    process: subprocess.Popen[bytes] | None = None
    waited_then_s: float = 0.0  # when it was last heard
    fresh: Freshness = field(default_factory=lambda: Freshness(0.0))
    was_alive: bool = False
    # Killed and not gone yet, for want of a core or of its disk: it runs no more.
    dying: list[subprocess.Popen[bytes]] = field(default_factory=list)
    failures: int = 0
    start_at: float = 0.0
    starts: int = 0

    def start(self, now: float) -> None:
        """Start the process and give it its grace."""
        self.process = subprocess.Popen(self.words, pass_fds=self.fds)
        self.fresh = Freshness(now)
        self.waited_then_s = 0.0
        self.was_alive = False
        self.starts += 1
        log.info("%s started as process %d", self.role.part.value, self.process.pid)

    def beat(self, now: float) -> None:
        """It said that its loop turns."""
        self.fresh.heard(now)
        if self.process is not None:
            self.waited_then_s = self.waited(self.process.pid)
        self.was_alive = True
        self.failures = 0

    def well(self, now: float) -> bool:
        """Whether it is there and its loop has turned lately."""
        return self.process is not None and self.was_alive and not self._hung(self.process.pid, now)

    def _hung(self, pid: int, now: float) -> bool:
        allowed = self.role.silent_s if self.was_alive else self.role.start_s
        silent_s = self.fresh.silent_s(now)
        return silent_s > allowed and silent_s - self._starved_s(pid) > allowed

    def _starved_s(self, pid: int) -> float:
        return max(0.0, self.waited(pid) - self.waited_then_s)

    def look(self, now: float) -> None:
        """Kill it if it hangs, note its end, start it again when its rest is over."""
        if self.process is None:
            if now >= self.start_at:
                self.start(now)
            return
        self.dying = [process for process in self.dying if process.poll() is None]
        if self.process.poll() is not None:
            self._ended(now, f"ended with {self.process.returncode}")
        elif self._hung(self.process.pid, now):
            self.process.kill()
            self.dying.append(self.process)
            self._ended(now, "hangs: killed")

    def _ended(self, now: float, how: str) -> None:
        log.warning("%s %s", self.role.part.value, how)
        self.process = None
        if self.was_alive:
            self.start(now)
            return
        self.failures += 1
        self.start_at = now + min(REST_MOST_S, REST_S * 2**self.failures)


class Keeper:
    """Starts and watches the three. ``modules`` may name another module for a part."""

    def __init__(
        self,
        home: Path,
        speed: float = 1.0,
        modules: dict[Part, str] | None = None,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._home = home
        self._clock = clock
        self._pipes = make_pipes()
        self._splitter = {role.part: LineSplitter() for role in ROLES}
        self._beats = {self._pipes[role.part, Part.KEEPER][0]: role.part for role in ROLES}
        self._ending = False
        self._fed_at = float("-inf")
        self._ready = False
        self._looked_at = float("-inf")
        self.mark = f"{os.getpid()} {clock():.3f}"
        self.kept = {
            role.part: self._kept(role, (modules or {}).get(role.part, role.module), speed)
            for role in ROLES
        }
        for read in self._beats:
            os.set_blocking(read, False)

    def _kept(self, role: Role, module: str, speed: float) -> Kept:
        pipes = self._pipes
        ends = {
            other: (pipes[other, role.part][0], pipes[role.part, other][1]) for other in role.links
        }
        ends[Part.KEEPER] = (-1, self._pipes[role.part, Part.KEEPER][1])
        wires = Wires(self._home, ends, self.mark, speed)
        return Kept(role, [sys.executable, "-m", module, *wires.words()], wires.fds())

    def run(self, over: Callable[[], bool] = lambda: False) -> int:
        """Keep the three until told to end or ``over``; 0 after a clean end."""
        (self._home / KEEPER_MARK).write_text(self.mark)
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._told_to_end)
        while not (self._ending or over()):
            ready, _, _ = select.select(list(self._beats), [], [], LOOK_S)
            for read in ready:
                self._hear(read)
            self.look(self._clock())
        notify("STOPPING=1")
        self._end_all()
        return 0

    def _told_to_end(self, number: int, frame: FrameType | None) -> None:
        self._ending = True

    def look(self, now: float) -> None:
        """One round over all, and a word to the service manager if engine and screen are well.

        A keeper that was itself stopped has not listened: it forgives the silence it missed.
        """
        if now - self._looked_at > LATE_S:
            for kept in self.kept.values():
                kept.fresh.heard(now)
        self._looked_at = now
        for kept in self.kept.values():
            kept.look(now)
        both = all(self.kept[part].well(now) for part in (Part.ENGINE, Part.SCREEN))
        if both and now - self._fed_at >= FEED_S:
            self._fed_at = now
            notify("WATCHDOG=1" if self._ready else "READY=1")
            self._ready = True

    def _hear(self, read: int) -> None:
        part = self._beats[read]
        for line in self._splitter[part].feed(os.read(read, 1 << 16)):
            received = decode(line)
            if received and isinstance(received.message, Alive):
                self.kept[part].beat(received.sent)

    def _end_all(self) -> None:
        """The speaker first, so that it does not miss the engine; the engine closes its file."""
        for part in (Part.SPEAKER, Part.SCREEN, Part.ENGINE):
            process = self.kept[part].process
            if process is not None:
                process.terminate()
        until = self._clock() + END_S
        for kept in self.kept.values():
            if kept.process is None:
                continue
            try:
                kept.process.wait(max(0.0, until - self._clock()))
            except subprocess.TimeoutExpired:
                kept.process.kill()

"""A whole cab under test, seen from outside: its processes, its wires, its ear and its record."""

import contextlib
import json
import os
import select
import signal
import subprocess
import sys
import threading
import time
import tty
from collections.abc import Callable, Iterator
from functools import reduce
from pathlib import Path
from typing import Any

import numpy as np

from cabapp.engine.supervise import waited_s

RATE_HZ = 44_100
FRAME_BYTES = 4  # the mixer opens the output in 16-bit stereo
ACT_PULSES_S = (0.12,) * 5
# How long a test waits before it gives up. What is promised to the driver is judged by the stamps
# of the processes themselves, so that a test that gets no core for a while finds nothing late.
PATIENCE_S = 40.0
FIRST = "-10"  # as the service's CPUWeight: the cab's own processes before anybody else's work

Fits = Callable[[dict[str, Any]], bool]


def until(true: Callable[[], object], within_s: float, what: str) -> float:
    """Wait for something and say how long it took; AssertionError naming it when it never came."""
    begun = time.monotonic()
    while not true():
        took = time.monotonic() - begun
        assert took < within_s, f"{what}: not within {within_s} s"
        time.sleep(0.02)
    return time.monotonic() - begun


def found(get: Callable[[], float | None], what: str) -> float:
    """Wait for a stamp and return it."""
    stamps: list[float] = []

    def there() -> bool:
        stamp = get()
        stamps.extend(() if stamp is None else (stamp,))
        return bool(stamps)

    until(there, PATIENCE_S, what)
    return stamps[0]


def go_first(pid: int, how: str = FIRST) -> None:
    """Let a session's processes go before others on a busy machine, where root allows it: each
    session is a scheduling group of its own (sched(7), "The autogroup feature")."""
    with contextlib.suppress(OSError):
        Path(f"/proc/{pid}/autogroup").write_text(how)


def started_at(pid: int) -> float:
    """When a process was started, on the monotonic clock (proc_pid_stat(5), field 22)."""
    with contextlib.suppress(OSError):
        fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
        return int(fields[19]) / os.sysconf("SC_CLK_TCK")
    return float("-inf")


def processes(module: str, home: Path) -> list[int]:
    """Running processes of a module on a state folder, found from outside."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with contextlib.suppress(OSError):
                words = (entry / "cmdline").read_bytes().decode().split("\0")
                if module in words and str(home) in words:
                    found.append(int(entry.name))
    return found


def sentence(body: str) -> bytes:
    """A checked NMEA sentence."""
    return f"${body}*{reduce(lambda a, b: a ^ b, body.encode()):02X}\r\n".encode()


class Wire:
    """A pseudo-terminal behind a name that stays, as by-id names do; speaks ``hz`` a second."""

    def __init__(self, link: Path, speak: Callable[[int], bytes], hz: float = 10.0) -> None:
        self._link, self._speak, self._hz = link, speak, hz
        self._master: int | None = None
        self.device = ""
        self._count = 0
        self._going = True
        self.plug_in()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def plug_in(self) -> None:
        """A new pseudo-terminal, under another device name than the last."""
        refused: list[int] = []
        master, slave = os.openpty()
        while os.ttyname(slave) == self.device:  # the kernel gives the number out again at once
            refused += (master, slave)
            master, slave = os.openpty()
        tty.setraw(slave)
        os.set_blocking(master, False)
        fresh = self._link.with_suffix(".new")
        fresh.unlink(missing_ok=True)
        self.device = os.ttyname(slave)
        fresh.symlink_to(self.device)
        os.replace(fresh, self._link)
        for fd in (slave, *refused):
            os.close(fd)
        self._master = master

    def pull(self) -> None:
        """Cut it: the reader gets what a pulled plug gives."""
        master, self._master = self._master, None
        self._link.unlink(missing_ok=True)
        if master is not None:
            os.close(master)

    def send(self, data: bytes) -> float:
        """Write something between what is spoken anyway; returns when."""
        assert self._master is not None
        os.write(self._master, data)
        return time.monotonic()

    def _run(self) -> None:
        due = time.monotonic()
        while self._going:
            due = max(due + 1 / self._hz, time.monotonic() - 1.0)
            time.sleep(max(0.0, due - time.monotonic()))
            self._count += 1
            master = self._master
            if master is not None:
                with contextlib.suppress(OSError):
                    os.write(master, self._speak(self._count))

    def stop(self) -> None:
        """Speak no more and close everything."""
        self._going = False
        self._thread.join()
        self.pull()


class Ear:
    """Reads what the sound driver is handed, through a named pipe that stands for the device."""

    def __init__(self, fifo: Path, there: bool = True) -> None:
        self._fifo = fifo
        self._chunks: list[tuple[float, bytes]] = []
        self._listening = False
        self._taking = True
        self._thread = threading.Thread()
        if there:
            self.plug_in()

    @property
    def there(self) -> bool:
        """Whether the device is plugged in."""
        return self._listening

    def plug_in(self) -> None:
        """The device appears."""
        self._fifo.parent.mkdir()
        os.mkfifo(self._fifo)
        fd = os.open(self._fifo, os.O_RDWR)
        self._listening = True
        self._thread = threading.Thread(target=self._run, args=(fd,), daemon=True)
        self._thread.start()

    def pull(self) -> None:
        """The device goes: writing to it fails from now on, and so does opening it."""
        if self._listening:
            self._fifo.unlink()
            self._fifo.parent.rmdir()  # without its folder the driver cannot even make a file
            self._listening = False
            self._thread.join()

    def stall(self, for_s: float) -> None:
        """The device stays, and takes no frames for a while."""
        self._taking = False
        time.sleep(for_s)
        self._taking = True

    def _run(self, fd: int) -> None:
        while self._listening:
            ready, _, _ = select.select([fd], [], [], 0.1)
            if ready and self._taking:
                data = os.read(fd, 1 << 14)
                self._chunks.append((time.monotonic(), data))
            elif ready:
                time.sleep(0.02)
        os.close(fd)

    def pulses(self, since: float) -> list[tuple[float, float]]:
        """(when its first frame was handed over, length) of each pulse since a time."""
        chunks = [chunk for chunk in self._chunks if chunk[0] >= since]
        if not chunks:
            return []
        ends = np.cumsum([len(data) // FRAME_BYTES for _, data in chunks])
        frames = np.frombuffer(b"".join(data for _, data in chunks), "<i2")[::2] / 32768.0
        width = RATE_HZ // 250
        level = np.sqrt(np.convolve(frames**2, np.ones(width) / width, mode="same"))
        loud = np.concatenate(([False], level > max(0.05, level.max() / 2), [False]))
        edges = np.flatnonzero(np.diff(loud.astype(int))).reshape(-1, 2)
        return [
            (chunks[int(np.searchsorted(ends, begin, side="right"))][0], (end - begin) / RATE_HZ)
            for begin, end in edges
        ]

    def heard(self, pattern: tuple[float, ...], since: float) -> float | None:
        """When a whole pattern began, or None: its pulses' lengths within a twentieth."""
        found = self.pulses(since)
        for first in range(len(found) - len(pattern) + 1):
            run = found[first : first + len(pattern)]
            if all(abs(p[1] / want - 1) < 0.05 for p, want in zip(run, pattern, strict=True)):
                return run[0][0]
        return None

    def wait_for(self, pattern: tuple[float, ...], since: float) -> float:
        """When a pattern began, once it is whole."""
        return found(lambda: self.heard(pattern, since), "the whole pattern")


class Cabin:
    """Keeper, engine, screen and speaker as real processes on two wires."""

    def __init__(self, home: Path, modules: dict[str, str], ear: bool = True) -> None:
        self.home = home
        self.modules = modules
        self.speed_kn = 5.0
        self.gnss = Wire(home / "gnss", self._receiver)
        self.node = Wire(home / "node", self._node)
        self.ear = Ear(home / "sound" / "pcm", ear)
        self._read: dict[str, tuple[int, list[dict[str, Any]]]] = {}
        self.keeper = self.start_keeper()

    def start_keeper(self) -> subprocess.Popen[bytes]:
        """What a service manager does, at first and after an end."""
        home = self.home
        words = [f"{name}={module}" for name, module in self.modules.items()]
        environment = {
            **os.environ,
            "SDL_VIDEODRIVER": "offscreen",
            "SDL_AUDIODRIVER": "disk",
            "SDL_DISKAUDIOFILE": str(home / "sound" / "pcm"),
        }
        with (home / "stderr").open("ab") as errors:
            return subprocess.Popen(
                [sys.executable, "-m", "tests.faults.keeper", str(home), *words],
                env=environment, stdout=subprocess.DEVNULL, stderr=errors, start_new_session=True,
            )  # fmt: skip

    def _receiver(self, count: int) -> bytes:
        second = count // 10
        clock = f"{second // 3600 % 24:02d}{second // 60 % 60:02d}{second % 60:02d}.{count % 10}0"
        return sentence(f"GPRMC,{clock},A,5150.00,N,01030.00,E,{self.speed_kn:.2f},90.0,150626,,,A")

    def _node(self, count: int) -> bytes:
        return sentence(f"YXXDR,D,0.145,M,DEPTH1,G,{count % 10000},,SEQ")

    def pids(self, part: str) -> list[int]:
        """Processes of a part that belong to this cab."""
        return processes(self.modules[part], self.home)

    def pid(self, part: str) -> int:
        """The one process of a part."""
        until(lambda: self.pids(part), PATIENCE_S, f"{part} is there")
        return self.pids(part)[0]

    def successor(self, part: str, old: int) -> float:
        """When the process after an old one was started."""
        until(lambda: self.pids(part) not in ([], [old]), PATIENCE_S, f"a new {part}")
        return started_at(next(pid for pid in self.pids(part) if pid != old))

    def starved_s(self, part: str) -> float:
        """How long the process of a part stood ready and got no core, since its start: that much
        of what it took is the machine's."""
        return sum(waited_s(pid) for pid in self.pids(part))

    def entries(self, name: str) -> list[dict[str, Any]]:
        """The JSON lines of a file of the state folder, a torn last one left out."""
        at, known = self._read.get(name, (0, []))
        file = self.home / name
        if file.exists():
            with file.open("rb") as lines:
                lines.seek(at)
                whole, feed, _ = lines.read().rpartition(b"\n")
            known += [json.loads(line) for line in whole.splitlines()]
            self._read[name] = (at + len(whole) + len(feed), known)
        return known

    def rows(self, since: float = 0.0) -> list[float]:
        """When each row was kept."""
        return [e["at"] for e in self.entries("record.jsonl") if "row" in e and e["at"] >= since]

    def shown(self, since: float = 0.0) -> list[dict[str, Any]]:
        """What stood on the screen, and when."""
        return [entry for entry in self.entries("shown.jsonl") if entry["at"] >= since]

    def shows(self, since: float, fits: Fits) -> bool:
        """Whether the screen has shown something fitting since a time."""
        return self._when(since, fits) is not None

    def when(self, since: float, fits: Fits, what: str) -> float:
        """When the screen first showed something fitting since a time, once it has."""
        return found(lambda: self._when(since, fits), what)

    def _when(self, since: float, fits: Fits) -> float | None:
        return next((entry["at"] for entry in self.shown(since) if fits(entry)), None)

    def wait_until_driving(self, sound: str) -> None:
        """A speed on the screen, rows on record, and what is to be said of the sound."""
        self.when(0.0, lambda e: is_number(e) and e["sound"] == sound, "a speed on the screen")
        until(lambda: len(self.rows()) >= 2, PATIENCE_S, "rows")

    def close(self) -> None:
        """End it as a service manager does."""
        self.keeper.send_signal(signal.SIGCONT)
        self.keeper.terminate()
        try:
            self.keeper.wait(PATIENCE_S)
        finally:
            self.keeper.kill()  # first: it would start what is ended
            self.keeper.wait()
            for part in self.modules:
                for pid in self.pids(part):
                    os.kill(pid, signal.SIGKILL)
            self.gnss.stop()
            self.node.stop()
            self.ear.pull()


def is_number(entry: dict[str, Any]) -> bool:
    """Whether a value stood there."""
    return str(entry["text"])[:1].isdigit()


@contextlib.contextmanager
def driving(home: Path, modules: dict[str, str], ear: bool = True) -> Iterator[Cabin]:
    """A cab that drives, with a sound device or none; ended afterwards."""
    cabin = Cabin(home, modules, ear)
    go_first(cabin.keeper.pid)
    try:
        cabin.wait_until_driving("sound_on" if ear else "no_sound")
        yield cabin
    finally:
        cabin.close()

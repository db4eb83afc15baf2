"""What Drive costs against a bare window of the same size, and how soon it shows a live speed."""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median

from cabapp.cab import Cab
from cabapp.engine.known import Known, write_known
from cabapp.engine.pipes import KEEPER_MARK
from cabapp.engine.wire import encode
from cabapp.events import TICK_S, Bytes, Tick
from cabapp.outcome import Snapshot
from cabapp.paths import shipped
from cabapp.plan import default_plan
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PortEvent, World
from tests.bench.rows import BenchRow
from tests.faults.cabin import Wire, processes, sentence, until
from tests.kiosk.turned import x_server

SPAN_S = 10.0
ROUNDS = 3  # of it, and the least of each side: noise only adds
STARTS = 5
WORKING_FROM_S, WORKING_TO_S = 60.0, 100.0
SIZE = (1280, 800)


def rows() -> Iterator[BenchRow]:
    """CPU of a redraw, and the start, each against the bare window by turns in the same run."""
    with x_server(*SIZE) as display, tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "DISPLAY": display, "SDL_VIDEODRIVER": "x11",
                       "SDL_AUDIODRIVER": "dummy", "CABAPP_WINDOWED": "1"}  # fmt: skip
        home = Path(folder)
        shown = [encode(snapshot, 0.0) for snapshot in working()]
        drive = bare = float("inf")
        for number in range(ROUNDS):
            took, per_s = _drive_cpu(home / f"drive-{number}", environment, shown)
            drive = min(drive, took)
            bare = min(bare, _bare_cpu(home, environment, per_s))
        note = f"{1000 * drive:.1f} ms a redraw, bare {1000 * bare:.1f} ms, {per_s:.1f} a second"
        yield BenchRow("Drive's CPU against a bare window's", drive / bare, 2.5, "times", note)
        starts, lives = [], []
        for number in range(STARTS):
            starts.append(_bare_start(home, environment))
            lives.append(_live_start(home / f"live-{number}", environment))
    start = median(lives) / median(starts)
    told = f"{median(lives):.2f} s, bare {median(starts):.2f} s, median of {STARTS}"
    yield BenchRow("start to live speed against a bare window's", start, 3.0, "times", told)


def _drive_cpu(home: Path, environment: dict[str, str], shown: list[bytes]) -> tuple[float, float]:
    """CPU seconds a redraw of the real screen process, fed by a working tool's snapshots, and how
    many redraws a second it made."""
    home.mkdir()
    with _screen(home, environment) as (feed, pid):
        notes = home / "frames"
        until(lambda: notes.exists() and notes.read_text(), 20.0, "the first frame")
        for line in shown[:20]:
            os.write(feed, line)
            time.sleep(TICK_S)
        begun, frames = cpu_s(pid), int(notes.read_text())
        due = time.monotonic()
        for line in shown[20 : 20 + round(SPAN_S / TICK_S)]:
            os.write(feed, line)
            due += TICK_S
            time.sleep(max(0.0, due - time.monotonic()))
        drawn = int(notes.read_text()) - frames
        return (cpu_s(pid) - begun) / drawn, drawn / SPAN_S


@contextmanager
def _screen(home: Path, environment: dict[str, str]) -> Iterator[tuple[int, int]]:
    """The real screen that counts its frames: where to write to it, and its process."""
    to_read, to_write = os.pipe()
    from_read, from_write = os.pipe()
    (home / KEEPER_MARK).write_text("bench")
    words = ["--home", str(home), "--keeper", "bench"]
    words += ["--wire", f"engine:{to_read}:{from_write}", "--wire", f"keeper:-1:{from_write}"]
    process = subprocess.Popen(
        [sys.executable, "-m", "tests.bench.counted_screen", *words],
        pass_fds=(to_read, from_write), env=environment, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    os.set_blocking(from_read, False)
    try:
        yield to_write, process.pid
    finally:
        process.kill()
        process.wait()
        for fd in (to_read, to_write, from_read, from_write):
            os.close(fd)


def working() -> list[Snapshot]:
    """Ten snapshots a second of a tool at work, as the cab makes them."""
    rig = read_rig(shipped("config", "rig-us-full.toml").read_text(encoding="utf-8"))
    cab = Cab(rig, default_plan(rig))
    found: list[Snapshot] = []
    ticks = 0
    for chunk in World(SCENARIOS["plain_passes"], rig).chunks():
        while ticks * TICK_S < chunk.t_s:
            outcome = cab.step(Tick(round(ticks * TICK_S, 3)))
            ticks += 1
            if ticks * TICK_S > WORKING_FROM_S and outcome.snapshot is not None:
                found.append(outcome.snapshot)
        if chunk.t_s > WORKING_TO_S:
            break
        if chunk.event is PortEvent.BYTES:
            cab.step(Bytes(chunk.t_s, chunk.port, chunk.data))
    return found


def _bare(home: Path, environment: dict[str, str], per_s: float) -> subprocess.Popen[bytes]:
    (home / "bare").unlink(missing_ok=True)
    return subprocess.Popen(
        [sys.executable, "-m", "tests.bench.bare_window", str(per_s), str(home / "bare")],
        env=environment, stderr=subprocess.DEVNULL,
    )  # fmt: skip


def _bare_cpu(home: Path, environment: dict[str, str], per_s: float) -> float:
    """CPU seconds a redraw of the bare window that redraws as often."""
    process = _bare(home, environment, per_s)
    try:
        until(lambda: _first(home), 20.0, "the bare window")
        time.sleep(2.0)
        begun, frames = cpu_s(process.pid), _frames(home)
        time.sleep(SPAN_S)
        return (cpu_s(process.pid) - begun) / (_frames(home) - frames)
    finally:
        process.kill()
        process.wait()


def _first(home: Path) -> float | None:
    """When the bare window drew its first frame."""
    notes = home / "bare"
    words = notes.read_text().split() if notes.exists() else []
    return float(words[0]) if words else None


def _frames(home: Path) -> int:
    """How many frames the bare window has drawn."""
    return int((home / "bare").read_text().split()[1])


def _bare_start(home: Path, environment: dict[str, str]) -> float:
    begun = time.monotonic()
    process = _bare(home, environment, 0.0)
    try:
        until(lambda: _first(home), 20.0, "the bare window")
        return (_first(home) or begun) - begun
    finally:
        process.kill()
        process.wait()


def _live_start(home: Path, environment: dict[str, str]) -> float:
    """From the keeper's start to a speed drawn; the receiver sends, and its baud is known."""
    home.mkdir()
    (home / "rig.toml").write_text(shipped("config", "rig-metric-receiver.toml").read_text())
    rig = read_rig((home / "rig.toml").read_text())
    wire = Wire(home / "gnss", _driving)
    write_known(home / "ports.json", {rig.receiver.port: Known(str(home / "gnss"), 38400)})
    begun = time.monotonic()
    keeper = subprocess.Popen(
        [sys.executable, "-m", "tests.faults.keeper", str(home),
         "screen=tests.bench.counted_screen"],
        env=environment, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        until((home / "live").exists, 30.0, "a live speed")
        return float((home / "live").read_text()) - begun
    finally:
        for pid in processes("tests.faults.keeper", home):
            os.kill(pid, 15)
        keeper.wait(10.0)
        wire.stop()


def _driving(count: int) -> bytes:
    """Ten epochs a second of a receiver at 5 knots heading east."""
    clock = f"{12 + count // 36000:02d}{count // 600 % 60:02d}{count // 10 % 60:02d}.{count % 10}0"
    east = 30.0 + count * 0.257 / 1147.0
    return sentence(f"GPRMC,{clock},A,5150.00000,N,010{east:08.5f},E,5.00,90.0,150626,,,A")


def cpu_s(pid: int) -> float:
    """CPU seconds that the threads of a process have used (sched-stats of the kernel, in ns)."""
    threads = Path(f"/proc/{pid}/task").glob("*/schedstat")
    return sum(int(thread.read_text().split()[0]) for thread in threads) / 1e9

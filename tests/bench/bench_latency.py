"""From an overload to the changed picture and to the PCM handed to the driver, and memory.

Nothing is stood in for but the tractor: real engine, cab, record, screen and speaker on a rig with
every sensor. The wheels dig in, the rule waits its own delay, and the tick at which the cab said so
is taken from the record; what is measured is the way from that tick to the picture and the sound.
Memory is that of the three at work on the demo's rig, in a window on an X server of their own.
"""

import os
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from statistics import median

from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.known import Known, write_known
from cabapp.outcome import What
from cabapp.paths import shipped
from cabapp.record.capture import Capture
from cabapp.record.reader import moments_of
from cabapp.record.rigtext import rig_text
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World
from tests.bench.bench_record import make_shift
from tests.bench.rows import BenchRow
from tests.cab.drive import Machine, full_rig
from tests.faults.cabin import ACT_PULSES_S, PATIENCE_S, Cabin, processes, until
from tests.kiosk.turned import x_server

MODULES = {
    "engine": "cabapp.engine.main",
    "screen": "tests.bench.timed_screen",
    "speaker": "cabapp.sound.speaker",
}
PARTS = ("cabapp.engine.main", "cabapp.screens.app", "cabapp.sound.speaker")
SIZE = (1280, 800)
TIMES_IDLE = 20
TIMES_BUSY = 10
SLIPS = 0.55
HEADLINE = "DIGGING IN"
CALM_S = 0.6  # between the end of an alert and the next
SETTLE_S = 20.0
REPORTED_S = 2 * 3600  # of the shift that is reported, again and again
REPORTING_S = 30.0  # it has begun by then, on a slow machine too


class Digging(Cabin):
    """A cab on a rig with every sensor, whose wheels can be made to dig in."""

    def __init__(self, home: Path) -> None:
        self.machine = Machine(full_rig()).work()
        (home / "rig.toml").write_text(rig_text(full_rig()))
        places = {name: Known(str(home / name), 38400) for name in ("gnss", "node")}
        write_known(home / "ports.json", places)
        super().__init__(home, MODULES)

    def _receiver(self, count: int) -> bytes:
        self.machine.ticks += 1
        self.machine._move(0.1)
        return self.machine._receiver()

    def _node(self, count: int) -> bytes:
        return self.machine._node()

    def dig_in(self) -> tuple[float, float]:
        """Once, and out again; when the picture said so, and when the sound began."""
        begun = time.monotonic()
        self.machine.slip = SLIPS
        until(lambda: self._drawn(begun), PATIENCE_S, "the picture")
        heard_at = self.ear.wait_for(ACT_PULSES_S, begun)
        self.machine.slip = 0.0
        until(lambda: self.shown()[-1]["text"] != HEADLINE, PATIENCE_S, "the alert's end")
        time.sleep(CALM_S)
        return self._drawn(begun)[0], heard_at

    def _drawn(self, since: float) -> list[float]:
        return [float(str(e["at"])) for e in self.shown(since) if e["text"] == HEADLINE]

    def said_at(self) -> list[float]:
        """The ticks at which the cab said it, on the machine's clock, after the end."""
        (run,) = (self.home / "runs").glob("*.gpkg")
        (capture,) = (self.home / "runs").glob("*.cap")
        first = next(Capture(capture).events()).now
        with closing(sqlite3.connect(run)) as connection:
            return [first + m.t_s for m in moments_of(connection)
                    if m.what is What.ONSET and m.headline == HEADLINE]  # fmt: skip


def rows() -> Iterator[BenchRow]:
    """Memory, then latency idle and with a report being made."""
    yield _memory()
    with tempfile.TemporaryDirectory() as folder:
        cabin = Digging(Path(folder))
        try:
            until(lambda: any("BAND" in str(e["text"]) or e["text"] == "NOT SET TODAY"
                              for e in cabin.shown()), 60.0, "work")  # fmt: skip
            time.sleep(SETTLE_S)  # set in, armed
            seen = [cabin.dig_in() for _ in range(TIMES_IDLE)]
            with _report_being_made():
                seen += [cabin.dig_in() for _ in range(TIMES_BUSY)]
        finally:
            cabin.close()
        said = cabin.said_at()
    assert len(said) == len(seen), f"dug in {len(seen)} times, the cab said so {len(said)} times"
    pictures = [(at - tick) * 1000 for (at, _), tick in zip(seen, said, strict=True)]
    sounds = [(at - tick) * 1000 for (_, at), tick in zip(seen, said, strict=True)]
    idle, busy = slice(0, TIMES_IDLE), slice(TIMES_IDLE, None)
    yield _latency("picture, idle", pictures[idle], 100.0)
    yield _latency("PCM, idle", sounds[idle], 150.0)
    yield _latency("picture, with a report being made", pictures[busy], 200.0)
    yield _latency("PCM, with a report being made", sounds[busy], 300.0)


def _latency(what: str, took_ms: list[float], allowed: float) -> BenchRow:
    """Of so few, p99 is the worst."""
    note = f"worst of {len(took_ms)}, median {median(took_ms):.0f}"
    return BenchRow(f"overload to {what}", max(took_ms), allowed, "ms", note)


@contextmanager
def _report_being_made() -> Iterator[None]:
    """Reports of a shift made one after another in a process of their own, as the app makes one."""
    with tempfile.TemporaryDirectory() as folder:
        run = Path(folder) / "shift.gpkg"
        make_shift(run, full_rig(), REPORTED_S)
        report = subprocess.Popen([sys.executable, "-m", "tests.bench.many_reports", str(run)])
        try:
            until(run.with_suffix(".begun").exists, REPORTING_S, "the report begins")
            yield
            assert report.poll() is None, "the reports ended by themselves"
        finally:
            report.kill()
            report.wait()


def _memory() -> BenchRow:
    """Proportional set size of engine, screen and speaker after SETTLE_S of work."""
    text = shipped("config", "rig-us-full.toml").read_text()
    rig = read_rig(text)
    with x_server(*SIZE) as display, tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "rig.toml").write_text(text)
        world = World(SCENARIOS["plain_passes"], rig)
        wires = DemoWires(world.chunks(), [p.name for p in rig.ports], home / "wires")
        write_known(home / "ports.json", {n: Known(d, 38400) for n, d in wires.devices.items()})
        wires.start()
        environment = {**os.environ, "DISPLAY": display, "SDL_VIDEODRIVER": "x11",
                       "SDL_AUDIODRIVER": "dummy", "CABAPP_WINDOWED": "1"}  # fmt: skip
        keeper = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.keeper", str(home)],
            env=environment, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            until(lambda: all(processes(part, home) for part in PARTS), 20.0, "the three")
            time.sleep(SETTLE_S)
            each = [pss_mb(processes(part, home)[0]) for part in PARTS]
        finally:
            for pid in processes("tests.faults.keeper", home):
                os.kill(pid, 15)
            keeper.wait(10.0)
            wires.stop()
    note = "engine {:.0f}, screen {:.0f}, speaker {:.0f}".format(*each)
    return BenchRow("memory of the three (PSS)", sum(each), 280.0, "MB", note)


def pss_mb(pid: int) -> float:
    """Proportional set size of a process in MB."""
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1000

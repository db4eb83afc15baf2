"""From the last byte of an overload to the changed picture and to the PCM handed to the driver.

The judge is one that answers at the next tick, so that what is measured is the way through ports,
engine, pipes, screen and speaker, beyond the wait for the tick. Memory is that of the real three at
work on the demo's rig, under Xvfb where it is installed.
"""

import math
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from statistics import median

from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.known import Known, write_known
from cabapp.events import TICK_S
from cabapp.paths import shipped
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World
from tests.bench.rows import BenchRow
from tests.faults.cabin import Cabin, processes, until

MODULES = {
    "engine": "tests.faults.plain_engine",
    "screen": "tests.bench.timed_screen",
    "speaker": "cabapp.sound.speaker",
}
PARTS = ("cabapp.engine.main", "cabapp.screens.app", "cabapp.sound.speaker")
TIMES_IDLE = 25
TIMES_BUSY = 15
CALM_KN, OVER_KN = 5.0, 25.0
# Bytes heard after a tick rightly wait for the next one, so none are sent this short before one.
HEARD_WITHIN_S = 0.02
SETTLE_S = 20.0
# What a report does to a core: pictures drawn, again and again.
REPORT = """
import matplotlib; matplotlib.use("Agg")
import io, numpy
from matplotlib import pyplot
while True:
    figure, axes = pyplot.subplots()
    axes.plot(numpy.random.default_rng(1).normal(size=50_000))
    figure.savefig(io.BytesIO(), format="svg"); pyplot.close(figure)
"""


def rows() -> list[BenchRow]:
    """Latency idle and with a report being made, and memory."""
    with tempfile.TemporaryDirectory() as folder:
        cabin = Cabin(Path(folder), MODULES)
        try:
            until(lambda: any(e["text"] == "WORKING" for e in cabin.shown()), 20.0, "the screen")
            idle = _measure(cabin, TIMES_IDLE)
            with _report_being_made():
                busy = _measure(cabin, TIMES_BUSY)
        finally:
            cabin.close()
    found = []
    for name, (picture, sound), allowed in (
        ("idle", idle, (100.0, 150.0)),
        ("with a report being made", busy, (200.0, 300.0)),
    ):
        for what, took, most in zip(("picture", "PCM"), (picture, sound), allowed, strict=True):
            note = f"worst of {len(took)}, median {median(took):.0f}"
            found.append(BenchRow(f"overload to {what}, {name}", max(took), most, "ms", note))
    return [*found, _memory()]


def _measure(cabin: Cabin, times: int) -> tuple[list[float], list[float]]:
    """Milliseconds to picture and to PCM beyond the next tick, for each of several overloads."""
    pictures, sounds = [], []
    for _ in range(times):
        now = time.monotonic()
        if (spare := TICK_S - now % TICK_S) < HEARD_WITHIN_S:
            time.sleep(spare)
        sent = cabin.say_once(OVER_KN)
        cabin.speed_kn = OVER_KN  # what is spoken next says the same
        tick = math.ceil(sent / TICK_S) * TICK_S
        until(lambda: _stop_drawn(cabin, sent), 3.0, "the picture")  # noqa: B023
        until(lambda: cabin.ear.pulses(sent), 3.0, "the sound")  # noqa: B023
        pictures.append((_stop_drawn(cabin, sent)[0] - tick) * 1000)
        sounds.append((cabin.ear.pulses(sent)[0][0] - tick) * 1000)
        cabin.speed_kn = CALM_KN
        time.sleep(2.6 - (time.monotonic() - sent) % 0.1)  # the pattern ends; phases wander
    return pictures, sounds


def _stop_drawn(cabin: Cabin, since: float) -> list[float]:
    return [float(e["at"]) for e in cabin.shown(since) if e["text"] == "STOP"]


@contextmanager
def _report_being_made() -> Iterator[None]:
    report = subprocess.Popen([sys.executable, "-c", REPORT], stderr=subprocess.DEVNULL)
    time.sleep(2.0)
    try:
        yield
    finally:
        report.kill()
        report.wait()


def _memory() -> BenchRow:
    """Proportional set size of engine, screen and speaker after SETTLE_S of work."""
    text = shipped("config", "rig-us-full.toml").read_text()
    rig = read_rig(text)
    xvfb = shutil.which("xvfb-run")
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "rig.toml").write_text(text)
        world = World(SCENARIOS["plain_passes"], rig)
        wires = DemoWires(world.chunks(), [p.name for p in rig.ports], home / "wires")
        write_known(home / "ports.json", {n: Known(d, 38400) for n, d in wires.devices.items()})
        wires.start()
        screen = [xvfb, "-a", "-s", "-screen 0 1280x800x24"] if xvfb else []
        environment = {**os.environ, "SDL_AUDIODRIVER": "dummy", "CABAPP_WINDOWED": "1"}
        if not xvfb:
            environment["SDL_VIDEODRIVER"] = "offscreen"
        keeper = subprocess.Popen(
            [*screen, sys.executable, "-m", "tests.faults.keeper", str(home)],
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
    return BenchRow("memory of the three (PSS)", sum(each), 280.0, "MB",
                    f"{note}; {'Xvfb' if xvfb else 'off-screen'}")  # fmt: skip


def pss_mb(pid: int) -> float:
    """Proportional set size of a process in MB."""
    lines = Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("Pss:")) / 1000

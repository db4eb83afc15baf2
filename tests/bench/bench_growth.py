"""Whether memory grows: 100,000 changed labels, and an engine that works a 14-hour day.

Both take many minutes and run with ``--long`` only.
"""

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.known import Known, write_known
from cabapp.paths import shipped
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World
from tests.bench.rows import BenchRow
from tests.faults.cabin import processes, until
from tests.kiosk.turned import x_server

LABELS = 100_000
PACE = 60.0
SHIFT_S = 14 * 3600.0
WARM_S = 2 * 3600.0  # caches, the first block, the writer's pages: all there after two hours
ALLOWED_MB = 5.0


def long_rows() -> Iterator[BenchRow]:
    """Growth of the screen and of the engine."""
    yield _labels()
    yield _engine()


def _labels() -> BenchRow:
    """A process of its own draws the Drive page until so many labels have changed."""
    with x_server(1280, 800) as display:
        told = subprocess.run(
            [sys.executable, "-m", "tests.bench.changing_labels", str(LABELS)],
            env={**os.environ, "DISPLAY": display, "SDL_VIDEODRIVER": "x11"},
            stdout=subprocess.PIPE, text=True, check=True,
        )  # fmt: skip
    changed, frames, before_mb, after_mb = (float(word) for word in told.stdout.split())
    note = f"{before_mb:.0f} MB after a tenth, {frames:.0f} frames"
    name = f"growth over {changed:.0f} label changes"
    return BenchRow(name, after_mb - before_mb, ALLOWED_MB, "MB", note)


def _engine() -> BenchRow:
    """The real engine under its keeper on a scaled clock, wires played as fast."""
    text = shipped("config", "rig-us-full.toml").read_text(encoding="utf-8")
    rig = read_rig(text)
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        (home / "rig.toml").write_text(text, encoding="utf-8")
        names = [port.name for port in rig.ports]
        chunks = World(SCENARIOS["ordinary_day"], rig).chunks()
        wires = DemoWires(chunks, names, home / "wires", PACE)
        write_known(home / "ports.json", {n: Known(d, 38400) for n, d in wires.devices.items()})
        wires.start()
        environment = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "SDL_AUDIODRIVER": "dummy",
                       "CABAPP_WINDOWED": "1"}  # fmt: skip
        keeper = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.keeper", "--speed", str(PACE), str(home),
             "screen=tests.bench.still_screen"],
            env=environment, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            until(lambda: processes("cabapp.engine.main", home), 20.0, "the engine")
            [engine] = processes("cabapp.engine.main", home)
            early = _settled_mb(engine, wires, WARM_S)
            late = _settled_mb(engine, wires, SHIFT_S)
            same = processes("cabapp.engine.main", home) == [engine]
        finally:
            for pid in processes("tests.faults.keeper", home):
                os.kill(pid, 15)
            keeper.wait(10.0)
            wires.stop()
        kept_mb = sum(path.stat().st_size for path in (home / "runs").glob("*.gpkg")) / 1e6
    assert same, "the engine was started again"
    note = f"{early:.0f} MB at 2 h, {PACE:.0f} times real time, run file {kept_mb:.0f} MB"
    return BenchRow("growth of the engine, hour 2 to 14", late - early, ALLOWED_MB, "MB", note)


def _settled_mb(pid: int, wires: DemoWires, at_s: float) -> float:
    """Median resident memory of a few looks once the day has come to ``at_s`` or ended."""
    while wires.played_s < at_s and not wires.done:
        time.sleep(1.0)
    looks = []
    for _ in range(5):
        looks.append(resident_mb(pid))
        time.sleep(1.0)
    return sorted(looks)[2]


def resident_mb(pid: int) -> float:
    """Memory of its own that a process holds now; shared file pages are not counted."""
    lines = Path(f"/proc/{pid}/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("RssAnon:")) / 1000

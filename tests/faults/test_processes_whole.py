"""The whole of it, nothing stood in for: an invented tractor at work while its processes die."""

import os
import signal
import subprocess
import sys
import time
from datetime import datetime
from itertools import pairwise
from pathlib import Path

from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.known import Known, write_known
from cabapp.outcome import What
from cabapp.paths import shipped
from cabapp.record.reader import open_run
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World
from tests.faults.cabin import go_first, processes, started_at, until

SPEED = 4.0
PARTS = ("cabapp.engine.main", "cabapp.screens.app", "cabapp.sound.speaker")


def test_the_shift_goes_on_in_one_file_whichever_process_is_killed_or_stopped_the_keeper_too(
    tmp_path: Path,
) -> None:
    text = shipped("config", "rig-us-full.toml").read_text()
    rig = read_rig(text)
    (tmp_path / "rig.toml").write_text(text)
    wires = DemoWires(
        World(SCENARIOS["plain_passes"], rig).chunks(), [p.name for p in rig.ports],
        tmp_path / "wires", SPEED,
    )  # fmt: skip
    write_known(tmp_path / "ports.json", {n: Known(d, 38400) for n, d in wires.devices.items()})
    wires.start()
    keeper = start_keeper(tmp_path)
    try:
        until(lambda: list((tmp_path / "runs").glob("*.gpkg")), 25.0, "a run file")
        until(lambda: "main loop" in said(tmp_path, "screen"), 25.0, "the window")
        time.sleep(1.5)
        for part, how in zip(PARTS, (signal.SIGKILL, signal.SIGSTOP, signal.SIGKILL), strict=True):
            [old] = processes(part, tmp_path)
            begun = time.monotonic()
            os.kill(old, how)
            until(lambda: processes(part, tmp_path) not in ([], [old]), 25.0, part)  # noqa: B023
            assert started_at(processes(part, tmp_path)[0]) - begun < 3.0
            time.sleep(2.0)
        orphans = [pid for part in PARTS for pid in processes(part, tmp_path)]
        keeper.kill()
        keeper.wait()
        time.sleep(1.0)
        assert [pid for part in PARTS for pid in processes(part, tmp_path)] == orphans
        keeper = start_keeper(tmp_path)
        begun = time.monotonic()
        for part in PARTS:
            until(lambda: not {*processes(part, tmp_path)} & {*orphans}, 25.0, part)  # noqa: B023
            until(lambda: processes(part, tmp_path), 25.0, part)  # noqa: B023
            assert started_at(processes(part, tmp_path)[0]) - begun < 3.0
        time.sleep(3.0)
        keeper.terminate()
        assert keeper.wait(25.0) == 0
    finally:
        wires.stop()
        keeper.kill()  # first: it would start what is ended
        keeper.wait()
        for part in PARTS:
            for left in processes(part, tmp_path):
                os.kill(left, signal.SIGKILL)
    [file] = (tmp_path / "runs").glob("*.gpkg")
    with open_run(file) as run:
        rows = list(run.rows())
        told = [moment.detail for moment in run.moments() if moment.what is What.RUN]
    assert sorted(told) == ["resumed", "resumed", "started", "started", "started"]
    assert len(rows) > 4 * SPEED
    # A wire keeps some of what was sent while nobody read: those rows follow at one moment.
    assert all(before["t_s"] <= after["t_s"] for before, after in pairwise(rows))
    seconds = [datetime.fromisoformat(str(row["utc"])) for row in rows if row["utc"]]
    gaps = [(after - before).total_seconds() for before, after in pairwise(seconds)]
    assert min(gaps) > 0
    assert sorted(gaps)[-3] < 1.6  # only an engine's end may leave a gap: a kill, a new keeper ...
    assert max(gaps) < 4.0 * SPEED  # ... of under four seconds of the wall


def start_keeper(home: Path) -> subprocess.Popen[bytes]:
    """What a service manager does, at first and after a keeper's end."""
    environment = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "SDL_AUDIODRIVER": "dummy",
                   "CABAPP_WINDOWED": "1"}  # fmt: skip
    with (home / "stderr").open("ab") as errors:
        keeper = subprocess.Popen(
            [sys.executable, "-m", "tests.faults.keeper", "--speed", str(SPEED), str(home)],
            env=environment, stderr=errors, start_new_session=True,
        )  # fmt: skip
    go_first(keeper.pid)
    return keeper


def said(home: Path, part: str) -> str:
    """The log of a part so far."""
    file = home / "log" / f"{part}.log"
    return file.read_text() if file.exists() else ""

"""Runs for the review's tests: two passes in closed form, and hand-made rows."""

import atexit
import shutil
import tempfile
from functools import lru_cache
from pathlib import Path

from cabapp.cli import main
from cabapp.events import TapKind
from cabapp.outcome import Moment, Row
from cabapp.plan import Plan, default_plan
from cabapp.record.capture import CaptureFile, CaptureHead
from cabapp.record.disk import Disk
from cabapp.record.makerun import HurriedDisk
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.rig import Rig, Tool
from cabapp.units import MPH_MPS
from tests.cab.drive import Machine, full_rig

WIDTH_M = 5.334
PASS_M = 400.0
MPH = 6.0
SILENT_S = 60.0
TRIPS = 3

ROW_RIG = Rig(id="rows", name="Rows", tool=Tool(width_m=5.0, hitch_back_m=0.0, lag_m=0.0))


@lru_cache(maxsize=1)
def folder() -> Path:
    """One folder for the runs of this process."""
    made = Path(tempfile.mkdtemp(prefix="review-"))
    atexit.register(shutil.rmtree, made, True)
    return made


@lru_cache(maxsize=1)
def two_passes() -> Path:
    """Two passes of 400 m at 6 mph, a turn between, made by ``replay --run`` from a capture.

    In the first shank 3 trips three times; in the second the node is silent for a minute.
    """
    run = folder() / "two-passes.gpkg"
    assert main(["replay", str(capture()), "--run", str(run)]) == 0
    return run


@lru_cache(maxsize=1)
def capture() -> Path:
    """The events of the two passes as the engine would have captured them."""
    machine = Machine(full_rig())
    machine.keep_events = True
    machine.lift()
    machine.go(5.0)
    machine.mph = MPH
    machine.go(10.0)
    _one_pass(machine, trips=True)
    machine.lift()
    machine.turn_dps = 9.0
    machine.go(20.0)  # 180 degrees
    machine.turn_dps = 0.0
    machine.go(10.0)
    _one_pass(machine, trips=False)
    machine.lift().stop()
    machine.go(5.0)
    machine.tap(TapKind.DUG, 0.36)
    machine.go(5.0)
    machine.tap(TapKind.END_SHIFT)
    path = folder() / "two-passes.cap"
    file = CaptureFile(path, CaptureHead(machine.rig, default_plan(machine.rig)), Disk())
    for event in machine.events:
        file.add(event)
    file.end()
    return path


def _one_pass(machine: Machine, trips: bool) -> None:
    """Tool down for as long as 400 m take."""
    machine.work(MPH)
    whole = PASS_M / (MPH * MPH_MPS)
    machine.go(50.0)
    for _ in range(TRIPS if trips else 0):
        machine.most[3] = 1.2
        machine.go(0.2)
        machine.most.clear()
        machine.go(9.8)
    machine.node_on = trips
    machine.go(SILENT_S - (10.0 * TRIPS if trips else 0.0))
    machine.node_on = True
    machine.go(whole - 50.0 - SILENT_S)


def hand_made(
    name: str,
    rows: list[Row],
    moments: list[Moment] | None = None,
    rig: Rig = ROW_RIG,
    plan: Plan | None = None,
    ended: bool = True,
) -> Path:
    """A run of just these rows and moments."""
    path = folder() / name
    for leftover in (path, Path(f"{path}-wal"), Path(f"{path}-shm")):
        leftover.unlink(missing_ok=True)
    run = RunFile.begin(path, RunFacts(rig, plan or default_plan(rig), "", path.stem),
                        HurriedDisk())  # fmt: skip
    run.write(Batch(rows, moments or []))
    if ended:
        run.end("ended")
    else:
        run.leave()
    return path


def row(second: int, state: str = "in", phase: str = "working", **more: float | str | None) -> Row:
    """A second of a pass due north at 2.5 m/s on a plain receiver; every thing in one state."""
    values: dict[str, float | str | None] = {
        "course_deg": 0.0,
        "phase": phase,
        "fix": "fixed",
        "speed_mps": 2.5,
        "speed_low_mps": 2.2,
        "speed_high_mps": 3.1,
        "stretch": state,
        "stretch_speed": state,
        "stretch_depth": "idle",
        "stretch_level": "idle",
        "stretch_springs": "idle",
        **more,
    }
    placed = phase != "unknown"
    utc = f"2026-04-18T{13 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z"
    north = 52.0 + second * 2.5 / 111_270.0
    return Row(float(second), utc, north if placed else None, 5.0 if placed else None, values)

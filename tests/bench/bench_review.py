"""What the review costs: a stored summary, a whole report, a season, the map of a long shift."""

import os
import random
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from cabapp.outcome import Moment, What
from cabapp.plan import default_plan
from cabapp.record.makerun import HurriedDisk
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.review.commands import make_report
from cabapp.review.pieces import pieces_of, thinned
from cabapp.review.season import season_of
from cabapp.review.shift import load_brief, load_shift
from cabapp.review.sums import STATES
from cabapp.words import Level
from tests.bench.bench_record import SHIFT_S, full_rig, row_of
from tests.bench.rows import BenchRow

SHIFTS = 60
MOST_PLACES = 4_000
MB = 1024.0


def rows() -> Iterator[BenchRow]:
    """Every budget of the review."""
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "shift-0001.gpkg"
        make_shift(path)
        yield timed("stored summary of a 14 h run, as the list reads it", 0.1,
                    lambda: load_brief(path))  # fmt: skip
        yield timed("whole report of a 14 h run", 4.0,
                    lambda: make_report(path, None, None, False, lambda share: None))  # fmt: skip
        yield from the_map(path)
        yield from the_season(path, Path(name) / "season")
        yield refused(Path(name) / "no-run.gpkg")


def make_shift(path: Path) -> None:
    """Fourteen hours in which the state changes each half minute, with alerts and trips."""
    dice, rig = random.Random(7), full_rig()
    run = RunFile.begin(path, RunFacts(rig, default_plan(rig)), HurriedDisk())
    for first in range(0, SHIFT_S, 600):
        batch = []
        for second in range(first, first + 600):
            row = row_of(rig, second, dice)
            state = STATES[0] if (second // 30) % 4 else STATES[(second // 120) % 5]
            row.values.update(dict.fromkeys((n for n in row.values if "stretch" in n), state))
            batch.append(row)
        at = float(first)
        moments = [
            Moment("2026-04-18T06:00:00.000Z", at, What.ONSET, Level.LOOK, "too_fast", "TOO FAST"),
            Moment("2026-04-18T06:00:00.000Z", at + 9, What.END, Level.LOOK, "too_fast"),
            Moment("2026-04-18T06:00:00.000Z", at + 9, What.TRIP, value=3.0),
        ]
        run.write(Batch(batch, moments))
    run.end("ended")


def timed(name: str, allowed: float, work: Callable[[], object]) -> BenchRow:
    """The best of three, as the budget is for a machine that does nothing else."""
    best = float("inf")
    for _ in range(3):
        began = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - began)
    return BenchRow(name, best, allowed, "s")


def the_map(path: Path) -> list[BenchRow]:
    """Places drawn, and stretches lost, of a shift whose state changes each half minute."""
    shift = load_shift(path)
    whole = pieces_of(shift)
    drawn = thinned(whole, MOST_PLACES)
    places = sum(len(piece.x_m) for piece in drawn)
    covered = {row for piece in drawn for row in range(piece.first, piece.last + 1)}
    lost = sum(piece.first not in covered or piece.last not in covered for piece in whole)
    return [
        BenchRow("map of a 14 h shift", float(places), float(MOST_PLACES), "places",
                 f"{len(whole)} stretches"),
        BenchRow("stretches lost on that map", float(lost), 0.0, "stretches"),
    ]  # fmt: skip


def the_season(path: Path, folder: Path) -> list[BenchRow]:
    """Sixty such shifts: seconds, and memory beyond that of six."""
    folder.mkdir()
    for number in range(SHIFTS):
        os.link(path, folder / f"shift-{number:04d}.gpkg")
    few = folder / "few"
    few.mkdir()
    for number in range(6):
        os.link(path, few / f"shift-{number:04d}.gpkg")
    row = timed(f"season of {SHIFTS} shifts of 14 h", 10.0, lambda: season_of(folder))
    more = peak_mb(folder) - peak_mb(few)
    return [row, BenchRow("memory of that season beyond one of six", max(more, 0.0), 5.0, "MB")]


def peak_mb(folder: Path) -> float:
    """The most memory of a process of its own that reads a season."""
    code = (
        "import sys; from pathlib import Path; from cabapp.review.season import season_of; "
        "season_of(Path(sys.argv[1])); "
        "print([line.split()[1] for line in open('/proc/self/status') if 'VmHWM' in line][0])"
    )
    done = subprocess.run([sys.executable, "-c", code, str(folder)], capture_output=True,
                          text=True, check=True)  # fmt: skip
    return float(done.stdout) / MB


def refused(path: Path) -> BenchRow:
    """A large file that is no run, refused from the command line."""
    with open(path, "wb") as file:
        file.write(b"SQLite format 3\0")
        file.truncate(200 * 1024 * 1024)
    began = time.perf_counter()
    done = subprocess.run([sys.executable, "-m", "cabapp", "report", str(path)],
                          capture_output=True, check=False)  # fmt: skip
    assert done.returncode == 1
    return BenchRow("a file that is no run, refused", time.perf_counter() - began, 2.0, "s")

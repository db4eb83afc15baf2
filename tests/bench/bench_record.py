"""What the record costs: bytes a row, flash written in a shift, and time to sum a shift up."""

import json
import math
import random
import shutil
import sqlite3
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import numpy as np

from cabapp.cab import row_columns
from cabapp.outcome import Moment, Row, What
from cabapp.paths import shipped
from cabapp.plan import default_plan
from cabapp.record.disk import Disk
from cabapp.record.makerun import HurriedDisk
from cabapp.record.reader import open_run
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from tests.bench.rows import BenchRow, least_cpu_s

SHIFT_S = 14 * 3600
PASS_S = 180
COMMITS = 3_000  # enough for several checkpoints of the WAL
MB = 1e6


def rows() -> Iterator[BenchRow]:
    """Every budget of the record."""
    rig = full_rig()
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "shift.gpkg"
        make_shift(path, rig)
        yield BenchRow("run file, full rig", path.stat().st_size / SHIFT_S, 650.0, "bytes a row")
        yield from reading(path)
    yield flash_written(rig, COMMITS)


def long_rows() -> Iterator[BenchRow]:
    """The flash of a whole shift, commit by commit."""
    yield flash_written(full_rig(), SHIFT_S)


def full_rig() -> Rig:
    """The shipped example with every sensor fitted."""
    path = shipped("config", "rig-us-full.toml")
    return read_rig(path.read_text(), str(path))


def row_of(rig: Rig, second: int, dice: random.Random) -> Row:
    """A second of passes up and down a field of 450 m, every sensor fitted, with true digits."""
    lap, within = divmod(second, PASS_S + 20)
    up = lap % 2 == 0
    along = min(within, PASS_S) * 2.5 * (1 if up else -1) + (0 if up else PASS_S * 2.5)
    values: dict[str, float | str | None] = {}
    for name, kind in row_columns(rig).items():
        values[name] = round(dice.uniform(0.1, 0.9), 6) * math.pi if kind == "REAL" else "in"
    values |= {
        "course_deg": 0.0 if up else 180.0,
        "phase": "working" if within < PASS_S else "turning",
        "fix": "fixed",
        "attention": "",
    }
    lat = 41.0 + (along + dice.gauss(0, 0.02)) / 111_050.0
    lon = -93.0 + (lap * 5.0 + dice.gauss(0, 0.02)) / 84_200.0
    clock = f"{second // 3600 + 6:02d}:{second // 60 % 60:02d}:{second % 60:02d}"
    return Row(float(second) + 0.003, f"2026-04-18T{clock}Z", lat, lon, values)


def phase_of(second: int) -> Moment:
    return Moment("2026-04-18T06:00:00.000Z", float(second), What.PHASE, value="turning",
                  lat_deg=41.0, lon_deg=-93.0, detail="working")  # fmt: skip


def make_shift(path: Path, rig: Rig, length_s: int = SHIFT_S) -> None:
    """A finished run of 14 hours, or of another length."""
    dice = random.Random(3)
    run = RunFile.begin(path, RunFacts(rig, default_plan(rig)), HurriedDisk())
    for first in range(0, length_s, 600):
        seconds = range(first, first + 600)
        run.write(Batch([row_of(rig, s, dice) for s in seconds], [phase_of(first)] * 6))
    run.end("ended")


def reading(path: Path) -> Iterator[BenchRow]:
    """The stored summary, and the sums made again against a bare read of the track."""
    with open_run(path) as run:
        began = time.perf_counter()
        stored = run.summary()
        yield BenchRow("stored summary of a 14 h run", time.perf_counter() - began, 0.1, "s")
        assert json.dumps(run.totals()["net_m2"]) == json.dumps(stored["net_m2"])
        summed_s, bare_s = least_cpu_s(run.totals, lambda: bare_read(path), rounds=3)
    note = f"{summed_s:.2f} s of CPU, bare {bare_s:.2f}"
    ratio = summed_s / bare_s
    yield BenchRow("sums with coverage made again / bare read", ratio, 5.0, "times", note)


def bare_read(path: Path) -> None:
    """The whole track from sqlite3 to numpy."""
    with closing(sqlite3.connect(f"file:{path}?mode=ro&immutable=1", uri=True)) as connection:
        names = [row[1] for row in connection.execute("PRAGMA table_info(track)")
                 if row[2] == "REAL"]  # fmt: skip
        np.array(connection.execute(f"SELECT {', '.join(names)} FROM track").fetchall())


def flash_written(rig: Rig, commits: int) -> BenchRow:
    """Bytes that reach a disk for a shift of a commit a second, with the file system's own."""
    dice = random.Random(5)
    made = [row_of(rig, second, dice) for second in range(600)]
    with own_disk() as (folder, device):
        before = written_bytes(device)
        run = RunFile.begin(folder / "run.gpkg", RunFacts(rig, default_plan(rig)), Disk())
        for second in range(commits):
            moments = [phase_of(second)] if second % 90 == 0 else []
            run.write(Batch([made[second % 600]], moments))
        written = written_bytes(device) - before
        run.leave()
    note = "of its own ext4" if device else "of this process"
    scaled = written / commits * SHIFT_S
    return BenchRow(f"flash written in 14 h ({commits} commits)", scaled / MB, 800.0, "MB", note)


@contextmanager
def own_disk() -> Iterator[tuple[Path, str]]:
    """A folder on an ext4 of its own and its loop device; where not allowed, a plain folder."""
    with tempfile.TemporaryDirectory() as name:
        image, place = Path(name) / "image", Path(name) / "disk"
        place.mkdir()
        with open(image, "wb") as file:
            file.truncate(128 * 1024 * 1024)
        if not (
            called("mkfs.ext4", "-q", "-F", image) and called("mount", "-o", "loop", image, place)
        ):
            yield place, ""
            return
        found = subprocess.run(
            ["findmnt", "-no", "SOURCE", str(place)], capture_output=True, text=True, check=True
        )
        try:
            yield place, found.stdout.strip().removeprefix("/dev/")
        finally:
            called("umount", place)


def called(*words: object) -> bool:
    if shutil.which(str(words[0])) is None:
        return False
    done = subprocess.run([str(word) for word in words], capture_output=True, check=False)
    return done.returncode == 0


def written_bytes(device: str) -> int:
    """Bytes written so far: by everybody to a loop device, or by this process."""
    if device:
        return 512 * int(Path(f"/sys/block/{device}/stat").read_text().split()[6])
    found = Path("/proc/self/io").read_text().split()
    return int(found[found.index("write_bytes:") + 1])

"""The tablet's clock may jump as it likes: nothing that drives, sounds or records asks it."""

import ast
import os
import time
from itertools import pairwise
from pathlib import Path

import pytest

import cabapp
from cabapp.record.folder import captures_of
from tests.faults.cabin import PATIENCE_S, until
from tests.faults.test_whole_cut import Tractor, complete_to_its_last_second, read

ROOT = Path(cabapp.__file__).parent
ROOMS = ("cab", "engine", "ground", "hear", "record", "sound", "watch")
WALL_CLOCK = {
    ("time", "time"),
    ("time", "time_ns"),
    ("time", "localtime"),
    ("time", "gmtime"),
    ("datetime", "now"),
    ("datetime", "utcnow"),
    ("datetime", "today"),
    ("date", "today"),
}
FILES = sorted(path for room in ROOMS for path in (ROOT / room).rglob("*.py"))


def wall_clock_calls(source: str) -> list[str]:
    """Each attribute that reads the wall clock, with its line."""
    return [
        f"{node.lineno}: {node.value.id}.{node.attr}"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Attribute)
        and isinstance(node.value, ast.Name)
        and (node.value.id, node.attr) in WALL_CLOCK
    ]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_file_of_the_driving_path_reads_the_wall_clock(path: Path) -> None:
    assert wall_clock_calls(path.read_text(encoding="utf-8")) == []


def test_reading_it_would_be_seen() -> None:
    assert wall_clock_calls("import time\nx = time.time()") == ["2: time.time"]
    assert wall_clock_calls("from datetime import datetime\ny = datetime.now()") != []
    assert wall_clock_calls("import time\nz = time.monotonic()") == []


# Read by every Python process at its start (module site): each look at the clock finds another day.
JUMPING = """
import itertools, time
real, real_ns = time.time, time.time_ns
jumps = itertools.cycle((0, 3650 * 86400, -3650 * 86400, -3600, 7200, -7300))
time.time = lambda: real() + next(jumps)
time.time_ns = lambda: real_ns() + next(jumps) * 10**9
"""


def test_the_whole_program_works_on_while_the_clock_jumps_by_years_at_every_look(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "sitecustomize.py").write_text(JUMPING)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join([str(tmp_path / "site"), str(ROOT.parent)]))
    tractor = Tractor(tmp_path / "cab")
    tractor.key_on()
    try:
        until(lambda: tractor.starts() == 1, PATIENCE_S, "at work")
        time.sleep(6.0)
    finally:
        killed_at = tractor.key_off()
        tractor.wires.stop()
    log = (tmp_path / "cab" / "log" / "keeper.log").read_text()
    assert {line[:4] for line in log.splitlines()} & {"2016", "2036"}  # it did jump
    (run,) = (tmp_path / "cab" / "runs").glob("*.gpkg")
    assert run.name.startswith("2027-04-21-1230")  # the receiver's date
    rows, moments = read(run)
    assert len(rows) >= 4  # the first may be of bytes that the wire had kept: they come at once
    steps = [after[0] - before[0] for before, after in pairwise(rows[-4:])]
    assert max(steps) < 1.5
    assert min(steps) > 0.5
    complete_to_its_last_second(captures_of(run)[0], rows, moments, killed_at)

"""The tablet's clock may jump as it likes: nothing that drives, sounds or records asks it."""

import ast
from pathlib import Path

import pytest

import cabapp

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

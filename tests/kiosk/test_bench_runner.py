"""The bench's own runner: it ends with a reason, whatever a part of it leaves behind."""

import subprocess
import sys
from collections.abc import Iterator

from tests.bench.__main__ import measured
from tests.bench.rows import BenchRow


def rows() -> Iterator[BenchRow]:
    """A part that starts a long-lived program and then cannot go on."""
    subprocess.Popen([sys.executable, "-c", "import time; time.sleep(20)"])
    yield BenchRow("something", 1.0, 2.0)
    raise FileNotFoundError("the window manager is not there")


def test_a_part_that_breaks_and_leaves_a_program_behind_is_told_with_its_reason() -> None:
    something, rest = measured(__name__, "rows")

    assert something.kept
    assert rest.measured is None
    assert not rest.kept
    assert "the window manager is not there" in rest.note

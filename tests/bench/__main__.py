"""Run every budget and print measured against allowed: ``python3 config/start.py bench``.

Each module bench_*.py has ``rows() -> list[BenchRow]`` and may have ``long_rows()`` for what takes
many minutes (``--long``). Further words name the modules to run. Exit 1 if a budget is missed.
"""

import importlib
import os
import platform
import sys
from datetime import UTC, datetime
from pathlib import Path

from tests.bench.rows import BenchRow


def main(words: list[str]) -> int:
    """Run the modules asked for and print the table."""
    long = "--long" in words
    wanted = [word for word in words if not word.startswith("-")]
    print(machine())
    print(f"{'what':58} {'measured':>10} {'allowed':>10} {'ratio':>6}  unit")
    missed = 0
    for path in sorted(Path(__file__).parent.glob("bench_*.py")):
        if wanted and path.stem.removeprefix("bench_") not in wanted:
            continue
        module = importlib.import_module(f"tests.bench.{path.stem}")
        makers = [module.rows] + (
            [module.long_rows] if long and hasattr(module, "long_rows") else []
        )
        for make in makers:
            for row in make():
                print(line_of(row), flush=True)
                missed += not row.kept
    print(f"{missed} missed" if missed else "every budget kept")
    return 1 if missed else 0


def line_of(row: BenchRow) -> str:
    """One printed line; a missed budget says so in words."""
    verdict = "" if row.kept else "  MISSED"
    note = f"  ({row.note})" if row.note else ""
    share = row.measured / row.allowed if row.allowed else float(row.measured > 0)
    return (
        f"{row.name:58} {row.measured:10.3f} {row.allowed:10.3f} {share:6.2f}  "
        f"{row.unit}{note}{verdict}"
    )


def machine() -> str:
    """What the figures were taken on."""
    when = datetime.now(UTC).strftime("%Y-%m-%d")
    name = platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        models = [row.split(":", 1)[1].strip() for row in info.read_text().splitlines()
                  if row.startswith("model name")]  # fmt: skip
        name = models[0] if models else name
    return f"{when}, {name}, {os.cpu_count()} cores, Python {platform.python_version()}"


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

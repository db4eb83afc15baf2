"""Run every budget and print measured against allowed: ``python3 config/start.py bench``.

The modules bench_*.py have ``rows()``, or ``long_rows()`` for what takes hours (``--long``); both
give a BenchRow at a time. Further words name the modules to run. Exit 1 if a budget is missed;
one that could not be measured is missed, and its row says why. About fifteen minutes on two cores
that do nothing else: the figures of a busy machine are not worth reading.
"""

import json
import os
import platform
import signal
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from tests.bench.rows import BenchRow

SHORT = ("hearing", "latency", "record", "replay", "review", "window")
LONG = ("record", "growth")
LIMIT_S = {"rows": 20 * 60.0, "long_rows": 5 * 3600.0}  # several times what each has ever taken


def main(words: list[str]) -> int:
    """Run the modules asked for and print the table."""
    jobs = [(name, "rows") for name in SHORT]
    jobs += [(name, "long_rows") for name in LONG if "--long" in words]
    wanted = {word for word in words if word != "--long"}
    if strange := wanted - {name for name, _ in jobs}:
        print(f"{', '.join(sorted(strange))}: no such part; there are {', '.join(SHORT)}, and with "
              f"--long {', '.join(LONG)}", file=sys.stderr)  # fmt: skip
        return 2
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(128 + number))
    begun, missed = time.monotonic(), 0
    print(machine())
    print(f"{'what':58} {'measured':>10} {'allowed':>10} {'ratio':>6}  unit", flush=True)
    for name, make in jobs:
        module = f"tests.bench.bench_{name}"
        for row in measured(module, make) if not wanted or name in wanted else ():
            print(line_of(row), flush=True)
            missed += not row.kept
    print(f"{missed} missed" if missed else "every budget kept", end="")
    print(f", {(time.monotonic() - begun) / 60:.0f} minutes")
    return 1 if missed else 0


def measured(module: str, make: str) -> Iterator[BenchRow]:
    """The rows of one module as they come, from a process of its own; its failure is the last.

    They come on a pipe that this process alone may write to: what it starts and leaves behind
    would hold its output open.
    """
    to_read, to_write = os.pipe()
    with os.fdopen(to_read) as told, tempfile.TemporaryFile("w+") as complaints:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.bench.one", module, make, str(to_write)],
            pass_fds=(to_write,), stdout=complaints, stderr=complaints,
        )  # fmt: skip
        os.close(to_write)
        limit = threading.Timer(LIMIT_S[make], process.terminate)
        limit.daemon = True
        limit.start()
        try:
            for line in told:
                yield BenchRow(**json.loads(line))
            code = process.wait()
        finally:
            limit.cancel()
            process.terminate()
        if code:
            complaints.seek(0)
            said = [line.strip() for line in complaints if line.strip()]
            reason = said[-1] if said else f"ended with {code}"
            yield BenchRow(f"{module}: the rest of its rows", None, 0.0, "", reason)


def line_of(row: BenchRow) -> str:
    """One printed line; a missed budget says so in words."""
    if row.measured is None:
        return f"{row.name:58} {'?':>10} {'':10} {'':6}  not measured: {row.note}  MISSED"
    verdict = "" if row.kept else "  MISSED"
    note = f"  ({row.note})" if row.note else ""
    share = row.measured / row.allowed if row.allowed else float(row.measured > 0)
    return (
        f"{row.name:58} {row.measured:10.3f} {row.allowed:10.3f} {share:6.2f}  "
        f"{row.unit}{note}{verdict}"
    )


def machine() -> str:
    """What the figures were taken on, and how busy it was when they began."""
    when = datetime.now(UTC).strftime("%Y-%m-%d")
    name = platform.machine()
    info = Path("/proc/cpuinfo")
    if info.exists():
        models = [row.split(":", 1)[1].strip() for row in info.read_text().splitlines()
                  if row.startswith("model name")]  # fmt: skip
        name = models[0] if models else name
    busy = os.getloadavg()[0]
    return (
        f"{when}, {name}, {os.cpu_count()} cores, Python {platform.python_version()}, "
        f"load {busy:.1f} before the start"
    )


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""Names in the folder of runs: from the receiver's UTC, or a counter while that is unknown.

The tablet's clock names nothing: it may be years off after a flat battery.
"""

import re
from pathlib import Path

RUN_SUFFIX = ".gpkg"
CAPTURE_SUFFIX = ".cap"
_NUMBER = re.compile(r"shift-(\d{4,})")


def next_stem(folder: Path, utc: str) -> str:
    """``2026-04-18-1310-shift-0007``, or ``shift-0007`` with ``utc`` "": one more than the highest.

    ``utc`` is ISO 8601 as in the record.
    """
    numbers = [
        int(found[1]) for path in folder.glob("*shift-*") if (found := _NUMBER.search(path.name))
    ]
    return dated(f"shift-{max(numbers, default=0) + 1:04d}", utc)


def dated(stem: str, utc: str) -> str:
    """The stem with its date and time in front, once UTC is known; as it is if already dated."""
    if not utc or not stem.startswith("shift-"):
        return stem
    day, _, time = utc.partition("T")
    return f"{day}-{time[:2]}{time[3:5]}-{stem}"


def runs_in(folder: Path) -> list[Path]:
    """Every run file by its shift number, oldest first."""
    return sorted(folder.glob(f"*{RUN_SUFFIX}"), key=_order)


def _order(path: Path) -> tuple[int, str]:
    found = _NUMBER.search(path.name)
    return (int(found[1]) if found else 0, path.name)


def captures_of(run: Path) -> list[Path]:
    """The captures beside a run in order: one for each time that the engine was started."""
    stem = run.name.removesuffix(RUN_SUFFIX)
    return sorted(
        (path for path in run.parent.glob(f"{stem}*{CAPTURE_SUFFIX}")),
        key=lambda path: (len(path.name), path.name),
    )

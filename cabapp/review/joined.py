"""A shift that lies in several files, read as one.

A file whose storage failed is left and the shift goes on in a new one, and so it does after a power
loss that spoiled the old one; the new file says in a moment what it goes on from. Here all of them
become one run in memory, and everything after that, sums, page, report and exports, is made as for
any other. What a left file and its follower both hold counts once.
"""

import math
import sqlite3
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

from cabapp.record.folder import RUN_SUFFIX, runs_in
from cabapp.record.geopackage import RUN_TABLES, create
from cabapp.record.reader import MISPLACED, Run, RunFileError, open_run

MOST_ROWS = 100_000  # over a day of seconds
MOST_MOMENTS = 50_000
MOST_FILES = 8  # of one shift: a file is left once in half a minute at most, and then not often
RUNS = "runs"  # a copy of the run being written lies beside this folder
CLOCKS_S = 120.0  # a follower's seconds run on from those of the file before it, and so does UTC
ROW = ("geom", "t_s", "utc")
MOMENT = (
    "geom", "t_s", "utc", "what", "level", "rule", "headline", "action", "value", "words", "detail",
)  # fmt: skip
PAGE = ("schema_version", "program", "shift", "begun_utc", "rig_text", "rig", "plan")
LAST_WORD = ("ended_utc", "ended", "field", "driver")


# What a spoiled page or value of a run may come out as, besides what open_run expects.
_NOT_OURS = (KeyError, TypeError, AttributeError, OverflowError, RecursionError, IndexError)


@contextmanager
def opened(path: Path) -> Iterator[Run]:
    """A run open for reading; whatever is wrong with it comes out as one RunFileError."""
    try:
        with open_run(path) as run:
            count(run)
            yield run
    except _NOT_OURS:
        raise RunFileError(f"{path}: damaged ({MISPLACED}); use another copy") from None


@dataclass(frozen=True)
class Files:
    """The files of a shift, first to last; ``missing`` says what it goes on from and is not here.

    ``missing`` is a sentence, "" for a whole shift.
    """

    paths: tuple[Path, ...]
    missing: str = ""


def count(run: Run) -> None:
    """RunFileError for a file that holds more than a shift can."""
    rows, moments = run.counts()
    if rows > MOST_ROWS or moments > MOST_MOMENTS:
        raise RunFileError(
            f"{run.path}: {rows} rows and {moments} moments, a shift has at most {MOST_ROWS} and "
            f"{MOST_MOMENTS}; it is not a shift"
        )


def files_of(run: Run) -> Files:
    """The files of the shift that ends with this one, looked for beside it."""
    paths, missing, then = [run.path], "", run
    with ExitStack() as stack:
        while (name := then.goes_on_from()) and len(paths) < MOST_FILES:
            try:
                before = stack.enter_context(opened(_beside(run.path, name)))
                _check(before, then, paths)
            except RunFileError as error:
                missing = f"its first part is missing: {error}"
                break
            paths.insert(0, before.path)
            then = before
    return Files(tuple(paths), missing)


def last_file_of(path: Path) -> Path:
    """The file that holds the end of a shift: another one where this was left. RunFileError."""
    seen = [path]
    while len(seen) < MOST_FILES:
        with opened(seen[-1]) as run:
            left = run.page.ended != "ended"
        after = _follower(seen[-1]) if left else None
        if after is None or after in seen:
            break
        seen.append(after)
    return seen[-1]


@contextmanager
def joined(files: Files) -> Iterator[Run]:
    """All files of a shift as one run in memory; RunFileError as for ``opened``."""
    memory = sqlite3.connect(":memory:", isolation_level=None)
    try:
        with ExitStack() as stack:
            runs = [stack.enter_context(opened(path)) for path in files.paths]
            memory.execute("BEGIN")
            create(memory, RUN_TABLES, "")
            _write_page(memory, runs[0], runs[-1])
            _write_rows(memory, runs)
            _write_moments(memory, runs)
            memory.execute("COMMIT")
        with Run(files.paths[-1], memory) as run:
            count(run)
            yield run
    except _NOT_OURS:
        raise RunFileError(f"{files.paths[-1]}: damaged ({MISPLACED}); use another copy") from None
    finally:
        memory.close()


def _beside(run: Path, name: str) -> Path:
    """Where a file lies that a run names; RunFileError for a name that is none."""
    if Path(name).name != name or not name.endswith(RUN_SUFFIX):
        raise RunFileError(f"{run}: goes on from {name[:80]!r}, which is no name of a run")
    here = run.with_name(name)
    return here if here.exists() else run.parent.parent / RUNS / name


def _check(before: Run, then: Run, seen: list[Path]) -> None:
    """Refuse a file of that name that is not the one meant."""
    if before.path in seen or not (_same_clock(before, then) or _same_shift(before, then)):
        raise RunFileError(f"{before.path}: is of another shift than {then.path.name}")


def _same_shift(before: Run, then: Run) -> bool:
    """A file left for its storage names the shift as its follower does."""
    same = before.page.shift == then.page.shift and before.page.rig.id == then.page.rig.id
    return same and not (_dated(before) and _dated(then))


def _same_clock(before: Run, then: Run) -> bool:
    """Whether UTC and the record's seconds say the same of the time between two files."""
    one, other = _dated(before), _dated(then)
    if not one or not other:
        return False
    (t_s, utc), (then_s, then_utc) = one[0], other[0]
    return abs((then_utc - utc).total_seconds() - (then_s - t_s)) < CLOCKS_S


def _dated(run: Run) -> list[tuple[float, datetime]]:
    """The first row that has a date, if any: its seconds and its UTC."""
    for t_s, utc in run.table("track", ("t_s", "utc")):
        if utc:
            return [(float(str(t_s)), datetime.fromisoformat(str(utc)))]
    return []


def _begin_of(run: Run) -> float:
    """``t_s`` of the first row; infinity without any."""
    times = run.numbers(("t_s",))["t_s"]
    return float(np.min(times, initial=math.inf))


def _follower(path: Path) -> Path | None:
    """The file in the same folder that goes on from this one; None where there is none."""
    for other in runs_in(path.parent):
        try:
            with opened(other) as run:
                if run.goes_on_from() == path.name:
                    return other
        except RunFileError:
            continue  # damaged, or the run in hand: it is no part of what is read
    return None


# -- the run in memory ----------------------------------------------------------------------------


def _write_page(memory: sqlite3.Connection, first: Run, last: Run) -> None:
    """The page of the first file; how it ended, and the last word on field and driver."""
    values = (*next(first.table("run", PAGE)), *next(last.table("run", LAST_WORD)))
    _insert(memory, "run", (*PAGE, *LAST_WORD), iter([values]))


def _write_rows(memory: sqlite3.Connection, runs: list[Run]) -> None:
    """Rows in order of files; a left file gives none from where its follower begins."""
    found = dict.fromkeys(name for run in runs for name in run.columns)
    names = [name for name in found if name.isidentifier() and name != "fid"]
    for name in names:
        if name not in ROW:
            memory.execute(f'ALTER TABLE track ADD COLUMN "{name}"')
    place = names.index("t_s")
    untils = [*map(_begin_of, runs[1:]), math.inf]
    for run, until in zip(runs, untils, strict=True):
        rows = run.table("track", names)
        _insert(memory, "track", names, (row for row in rows if float(str(row[place])) < until))


def _write_moments(memory: sqlite3.Connection, runs: list[Run]) -> None:
    """Moments in order of files; one that stands in the follower too comes from there."""
    for n, run in enumerate(runs):
        again = {moment for later in runs[n + 1 :] for moment in later.table("moment", MOMENT)}
        moments = run.table("moment", MOMENT)
        _insert(memory, "moment", MOMENT, (moment for moment in moments if moment not in again))


def _insert(
    memory: sqlite3.Connection, table: str, names: Sequence[str], rows: Iterator[tuple[object, ...]]
) -> None:
    listed = ", ".join(f'"{name}"' for name in names)
    marks = ", ".join("?" * len(names))
    memory.executemany(f"INSERT INTO {table} ({listed}) VALUES ({marks})", rows)

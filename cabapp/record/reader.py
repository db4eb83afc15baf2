"""Reading finished runs: read-only, untouched, and wary of files that somebody else has had.

A run may come back from a GIS with an index, triggers and rows of its own; only the named tables
are read, as plain tables. Anything else is refused in one sentence.
"""

import json
import sqlite3
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from types import TracebackType
from typing import Any
from urllib.parse import quote

import numpy as np
import numpy.typing as npt

from cabapp.codec import from_plain
from cabapp.outcome import Moment, What
from cabapp.plan import Plan
from cabapp.record.geopackage import APPLICATION_ID, RUN_TABLES, SCHEMA_VERSION, place
from cabapp.record.totals import columns_of, totals
from cabapp.rig import Rig
from cabapp.words import Level

LONGEST_VALUE = 16 * 1024 * 1024  # bytes in one value: a rig text or the worked ground of a day
MOST_COLUMNS = 500
ROWS_AT_ONCE = 5_000
GOES_ON_FROM = "goes on from"  # what a second file of a shift says; the value names the first


MISPLACED = "a value in it is not what belongs there"


class RunFileError(Exception):
    """A file that is no run, or no whole one: names it, what was found and the mend."""


class IsTheBook(RunFileError):
    """The book, which may lie among the runs: no run, and nothing wrong with it."""


@dataclass(frozen=True)
class RunPage:
    """What a run says about itself."""

    shift: str
    program: str
    begun_utc: str
    ended_utc: str
    ended: str  # "ended", "power lost", or "" for a copy of a run that goes on
    field: str
    driver: str
    rig_text: str
    rig: Rig
    plan: Plan


class Run:
    """A run open for reading; use it in a ``with``. Raises RunFileError from any method."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self._connection = connection
        self.columns = columns_of(connection, "track")
        self.page = _page(path, connection)

    def __enter__(self) -> "Run":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self._connection.close()
        # SQLite keeps a value of any type in any column: TypeError is what a spoiled page gives.
        damage = isinstance(error, sqlite3.Error | ValueError | TypeError)
        if damage and not isinstance(error, RunFileError):
            what = str(error) if isinstance(error, sqlite3.Error) else MISPLACED
            raise RunFileError(f"{self.path}: damaged ({what}); use another copy") from None

    def numbers(self, names: Sequence[str]) -> dict[str, npt.NDArray[np.float64]]:
        """Track columns as arrays in the order written; NaN for null.

        A column that this run does not have is all NaN, so that seasons with different rigs read
        alike.
        """
        there = [name for name in names if name in self.columns]
        cursor = self._connection.execute(_select(there))
        parts = [np.empty((0, max(len(there), 1)))]
        while rows := cursor.fetchmany(ROWS_AT_ONCE):
            parts.append(np.array(rows, np.float64))
        table = np.concatenate(parts)
        found = {name: table[:, index] for index, name in enumerate(there)}
        return {name: found.get(name, np.full(len(table), np.nan)) for name in names}

    def words(self, names: Sequence[str]) -> dict[str, list[str | None]]:
        """Track columns that hold words, None for null; all None where the run has no such."""
        there = [name for name in names if name in self.columns]
        rows = self._connection.execute(_select(there)).fetchall()
        found = {name: [row[index] for row in rows] for index, name in enumerate(there)}
        return {name: found.get(name, [None] * len(rows)) for name in names}

    def places(self) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.float64]]:
        """Latitude and longitude of each row in degrees, NaN where there was no fix."""
        nowhere = (float("nan"), float("nan"))
        found = [
            place(blob) or nowhere
            for (blob,) in self._connection.execute("SELECT geom FROM track ORDER BY fid")
        ]
        both = np.array(found, np.float64).reshape(len(found), 2)
        return both[:, 0], both[:, 1]

    def rows(self) -> Iterator[dict[str, object]]:
        """Each row as a dict of its columns with ``lat_deg`` and ``lon_deg``, as Resumed wants."""
        yield from rows_of(self._connection, self.columns)

    def moments(self) -> list[Moment]:
        """Every moment in the order written."""
        return moments_of(self._connection)

    def summary(self) -> dict[str, Any]:
        """The stored sums; empty for a run that was not ended. Worked ground is bytes."""
        return {
            key: blob if value is None else json.loads(value)
            for key, value, blob in self._connection.execute(
                "SELECT key, value, bytes FROM summary"
            )
        }

    def counts(self) -> tuple[int, int]:
        """How many rows and moments there are."""
        rows = self._connection.execute("SELECT count(*) FROM track").fetchone()[0]
        return int(rows), int(self._connection.execute("SELECT count(*) FROM moment").fetchone()[0])

    def totals(self) -> dict[str, Any]:
        """The sums made again from rows and moments."""
        return totals(self._connection)

    def last_utc(self) -> str:
        """UTC of its end, or of its last row where nobody ended it; "" where none is known."""
        if self.page.ended_utc:
            return self.page.ended_utc
        return str(self._connection.execute("SELECT max(utc) FROM track").fetchone()[0] or "")

    def goes_on_from(self) -> str:
        """The file that this one goes on from, by the moment that says so; "" for a whole shift."""
        found = self._connection.execute(
            "SELECT words FROM moment WHERE what = 'run' AND detail = ? AND words IS NOT NULL "
            "ORDER BY fid LIMIT 1",
            (GOES_ON_FROM,),
        ).fetchone()
        return str(found[0]) if found else ""

    def table(self, name: str, columns: Sequence[str]) -> Iterator[tuple[object, ...]]:
        """Lines of one of a run's tables in the order written; null for a column it has not."""
        there = columns_of(self._connection, name)
        listed = ", ".join(f'"{column}"' if column in there else "NULL" for column in columns)
        yield from self._connection.execute(f"SELECT {listed} FROM {name} ORDER BY fid")


def open_run(path: Path) -> Run:
    """Open a finished run (or a copy of a live one); RunFileError if it is not one.

    Opened immutable: nothing is written beside it, also on a read-only stick.
    """
    try:
        _look_at_file(path)
        connection = sqlite3.connect(
            f"file:{quote(str(path.absolute()))}?mode=ro&immutable=1", uri=True
        )
        _be_wary(connection)
        _check(path, connection)
        return Run(path, connection)
    except OSError as error:
        raise RunFileError(
            f"{path}: cannot be read ({error.strerror}); name a file that you may read"
        ) from None
    except sqlite3.Error as error:
        raise RunFileError(f"{path}: damaged ({error}); use another copy") from None
    except UnicodeDecodeError:
        raise RunFileError(f"{path}: damaged ({MISPLACED}); use another copy") from None


def _look_at_file(path: Path) -> None:
    if not path.is_file():
        what = "a folder" if path.is_dir() else "there is no such file"
        raise RunFileError(f"{path}: {what}; name one run file")
    wal = Path(f"{path}-wal")
    if wal.exists() and wal.stat().st_size > 0:
        raise RunFileError(f"{path}: still being written; end the shift, or ask for a copy of it")
    _look_at_head(path)


def _look_at_head(path: Path) -> None:
    """Refuse what is plainly no whole file, in words that say how it came (SQLite file format).

    Offset 16 holds the page size, 28 the pages of a whole file, which a half copy falls short of.
    """
    size = path.stat().st_size
    with open(path, "rb") as file:
        head = file.read(100)
    if not head:
        raise RunFileError(f"{path}: it is empty, expected a run; copy it again from the tablet")
    if not head.startswith(b"SQLite format 3\0"):
        raise RunFileError(
            f"{path}: not a run, it begins with {_shown(head[:16])}; a run ends in .gpkg and comes "
            "from Shifts"
        )
    page = int.from_bytes(head[16:18], "big")
    whole = (65536 if page == 1 else page) * int.from_bytes(head[28:32], "big")
    if len(head) < 100 or size < whole:
        raise RunFileError(
            f"{path}: cut short, {size} bytes of {max(whole, 100)}; copy it again from the tablet"
        )


def _shown(head: bytes) -> str:
    """The first bytes of a file as a person may know them again."""
    text = head.split(b"\n")[0].decode("latin-1").strip()
    return f'"{text}"' if text.isascii() and text.isprintable() else f"bytes {head[:8].hex(' ')}"


def _select(names: Sequence[str]) -> str:
    listed = ", ".join(f'"{name}"' for name in names) or "NULL"
    return f"SELECT {listed} FROM track ORDER BY fid"


def rows_of(connection: sqlite3.Connection, columns: Sequence[str]) -> Iterator[dict[str, object]]:
    """Each row of track as a dict with ``lat_deg`` and ``lon_deg`` in place of the geometry."""
    listed = ", ".join(f'"{name}"' for name in columns if name != "fid")
    names = [name for name in columns if name != "fid"]
    for values in connection.execute(f"SELECT {listed} FROM track ORDER BY fid"):
        row = dict(zip(names, values, strict=True))
        lat, lon = place(row.pop("geom")) or (None, None)
        yield {**row, "lat_deg": lat, "lon_deg": lon}


def moments_of(connection: sqlite3.Connection) -> list[Moment]:
    """Every moment in the order written; ValueError for one that no program here wrote."""
    found = connection.execute(
        "SELECT geom, utc, t_s, what, level, rule, headline, action, value, words, detail "
        "FROM moment ORDER BY fid"
    )
    return [_moment(*values) for values in found]


def _moment(
    geom: bytes | None, utc: str | None, t_s: float, what: str, level: str | None, *rest: Any
) -> Moment:
    rule, headline, action, value, words, detail = rest
    lat, lon = place(geom) or (None, None)
    return Moment(
        utc=utc or "",
        t_s=float(t_s),
        what=What(what),
        level=Level(level) if level else None,
        rule=rule or "",
        headline=headline or "",
        action=action or "",
        value=value if words is None else words,
        lat_deg=lat,
        lon_deg=lon,
        detail=detail or "",
    )


def _be_wary(connection: sqlite3.Connection) -> None:
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA query_only = ON")
    connection.execute("PRAGMA cell_size_check = ON")
    connection.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, LONGEST_VALUE)
    connection.setlimit(sqlite3.SQLITE_LIMIT_ATTACHED, 0)


def _check(path: Path, connection: sqlite3.Connection) -> None:
    """Refuse what is not a run: wrong kind of file, tables that are none, a newer layout."""
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        raise RunFileError(f"{path}: not a GeoPackage; a run ends in .gpkg and comes from Shifts")
    there = {name for (name,) in connection.execute("SELECT name FROM sqlite_master")}
    _check_tables(path, there)
    for table in RUN_TABLES:
        _check_table(path, connection, table.name, table.columns)
    versions = [row[0] for row in connection.execute("SELECT schema_version FROM run LIMIT 2")]
    if len(versions) != 1:
        raise RunFileError(f"{path}: {len(versions)} run pages, expected one; use another copy")
    if not isinstance(versions[0], int) or not 1 <= versions[0] <= SCHEMA_VERSION:
        raise RunFileError(
            f"{path}: layout {versions[0]}, this program reads up to {SCHEMA_VERSION}; update it"
        )


def _check_tables(path: Path, there: set[str]) -> None:
    """Whether it is a run by its tables, the book, another program's file, or a spoiled run."""
    missing = [table.name for table in RUN_TABLES if table.name not in there]
    if not missing:
        return
    if "entry" in there:
        raise IsTheBook(f"{path}: the book of fields and notes, no run; name a run file")
    if len(missing) == len(RUN_TABLES):
        raise RunFileError(f"{path}: a GeoPackage of another program; a run comes from Shifts")
    raise RunFileError(f"{path}: damaged (it has no table {missing[0]}); use another copy")


def _check_table(path: Path, connection: sqlite3.Connection, name: str, columns: str) -> None:
    kind, sql = connection.execute(
        "SELECT type, sql FROM sqlite_master WHERE name = ?", (name,)
    ).fetchone()
    if kind != "table" or str(sql).lstrip().upper().startswith("CREATE VIRTUAL"):
        raise RunFileError(f"{path}: {name} is not a plain table; use the file as it was written")
    there = connection.execute(f"PRAGMA table_xinfo({name})").fetchall()
    if len(there) > MOST_COLUMNS or any(row[6] for row in there):
        raise RunFileError(
            f"{path}: {name} has computed or too many columns; use the file as it was written"
        )
    wanted = {column.split()[0] for column in columns.split(", ")}
    missing = sorted(wanted - {row[1] for row in there})
    if missing:
        raise RunFileError(f"{path}: {name} has no column {missing[0]}; use another copy")


# A run begun before its receiver knew the date takes that of its first dated row, as at its end.
_BEGUN = "coalesce(begun_utc, (SELECT min(utc) FROM track))"


def _page(path: Path, connection: sqlite3.Connection) -> RunPage:
    names = [column.name for column in fields(RunPage)]
    listed = ", ".join(_BEGUN if name == "begun_utc" else name for name in names)
    values = connection.execute(f"SELECT {listed} FROM run").fetchone()
    page: dict[str, Any] = {name: value or "" for name, value in zip(names, values, strict=True)}
    try:
        page["rig"] = from_plain(Rig, json.loads(page["rig"]))
        page["plan"] = from_plain(Plan, json.loads(page["plan"]))
        return RunPage(**page)
    except (KeyError, TypeError, ValueError, AttributeError):
        raise RunFileError(
            f"{path}: damaged (its rig or plan cannot be read); use another copy"
        ) from None

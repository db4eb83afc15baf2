"""The book: fields, pits, plans, hand checks, checklists, pegs, wear and drivers.

A GeoPackage with one table, ``entry``; a line is put in and never changed: triggers refuse it. A
correction is a new line that names the one it corrects, with its own date and name; so is taking
a line back. Kept in rollback mode, so that engine and screens may both write, seldom as they do.
"""

import json
import sqlite3
from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import Enum
from pathlib import Path
from typing import Any

from cabapp.codec import to_plain
from cabapp.record.geopackage import APPLICATION_ID, Table, create, place, point

BUSY_S = 5.0  # a page of the other process is written in far less
SCHEMA_VERSION = 1


class Kind(Enum):
    """What an entry is about."""

    FIELD = "field"
    PIT = "pit"
    PLAN = "plan"
    HAND_CHECK = "hand_check"
    CHECKLIST = "checklist"
    PEG = "peg"
    WEAR = "wear"
    DRIVER = "driver"
    NOTE = "note"


@dataclass(frozen=True)
class Entry:
    """One entry as it stands now. ``number`` is that of its first line and names it for good.

    ``value`` holds SI values; ``made_utc`` is "" while no date was known; ``corrected`` says how
    often it was corrected.
    """

    number: int
    kind: Kind
    field: str
    value: dict[str, Any]
    who: str
    made_utc: str
    lat_deg: float | None
    lon_deg: float | None
    corrected: int = 0


class BookError(Exception):
    """A book that cannot be used: names the file, what was found and the mend."""


BOOK_TABLES = (
    Table(
        "entry",
        "schema_version INTEGER NOT NULL, kind TEXT NOT NULL, field TEXT NOT NULL, "
        "value TEXT NOT NULL, who TEXT NOT NULL, made_utc DATETIME, "
        "corrects INTEGER REFERENCES entry (fid), taken_back INTEGER NOT NULL",
        True,
        "Fields, pits, plans, checks, pegs, wear and drivers; lines are only ever added",
    ),
)
GUARDS = (
    "CREATE INDEX entry_kind ON entry (kind, field)",
    "CREATE TRIGGER entry_stays BEFORE UPDATE ON entry "
    "BEGIN SELECT RAISE(ABORT, 'the book is added to, never changed'); END",
    "CREATE TRIGGER entry_kept BEFORE DELETE ON entry "
    "BEGIN SELECT RAISE(ABORT, 'the book is added to, never changed'); END",
)


MEND = "make sure that it may be read and written, or restore a kept copy"


class Book:
    """The book open for reading and adding; each addition is on disk when the call returns.

    Methods raise BookError when the storage refuses. Not for the driving path.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            self._connection = sqlite3.connect(
                path, isolation_level=None, timeout=BUSY_S, check_same_thread=False
            )
            self._connection.execute("PRAGMA journal_mode = DELETE")
            self._connection.execute("PRAGMA synchronous = EXTRA")
            self._connection.execute("PRAGMA trusted_schema = OFF")
            self._make_if_new()
        except OSError as error:
            raise BookError(f"{path}: cannot be opened ({error.strerror}); {MEND}") from None
        except sqlite3.Error as error:
            raise BookError(f"{path}: cannot be opened ({error}); {MEND}") from None

    def close(self) -> None:
        """Let go of the file."""
        self._connection.close()

    def add(
        self,
        kind: Kind,
        value: Mapping[str, object],
        who: str,
        when_utc: str,
        where: tuple[float, float] | None = None,
        field: str = "",
    ) -> int:
        """Put in a new entry; its number. ``value`` holds plain values, SI; ValueError on nan."""
        return self._insert(kind, field, value, who, when_utc, where, None, False)

    def correct(self, number: int, value: Mapping[str, object], who: str, when_utc: str) -> int:
        """Put in a correction of an entry, with its date and name; KeyError if there is none."""
        now = self.entry(number)
        where = None if now.lat_deg is None or now.lon_deg is None else (now.lat_deg, now.lon_deg)
        return self._insert(now.kind, now.field, value, who, when_utc, where, number, False)

    def take_back(self, number: int, who: str, when_utc: str) -> int:
        """Put in that an entry no longer holds; it stays in ``history``."""
        now = self.entry(number)
        return self._insert(now.kind, now.field, now.value, who, when_utc, None, number, True)

    def entries(self, kind: Kind, field: str | None = None) -> list[Entry]:
        """Entries of a kind as they stand now, oldest first; ``field`` None is every field."""
        wanted, values = "kind = ?", [kind.value]
        if field is not None:
            wanted, values = wanted + " AND field = ?", [kind.value, field]
        return self._standing(wanted, values)

    def latest(self, kind: Kind, field: str | None = None) -> Entry | None:
        """The newest entry of a kind, or None."""
        found = self.entries(kind, field)
        return found[-1] if found else None

    def entry(self, number: int) -> Entry:
        """One entry as it stands now; KeyError if there is none or it was taken back."""
        found = self._standing("coalesce(corrects, fid) = ?", [number])
        if not found:
            raise KeyError(f"{self.path}: no entry {number}")
        return found[0]

    def history(self, number: int) -> list[Entry]:
        """Every line about one entry, oldest first: what was said, by whom and when."""
        return [_entry(line) for line in self._lines("coalesce(corrects, fid) = ?", [number])]

    def fields(self) -> list[str]:
        """Names of all fields that any entry names, in order of first use."""
        found = self._ask(
            "SELECT field FROM entry WHERE field <> '' GROUP BY field ORDER BY min(fid)"
        )
        return [str(row[0]) for row in found]

    # -- inside -------------------------------------------------------------------------------

    def _make_if_new(self) -> None:
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            made = self._connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]
            if not made:
                create(self._connection, BOOK_TABLES, "")
                for statement in GUARDS:
                    self._connection.execute(statement)
            self._connection.execute("COMMIT")
        except sqlite3.Error:
            self._connection.execute("ROLLBACK")
            raise
        if self._connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            raise BookError(f"{self.path}: not a book of this program; move it away")

    def _insert(
        self,
        kind: Kind,
        field: str,
        value: Mapping[str, object],
        who: str,
        when_utc: str,
        where: tuple[float, float] | None,
        corrects: int | None,
        taken_back: bool,
    ) -> int:
        plain = json.dumps(to_plain(dict(value)), allow_nan=False, ensure_ascii=False)
        found = self._ask(
            "INSERT INTO entry (geom, schema_version, kind, field, value, who, made_utc, "
            "corrects, taken_back) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING fid",
            (point(*where) if where else None, SCHEMA_VERSION, kind.value, field, plain, who,
             when_utc or None, corrects, int(taken_back)),
        )  # fmt: skip
        return int(found[0][0])

    def _standing(self, wanted: str, values: list[Any]) -> list[Entry]:
        """The last line of each entry, without those taken back."""
        standing: dict[int, Entry] = {}
        for line in self._lines(wanted, values):
            entry, taken_back = _entry(line), line[-1]
            before = standing.pop(entry.number, None)
            if not taken_back:
                times = before.corrected + 1 if before else 0
                standing[entry.number] = replace(entry, corrected=times)
        return sorted(standing.values(), key=lambda entry: entry.number)

    def _lines(self, wanted: str, values: list[Any]) -> list[tuple[Any, ...]]:
        return self._ask(
            "SELECT coalesce(corrects, fid), kind, field, value, who, made_utc, geom, taken_back "
            f"FROM entry WHERE {wanted} ORDER BY fid",
            values,
        )

    def _ask(self, sql: str, values: list[Any] | tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
        try:
            return self._connection.execute(sql, values).fetchall()
        except sqlite3.Error as error:
            raise BookError(f"{self.path}: {error}; free space, {MEND}") from None


def _entry(line: tuple[Any, ...]) -> Entry:
    number, kind, field, value, who, made_utc, geom, _ = line
    lat, lon = place(geom) or (None, None)
    return Entry(number, Kind(kind), field, json.loads(value), who, made_utc or "", lat, lon)

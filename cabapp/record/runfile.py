"""One run file being written: rows and moments in, batch by batch, on one connection.

No thread of its own: ``writer.py`` drives it from its thread, ``makerun.py`` from a loop.
"""

import json
import sqlite3
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path

from cabapp import __version__
from cabapp.codec import to_plain
from cabapp.outcome import Moment, Row
from cabapp.plan import Plan
from cabapp.record.disk import Disk
from cabapp.record.geopackage import (
    RUN_TABLES,
    SCHEMA_VERSION,
    Extent,
    create,
    note_extent,
    place,
    point,
)
from cabapp.record.totals import totals
from cabapp.rig import Rig

# Endings of column names that hold numbers; every other column holds words.
NUMBER_ENDINGS = ("_mps", "_deg", "_m", "_ratio", "_s", "_m2", "_m2_s", "_n", "_state", "_count")

INSERT_MOMENT = (
    "INSERT INTO moment (geom, t_s, utc, what, level, rule, headline, action, value, words, "
    "detail) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)"
)


@dataclass(frozen=True)
class RunFacts:
    """What a run says about itself: enough to judge it again. ``utc`` "" while unknown."""

    rig: Rig
    plan: Plan
    rig_text: str = ""
    shift: str = ""
    utc: str = ""


@dataclass
class Batch:
    """What one commit holds."""

    rows: list[Row] = field(default_factory=list)
    moments: list[Moment] = field(default_factory=list)

    def __bool__(self) -> bool:
        return bool(self.rows or self.moments)


class RunFile:
    """An open run. Every method may raise sqlite3.Error or OSError; the file is then whole still.

    ``begin`` makes the file, ``resume`` goes on with one that was left unended (ValueError if it
    is no run).
    """

    def __init__(self, path: Path, connection: sqlite3.Connection, disk: Disk) -> None:
        self.path = path
        self._connection = connection
        self._disk = disk
        self._columns = {str(row[1]) for row in connection.execute("PRAGMA table_info(track)")}
        self._extents = {"track": Extent(), "moment": Extent()}
        page = connection.execute("SELECT shift FROM run").fetchone()
        if page is None:
            raise ValueError(f"{path}: has no page of its run")
        self.shift = str(page[0])
        self.first_utc = self.last_utc = ""

    @classmethod
    def begin(cls, path: Path, facts: RunFacts, disk: Disk) -> "RunFile":
        """A new run; an empty or half-made file of that name is begun again."""
        connection = disk.connect(path)
        try:
            connection.execute("BEGIN IMMEDIATE")
            create(connection, RUN_TABLES, facts.utc)
            connection.execute(
                "INSERT INTO run (schema_version, program, shift, begun_utc, field, driver, "
                "rig_text, rig, plan) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
                (
                    SCHEMA_VERSION,
                    __version__,
                    facts.shift or path.stem,
                    facts.utc or None,
                    facts.plan.field or None,
                    facts.plan.driver or None,
                    facts.rig_text,
                    _json(facts.rig),
                    _json(facts.plan),
                ),
            )
            connection.execute("COMMIT")
            disk.sync(path.parent)
        except (sqlite3.Error, OSError):
            connection.close()
            raise
        return cls(path, connection, disk)

    @classmethod
    def resume(cls, path: Path, disk: Disk) -> "RunFile":
        """A run that was left unended, gone on with."""
        connection = disk.connect(path)
        try:
            run = cls(path, connection, disk)
            for table, extent in run._extents.items():
                _see_all(connection, table, extent)
            found = connection.execute("SELECT min(utc), max(utc) FROM track").fetchone()
        except (sqlite3.Error, ValueError):
            connection.close()
            raise
        run.first_utc, run.last_utc = (utc or "" for utc in found)
        return run

    def write(self, batch: Batch) -> None:
        """Commit rows and moments together; after an error none of them is in the file."""
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            for row in batch.rows:
                self._insert_row(row)
            self._connection.executemany(INSERT_MOMENT, map(_moment_values, batch.moments))
            self._connection.execute("COMMIT")
        except (sqlite3.Error, OSError, ValueError):
            self._roll_back()
            raise
        self._note(batch)

    def who(self, field: str, driver: str) -> None:
        """Note field and driver."""
        self._connection.execute(
            "UPDATE run SET field = ?, driver = ?", (field or None, driver or None)
        )

    def copy_to(self, path: Path) -> None:
        """A copy for readers as of the last commit: one plain file, there whole or not at all."""
        beside = path.with_name(path.name + ".part")
        beside.unlink(missing_ok=True)
        copy = sqlite3.connect(beside, isolation_level=None)
        try:
            self._connection.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        finally:
            copy.close()
        self._disk.sync(beside)
        beside.replace(path)

    def end(self, how: str, summary: dict[str, object] | None = None) -> None:
        """End the run: sums stored, then one plain file, synced with its folder.

        ``how`` is "ended" or "power lost". ``summary`` adds to the sums made here.
        """
        sums: dict[str, object] = {**totals(self._connection), **(summary or {})}
        self._connection.execute("BEGIN IMMEDIATE")
        try:
            self._store(sums)
            for table, extent in self._extents.items():
                note_extent(self._connection, table, extent, self.last_utc)
            self._connection.execute(
                "UPDATE run SET ended = ?, ended_utc = ?, "
                "begun_utc = coalesce(begun_utc, (SELECT min(utc) FROM track))",
                (how, self.last_utc or None),
            )
            self._connection.execute("COMMIT")
        except (sqlite3.Error, OSError, ValueError):
            self._roll_back()
            raise
        self._connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        self._connection.execute("PRAGMA journal_mode = DELETE")
        self._connection.close()
        self._disk.sync(self.path)
        self._disk.sync(self.path.parent)

    def leave(self) -> None:
        """Let go of a file that the storage no longer takes, as it is."""
        self._connection.close()

    def _store(self, sums: dict[str, object]) -> None:
        self._connection.execute("DELETE FROM summary")
        for key, value in sums.items():
            plain, blob = (None, value) if isinstance(value, bytes) else (_json(value), None)
            self._connection.execute(
                "INSERT INTO summary (key, value, bytes) VALUES (?, ?, ?)", (key, plain, blob)
            )

    def _insert_row(self, row: Row) -> None:
        for name in row.values:
            if name not in self._columns:
                self._add_column(name)
        names = [f'"{name}"' for name in row.values if name not in _PLACED]
        values = [value for name, value in row.values.items() if name not in _PLACED]
        marks = ", ".join("?" * (3 + len(names)))
        self._connection.execute(
            f"INSERT INTO track ({', '.join(['geom', 't_s', 'utc', *names])}) VALUES ({marks})",
            (point(row.lat_deg, row.lon_deg), row.t_s, row.utc or None, *values),
        )

    def _add_column(self, name: str) -> None:
        """A column is there from the first row that has it; earlier rows hold null."""
        if name in _PLACED:
            return
        if not name.isidentifier():
            raise ValueError(f"{name!r} cannot be a column; use letters, digits and underscores")
        measured = name.removesuffix("_most").removesuffix("_least")
        kind = "REAL" if measured.endswith(NUMBER_ENDINGS) else "TEXT"
        self._connection.execute(f'ALTER TABLE track ADD COLUMN "{name}" {kind}')
        self._columns.add(name)

    def _roll_back(self) -> None:
        if self._connection.in_transaction:
            self._connection.execute("ROLLBACK")
        self._columns = {
            str(row[1]) for row in self._connection.execute("PRAGMA table_info(track)")
        }

    def _note(self, batch: Batch) -> None:
        for row in batch.rows:
            self._extents["track"].see(row.lat_deg, row.lon_deg)
            self.first_utc = self.first_utc or row.utc
            self.last_utc = max(self.last_utc, row.utc)
        for moment in batch.moments:
            self._extents["moment"].see(moment.lat_deg, moment.lon_deg)


# Keys of a row that the table holds in columns of its own.
_PLACED = frozenset({"fid", "geom", "t_s", "utc", "lat_deg", "lon_deg"})


def _moment_values(moment: Moment) -> tuple[object, ...]:
    number = moment.value if isinstance(moment.value, int | float) else None
    words = moment.value if isinstance(moment.value, str) else None
    return (
        point(moment.lat_deg, moment.lon_deg),
        moment.t_s,
        moment.utc or None,
        moment.what.value,
        moment.level.value if moment.level else None,
        moment.rule or None,
        moment.headline or None,
        moment.action or None,
        number,
        words,
        moment.detail or None,
    )


def _json(value: object) -> str:
    return json.dumps(to_plain(value), allow_nan=False, ensure_ascii=False)


def _see_all(connection: sqlite3.Connection, table: str, extent: Extent) -> None:
    blobs: Iterable[tuple[bytes | None]] = connection.execute(f"SELECT geom FROM {table}")
    for (blob,) in blobs:
        found = place(blob)
        if found is not None:
            extent.see(*found)

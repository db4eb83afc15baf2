"""A run file made from recorded events, as fast as possible: for ``replay --run``."""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from cabapp.outcome import Outcome
from cabapp.record.disk import Disk
from cabapp.record.reader import RunFileError
from cabapp.record.runfile import Batch, RunFacts, RunFile

ROWS_IN_COMMIT = 1_000


class HurriedDisk(Disk):
    """Commits that are not synced: a file that can be made again is synced once, at its end."""

    def connect(self, path: Path) -> sqlite3.Connection:
        """A connection that leaves syncing to the end."""
        connection = super().connect(path)
        connection.execute("PRAGMA synchronous = OFF")
        return connection


class RunMaker:
    """Takes outcomes and makes the run; the file is there, whole, after ``end`` and not before.

    Every method raises RunFileError where the storage refuses.
    """

    def __init__(self, path: Path, facts: RunFacts) -> None:
        self._path = path
        self._beside = path.with_name(path.name + ".part")
        with self._in_words():
            self._forget()
            self._run = RunFile.begin(self._beside, facts, HurriedDisk())
        self._batch = Batch()

    def put(self, outcome: Outcome) -> None:
        """Take the rows and moments of one answer."""
        self._batch.rows.extend(outcome.rows)
        self._batch.moments.extend(outcome.moments)
        if len(self._batch.rows) >= ROWS_IN_COMMIT:
            self._commit()

    def end(self) -> Path:
        """Write the rest and the sums, then put the file at its place."""
        self._commit()
        with self._in_words():
            self._run.end("ended")
            self._beside.replace(self._path)
        return self._path

    def _commit(self) -> None:
        if self._batch:
            with self._in_words():
                self._run.write(self._batch)
        self._batch = Batch()

    @contextmanager
    def _in_words(self) -> Iterator[None]:
        try:
            yield
        except (sqlite3.Error, OSError) as error:
            raise RunFileError(
                f"{self._path}: not made ({error}); name a folder that is there and has room"
            ) from None

    def _forget(self) -> None:
        for ending in ("", "-wal", "-shm"):
            Path(f"{self._beside}{ending}").unlink(missing_ok=True)

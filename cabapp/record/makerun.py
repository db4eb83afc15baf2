"""A run file made from recorded events, as fast as possible: for ``replay --run``."""

import sqlite3
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from types import TracebackType

from cabapp.channels import column_of
from cabapp.outcome import Outcome, Row
from cabapp.record.disk import Disk
from cabapp.record.reader import RunFileError
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.record.safewrite import refused
from cabapp.words import Phase

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

    Use it in a ``with``: left before its end, it leaves nothing behind. A file that is there
    already is never written over, but with ``again``, for a run that only repeats another.
    ``heard`` is whether any second of it knows a place, a phase or a reading: without one it is
    not worth its end. Every method raises RunFileError where the storage refuses.
    """

    def __init__(self, path: Path, facts: RunFacts, again: bool = False) -> None:
        self._path = path
        self._beside = path.with_name(path.name + ".part")
        with self._in_words():
            if not again and (path.exists() or path.is_symlink()):
                raise RunFileError(
                    f"{path}: is there already and is not written over; name another file"
                )
            if again:
                path.parent.mkdir(exist_ok=True)
            self._be_alone()
            with ExitStack() as half_made:  # a stop may come while it is begun
                half_made.callback(self._forget)
                self._forget()
                self._run = RunFile.begin(self._beside, facts, HurriedDisk())
                half_made.pop_all()
        self._batch = Batch()
        self._columns = tuple(column_of(sensor.channel) for sensor in facts.rig.sensors)
        self.heard = False

    def __enter__(self) -> "RunMaker":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:  # fmt: skip
        self._run.leave()
        self._forget()

    def put(self, outcome: Outcome) -> None:
        """Take the rows and moments of one answer."""
        self._batch.rows.extend(outcome.rows)
        self._batch.moments.extend(outcome.moments)
        self.heard = self.heard or any(map(self._tells, outcome.rows))
        if len(self._batch.rows) >= ROWS_IN_COMMIT:
            self._commit()

    def end(self) -> Path:
        """Write the rest and the sums, then put the file at its place."""
        self._commit()
        with self._in_words():
            self._run.end("ended")
            self._beside.replace(self._path)
        return self._path

    def _tells(self, row: Row) -> bool:
        known = row.lat_deg is not None or row.values.get("phase") != Phase.UNKNOWN.value
        return known or any(row.values.get(column) is not None for column in self._columns)

    def _commit(self) -> None:
        if self._batch:
            with self._in_words():
                self._run.write(self._batch)
        self._batch = Batch()

    @contextmanager
    def _in_words(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            raise RunFileError(refused(self._path, error)) from None
        except sqlite3.Error as error:
            raise RunFileError(
                f"{self._path}: not made ({error}); name a folder that is there, that may be "
                "written to and has room"
            ) from None

    def _be_alone(self) -> None:
        """Refuse where another process is making this very run: it holds its file locked."""
        if not self._beside.exists():
            return
        probe = sqlite3.connect(self._beside, timeout=0.0)
        try:
            probe.execute("PRAGMA schema_version")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorcode == sqlite3.SQLITE_BUSY:
                raise RunFileError(
                    f"{self._path}: another cabapp is making this run just now; wait for it, or "
                    "name another file"
                ) from None
        except sqlite3.DatabaseError:
            pass  # what was left of it is no database: begun again
        finally:
            probe.close()

    def _forget(self) -> None:
        for ending in ("", "-wal", "-shm"):
            Path(f"{self._beside}{ending}").unlink(missing_ok=True)

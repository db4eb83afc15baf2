"""A run file made from recorded events, as fast as possible: for ``replay --run``."""

import sqlite3
from collections.abc import Iterable
from datetime import date
from pathlib import Path

from cabapp.cab import Cab
from cabapp.events import Event
from cabapp.outcome import Outcome
from cabapp.plan import Plan
from cabapp.record.disk import Disk
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.rig import Rig

ROWS_IN_COMMIT = 1_000


class HurriedDisk(Disk):
    """Commits that are not synced: a file that can be made again is synced once, at its end."""

    def connect(self, path: Path) -> sqlite3.Connection:
        """A connection that leaves syncing to the end."""
        connection = super().connect(path)
        connection.execute("PRAGMA synchronous = OFF")
        return connection


class RunMaker:
    """Takes outcomes and makes the run; the file is there, whole, after ``end`` and not before."""

    def __init__(self, path: Path, facts: RunFacts) -> None:
        self._path = path
        self._beside = path.with_name(path.name + ".part")
        self._forget()
        self._run = RunFile.begin(self._beside, facts, HurriedDisk())
        self._batch = Batch()

    def put(self, outcome: Outcome) -> None:
        """Take the rows and moments of one answer; raises sqlite3.Error or OSError."""
        self._batch.rows.extend(outcome.rows)
        self._batch.moments.extend(outcome.moments)
        if len(self._batch.rows) >= ROWS_IN_COMMIT:
            self._commit()

    def end(self) -> Path:
        """Write the rest and the sums, then put the file at its place."""
        self._commit()
        self._run.end("ended")
        self._beside.replace(self._path)
        return self._path

    def _commit(self) -> None:
        if self._batch:
            self._run.write(self._batch)
        self._batch = Batch()

    def _forget(self) -> None:
        for ending in ("", "-wal", "-shm"):
            Path(f"{self._beside}{ending}").unlink(missing_ok=True)


def make_run(
    events: Iterable[Event],
    rig: Rig,
    plan: Plan,
    out_path: Path,
    near: date | None = None,
    rig_text: str = "",
) -> Path:
    """Play events through a new cab into a run file; raises sqlite3.Error or OSError."""
    maker = RunMaker(out_path, RunFacts(rig, plan, rig_text, shift=out_path.stem))
    cab = Cab(rig, plan, near, snapshots=False)
    for event in events:
        maker.put(cab.step(event))
    return maker.end()

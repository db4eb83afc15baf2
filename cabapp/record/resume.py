"""After power loss: whether the shift that was never ended goes on or is closed, and why.

The rule: it goes on when the new fix is within GO_ON_GAP of its last row and within GO_ON_M of
its last place. With no date within the engine's patience, or none in the run, the gap is not
known, and it is closed: two half days in one file cannot be told apart afterwards.
"""

import logging
import sqlite3
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cabapp.ground.kept import keep
from cabapp.ground.worked import Worked
from cabapp.outcome import Moment, What
from cabapp.record.disk import Disk
from cabapp.record.folder import runs_in
from cabapp.record.geopackage import APPLICATION_ID, place
from cabapp.record.reader import moments_of
from cabapp.record.runfile import RunFile
from cabapp.record.totals import ground_rows, withdrawn
from cabapp.rig import Rig
from cabapp.trade.geodesic import geodesic

GO_ON_GAP = timedelta(hours=4)  # a meal, a repair, a field walked: field judgement
GO_ON_M = 3_000.0  # the next field over is another shift's file only if it is driven to by road
TAKEN_OVER = frozenset({What.PEG, What.CHECK})
NEWEST = 20  # runs looked at: an older one left unended was closed long ago

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Unended:
    """A run that was never ended: its last known date (and ``t_s`` then) and place, and rows."""

    path: Path
    shift: str
    last_utc: str
    last_utc_t_s: float
    lat_deg: float | None
    lon_deg: float | None
    rows: int


@dataclass(frozen=True)
class Verdict:
    """What is done with it, in words for the driver; gap and distance as far as known."""

    go_on: bool
    why: str
    gap_s: float | None = None
    distance_m: float | None = None


def unended(folder: Path, disk: Disk) -> list[Unended]:
    """Runs never ended, oldest first. Opening one takes in what its WAL still holds."""
    found = []
    for path in runs_in(folder)[-NEWEST:]:
        try:
            run = _look(path, disk)
        except (sqlite3.Error, OSError, ValueError) as error:
            log.warning("%s: left alone: %s", path, error)  # damaged, or the run in hand
            continue
        if run is not None:
            found.append(run)
    return found


def verdict(run: Unended, utc: datetime | None, lat_deg: float, lon_deg: float) -> Verdict:
    """Whether a run goes on, given the first good fix after the start; see the module's head."""
    if run.rows == 0:
        return Verdict(False, "nothing was on record")
    if utc is None or not run.last_utc:
        return Verdict(False, "the gap is not known: no date")
    gap = utc - datetime.fromisoformat(run.last_utc)
    distance = None
    if run.lat_deg is not None and run.lon_deg is not None:
        distance = geodesic(run.lat_deg, run.lon_deg, lat_deg, lon_deg)[0]
    known = (gap.total_seconds(), distance)
    if gap < timedelta(seconds=-5):
        return Verdict(False, "its last row is later than now", *known)
    if gap > GO_ON_GAP:
        return Verdict(False, f"the gap is over {GO_ON_GAP.total_seconds() / 3600:.0f} h", *known)
    if distance is not None and distance > GO_ON_M:
        return Verdict(False, f"it ended more than {GO_ON_M / 1000:.0f} km from here", *known)
    return Verdict(True, "same day and place", *known)


def close(run: Unended, disk: Disk) -> bool:
    """End a run whose power was lost, sums and all; False if the storage does not let it."""
    try:
        RunFile.resume(run.path, disk).end("power lost")
    except (sqlite3.Error, OSError, ValueError) as error:
        log.error("%s: cannot be closed: %s", run.path, error)
        return False
    return True


@dataclass(frozen=True)
class Memory:
    """What a shift that goes on has to know of itself: where it worked, and what was told."""

    rows: tuple[dict[str, object], ...]
    withdrawn: tuple[tuple[float, float], ...]
    moments: tuple[Moment, ...]

    def ground(self, rig: Rig) -> dict[str, object]:
        """The worked ground for events.Resumed; after a long day this takes seconds."""
        return keep(Worked.rebuild(rig.tool, rig.receiver, self.rows, self.withdrawn))


def memory(run: Unended, disk: Disk) -> Memory:
    """Read a run that goes on; nothing else may have it open."""
    connection = disk.connect(run.path)
    try:
        told = tuple(one for one in moments_of(connection) if one.what in TAKEN_OVER)
        return Memory(tuple(ground_rows(connection)), withdrawn(connection), told)
    finally:
        connection.close()


def _look(path: Path, disk: Disk) -> Unended | None:
    """A run as a cut left it; one that was cut while being ended is made a plain file."""
    if not _in_wal_mode(path):
        return None
    connection = disk.connect(path)
    try:
        if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
            return None
        page = connection.execute("SELECT shift, ended FROM run").fetchone()
        if page is None or page[1] is not None:
            connection.execute("PRAGMA journal_mode = DELETE")
            return None
        (rows,) = connection.execute("SELECT count(*) FROM track").fetchone()
        utc, utc_t_s = connection.execute(
            "SELECT utc, t_s FROM track WHERE utc IS NOT NULL ORDER BY fid DESC LIMIT 1"
        ).fetchone() or ("", 0.0)
        geom = connection.execute(
            "SELECT geom FROM track WHERE geom IS NOT NULL ORDER BY fid DESC LIMIT 1"
        ).fetchone()
        lat, lon = (place(geom[0]) if geom else None) or (None, None)
        return Unended(path, str(page[0]), utc, utc_t_s, lat, lon, int(rows))
    finally:
        connection.close()


def _in_wal_mode(path: Path) -> bool:
    """Whether a file's header says WAL (SQLite file format, offset 18): no ended run's does."""
    with open(path, "rb") as file:
        head = file.read(20)
    return head.startswith(b"SQLite format 3\0") and head[18:19] == b"\x02"

"""Rows, moments and failing disks for the record's tests."""

import shutil
import sqlite3
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from cabapp.outcome import Moment, Outcome, Row, What
from cabapp.plan import default_plan
from cabapp.record.disk import Disk
from cabapp.record.runfile import RunFacts
from cabapp.rig import Rig, Tool
from cabapp.words import Level

RIG = Rig(id="rig-1", tool=Tool(width_m=5.0, hitch_back_m=3.0, lag_m=4.0))
PLAN = default_plan(RIG)
FACTS = RunFacts(RIG, PLAN, "version = 1\n")


def utc_of(second: int) -> str:
    return f"2026-04-18T{13 + second // 3600:02d}:{second // 60 % 60:02d}:{second % 60:02d}Z"


def row(second: int, **more: float | str | None) -> Row:
    """A second of a pass northwards at 2.5 m/s."""
    values: dict[str, float | str | None] = {
        "course_deg": 0.0,
        "phase": "working",
        "fix": "fixed",
        "speed_mps": 2.5,
        "depth1_m": 0.31,
        **more,
    }
    return Row(float(second), utc_of(second), 52.0 + second * 2.5 / 111_270.0, 5.0, values)


def blind_row(second: int) -> Row:
    """A second without a fix."""
    return Row(float(second), "", None, None, {"phase": "unknown", "fix": "none"})


def alert(second: int, headline: str = "STOP") -> Moment:
    return Moment(
        utc_of(second), float(second), What.ONSET, Level.ACT, "hooked", headline, "Look back",
        3.0, 52.0, 5.0,
    )  # fmt: skip


def phase(second: int) -> Moment:
    return Moment(utc_of(second), float(second), What.PHASE, value="lifted", detail="working")


def second_of(number: int) -> Outcome:
    """What the cab answers when a second closes."""
    return Outcome(rows=(row(number),))


def until(holds: Callable[[], bool], within_s: float = 5.0) -> bool:
    """Wait until something holds; False if it did not in time."""
    end = time.monotonic() + within_s
    while not holds():
        if time.monotonic() > end:
            return False
        time.sleep(0.002)
    return True


def rows_in(path: Path, table: str = "track") -> list[float]:
    """``t_s`` of each row of a file with its WAL, as the next start would find it."""
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name) / path.name
        for ending in ("", "-wal"):
            if Path(f"{path}{ending}").exists():
                shutil.copy(f"{path}{ending}", f"{copy}{ending}")
        connection = sqlite3.connect(copy)
        found = connection.execute(f"SELECT t_s FROM {table} ORDER BY fid").fetchall()
        connection.close()
    return [row[0] for row in found]


class Trouble:
    """What a failing disk does at each commit: returns, raises or waits."""

    def __init__(self) -> None:
        self.commits = 0
        self.fail_at: frozenset[int] = frozenset()
        self.code = sqlite3.SQLITE_IOERR_FSYNC
        self.thawed = threading.Event()
        self.thawed.set()

    def commit(self) -> None:
        self.commits += 1
        self.thawed.wait(30.0)
        if self.commits in self.fail_at:
            error = sqlite3.OperationalError("disk I/O error")
            error.sqlite_errorcode = self.code
            raise error


class TroubledDisk(Disk):
    """The real disk with a seam at each commit."""

    def __init__(self) -> None:
        trouble = self.trouble = Trouble()

        class Troubled(sqlite3.Connection):
            def execute(self, sql: str, *more: Any) -> sqlite3.Cursor:
                if sql == "COMMIT":
                    trouble.commit()
                return super().execute(sql, *more)

        self.connection_class = Troubled
        self.free = 10 * 1024**3

    def free_bytes(self, folder: Path) -> int:
        return self.free

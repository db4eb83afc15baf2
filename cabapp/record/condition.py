"""How the record is, in the words the driver's alerts use; news is told once."""

import errno
import sqlite3
from collections.abc import Callable

from cabapp.events import Health, HealthKind

SLOW_S = 2.0  # a healthy card stalls for less; the alert has its own delay on top
TELL_LOST_EACH_S = 60.0  # each news is a moment too: a short storage must not fill with them
LEFT_FILE_S = 10.0  # so long a file that had to be left stays told, though the next one works

_FULL = frozenset({errno.ENOSPC, errno.EDQUOT})
_BUSY = frozenset({sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED})


def cause_of(error: Exception) -> str:
    """The cause key (words.CAUSES) of an error of sqlite3 or the operating system."""
    if isinstance(error, sqlite3.Error):
        code = getattr(error, "sqlite_errorcode", sqlite3.SQLITE_IOERR) & 0xFF
        if code == sqlite3.SQLITE_FULL:
            return "disk_full"
        return "disk_slow" if code in _BUSY else "disk_failed"
    full = isinstance(error, OSError) and error.errno in _FULL
    return "disk_full" if full else "disk_failed"


class Condition:
    """Set by the writer's thread, asked by the engine's; each field is one assignment."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._cause = ""
        self._left_until = float("-inf")
        self._storage = (True, 0)
        self._thinned = False
        self._told_cause = ""
        self._told_lost, self._told_lost_at = 0, float("-inf")
        self._told_storage = (True, 0)

    def trouble(self, cause: str) -> None:
        """Writing failed for a cause of words.CAUSES."""
        self._cause = cause

    def fine(self) -> None:
        """Writing worked."""
        self._cause = ""

    def left_file(self) -> None:
        """A file had to be left and a new one was begun."""
        self._left_until = self._clock() + LEFT_FILE_S

    def storage(self, well: bool, used_share: float, thinned: bool) -> None:
        """What looking at the free storage found, and whether rows are left out for it."""
        self._storage = (well, round(100 * used_share))
        self._thinned = thinned

    def news(self, late_s: float, lost: int, alive: bool) -> Health | None:
        """What changed since the last call, the record first; None when nothing did.

        ``late_s``: how long the oldest unsaved item waits; ``lost``: how much was not kept.
        """
        now = self._clock()
        cause = self._record_cause(late_s, alive, now)
        more = lost != self._told_lost and now >= self._told_lost_at + TELL_LOST_EACH_S
        if cause != self._told_cause or more:
            self._told_cause, self._told_lost, self._told_lost_at = cause, lost, now
            return Health(now, HealthKind.RECORD, not cause, cause, float(lost) or None)
        if self._storage != self._told_storage:
            self._told_storage = self._storage
            well, percent = self._storage
            return Health(now, HealthKind.STORAGE, well, "", percent / 100)
        return None

    def _record_cause(self, late_s: float, alive: bool, now: float) -> str:
        if not alive:
            return "disk_failed"
        if self._cause or self._thinned:
            return self._cause or "disk_full"
        if late_s > SLOW_S:
            return "disk_slow"
        return "disk_failed" if now < self._left_until else ""

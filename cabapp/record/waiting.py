"""What waits to be written: bounded queues between the driving path and the writer's thread.

Rules of dropping: moments wait up to MOST_MOMENTS and rows up to MOST_ROWS; beyond that the newest
is not taken and counted, and the count itself is written when writing works again. The capture
waits up to MOST_EVENTS; beyond that it is given up, since a capture with a hole plays nothing.
"""

import threading
from collections import deque
from collections.abc import Callable
from itertools import islice

from cabapp.events import Event
from cabapp.outcome import Moment, Outcome, Row, What
from cabapp.record.runfile import Batch
from cabapp.words import Level

MOST_MOMENTS = 20_000
MOST_ROWS = 3_600  # an hour of a disk that does not answer
MOST_EVENTS = 100_000
MOST_IN_COMMIT = 600

# Moments that wait for the row of their second: one commit a second keeps the flash alive.
PATIENT = frozenset({What.PHASE, What.TRIP, What.PORT, What.HEALTH, What.TAP})


class Waiting:
    """The queues. ``put`` and ``event`` are called by the engine, the rest by the writer."""

    def __init__(self, clock: Callable[[], float]) -> None:
        self._clock = clock
        self._lock = threading.Condition()
        self._rows: deque[Row] = deque()
        self._moments: deque[Moment] = deque()
        self._events: deque[Event] = deque()
        self._due = False
        self._since: float | None = None
        self.lost = {"rows": 0, "moments": 0}
        self.events_lost = False

    def put(self, outcome: Outcome) -> None:
        """Take rows and moments, or count them as dropped; never waits."""
        if not (outcome.rows or outcome.moments):
            return
        with self._lock:
            if self._since is None:
                self._since = self._clock()
            for row in outcome.rows:
                self._take_row(row)
            for moment in outcome.moments:
                self._take_moment(moment)
            if self._due:
                self._lock.notify()

    def event(self, event: Event) -> None:
        """Take an event for the capture."""
        if len(self._events) < MOST_EVENTS:
            self._events.append(event)
        else:
            self.events_lost = True

    def wake(self) -> None:
        """Make ``wait`` return now."""
        with self._lock:
            self._due = True
            self._lock.notify()

    def wait(self, at_most_s: float) -> None:
        """Until something has to be written at once, or the time is up."""
        with self._lock:
            if not self._due:
                self._lock.wait(at_most_s)
            self._due = False

    def head(self) -> Batch:
        """The oldest of what waits, enough for one commit; it stays until ``written``."""
        with self._lock:
            return Batch(
                list(islice(self._rows, MOST_IN_COMMIT)),
                list(islice(self._moments, MOST_IN_COMMIT)),
            )

    def written(self, batch: Batch) -> None:
        """Let go of a head that is on disk (or will never be)."""
        with self._lock:
            for _ in batch.rows:
                self._rows.popleft()
            for _ in batch.moments:
                self._moments.popleft()
            self._since = self._clock() if self._rows or self._moments else None

    def lose(self, rows: int, moments: int) -> None:
        """Count what the writer had to leave out."""
        with self._lock:
            self.lost["rows"] += rows
            self.lost["moments"] += moments

    def take_events(self) -> list[Event]:
        """Everything that waits for the capture."""
        taken = []
        while self._events:
            taken.append(self._events.popleft())
        return taken

    @property
    def waited_s(self) -> float:
        """How long the oldest has waited since writing last worked; 0.0 when nothing waits."""
        since = self._since
        return 0.0 if since is None else self._clock() - since

    def _take_row(self, row: Row) -> None:
        if len(self._rows) >= MOST_ROWS:
            self.lost["rows"] += 1
            return
        self._rows.append(row)
        self._due = True

    def _take_moment(self, moment: Moment) -> None:
        if len(self._moments) >= MOST_MOMENTS:
            self.lost["moments"] += 1
            return
        self._moments.append(moment)
        if moment.what not in PATIENT or moment.level in (Level.ACT, Level.LOOK):
            self._due = True

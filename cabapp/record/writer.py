"""The writer of the record: one thread, one connection; nothing that calls it ever waits.

How the engine uses it::

    writer = Writer(folder, clock)           # clock: the engine's monotonic seconds
    writer.event(event)                      # each event, in the order the cab gets them
    writer.put(outcome)                      # each answer of the cab
    writer.begin(RunFacts(...))              # when it is known which shift this is ...
    writer.begin(facts, path, head)          # ... or which unended run goes on (resume.py)
    writer.who(field, driver)                # once the driver has said so
    news = writer.health()                   # events.Health for the cab, or None if nothing is new
    copy = writer.copy_to(path)              # a Future: a copy of the live run, made in between
    writer.end()                             # waits for the last commit; False if it is late
    writer.stop()                            # end of the program

What is put before ``begin`` waits (bounded, see waiting.py) and is written then. ``end`` leaves
one plain file; ``begin`` may follow for the next shift.

When writing fails: full storage keeps everything waiting and tries again each second; any other
error leaves that file as it is and goes on in a new one of the same shift. Either way the driver
is told through ``health``.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

from cabapp.events import Event, Health
from cabapp.outcome import Outcome
from cabapp.record.capture import CaptureHead
from cabapp.record.condition import Condition
from cabapp.record.disk import Disk
from cabapp.record.runfile import RunFacts
from cabapp.record.session import Session
from cabapp.record.waiting import Waiting

EACH_S = 1.0  # what is not urgent, and the capture, go out this often
SPACE_EACH_S = 10.0

Job = Callable[[], None]


class Writer:
    """See the module's head. The folder is made if it is missing."""

    def __init__(
        self,
        folder: Path,
        clock: Callable[[], float] = time.monotonic,
        disk: Disk | None = None,
    ) -> None:
        self._clock = clock
        self._waiting = Waiting(clock)
        self._condition = Condition(clock)
        self._session = Session(folder, disk or Disk(), self._waiting, self._condition, clock)
        self._jobs: deque[Job] = deque()
        self._stopping = False
        self._thread = threading.Thread(target=self._run, name="record", daemon=True)
        self._thread.start()

    @property
    def path(self) -> Path | None:
        """The run being written, or the last one ended; None before the first."""
        return self._session.path

    @property
    def saved(self) -> tuple[int, int]:
        """Rows and moments on disk since ``begin``: what is acknowledged."""
        return self._session.saved

    def put(self, outcome: Outcome) -> None:
        """Take an answer of the cab. Never waits, never raises."""
        self._waiting.put(outcome)

    def event(self, event: Event) -> None:
        """Take an event for the capture. Never waits, never raises."""
        self._waiting.event(event)

    def health(self) -> Health | None:
        """One piece of news about record or storage, or None; call it each tick or second."""
        late_s = self._waiting.waited_s if self._session.begun else 0.0
        lost = sum(self._waiting.lost.values())
        return self._condition.news(late_s, lost, self._thread.is_alive())

    def begin(
        self, facts: RunFacts, go_on: Path | None = None, head: CaptureHead | None = None
    ) -> None:
        """Begin a run, or go on with one that was left unended.

        ``head`` says what the cab was made from, where that is not what the run says of itself.
        """
        made = head or CaptureHead(facts.rig, facts.plan, facts.rig_text)
        self._ask(lambda: self._session.begin(facts, go_on, made))

    def who(self, field: str, driver: str) -> None:
        """Field and driver as the run's page names them; the last word counts."""
        self._ask(lambda: self._session.who(field, driver))

    def copy_to(self, path: Path) -> "Future[Path]":
        """Ask for a copy of the run as of now; the Future holds the path, or the error."""
        done: Future[Path] = Future()
        self._ask(lambda: self._session.copy_to(path, done))
        return done

    def end(self, summary: dict[str, object] | None = None, within_s: float = 20.0) -> bool:
        """Write what waits and end the run; False if the storage did not manage it in time."""
        ended: Future[bool] = Future()
        self._ask(lambda: self._session.end(summary, ended))
        try:
            return ended.result(within_s)
        except TimeoutError:
            return False

    def stop(self, within_s: float = 5.0) -> None:
        """End the thread, writing what waits. A run not ended stays to be gone on with."""
        self._stopping = True
        self._waiting.wake()
        self._thread.join(within_s)

    def _ask(self, job: Job) -> None:
        self._jobs.append(job)
        self._waiting.wake()

    def _run(self) -> None:
        space_at = capture_at = self._clock()
        while not self._stopping:
            self._waiting.wait(EACH_S)
            self._session.write()
            while self._jobs:
                self._jobs.popleft()()
            now = self._clock()
            if now >= capture_at:
                self._session.flush_capture()
                capture_at = now + EACH_S
            if now >= space_at:
                self._session.look_at_space()
                space_at = now + SPACE_EACH_S
        self._session.leave()

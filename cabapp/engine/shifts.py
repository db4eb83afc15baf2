"""Which run file a row belongs to: go on with an unended shift, begin one, end one.

The rules are those of record/resume.py and of the cab, which says "started" and "ended"; here they
are only carried out, on a thread of their own, since reading a long shift back takes a while. A
shift begins with the first work, with the first thing that a person puts on record, or
BEGIN_AFTER_S after the start, so that an evening's key-on makes no empty file. What comes before
is held and written then; a word of Health tells the cab when. Times of a shift that goes on count
on from where it was interrupted, by the receiver's clock.
"""

import json
import logging
import queue
import threading
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cabapp.cab.later import later
from cabapp.codec import from_plain, to_plain
from cabapp.engine.home import Home
from cabapp.engine.livecopy import copy_live, forget_copies
from cabapp.engine.pegbook import keep_peg, pegs_known
from cabapp.engine.service import Guarded
from cabapp.engine.tapbook import Told, keep_tap, kept_in_book
from cabapp.engine.wire import RunCopied
from cabapp.events import Event, Health, HealthKind, PegsKnown, PlanChanged, Resumed
from cabapp.outcome import Moment, Outcome, Row, What
from cabapp.plan import Plan
from cabapp.record.capture import CaptureHead
from cabapp.record.disk import Disk
from cabapp.record.resume import Unended, close, memory, unended, verdict
from cabapp.record.runfile import RunFacts
from cabapp.record.writer import Writer
from cabapp.rig import Rig

BEGIN_AFTER_S = 600.0
DATE_WITHIN_S = 60.0  # without a dated fix for so long, a shift that was cut off is closed
MOST_HELD = 2_000  # answers with rows or moments: over half an hour
SAID = frozenset({What.CHECK, What.PEG, What.NOTE})  # what a person said is kept at once
PLAN_LASTS = timedelta(hours=16)  # a plan made this morning holds today, yesterday's does not

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Facts:
    """What a run file says of itself, and its captures of the cab.

    ``plan`` gives the plan in force; ``made`` is the plan that the cab was made with, and
    ``drivers`` and ``fields`` the names.
    """

    rig: Rig
    rig_text: str
    plan: Callable[[], Plan]
    made: Plan
    drivers: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()


class Shifts:
    """The engine's record: a writer, and the shift that it writes."""

    def __init__(
        self,
        writer: Writer,
        home: Home,
        facts: Facts,
        post: Callable[[Event], None],
        ended: Callable[[], None],
        clock: Callable[[], float],
    ) -> None:
        self._writer, self._home, self._facts = writer, home, facts
        self._post, self._tell_ended, self._clock = post, ended, clock
        self._disk = Disk()
        self._lock = threading.Lock()
        self._held: deque[Outcome] = deque(maxlen=MOST_HELD)
        self._offset_s: float | None = None  # None while no run is begun
        self._looked = self._looked_back = False
        self._wanted = False
        self._utc = ""
        self._since = clock()
        self._first_at: float | None = None
        self._t_s = 0.0  # as the cab counts: from the first event
        self._jobs: queue.SimpleQueue[Callable[[], None]] = queue.SimpleQueue()
        self._jobs.put(self._pegs_known)
        self._jobs.put(lambda: forget_copies(home.live))
        threading.Thread(target=self._run, name="shifts", daemon=True).start()

    def event(self, event: Event) -> None:
        """An event for the capture."""
        if self._first_at is None:
            self._first_at = event.now
        self._t_s = event.now - self._first_at
        self._writer.event(event)

    def health(self) -> Health | None:
        """News about the record, or None."""
        return self._writer.health()

    def copy(self, told: Callable[[RunCopied], None]) -> None:
        """A copy of the run being written; ``told`` hears of it once it is there. Never waits."""
        self._jobs.put(lambda: self._copy(told))

    def put(self, outcome: Outcome) -> None:
        """Hand on rows and moments, or hold them until it is known where they belong."""
        if not (outcome.rows or outcome.moments):
            return
        with self._lock:
            if self._offset_s is None:
                self._held.append(outcome)
            else:
                self._writer.put(later(outcome, self._offset_s))
        for row in outcome.rows:
            self._row(row)
        for moment in outcome.moments:
            self._moment(moment)

    # -- in the loop's thread: what has to be done -----------------------------------------------

    def _row(self, row: Row) -> None:
        self._utc = row.utc or self._utc
        waited_s = self._clock() - self._since
        dated = bool(row.utc) and row.lat_deg is not None
        if not self._looked and (dated or waited_s > DATE_WITHIN_S):
            self._looked = True
            # Its second of UTC may have begun before the first event did: then it ended just now.
            second_s = min(row.t_s, self._t_s - 1.0)
            self._jobs.put(lambda: self._look_back(row, second_s))
        if not self._wanted and waited_s > BEGIN_AFTER_S:
            self._wanted = True
            self._jobs.put(self._begin)

    def _moment(self, moment: Moment) -> None:
        began = moment.what is What.RUN and moment.detail == "started"
        if (began or moment.what in SAID) and not self._wanted:
            self._wanted = True
            self._jobs.put(self._begin)
        if moment.what is What.RUN and moment.detail == "ended":
            self._jobs.put(self._end)
        elif moment.what is What.PEG:
            plan = self._facts.plan()
            self._jobs.put(lambda: keep_peg(self._home.book, moment, plan.field, plan.driver))
        elif moment.what in (What.PLAN, What.TAP):
            self._jobs.put(self._plan_changed)
        if kept_in_book(moment):
            book, told = self._home.book, Told(moment, self._facts.plan(), self._facts.rig)
            self._jobs.put(lambda: keep_tap(book, told))

    # -- in the thread of its own ----------------------------------------------------------------

    def _run(self) -> None:
        guard = Guarded("shifts")
        while True:
            guard.run(self._jobs.get())

    def _pegs_known(self) -> None:
        pegs = pegs_known(self._home.book)
        if pegs:
            self._post(PegsKnown(self._clock(), pegs))

    def _look_back(self, row: Row, second_s: float) -> None:
        """At the first dated fix: take up the plan of the day, and the shift that was cut off.

        ``second_s`` is when the row's second of UTC began, as this start's cab counts.
        """
        utc = datetime.fromisoformat(row.utc) if row.utc else None
        plan = self._kept_plan(utc) if utc else None
        if plan is not None:
            self._post(PlanChanged(self._clock(), plan))
        found = unended(self._home.runs, self._disk)
        for run in found:
            said = verdict(run, utc, row.lat_deg or 0.0, row.lon_deg or 0.0)
            log.info("%s: goes on: %s (%s)", run.path.name, said.go_on, said.why)
            if said.go_on and run is found[-1] and self._offset_s is None:
                self._go_on(run, said.gap_s or 0.0, second_s, plan)
            else:
                close(run, self._disk)
        self._looked_back = True
        if self._wanted:
            self._begin()

    def _go_on(self, run: Unended, gap_s: float, second_s: float, plan: Plan | None) -> None:
        known = memory(run, self._disk)
        self._wanted = True
        last_s = run.last_utc_t_s
        self._open(plan or self._facts.plan(), last_s + gap_s - second_s, run.path)
        ground = known.ground(self._facts.rig)  # after the file is open: rows wait for nothing
        told = tuple(to_plain(moment) for moment in known.moments)
        self._post(Resumed(self._clock(), ground, told, gap_s, run.shift, last_s))

    def _begin(self) -> None:
        """A new shift, never before it is known that none goes on."""
        if self._looked_back and self._offset_s is None:
            self._open(self._facts.plan(), 0.0, None)

    def _open(self, plan: Plan, offset_s: float, go_on: Path | None) -> None:
        facts = RunFacts(self._facts.rig, plan, self._facts.rig_text, utc=self._utc)
        self._writer.begin(facts, go_on, self._head(offset_s))
        self._post(Health(self._clock(), HealthKind.RUN, True))
        with self._lock:
            self._offset_s = offset_s
            for outcome in self._held:
                self._writer.put(later(outcome, offset_s))
            self._held.clear()

    def _head(self, offset_s: float) -> CaptureHead:
        known = self._facts
        return CaptureHead(
            known.rig, known.made, known.rig_text, known.drivers, known.fields, offset_s
        )

    def _copy(self, told: Callable[[RunCopied], None]) -> None:
        if self._offset_s is None:
            told(RunCopied())
        else:
            copy_live(self._writer, self._home.live, self._disk, told)

    def _end(self) -> None:
        if self._offset_s is not None:
            self._writer.end()
        self._tell_ended()

    def _plan_changed(self) -> None:
        plan = self._facts.plan()
        self._writer.who(plan.field, plan.driver)
        if (plan.set_today or plan != self._facts.made) and self._utc:
            kept = {"utc": self._utc, "plan": to_plain(plan), "made": to_plain(self._facts.made)}
            fresh = self._home.plan.with_suffix(".new")
            fresh.write_text(json.dumps(kept))
            fresh.replace(self._home.plan)

    def _kept_plan(self, utc: datetime) -> Plan | None:
        """The plan in force when the program last ran, if it is of today.

        What the walk set holds whatever happens; what was only moved by a tap holds until the
        rig's own plan is another one.
        """
        try:
            kept = json.loads(self._home.plan.read_text())
            age = utc - datetime.fromisoformat(kept["utc"])
            plan: Plan = from_plain(Plan, kept["plan"])
        except (OSError, ValueError, TypeError, KeyError):
            return None
        holds = plan.set_today or kept.get("made") == to_plain(self._facts.made)
        return plan if holds and timedelta() <= age < PLAN_LASTS else None

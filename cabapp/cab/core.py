"""The pure centre: one event in, one answer out. No clock, thread, port or file.

``Cab(rig, plan).step(event)`` returns what to show, to sound and to write. Bytes only feed the
ears; everything is judged at ticks, so that results never depend on how bytes were cut.
"""

from collections import deque
from datetime import date

from cabapp.cab.cards import Cards
from cabapp.cab.ears import Ears
from cabapp.cab.field import FieldWork
from cabapp.cab.notes import Notes
from cabapp.cab.picture import picture
from cabapp.cab.resume import resume
from cabapp.cab.row import Closing, RowBuilder
from cabapp.cab.run import Run
from cabapp.cab.sense import Sense
from cabapp.cab.stretches import stretches
from cabapp.cab.taps import take_tap
from cabapp.events import (
    Bytes,
    Event,
    Health,
    HealthKind,
    PegsKnown,
    PlanChanged,
    PortState,
    Resumed,
    Tap,
    Tick,
)
from cabapp.outcome import NOTHING, Moment, Outcome, Row, Snapshot, Sound, What
from cabapp.plan import Plan
from cabapp.readings import Fix, Reading
from cabapp.rig import Rig
from cabapp.units import UnitSystem
from cabapp.watch.attention import Change
from cabapp.watch.desk import Desk, ranked
from cabapp.watch.judge import Alert, Judge
from cabapp.watch.sayings import Teller
from cabapp.watch.sounding import Sounding
from cabapp.words import Level, Phase, Rule

SNAPSHOT_EVERY_S = 0.2  # figures change at most twice a second; pointers glide in between
MOST_EPOCHS = 4096
SET_UP = "set up"  # a plan from the walk: the tool was set, whatever its figures say
_SLACK = 1e-6


class Cab:
    """One tractor's watch over one shift. Never raises on any order of events.

    ``near`` moves GNSS dates to the 1024-week era nearest to it; ``snapshots`` off leaves the
    pictures out, for replay and for judging a run again. ``drivers`` and ``fields`` are names from
    the book, newest first, offered in one tap after work begins.
    """

    def __init__(
        self,
        rig: Rig,
        plan: Plan,
        near: date | None = None,
        snapshots: bool = True,
        drivers: tuple[str, ...] = (),
        fields: tuple[str, ...] = (),
    ) -> None:
        self.rig = rig
        self.plan = plan
        self.units: UnitSystem = rig.units
        self.night = False
        self.parked_hold = False
        self.shift = ""
        self.recording = False
        self.sense = Sense(rig, plan, near)
        self.judge = Judge(rig)
        self.sounding = Sounding()
        self.desk = Desk(Teller(rig, self.units))
        self.field = FieldWork(rig, plan)
        self.cards = Cards(plan, drivers, fields)
        self.notes = Notes()
        self.run = Run()
        self.rows = RowBuilder(rig)
        self.sense.plan(plan)
        self.sense.now.ruler_open = not rig.display.confirmed
        self._wants_snapshots = snapshots
        self._number = 0
        self._snapshot_at = float("-inf")
        self._dirty = True
        self._epochs: deque[Fix] = deque(maxlen=MOST_EPOCHS)
        self._moments: list[Moment] = []
        self._rows: list[Row] = []
        self._sounds: list[Sound] = []
        self._last_tick = float("-inf")
        self._worked_s = 0.0
        self._ended = False

    # -- for replay -------------------------------------------------------------------------------

    @property
    def phase(self) -> Phase:
        """What the machine does, as of the last tick."""
        return self.sense.now.phase

    @property
    def ears(self) -> Ears:
        """What the ports have brought, for fit-up's pages."""
        return self.sense.ears

    def take_epochs(self) -> tuple[Fix, ...]:
        """The receiver's epochs since they were last taken, as it sent them."""
        found = tuple(self._epochs)
        self._epochs.clear()
        return found

    def readings(self, now: float) -> tuple[Reading, ...]:
        """Every channel's value, quality and cause as judged at the last tick, else at ``now``."""
        known = self.sense.readings or self.sense.ears.readings(now)
        return tuple(known.values())

    # -- events -----------------------------------------------------------------------------------

    def step(self, event: Event) -> Outcome:
        """The answer to one event."""
        self.rows.start(event.now)
        if self.sense.first_at is None:
            self.sense.first_at = event.now
        match event:
            case Bytes():
                self._hear(event)
            case Tick():
                return self._tick(event.now)
            case Tap():
                self._tap(event)
            case PortState():
                self._port(event)
            case PlanChanged():
                self.put_plan(event.plan, event.now, SET_UP)
            case Health():
                self._health(event)
            case PegsKnown():
                self.field.set_pegs(event.pegs)
            case Resumed():
                self._resume(event)
        return self._answer(None)

    def _hear(self, event: Bytes) -> None:
        fixes, fresh = self.sense.ears.feed(event.port, event.data, event.now)
        for fix in fixes:
            self._epoch(fix)
        if not fresh:
            return
        now = self.sense.now
        self.rows.take(fresh)
        for place, reading in self.sense.springs.take(fresh, not now.known_up):
            number = self.sense.springs.shanks[place].number
            self.note_moment(What.TRIP, reading.at, value=number, detail=reading.channel)

    def _epoch(self, fix: Fix) -> None:
        self._epochs.append(fix)
        self.sense.fix(fix)
        row = self.rows.fix(fix, self.t_s(fix.at), self._closing)
        if row is not None:
            self._take_row(row)

    def _tick(self, at: float) -> Outcome:
        if at <= self._last_tick:
            return self._answer(None)
        self._last_tick = at
        sense, before = self.sense, self.sense.now.phase
        sense.tick(at)
        now = sense.now
        if now.phase is not before:
            self._phase_changed(before)
        self._unpark()
        changes = self.judge.step(now)
        self._hooked()
        if self.run.pulls(now, self.t_s(at), self.field.worked):
            self.note_moment(What.RUN, at, detail="started")
        for change, alert in changes:
            self.changed(change, alert)
        sound = self.sounding.step(self.judge.active, at)
        if sound is not None:
            self._sounds.append(sound)
        row = self.rows.tick(at, self.t_s(at), self._closing)
        if row is not None:
            self._take_row(row)
        if now.phase is Phase.WORKING:
            self._worked_s += now.dt_s
        self.cards.tick(now, self.plan, self._worked_s)
        self.cards.expired_peg(at)
        self._dirty = self._dirty or bool(changes) or sound is not None or now.phase is not before
        return self._answer(self._snapshot(at))

    def _answer(self, snapshot: Snapshot | None) -> Outcome:
        if not (self._moments or self._rows or self._sounds):
            return NOTHING if snapshot is None else Outcome(snapshot)
        out = Outcome(snapshot, tuple(self._sounds), tuple(self._moments), tuple(self._rows))
        self._moments, self._rows, self._sounds = [], [], []
        return out

    # -- what changes -----------------------------------------------------------------------------

    def _phase_changed(self, before: Phase) -> None:
        now = self.sense.now
        self.note_moment(What.PHASE, now.at, value=now.phase.value, detail=before.value)
        told = self.run.phase(now.phase, self.t_s(now.at), self.field.worked)
        if told is not None:
            since = self.run.since_s if told == "withdrawn" else None
            self.note_moment(What.RUN, now.at, value=since, detail=told)
        if now.phase is Phase.STANDING and self.field.digging.to_chime():
            dig = next(a for a in self.judge.alerts if a.rule is Rule.DIG)
            self.sounding.chime(dig, now.at)

    def changed(self, change: Change, alert: Alert) -> None:
        """An alert began or ended: sound and record."""
        now = self.sense.now
        if change is Change.ONSET or alert.said is None:
            alert.said = self.desk.teller.say(alert, now)
        said = alert.said  # an end is told in the words of its onset
        if change is Change.ONSET:
            self.sounding.onset(alert, self.judge.active, now.at)
            self._to_adjust(alert, said.action)
        else:
            alert.machine.quiet.ended()
        shank = None if alert.shank is None else now.shanks[alert.shank].number
        self.note_moment(
            What.ONSET if change is Change.ONSET else What.END,
            now.at,
            alert.level,
            alert.rule.value,
            said.headline,
            said.action,
            shank,
            str(alert.key) if isinstance(alert.key, str) and alert.key else alert.variant,
        )

    def _hooked(self) -> None:
        """How long since it was hooked, and how far it has gone back since."""
        now = self.sense.now
        now.since_hooked_s += now.dt_s
        if any(alert.rule is Rule.HOOKED for alert in self.judge.active):
            now.since_hooked_s = 0.0
        if now.phase is Phase.BACKING:
            now.backed_m += now.step_m
        elif now.phase is Phase.WORKING or now.since_hooked_s == 0.0:
            now.backed_m = 0.0

    def _to_adjust(self, alert: Alert, action: str) -> None:
        """What needs climbing down is kept for the next stop."""
        if alert.rule in (Rule.DEPTH, Rule.DEPTH_FAR, Rule.ABOVE_LAYER) and not self._from_seat:
            self.sense.now.to_adjust = action

    @property
    def _from_seat(self) -> bool:
        return self.rig.tool.adjuster.kind.value == "seat"

    def _unpark(self) -> None:
        """The parked hold ends with any sign of movement."""
        now = self.sense.now
        if not self.parked_hold:
            return
        rolling = now.speed_mps is not None and now.speed_mps > self.rig.receiver.moving_above_mps
        wheel = now.wheel_mps is not None and now.wheel_mps > 0.0
        if rolling or wheel or self.run.switch_moved(now.tool_down):
            self.parked_hold = False
            self._dirty = True

    def _take_row(self, row: Row) -> None:
        now = self.sense.now
        self._rows.append(row)
        self.field.second(row, self.sense.last_fix if row.lat_deg is not None else None, now)
        if self.run.came_back(self.field.worked):
            self.note_moment(What.RUN, now.at, detail="kept")

    def _closing(self) -> Closing:
        now = self.sense.now
        return Closing(
            now,
            self.field.worked.gross_m2,
            stretches(now, self.judge, self.rig),
            self._attention_now(),
        )

    def _attention_now(self) -> str:
        active = self.judge.active
        if not active:
            return ""
        first = ranked(active)[0]
        return "" if first.level is Level.NOTE else first.rule.value

    def _port(self, event: PortState) -> None:
        self.sense.ports[event.port] = event.condition
        if event.port == self.rig.receiver.port and event.condition.value == "missing":
            for fix in self.sense.ears.lost():
                self._epoch(fix)
        self.note_moment(
            What.PORT, event.now, value=event.condition.value, detail=f"{event.port} {event.detail}"
        )

    def _health(self, event: Health) -> None:
        now = self.sense.now
        cause = None if event.well else (event.cause or "disk_failed")
        if event.kind is HealthKind.RECORD:
            now.record_trouble = cause
        elif event.kind is HealthKind.SOUND:
            now.sound_trouble, now.sound_well = cause, event.well
        elif event.kind is HealthKind.STORAGE:
            now.storage_share = event.value
        elif event.kind is HealthKind.RUN:
            self.recording = event.well
        self._dirty = True
        detail = f"{event.kind.value} {'well' if event.well else event.cause}"
        self.note_moment(What.HEALTH, event.now, value=event.value, detail=detail)

    def put_plan(self, plan: Plan, at: float, why: str) -> None:
        """A plan is in force."""
        other_field = bool(self.plan.field) and plan.field != self.plan.field
        set_anew = why == SET_UP or _depths_of(plan) != _depths_of(self.plan)
        self.field.plan(plan)
        self.plan = plan
        self.sense.plan(plan)
        if other_field:
            self.judge.new_field()
        if set_anew:
            self.sense.depths.set_anew()
            self.field.trends.reset()
            self.sense.now.to_adjust = ""
        self._dirty = True
        self.note_moment(What.PLAN, at, value=plan.depth_target_m, detail=why)

    def _tap(self, tap: Tap) -> None:
        take_tap(self, tap)
        self._dirty = True

    def _resume(self, event: Resumed) -> None:
        resume(self, event)
        self._dirty = True

    def end(self, at: float) -> Outcome:
        """The shift ends: the epoch still open, the row being filled and the end itself."""
        for fix in self.sense.ears.lost():
            self._epoch(fix)
        if not self._ended:
            self.close(at)
        return self._answer(None)

    def close(self, at: float) -> None:
        """Close the row being filled and note the end."""
        self._ended = True
        row = self.rows.end(at, self.t_s(at), self._closing)
        if row is not None:
            self._take_row(row)
        self.note_moment(What.RUN, at, detail="ended")

    # -- the record -------------------------------------------------------------------------------

    def t_s(self, at: float) -> float:
        """Seconds since the first event."""
        first = self.sense.first_at
        return 0.0 if first is None else round(at - first, 3)

    def utc_text(self, at: float) -> str:
        """UTC as text, "" while unknown."""
        utc = self.sense.utc(at)
        if utc is None:
            return ""
        return utc.replace(tzinfo=None).isoformat(timespec="milliseconds") + "Z"

    def note_moment(
        self,
        what: What,
        at: float,
        level: Level | None = None,
        rule: str = "",
        headline: str = "",
        action: str = "",
        value: float | str | None = None,
        detail: str = "",
    ) -> None:
        """Put something on the record, with time and place."""
        fix = self.sense.last_fix
        here = fix if fix is not None and at - fix.at < 3.0 else None
        self._moments.append(
            Moment(
                self.utc_text(at),
                self.t_s(at),
                what,
                level,
                rule,
                headline,
                action,
                value,
                here.lat_deg if here else None,
                here.lon_deg if here else None,
                detail,
            )
        )

    def sound(self, sound: Sound) -> None:
        """A sound that starts outside the judging, as on the bench."""
        self._sounds.append(sound)

    # -- the picture ------------------------------------------------------------------------------

    def _snapshot(self, at: float) -> Snapshot | None:
        if not self._wants_snapshots:
            return None
        if not self._dirty and at - self._snapshot_at < SNAPSHOT_EVERY_S - _SLACK:
            return None
        self._snapshot_at, self._dirty = at, False
        self._number += 1
        return self.picture()

    def picture(self) -> Snapshot:
        """Everything a screen needs now."""
        return picture(self, self._number)


def _depths_of(plan: Plan) -> tuple[float | None, ...]:
    """What the tool is set to: a change of it asks level and trends anew, a new driver does not."""
    return plan.depth_target_m, plan.depth_low_m, plan.depth_high_m, plan.layer_bottom_m

"""One state machine for every rule: normal, pending, active, clearing; quiet and unknown apart.

Modelled on the alarm states of OPC UA Part 9: on-delay, off-delay, deadband and quiet (shelved) are
separate facts. Lost data never clears anything: it only stops the clocks.
"""

from dataclasses import dataclass
from enum import Enum, IntEnum

from cabapp.words import Level

_SLACK = 1e-6
# A pending alert survives a short loss of its input; after this long it has to begin again.
PENDING_SURVIVES_S = 10.0
ACT_QUIET_S = 30.0
LOOK_QUIET_S = (600.0, 1200.0, float("inf"))  # the last: for the rest of the field
CLEAN_S = 60.0
# What a headland cut off and is out again on the next pass is the same thing going on, until it
# has been judged and clear for so long.
AFRESH_S = 20.0


class Verdict(IntEnum):
    """What one look at one rule's inputs says."""

    CLEAR = 0  # inside the limit, deadband and all
    HOLD = 1  # inside the deadband: keeps an alert, begins none
    OUT = 2
    UNKNOWN = 3


class State(Enum):
    """Where a rule's machine stands."""

    NORMAL = "normal"
    PENDING = "pending"
    ACTIVE = "active"
    CLEARING = "clearing"


class Change(Enum):
    """What a step did, for the record; None when nothing worth it."""

    ONSET = "onset"
    END = "end"


@dataclass(frozen=True, slots=True)
class Delays:
    """On after so many seconds and metres, both; off after so many seconds clear."""

    on_s: float = 0.0
    on_m: float = 0.0
    off_s: float = 2.0


class Machine:
    """The attention state of one rule about one thing (a side, a shank, a sensor)."""

    __slots__ = (
        "_clear_s",
        "_delays",
        "_metres",
        "_seconds",
        "_unknown_s",
        "cut_off",
        "level",
        "onset_at",
        "quiet",
        "since",
        "state",
        "unknown",
    )

    def __init__(self, level: Level, delays: Delays) -> None:
        self.level = level
        self.state = State.NORMAL
        self.unknown = False
        self.cut_off = False  # it ended because it was no longer judged, and is not yet seen clear
        self.since = 0.0
        self.onset_at = 0.0
        self.quiet = Quiet(level)
        self._delays = delays
        self._seconds = self._metres = self._unknown_s = self._clear_s = 0.0

    @property
    def active(self) -> bool:
        """Whether the driver is being told."""
        return self.state is State.ACTIVE or self.state is State.CLEARING

    @property
    def idle(self) -> bool:
        """Nothing to count and nothing to remember."""
        return self.state is State.NORMAL and not self.cut_off

    def step(
        self, verdict: Verdict, now: float, step_s: float, step_m: float, held_back: bool = False
    ) -> Change | None:
        """One tick while the rule is judged. ``held_back`` puts an onset off (a turn begins)."""
        self.unknown = verdict is Verdict.UNKNOWN
        if self.state is State.NORMAL:
            if verdict is not Verdict.OUT:
                self._afresh(verdict, step_s)
                return None
            self._enter(State.PENDING, now)
            return self._pend(held_back, now)
        if self.unknown:
            return self._lose(step_s)
        if self.state is State.PENDING:
            if verdict is not Verdict.OUT:
                self._enter(State.NORMAL, now)
                return None
            self._seconds += step_s
            self._metres += step_m
            self._unknown_s = 0.0
            return self._pend(held_back, now)
        return self._hold(verdict, now, step_s)

    def leave(self, now: float, afresh: bool = False) -> Change | None:
        """The rule is no longer judged: what is pending is dropped, what is active ends.

        ``afresh``: when it is out again that is news (somebody stood and may think it mended).
        """
        self.unknown = False
        was_active = self.active
        if self.state is not State.NORMAL:
            self._enter(State.NORMAL, now)
        self.cut_off = (self.cut_off or was_active) and not afresh
        self._clear_s = 0.0
        return Change.END if was_active else None

    def freeze(self, step_s: float) -> None:
        """Whether the rule should be judged is not known: active stays, nothing counts."""
        self.unknown = True
        if self.state is State.PENDING:
            self._lose(step_s)

    def _afresh(self, verdict: Verdict, step_s: float) -> None:
        if self.cut_off and verdict is Verdict.CLEAR:
            self._clear_s += step_s
            self.cut_off = self._clear_s < AFRESH_S - _SLACK

    def _pend(self, held_back: bool, now: float) -> Change | None:
        delays = self._delays
        if held_back or self._seconds < delays.on_s - _SLACK or self._metres < delays.on_m - _SLACK:
            return None
        self._enter(State.ACTIVE, now)
        self.onset_at = now
        return Change.ONSET

    def _hold(self, verdict: Verdict, now: float, step_s: float) -> Change | None:
        if verdict is not Verdict.CLEAR:
            self.state = State.ACTIVE
            return None
        if self.state is State.ACTIVE:
            self._enter(State.CLEARING, now)
        else:
            self._seconds += step_s
        if self._seconds < self._delays.off_s - _SLACK:
            return None
        self._enter(State.NORMAL, now)
        self.cut_off = False
        return Change.END

    def _lose(self, step_s: float) -> Change | None:
        if self.state is State.CLEARING:
            self.state = State.ACTIVE
        if self.state is State.PENDING:
            self._unknown_s += step_s
            if self._unknown_s > PENDING_SURVIVES_S:
                self.state = State.NORMAL
        return None

    def _enter(self, state: State, now: float) -> None:
        self.state, self.since = state, now
        self._seconds = self._metres = self._unknown_s = 0.0


class Quiet:
    """The quiet ladder of one alert: 10 min, 20 min, the rest of the field; ACT 30 s only."""

    __slots__ = ("_clean_s", "_rung", "level", "until")

    def __init__(self, level: Level) -> None:
        self.level = level
        self.until: float | None = None
        self._rung = 0
        self._clean_s = 0.0

    def tap(self, now: float) -> None:
        """The driver quiets it: one rung up."""
        self._clean_s = 0.0
        if self.level is Level.ACT:
            self.until = now + ACT_QUIET_S
        elif self.level is Level.LOOK:
            self.until = now + LOOK_QUIET_S[min(self._rung, len(LOOK_QUIET_S) - 1)]
            self._rung += 1
        else:
            self.until = float("inf")  # lasts till it changes

    def holds(self, now: float) -> bool:
        """Whether it is quiet at ``now``."""
        return self.until is not None and now < self.until - _SLACK

    def broken(self) -> None:
        """Something worse came: the sound is back, the rung stays."""
        self.until = None

    def step(self, active: bool, now: float, step_s: float) -> None:
        """Count clean time once the quiet has run out; enough of it ends the ladder."""
        if self.holds(now):
            return
        self._clean_s = 0.0 if active else self._clean_s + step_s
        if self._clean_s >= CLEAN_S - _SLACK:
            self.reset()

    def ended(self) -> None:
        """The alert is over: a quieted NO READING that comes again is news."""
        if self.level is Level.NO_READING:
            self.reset()

    def reset(self) -> None:
        """As if never quieted: a new field, or a clean minute."""
        self.until, self._rung, self._clean_s = None, 0, 0.0

    @property
    def idle(self) -> bool:
        """Nothing to count."""
        return self._rung == 0 and self.until is None

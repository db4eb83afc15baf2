"""What a rule is: a row of data in one of three kinds, and where it is judged."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from cabapp.watch.attention import Delays, Verdict
from cabapp.watch.now import Now
from cabapp.watch.toolpos import Source
from cabapp.words import Phase, Rule

# What a rule is about, where there may be several of it: a shank's index, a channel, or nothing.
Key = int | str
Value = Callable[[Now, Key], float | None]
Limit = Callable[[Now], float | None]
# True when one look shows that no thing of this row can be out or unknown: saves looking at each.
Calm = Callable[[Now], bool]


AT_ONCE = Delays(off_s=0.0)


def fixed(value: float) -> Limit:
    """A limit that no rig and no plan moves."""
    return lambda now: value


class When(Enum):
    """Where a rule is judged."""

    WORK = "working, armed"
    WORK_DEPTH = "working, armed, not raised on purpose"
    WORK_SETTLED = "working, armed, past the first 20 s and 40 m"
    WORK_SET_IN = "working, armed or not"
    IN_GROUND = "whenever the tool is not known to be up"
    SAID_DOWN = "switch, load or depth say that it is down"
    LIFTED = "tool up, moving"
    RELIED_ON = "the last known phase was working, turning or backing"
    STANDING = "standing"
    PAUSE = "turning, lifted or standing"
    ALWAYS = "always"


SETTLED_S = 20.0
SETTLED_M = 40.0
UNDECIDED_S = 10.0  # moving at a known speed for so long, and still nothing says that it works
_RELIED = (Phase.WORKING, Phase.TURNING, Phase.BACKING)
_PAUSES = (Phase.TURNING, Phase.LIFTED, Phase.STANDING)


def _work(now: Now) -> bool | None:
    if now.phase is Phase.UNKNOWN:
        return _while_unknown(now)
    return now.phase is Phase.WORKING and now.armed


def _while_unknown(now: Now) -> bool | None:
    """Lost data decides nothing; a known speed that is plainly not work is not lost data."""
    return False if now.undecided_s > UNDECIDED_S else None


def _work_depth(now: Now) -> bool | None:
    return False if now.raised else _work(now)


def _work_settled(now: Now) -> bool | None:
    return _work(now) if now.stretch_s >= SETTLED_S and now.stretch_m >= SETTLED_M else False


def _work_set_in(now: Now) -> bool | None:
    if now.phase is Phase.UNKNOWN:
        return _while_unknown(now)
    return now.phase is Phase.WORKING and not now.raised


def _phase_in(phases: tuple[Phase, ...]) -> Callable[[Now], bool | None]:
    def judged(now: Now) -> bool | None:
        return None if now.phase is Phase.UNKNOWN else now.phase in phases

    return judged


GATES: dict[When, Callable[[Now], bool | None]] = {
    When.WORK: _work,
    When.WORK_DEPTH: _work_depth,
    When.WORK_SETTLED: _work_settled,
    When.WORK_SET_IN: _work_set_in,
    When.IN_GROUND: lambda now: not now.known_up,
    When.SAID_DOWN: lambda now: (
        now.disagree  # the load says so, whatever the switch says
        or (bool(now.tool_down) and now.tool_source in (Source.SWITCH, Source.SENSORS))
    ),
    When.LIFTED: _phase_in((Phase.LIFTED,)),
    When.RELIED_ON: lambda now: now.last_known in _RELIED,
    When.STANDING: _phase_in((Phase.STANDING,)),
    When.PAUSE: _phase_in(_PAUSES),
    When.ALWAYS: lambda now: True,
}


@dataclass(frozen=True)
class Band:
    """A value that may not go over (or, ``under``, below) a limit.

    Inside ``deadband`` of the limit an alert stays but none begins. ``latched`` alerts end by
    their value alone, wherever the tool is. ``each`` gives one machine a shank or a sensor;
    ``needs`` are channel families without which the row does not exist on a rig.
    """

    rule: Rule
    value: Value
    limit: Limit
    delays: Delays
    when: When
    deadband: float = 0.0
    under: bool = False
    variant: str = ""
    each: str = ""
    needs: tuple[str, ...] = ()
    latched: bool = False
    calm: Calm | None = None

    def verdict(self, now: Now, key: Key) -> Verdict:
        """Validity first, then the limit, then the deadband."""
        value, limit = self.value(now, key), self.limit(now)
        if value is None:
            return Verdict.UNKNOWN
        if limit is None:
            return Verdict.CLEAR
        beyond = limit - value if self.under else value - limit
        if beyond > 0.0:
            return Verdict.OUT
        return Verdict.HOLD if beyond > -self.deadband else Verdict.CLEAR


@dataclass(frozen=True)
class Count:
    """So many events inside a window; it ends when the window holds none.

    ``total`` is all events since the start: what was told once is told again only with a new one.
    """

    rule: Rule
    count: Callable[[Now, Key], int | None]
    total: Callable[[Now, Key], int]
    limit: int
    when: When
    variant: str = ""
    each: str = ""
    needs: tuple[str, ...] = ()
    latched: bool = False
    delays: Delays = AT_ONCE
    calm: Calm | None = None

    def verdict(self, now: Now, key: Key) -> Verdict:
        """Out at ``limit`` events, clear at none."""
        count = self.count(now, key)
        if count is None:
            return Verdict.UNKNOWN
        if count >= self.limit:
            return Verdict.OUT
        return Verdict.HOLD if count else Verdict.CLEAR


@dataclass(frozen=True)
class Reminder:
    """Something that is due or not."""

    rule: Rule
    due: Callable[[Now, Key], bool | None]
    when: When
    variant: str = ""
    each: str = ""
    needs: tuple[str, ...] = ()
    latched: bool = False
    delays: Delays = AT_ONCE
    calm: Calm | None = None

    def verdict(self, now: Now, key: Key) -> Verdict:
        """Out while due."""
        due = self.due(now, key)
        if due is None:
            return Verdict.UNKNOWN
        return Verdict.OUT if due else Verdict.CLEAR


Row = Band | Count | Reminder

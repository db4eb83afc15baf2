"""Every rule of the table looked at once a tick; what begins and ends comes out."""

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field

from cabapp.rig import Rig
from cabapp.watch.attention import Change, Machine, Verdict
from cabapp.watch.now import Now, shanks_of
from cabapp.watch.rules import GATES, Band, Calm, Count, Key, Reminder, Row, When
from cabapp.watch.table.depth import STILL_SHALLOW_M
from cabapp.watch.table.whole import rule_table
from cabapp.words import SAYINGS, Level, Phase, Rule, Said

# Working alerts wait while a turn seems to begin: if it does, they are dropped with it.
_HELD_BACK = frozenset({When.WORK, When.WORK_DEPTH, When.WORK_SETTLED, When.WORK_SET_IN})
Gate = Callable[[Now], bool | None]
RANK = {rule: place for place, rule in enumerate(Rule)}

# One fact, one alert: rules of one group about one thing are shown and sounded as one.
FACTS: dict[tuple[Rule, str], str] = {
    (Rule.ABOVE_LAYER, ""): "shallow",
    (Rule.DEPTH_FAR, "shallow"): "shallow",
    (Rule.DEPTH, "shallow"): "shallow",
    (Rule.DEPTH_FAR, "deep"): "deep",
    (Rule.DEPTH, "deep"): "deep",
    (Rule.TOO_DEEP_SLIGHTLY, ""): "deep",
    (Rule.TURNING_HARD, ""): "turning",
    (Rule.TURNING, ""): "turning",
    (Rule.DIGGING_IN, ""): "slip",
    (Rule.SLIP_HIGH, ""): "slip",
    (Rule.SLIP, ""): "slip",
    (Rule.NO_DEPTH, ""): "depth unread",
    (Rule.NO_DEPTH, "one"): "depth unread",
    (Rule.DEPTH_STUCK, ""): "depth unread",
    (Rule.NO_SPRINGS, ""): "springs unread",
    (Rule.NO_SPRINGS, "one"): "springs unread",
    (Rule.NOT_PULLING, ""): "not pulling",
    (Rule.EASE_OFF, ""): "ease off",
}
# Rules about the one channel of its kind, and about a whole family of them.
ABOUT_CHANNEL = {"tool_down": Rule.NO_SWITCH, "wheel_speed": Rule.NO_SLIP}
ABOUT_FAMILY = {Rule.NO_DEPTH: "depth", Rule.NO_SPRINGS: "spring"}
# On one shank the load alert and the trips are one fact too.
SHANK_RULES = frozenset({Rule.SHANK_UP, Rule.TRIPPING, Rule.EASE_OFF})


@dataclass(slots=True)
class Alert:
    """One rule about one thing, with its machine. ``key`` is a shank's index or a channel."""

    row: Row
    key: Key
    machine: Machine
    level: Level
    fact: str
    order: tuple[int, int]  # rank in the table, then left to right
    said: Said | None = None  # its words at the onset, for the end of the same thing
    told: int = 0  # how many events had been counted when it last ended
    news_at: float = 0.0  # the onset with which it was last something new
    heard_at: deque[float] = field(default_factory=lambda: deque(maxlen=2))

    @property
    def rule(self) -> Rule:
        """The rule's name."""
        return self.row.rule

    @property
    def variant(self) -> str:
        """Its side or way out."""
        return self.row.variant

    @property
    def shank(self) -> int | None:
        """Index of the shank it is about, None where it is not about one."""
        return int(self.key) if self.row.each == "shank" else None

    def same_fact(self, other: "Alert") -> bool:
        """Whether the two tell one thing."""
        if self.fact == other.fact:
            return True
        shanks = self.rule in SHANK_RULES and other.rule in SHANK_RULES
        return shanks and self.shank is not None and self.shank == other.shank


def _keys(row: Row, rig: Rig) -> tuple[Key, ...]:
    if row.each == "shank":
        return tuple(i for i, shank in enumerate(shanks_of(rig)) if shank.fitted)
    if row.each:
        return tuple(sensor.channel for sensor in rig.fitted(row.each))
    return ("",)


def alerts_of(rig: Rig) -> tuple[Alert, ...]:
    """One alert for each row and thing on this rig, in the order of ranking."""
    found = []
    for row in rule_table(rig):
        variant = row.variant if (row.rule, row.variant) in SAYINGS else ""
        level = SAYINGS[(row.rule, variant)].level
        for place, key in enumerate(_keys(row, rig)):
            fact = FACTS.get((row.rule, row.variant), f"{row.rule.value} {row.variant} {key}")
            machine = Machine(level, row.delays)
            found.append(Alert(row, key, machine, level, fact, (RANK[row.rule], place)))
    return tuple(sorted(found, key=lambda alert: alert.order))


def _sets_in(row: Row, now: Now) -> bool:
    """A tool of 7 to 9 m has 40 m to come down to its depth before that is an alert."""
    if row.when is not When.WORK_DEPTH:
        return False
    return not now.reached and now.stretch_m < STILL_SHALLOW_M


def _news(alert: Alert, verdict: Verdict, now: Now) -> Verdict:
    """A count that has been told is out again only with a new event, as after a headland."""
    if verdict is Verdict.OUT and not alert.machine.active and isinstance(alert.row, Count):
        return verdict if alert.row.total(now, alert.key) > alert.told else Verdict.HOLD
    return verdict


class _Group:
    """The alerts of one row, one a thing. ``stirred`` while any of them has something to count."""

    __slots__ = ("alerts", "band", "held_back", "is_calm", "key", "row", "slow", "stirred")

    def __init__(self, row: Row, alerts: list[Alert]) -> None:
        self.row = row
        self.alerts = alerts
        self.key = alerts[0].key
        self.held_back = row.when in _HELD_BACK
        self.slow = alerts[0].level is Level.NOTE
        self.stirred = False
        one = len(alerts) == 1 and row.calm is None
        self.band = row if one and isinstance(row, Band) else None
        self.is_calm = row.calm or _calm_of(row, alerts)

    def is_quiet(self, now: Now) -> bool:
        """Nothing of an undisturbed row is out: unknown or in its deadband begins nothing."""
        band = self.band
        if band is None:
            return self.is_calm(now)
        found = band.value(now, self.key)
        if found is None:
            return True
        most = band.limit(now)
        return most is None or (found >= most if band.under else found <= most)


def _calm_of(row: Row, alerts: list[Alert]) -> Calm:
    keys = tuple(alert.key for alert in alerts)
    if len(keys) == 1 and isinstance(row, Reminder):
        due, one = row.due, keys[0]
        return lambda now: not due(now, one)
    return lambda now: all(row.verdict(now, key) is not Verdict.OUT for key in keys)


def _by_gate(groups: list[_Group]) -> list[tuple[Gate, list[_Group]]]:
    """Groups that are judged in the same place, so that the place is asked for once."""
    found = [(GATES[when], [g for g in groups if g.row.when is when]) for when in When]
    return [(gate, some) for gate, some in found if some]


SLOW_TICKS = 5  # notes are looked at twice a second: what they tell changes once a second at most


class Judge:
    """Looks at every rule once a tick."""

    def __init__(self, rig: Rig) -> None:
        self.alerts = alerts_of(rig)
        self.active: list[Alert] = []
        self.out_before_delay = False  # something a working rule judges is out already
        by_row: dict[int, list[Alert]] = {}
        for alert in self.alerts:
            by_row.setdefault(id(alert.row), []).append(alert)
        self._groups = [_Group(alerts[0].row, alerts) for alerts in by_row.values()]
        self._quick = _by_gate([group for group in self._groups if not group.slow])
        self._notes = _by_gate([group for group in self._groups if group.slow])
        self._ticks = 0
        self._slow_s = self._slow_m = 0.0

    def step(self, now: Now) -> list[tuple[Change, Alert]]:
        """What began and what ended at this tick, in order of ranking."""
        self._ticks += 1
        self._slow_s += now.dt_s
        self._slow_m += now.step_m
        slow = self._ticks % SLOW_TICKS == 0
        changes: list[tuple[Change, Alert]] = []
        self.out_before_delay = False
        self._round(self._quick, now, now.dt_s, now.step_m, changes)
        if slow:
            self._round(self._notes, now, self._slow_s, self._slow_m, changes)
            self._slow_s = self._slow_m = 0.0
        if changes:
            self.active = [alert for alert in self.alerts if alert.machine.active]
            changes.sort(key=lambda change: change[1].order)
        return changes

    def _round(
        self,
        gates: list[tuple[Gate, list[_Group]]],
        now: Now,
        step_s: float,
        step_m: float,
        changes: list[tuple[Change, Alert]],
    ) -> None:
        """Every row that is stirred, or judged here and not quiet."""
        for gate, groups in gates:
            judged = gate(now)
            for group in groups:
                if group.stirred or (judged and not group.is_quiet(now)):
                    self._look(group, judged, now, step_s, step_m, changes)

    def _look(
        self,
        group: _Group,
        judged: bool | None,
        now: Now,
        step_s: float,
        step_m: float,
        changes: list[tuple[Change, Alert]],
    ) -> None:
        """Every machine of one row."""
        row, stirred = group.row, False
        held_back = group.held_back and (now.turn_beginning or _sets_in(row, now))
        for alert in group.alerts:
            machine = alert.machine
            change: Change | None = None
            if judged or (row.latched and machine.active):
                verdict = _news(alert, row.verdict(now, alert.key), now)
                if verdict is not Verdict.CLEAR or not machine.idle:
                    change = machine.step(verdict, now.at, step_s, step_m, held_back)
                    if verdict is Verdict.OUT and group.held_back:
                        self.out_before_delay = True
            elif not machine.idle:
                if judged is None:
                    machine.freeze(step_s)
                else:
                    change = machine.leave(now.at, now.phase is Phase.STANDING)
            if change is not None:
                changes.append((change, alert))
                if change is Change.END and isinstance(row, Count):
                    alert.told = row.total(now, alert.key)
            if not machine.quiet.idle:
                machine.quiet.step(machine.active, now.at, step_s)
                stirred = True
            elif not machine.idle:
                stirred = True
        group.stirred = stirred

    def set_aside(self, channel: str, shank: int | None, now: Now) -> list[tuple[Change, Alert]]:
        """Somebody has looked at it, parked: what this sensor raised is over."""
        changes: list[tuple[Change, Alert]] = []
        for alert in self.active:
            about = alert.key == channel or alert.rule is ABOUT_CHANNEL.get(channel)
            if not alert.key and alert.rule in ABOUT_FAMILY:
                about = ABOUT_FAMILY[alert.rule] not in now.all_unread
            if about or (alert.shank is not None and now.shanks[alert.shank].number == shank):
                change = alert.machine.leave(now.at)
                if change is not None:
                    changes.append((change, alert))
        self.active = [alert for alert in self.alerts if alert.machine.active]
        return changes

    def stir(self, alert: Alert) -> None:
        """Its quiet was touched: look at it again."""
        for group in self._groups:
            if alert in group.alerts:
                group.stirred = True

    def new_field(self) -> None:
        """Quiet for the rest of the field ends with the field."""
        for alert in self.alerts:
            alert.machine.quiet.reset()

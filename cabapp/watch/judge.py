"""Every rule of the table looked at once a tick; what begins and ends comes out."""

from dataclasses import dataclass

from cabapp.rig import Rig
from cabapp.watch.attention import Change, Machine, State, Verdict
from cabapp.watch.now import Now, shanks_of
from cabapp.watch.rules import GATES, Key, Row, When
from cabapp.watch.table import rule_table
from cabapp.words import SAYINGS, Level, Rule

# Working alerts wait while a turn seems to begin: if it does, they are dropped with it.
_HELD_BACK = frozenset({When.WORK, When.WORK_DEPTH, When.WORK_SETTLED, When.WORK_SET_IN})
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
    (Rule.DEPTH_STUCK, ""): "depth unread",
    (Rule.NO_SPRINGS, ""): "springs unread",
    (Rule.NOT_PULLING, ""): "not pulling",
    (Rule.EASE_OFF, ""): "ease off",
}
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


class Judge:
    """Looks at every rule once a tick."""

    def __init__(self, rig: Rig) -> None:
        self.alerts = alerts_of(rig)
        self.active: list[Alert] = []
        self.out_before_delay = False  # something a working rule judges is out or in its deadband
        self._whens = tuple({alert.row.when for alert in self.alerts})

    def step(self, now: Now) -> list[tuple[Change, Alert]]:
        """What began and what ended at this tick, in order of ranking."""
        gates = {when: GATES[when](now) for when in self._whens}
        step_s, step_m = now.dt_s, now.step_m
        changes: list[tuple[Change, Alert]] = []
        self.out_before_delay = False
        for alert in self.alerts:
            machine, row = alert.machine, alert.row
            judged = gates[row.when]
            if not judged and not (row.latched and machine.active):
                change = self._unjudged(machine, judged, now)
            else:
                verdict = row.verdict(now, alert.key)
                if verdict is Verdict.CLEAR and machine.state is State.NORMAL:
                    machine.unknown = machine.suppressed = False
                    change = None
                else:
                    held_back = now.turn_beginning and row.when in _HELD_BACK
                    change = machine.step(verdict, now.at, step_s, step_m, held_back)
                if verdict is Verdict.OUT and row.when in _HELD_BACK:
                    self.out_before_delay = True
            if change is not None:
                changes.append((change, alert))
            if not machine.quiet.idle:
                machine.quiet.step(machine.active, now.at, step_s)
        if changes:
            self.active = [alert for alert in self.alerts if alert.machine.active]
        return changes

    @staticmethod
    def _unjudged(machine: Machine, judged: bool | None, now: Now) -> Change | None:
        if machine.state is State.NORMAL:
            return None
        if judged is None:
            machine.freeze(now.dt_s)
            return None
        return machine.leave(now.at)

    def new_field(self) -> None:
        """Quiet for the rest of the field ends with the field."""
        for alert in self.alerts:
            alert.machine.quiet.reset()

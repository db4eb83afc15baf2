"""What sounds now: the act sound while an ACT stands, else a look sound within its budget."""

from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass

from cabapp.outcome import Pattern, Sound
from cabapp.watch.judge import Alert
from cabapp.words import Level, Rule

ACT_EVERY_S = 2.5
ACT_LOUDER_AFTER_S = 5.0
LOOK_AGAIN_S = 20.0
LOOK_MOST, LOOK_WINDOW_S = 3, 600.0
CALLED_S = 3.0  # a dead node blanks springs, switch, depth and slip within this: one call to look
APART_S = 2.0  # the look sound lasts about a second: two of them are two only with a pause
CHIME_AFTER_S = 1.0  # the reminder itself is looked at twice a second
_SLACK = 1e-6
# Hard ground shows as speed and as slip, stones on the whole tool and on each shank: while the one
# is told, the other is only seen.
TELLS_TOO = {
    Rule.STONES: (Rule.TRIPPING,),
    Rule.HARD_HERE: (Rule.SLIP,),
    Rule.SLIP: (Rule.HARD_HERE,),
}
# What the ground does comes back on every pass whatever the driver does about it. Of each such
# thing he hears as much in an hour as an ordinary day may bring at all; the rest he sees.
OF_THE_GROUND = frozenset({Rule.HARD_HERE, Rule.SLIP, Rule.STONES, Rule.TRIPPING})
GROUND_MOST, GROUND_WINDOW_S = 2, 3600.0
# A no reading of a channel that an ACT needs is heard even with look sounds off.
NEEDED_BY_ACT = frozenset({Rule.NO_SPRINGS, Rule.UP_OR_DOWN, Rule.NO_SWITCH})


@dataclass(slots=True)
class _Due:
    """A look or no reading sound that is owed to an alert."""

    alert: Alert
    at: float
    again: bool


class Sounding:
    """Decides each tick whether a sound starts."""

    def __init__(self) -> None:
        self.looks_on = True
        self._number = 0
        self._act_since: float | None = None
        self._last_act = self._last_any = self._called_at = float("-inf")
        self._look_times: deque[float] = deque(maxlen=LOOK_MOST)
        self._due: list[_Due] = []

    def onset(self, alert: Alert, active: Sequence[Alert], now: float) -> None:
        """A new alert: note what it is owed, unless its fact is already told or quiet.

        A look that was heard, cut off by a headland and out again goes on: it is only seen.
        """
        before = [a for a in active if _comes_before(a, alert, now)]
        others = [a for a in before if a.same_fact(alert)]
        for other in others:
            if other.machine.quiet.holds(now) and alert.order < other.order:
                other.machine.quiet.broken()
                others = []
                break
        if alert.level is Level.ACT:
            alert.machine.quiet.broken()  # never paused: what comes anew is heard
        told = others or _goes_on(alert, now)
        told = told or any(alert.rule in TELLS_TOO.get(other.rule, ()) for other in before)
        if alert.level in (Level.LOOK, Level.NO_READING) and not told:
            self._owe(_Due(alert, now, again=False))

    def chime(self, alert: Alert, now: float) -> None:
        """A reminder that is heard once, when standing."""
        self._owe(_Due(alert, now + CHIME_AFTER_S, again=True))

    def step(self, active: Sequence[Alert], now: float) -> Sound | None:
        """The sound to start at this tick, if any."""
        act = next(
            (a for a in active if a.level is Level.ACT and not is_quiet(a, active, now)), None
        )
        if act is not None:
            return self._act(act, now)
        self._act_since = None
        self._last_act = float("-inf")
        return self._look(active, now) if self._due else None

    def bench(self, level: Level, rule: Rule, now: float, louder: bool = False) -> Sound:
        """The sound of an alert that is fired on the bench, outside any budget."""
        pattern = Pattern.ACT if level is Level.ACT else Pattern.LOOK
        return self._sound(pattern, louder, rule, now)

    def _owe(self, due: _Due) -> None:
        self._due = [other for other in self._due if other.alert is not due.alert]
        self._due.append(due)

    def _act(self, act: Alert, now: float) -> Sound | None:
        if self._act_since is None:
            self._act_since = now
        if now - self._last_act < ACT_EVERY_S - _SLACK:
            return None
        self._last_act = now
        louder = now - self._act_since >= ACT_LOUDER_AFTER_S - _SLACK
        return self._sound(Pattern.ACT, louder, act.rule, now)

    def _look(self, active: Sequence[Alert], now: float) -> Sound | None:
        self._due = [due for due in self._due if self._still_owed(due, active, now)]
        ready = [due for due in self._due if due.at <= now + _SLACK]
        if not ready or now - self._last_any < APART_S - _SLACK:
            return None
        self._due = [due for due in self._due if due.at > now + _SLACK]
        for due in ready:
            if not due.again and due.alert.level is Level.LOOK:
                self._owe(_Due(due.alert, now + LOOK_AGAIN_S, again=True))
        first = min(ready, key=lambda due: due.alert.order).alert
        looks = all(due.alert.level is not Level.NO_READING for due in ready)
        if looks and not self._within_budget(now):
            return None
        if looks:
            self._look_times.append(now)
        else:
            self._called_at = now
        for due in ready:
            due.alert.heard_at.append(now)
        return self._sound(Pattern.LOOK, False, first.rule, now)

    def _still_owed(self, due: _Due, active: Sequence[Alert], now: float) -> bool:
        alert = due.alert
        if due.at > now + _SLACK:
            return True
        if not self.looks_on and alert.rule not in NEEDED_BY_ACT:
            return False
        if alert.level is Level.NOTE:
            return alert.machine.active
        if alert.level is Level.NO_READING and now - self._called_at < CALLED_S - _SLACK:
            return False
        if _often_heard(alert, now):
            return False
        return alert.machine.active and not is_quiet(alert, active, now)

    def _within_budget(self, now: float) -> bool:
        times = self._look_times
        return len(times) < LOOK_MOST or now - times[0] >= LOOK_WINDOW_S - _SLACK

    def _sound(self, pattern: Pattern, louder: bool, rule: Rule, now: float) -> Sound:
        self._number += 1
        self._last_any = now
        return Sound(self._number, pattern, louder, rule.value, now)


def _comes_before(other: Alert, alert: Alert, now: float) -> bool:
    """Whether the other is told already: it came earlier, or ranks first just now."""
    if other is alert or other.level is Level.NOTE:
        return False
    return other.machine.onset_at < now - _SLACK or other.order < alert.order


def _goes_on(alert: Alert, now: float) -> bool:
    """A look that was heard, cut off by a headland, and is out again: no news."""
    if not alert.machine.cut_off:
        alert.news_at = now
    heard = bool(alert.heard_at) and alert.heard_at[-1] >= alert.news_at
    return alert.level is Level.LOOK and heard


def _often_heard(alert: Alert, now: float) -> bool:
    times = alert.heard_at
    if alert.rule not in OF_THE_GROUND or len(times) < GROUND_MOST:
        return False
    return now - times[-GROUND_MOST] < GROUND_WINDOW_S - _SLACK


def is_quiet(alert: Alert, active: Sequence[Alert], now: float) -> bool:
    """Quiet by itself, or as the lesser part of a fact whose worse part is quiet at its level."""
    if alert.machine.quiet.holds(now):
        return True
    return any(
        other.level is alert.level
        and other.order < alert.order
        and other.machine.quiet.holds(now)
        and other.same_fact(alert)
        for other in active
    )

"""How things move: a glide for pictures, a slow hand for numbers. Time is an argument."""

from dataclasses import dataclass
from math import floor

EASE_S = 0.25
LIFT_S = 0.40
CHANGE_S = 0.5  # a number changes at most twice a second
STAY = 0.6  # of the last digit: a value on the border of two digits doesn't flicker


@dataclass
class Glide:
    """A drawn value on its way to where it should be; eases out."""

    start: float = 0.0
    goal: float = 0.0
    began: float = 0.0
    lasts: float = EASE_S
    placed: bool = False
    least: float = 0.0  # smaller changes are not worth a new picture

    def aim(self, goal: float, now: float, lasts: float = EASE_S) -> None:
        """Move towards ``goal`` from where it is now; the first goal is taken at once."""
        if not self.placed:
            self.start, self.placed = goal, True
        elif abs(goal - self.goal) > self.least:
            self.start = self.at(now)
        else:
            return
        self.goal, self.began, self.lasts = goal, now, lasts

    def settle(self) -> None:
        """Be there."""
        self.start = self.goal

    def forget(self) -> None:
        """Take the next goal at once: there was nothing to see before it."""
        self.placed = False

    def at(self, now: float) -> float:
        """Where it is drawn."""
        part = min(1.0, max(0.0, (now - self.began) / self.lasts))
        return self.start + (self.goal - self.start) * (1 - (1 - part) ** 3)

    def moving(self, now: float) -> bool:
        """True until it has arrived."""
        return self.placed and self.start != self.goal and now - self.began < self.lasts


@dataclass
class Numeral:
    """A shown number: steady on the border of two digits, at most two changes a second.

    ``due`` is when a held-back change may be shown, None if nothing is held back.
    """

    shown: float | None = None
    key: object = None
    changed: float = -1e9
    due: float | None = None

    def read(self, value: float, step: float, key: object, now: float) -> float:
        """The number to show for a value in steps; a new ``key`` (state, unit) cuts at once."""
        rounded = floor(value / step + 0.5 + 1e-9) * step
        if self.shown is None or key != self.key:
            self.shown, self.key, self.changed, self.due = rounded, key, now, None
        elif abs(value - self.shown) < STAY * step or rounded == self.shown:
            self.due = None
        elif now - self.changed >= CHANGE_S - 1e-6:
            self.shown, self.changed, self.due = rounded, now, None
        else:
            self.due = self.changed + CHANGE_S
        return self.shown

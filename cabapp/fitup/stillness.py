"""Whether a signal stands still enough to be taken, from samples with their times alone."""

import math
from collections import deque
from dataclasses import dataclass
from enum import Enum

from cabapp.fitup.findings import Fault, Finding, finding
from cabapp.fitup.scaling import VOLTS, Signal

WINDOW_S = 3.0  # field judgement: three seconds of stillness before a point may be taken
PATIENCE_S = 30.0  # after this long without stillness it is said that it never settles
SILENCE_S = 1.5  # the same silence that blanks a reading
LEAST_SAMPLES = 3  # a node that speaks once a second must be able to stand still too


class Standing(Enum):
    """What can be said of the signal now."""

    SILENT = "silent"
    LISTENING = "listening"
    MOVING = "moving"
    NEVER_STILL = "never_still"
    STEADY = "steady"


@dataclass(frozen=True)
class Look:
    """The signal now: steady or not, its mean, least and most over the window (None if silent)."""

    standing: Standing
    mean: float | None
    least: float | None
    most: float | None
    still_s: float  # how long it has been still so far, for the bar that fills

    @property
    def may_take(self) -> bool:
        return self.standing is Standing.STEADY


class Stillness:
    """A machine fed samples with time; ``look`` says whether a point may be taken.

    ``span`` is the most the signal may wander within the window, in wire units. An empty value or
    NaN empties the window: what was not heard is not still.
    """

    def __init__(
        self, span: float, window_s: float = WINDOW_S, patience_s: float = PATIENCE_S
    ) -> None:
        self.span, self.window_s, self.patience_s = span, window_s, patience_s
        self._heard: deque[tuple[float, float]] = deque()
        self._unsettled_since: float | None = None
        self._last_at: float | None = None

    def hear(self, value: float | None, at: float) -> None:
        """Take one sample; a jump beyond the span starts the window anew from it."""
        if value is None or not math.isfinite(value):
            self._heard.clear()
            return
        if self._last_at is None or at - self._last_at > SILENCE_S:
            self._heard.clear()
            self._unsettled_since = at
        self._last_at = at
        self._heard.append((at, value))
        while self._heard[0][0] < at - self.window_s:
            self._heard.popleft()
        if self._is_still(self._still_stretch()):
            self._unsettled_since = None
        elif self._unsettled_since is None:
            self._unsettled_since = at

    def look(self, now: float) -> Look:
        """What to show at ``now``."""
        if self._last_at is None or now - self._last_at > SILENCE_S or not self._heard:
            return Look(Standing.SILENT, None, None, None, 0.0)
        stretch = self._still_stretch()
        standing = self._standing(now, stretch)
        shown = stretch if standing is Standing.STEADY else list(self._heard)
        values = [value for _, value in shown]
        mean = math.fsum(values) / len(values)
        return Look(standing, mean, min(values), max(values), stretch[0][0] - stretch[-1][0])

    def finding(self, now: float, signal: Signal = VOLTS) -> Finding | None:
        """The named finding, where the signal fell silent or never settles."""
        look = self.look(now)
        if look.standing is Standing.SILENT and self._last_at is not None:
            return finding(Fault.SILENT, seconds=f"{now - self._last_at:.0f}")
        if look.standing is Standing.NEVER_STILL:
            return finding(
                Fault.NEVER_STILL,
                seconds=f"{self._waited(now):.0f}",
                least=signal.number(look.least or 0.0),
                most=signal.text(look.most or 0.0),
            )
        return None

    def _still_stretch(self) -> list[tuple[float, float]]:
        """The newest samples that stay within the span of each other, newest first."""
        least = most = self._heard[-1][1]
        stretch = []
        for at, value in reversed(self._heard):
            least, most = min(least, value), max(most, value)
            if most - least > self.span:
                break
            stretch.append((at, value))
        return stretch

    def _is_still(self, stretch: list[tuple[float, float]]) -> bool:
        # A sample period or so short of the window counts: samples do not fall on its very edge.
        period = self.window_s / len(self._heard)
        long_enough = stretch[0][0] - stretch[-1][0] >= self.window_s - 1.5 * period
        return long_enough and len(stretch) >= LEAST_SAMPLES

    def _standing(self, now: float, stretch: list[tuple[float, float]]) -> Standing:
        if self._is_still(stretch):
            return Standing.STEADY
        waited = self._waited(now)
        if waited > self.patience_s:
            return Standing.NEVER_STILL
        return Standing.LISTENING if waited <= self.window_s else Standing.MOVING

    def _waited(self, now: float) -> float:
        return 0.0 if self._unsettled_since is None else now - self._unsettled_since

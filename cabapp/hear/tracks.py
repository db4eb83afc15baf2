"""One quantity of a receiver over time: its pace, its silence, and which steps are believed."""

from collections.abc import Callable
from statistics import median
from typing import Generic

from cabapp.hear.epochs import Epoch
from cabapp.hear.plausible import TwoSided, Value, seconds_on
from cabapp.hear.sentences import DAY_S
from cabapp.readings import Fix

LONGEST_SILENCE_S = 3.0
SHORTEST_SILENCE_S = 1.5
SILENT_PERIODS = 2.5
LONGEST_STEP_S = 10.0


class Pace:
    """How often something comes, learned from its steps, and when it counts as silent.

    Another pace is believed after three steps in a row that do not fit the present one.
    """

    __slots__ = ("_other", "period_s", "silent_after_s")

    def __init__(self) -> None:
        self._other: list[float] = []
        self.period_s: float | None = None
        self.silent_after_s = LONGEST_SILENCE_S

    def beat(self, step_s: float) -> None:
        """Learn one step in seconds; gaps of 10 s and more are no pace."""
        period = self.period_s
        if period is None:
            if 0.0 < step_s < LONGEST_STEP_S:
                self._learn(step_s)
        elif 0.75 * period < step_s < 1.33 * period:
            if self._other:
                self._other.clear()
        elif 0.0 < step_s < LONGEST_STEP_S:
            self._other.append(step_s)
            if len(self._other) == 3:
                self._learn(median(self._other))

    def _learn(self, period_s: float) -> None:
        self._other.clear()
        self.period_s = period_s
        self.silent_after_s = min(
            max(SHORTEST_SILENCE_S, SILENT_PERIODS * period_s), LONGEST_SILENCE_S
        )


class Track(Generic[Value]):
    """A quantity's last word. ``last`` is the last epoch that told it or denied a fix."""

    __slots__ = ("_compared", "_test", "last", "pace")

    def __init__(self, possible: Callable[[Value, Value, float], bool]) -> None:
        self.pace = Pace()
        self.last: Fix | None = None
        self._compared: tuple[float, float | None] | None = None  # at, receiver time
        self._test: TwoSided[Value] = TwoSided(possible)

    def believes(self, value: Value, epoch: Epoch) -> bool:
        """Whether this value may follow the ones before it."""
        step_s = 0.0 if self._compared is None else _step(*self._compared, epoch)
        self._compared = epoch.at, epoch.time_s
        self.pace.beat(step_s)
        return self._test.take(value, step_s)

    def is_silent(self, now: float) -> bool:
        """True if nothing was heard for longer than the learned pace allows."""
        return self.last is None or now - self.last.at > self.pace.silent_after_s


def _step(at: float, time_s: float | None, epoch: Epoch) -> float:
    """Seconds since an earlier epoch: by the receiver unless it steps back, else by arrival."""
    if epoch.time_s is not None and time_s is not None:
        sent_s = seconds_on(time_s, epoch.time_s)
        if 0.0 < sent_s < DAY_S / 2:
            return sent_s
    return epoch.at - at

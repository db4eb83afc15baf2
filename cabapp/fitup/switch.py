"""The tool switch: it must repeat its state, or its silence looks like a cut cable."""

from collections import deque
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

LONGEST_GAP_S = 1.5  # "each second or faster", with half a second for a late line
LISTEN_S = 6.0
CUT_S = 3.0  # a switch that did repeat and is silent for so long has lost its cable
WANTED_FLIPS = 5
LEAST_REPEATS = 3  # of an unchanged state: a hand that works the switch fast is no repetition


class SwitchStanding(Enum):
    """What can be said of a switch so far."""

    LISTENING = "listening"
    SILENT = "silent"
    ON_CHANGE_ONLY = "on_change_only"
    STUCK = "stuck"
    REPEATS = "repeats"
    PROVEN = "proven"


WORDS: dict[SwitchStanding, tuple[str, str]] = {
    SwitchStanding.LISTENING: ("Listening", "Leave it as it is for {left:.0f} s."),
    SwitchStanding.SILENT: ("The switch says nothing", "Check plug and supply."),
    SwitchStanding.ON_CHANGE_ONLY: (
        "Refused: it does not repeat each second",
        "Set the node to repeat each second: silence must mean a cut cable.",
    ),
    SwitchStanding.STUCK: ("It repeats, and never changes", "Lift and lower; look at the magnet."),
    SwitchStanding.REPEATS: ("It repeats. Lift and lower now", "{flips} of {wanted} changes seen."),
    SwitchStanding.PROVEN: ("{flips} changes seen", "Did the tool go the same way each time?"),
}
STUCK_AFTER_S = 60.0


@dataclass(frozen=True)
class SwitchView:
    """The switch's standing in words; ``down`` is its state now, None if not known."""

    standing: SwitchStanding
    what: str
    mend: str
    down: bool | None
    flips: int


class SwitchWatch:
    """Fed each state the switch sends; ``confirm`` when a person saw the tool go the same way."""

    def __init__(self, began: float) -> None:
        self.began = began
        self._times: deque[float] = deque(maxlen=600)
        self._state: bool | None = None
        self._repeats = 0
        self.flips = 0

    def hear(self, value: float | None, at: float) -> None:
        """One repetition of its state (1 down, 0 up); an empty value is silence."""
        if value is None:
            return
        state = value >= 0.5
        if state == self._state:
            self._repeats += 1
        elif self._state is not None:
            self.flips += 1
        self._state = state
        self._times.append(at)

    def look(self, now: float) -> SwitchView:
        """What to show now."""
        standing = self._standing(now)
        what, mend = WORDS[standing]
        figures = {
            "left": max(0.0, self.began + LISTEN_S - now),
            "flips": self.flips,
            "wanted": WANTED_FLIPS,
        }
        known = self._state if standing in KNOWN else None
        return SwitchView(
            standing, what.format(**figures), mend.format(**figures), known, self.flips
        )

    def _standing(self, now: float) -> SwitchStanding:
        if now - self.began < LISTEN_S:
            return SwitchStanding.LISTENING
        if not self._times:
            return SwitchStanding.SILENT
        if self._repeats >= LEAST_REPEATS and now - self._times[-1] > CUT_S:
            return SwitchStanding.SILENT
        if self._gap(now) > LONGEST_GAP_S or self._repeats < LEAST_REPEATS:
            return SwitchStanding.ON_CHANGE_ONLY if self.flips else SwitchStanding.SILENT
        if self.flips >= WANTED_FLIPS:
            return SwitchStanding.PROVEN
        if not self.flips and now - self.began > STUCK_AFTER_S:
            return SwitchStanding.STUCK
        return SwitchStanding.REPEATS

    def _gap(self, now: float) -> float:
        """The longest silence of the last LISTEN_S, the one going on now included."""
        start = max(now - LISTEN_S, self.began)
        times = [start, *(t for t in self._times if t >= start), now]
        return max(after - before for before, after in pairwise(times))


KNOWN = (SwitchStanding.REPEATS, SwitchStanding.PROVEN, SwitchStanding.STUCK)

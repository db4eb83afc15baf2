"""Run start by itself, provisionally: if a road follows and no pass came back, it was a lane.

With no speed there is no phase; then springs that the soil pulls at tell that work has begun.
"""

from cabapp.ground.worked import Worked
from cabapp.watch.now import Now
from cabapp.watch.toolpos import LOADED_SHARE
from cabapp.words import Phase

PULLING_S = 10.0  # a spring that a person pulls in the shed is one of many, or soon let go
_SLACK = 1e-6
WITHDRAWN = "withdrawn"  # what a RUN moment says that takes a lane back; its value is the begin


class Run:
    """Whether a run is on, and since when its work may still be withdrawn."""

    def __init__(self) -> None:
        self.since_s = 0.0
        self._on = False
        self._kept = False
        self._down: bool | None = None
        self._pulled_s = 0.0

    def phase(self, phase: Phase, t_s: float, worked: Worked) -> str | None:
        """A phase begins: "started" with the first work, "withdrawn" where it was a lane."""
        if phase is Phase.WORKING and not self._on:
            self._start(t_s, worked)
            return "started"
        if phase is Phase.ROAD and self._on:
            self._on = False
            if not self._kept and not worked.came_back:
                worked.withdraw(self.since_s)
                return WITHDRAWN
            worked.keep()
        return None

    def pulls(self, now: Now, t_s: float, worked: Worked) -> bool:
        """True once, when the springs have been loaded so long and no speed tells a phase."""
        if self._on:
            return False
        loaded = now.speed_mps is None and (now.others_median or 0.0) > LOADED_SHARE
        self._pulled_s = self._pulled_s + now.dt_s if loaded else 0.0
        if self._pulled_s < PULLING_S - _SLACK:
            return False
        self._start(t_s, worked)
        return True

    def _start(self, t_s: float, worked: Worked) -> None:
        self._on, self._kept, self.since_s, self._pulled_s = True, False, t_s, 0.0
        if worked.gross_m2 > 0.0 and not worked.provisional:
            worked.begin_provisional()

    def came_back(self, worked: Worked) -> bool:
        """True once, when the tool has worked beside its own work: it is a field."""
        if self._kept or not self._on or not worked.came_back:
            return False
        worked.keep()
        self._kept = True
        return True

    def switch_moved(self, down: bool | None) -> bool:
        """Whether the tool position changed since last asked."""
        moved = self._down is not None and down is not None and down is not self._down
        self._down = down
        return moved

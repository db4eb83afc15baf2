"""Run start by itself, provisionally: if a road follows and no pass came back, it was a lane."""

from cabapp.ground.worked import Worked
from cabapp.words import Phase

WITHDRAWN = "withdrawn"  # what a RUN moment says that takes a lane back; its value is the begin


class Run:
    """Whether a run is on, and since when its work may still be withdrawn."""

    def __init__(self) -> None:
        self.since_s = 0.0
        self._on = False
        self._kept = False
        self._down: bool | None = None

    def phase(self, phase: Phase, t_s: float, worked: Worked) -> str | None:
        """A phase begins: "started" with the first work, "withdrawn" where it was a lane."""
        if phase is Phase.WORKING and not self._on:
            self._on, self._kept, self.since_s = True, False, t_s
            if worked.gross_m2 > 0.0 and not worked.provisional:
                worked.begin_provisional()
            return "started"
        if phase is Phase.ROAD and self._on:
            self._on = False
            if not self._kept and not worked.came_back:
                worked.withdraw(self.since_s)
                return WITHDRAWN
            worked.keep()
        return None

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

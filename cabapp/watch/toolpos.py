"""Is the tool in the ground? A switch says so; without one, two witnesses have to agree."""

from enum import Enum
from typing import NamedTuple

UNLOADED_SHARE = 0.08  # springs of a lifted tool hang nearly free
LOADED_SHARE = 0.15  # the soil pulls: no lifted tool shows this
SHALLOW_M = 0.05
DEEP_OF_TARGET = 0.5
DEEP_M = 0.15  # where no target is set
DISAGREE_S = 3.0
_SLACK = 1e-6


class Source(Enum):
    """Who says so."""

    SWITCH = "switch"
    SENSORS = "sensors"  # two witnesses, at least one of them depth or springs
    BUTTON = "button"
    GUESS = "guess"  # by speed and turns
    NOBODY = "nobody"


class Witnesses(NamedTuple):
    """What each witness says at one tick; None where it is not fitted or not read.

    ``switch_down``, ``depth_m`` (mean of the good sensors), ``share`` (median of the springs),
    ``turning`` and ``straight_work`` (straight, at working speed).
    """

    switch_down: bool | None
    depth_m: float | None
    share: float | None
    turning: bool
    straight_work: bool


class ToolPosition:
    """Down, up or unknown, and who says so."""

    def __init__(self, target_m: float | None) -> None:
        self.target_m = target_m
        self.down: bool | None = None
        self.source = Source.NOBODY
        self.disagree = False  # springs are loaded while the tool is said to be up
        self._disagree_s = 0.0

    def step(self, seen: Witnesses, moving: bool, dt_s: float) -> None:
        """Hear the witnesses; a guess (see ``guess``) stands until one of them speaks."""
        if seen.switch_down is not None:
            self.down, self.source = seen.switch_down, Source.SWITCH
        else:
            self._by_sensors(seen)
        said_up = self.down is False or (seen.depth_m is not None and seen.depth_m < SHALLOW_M)
        loaded = seen.share is not None and seen.share > LOADED_SHARE
        if moving and loaded and said_up:
            self._disagree_s += dt_s
        elif not loaded or not said_up:
            self._disagree_s = 0.0
        self.disagree = self._disagree_s >= DISAGREE_S - _SLACK

    def guess(self, down: bool | None) -> None:
        """What speed and turns suggest, or the button; nothing where a witness is better."""
        if self.source not in (Source.SWITCH, Source.SENSORS):
            self.down = down
            self.source = Source.NOBODY if down is None else Source.GUESS

    def tapped(self, down: bool) -> None:
        """The driver says so; refused silently where a switch speaks."""
        if self.source is not Source.SWITCH:
            self.down, self.source = down, Source.BUTTON

    def _by_sensors(self, seen: Witnesses) -> None:
        if seen.depth_m is None and seen.share is None:
            if self.source in (Source.SWITCH, Source.SENSORS):
                self.source = Source.GUESS  # what was last known, until speed and turns say more
            return
        deep = DEEP_M if self.target_m is None else DEEP_OF_TARGET * self.target_m
        depth, share = seen.depth_m, seen.share
        up = (depth is not None and depth < SHALLOW_M, share is not None and share < UNLOADED_SHARE)
        down = (depth is not None and depth > deep, share is not None and share > LOADED_SHARE)
        if sum((*up, seen.turning)) >= 2 and not any(down):
            self.down, self.source = False, Source.SENSORS
        elif sum((*down, seen.straight_work)) >= 2 and not any(up):
            self.down, self.source = True, Source.SENSORS
        elif self.source in (Source.SWITCH, Source.NOBODY):
            self.source = Source.GUESS if self.down is not None else Source.NOBODY

"""What goes wrong, where and for how long: rows a scenario is made of, turned into times."""

from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from cabapp.world.drive import Motion
from cabapp.world.field import Leg
from cabapp.world.noise import Floats


class Kind(Enum):
    """Everything a scenario can let happen; ``target`` and ``size`` are as said here."""

    # Wires and receiver. Target: the port.
    CABLE_PULLED = "cable_pulled"  # the port vanishes, later comes back
    PORT_SILENT = "port_silent"  # open, but nothing comes
    NO_FIX = "no_fix"  # sentences go on with status V and empty fields
    SPEED_SPIKE = "speed_spike"  # m/s added to the receiver's own speed
    LINE_NOISE = "line_noise"  # share of bytes that arrive wrong
    # Sensors. Target: the channel.
    FROZEN = "frozen"  # the node repeats the same figure
    STUCK = "stuck"  # the arm hangs: last value, with the converter's own noise
    DEAD = "dead"  # the group is not sent
    EMPTY = "empty"  # the group is sent with no value
    WIRE = "wire"  # broken wire: 0 V, or nothing but the supply (size 1)
    JUMP = "jump"  # SI added at once
    DRIFT = "drift"  # SI an hour, from the start
    # Tool and ground. Target: the shank, "" for all.
    TRIP = "trip"  # one trip at the start
    STONES = "stones"  # strikes a kilometre of one shank, added
    STAYS_UP = "stays_up"  # tripped and not back; share over the trip point is size
    BROKEN = "broken"  # a leg that does not pull; size is what is left of its load
    RAISED = "raised"  # lever: all shanks shallower by size metres
    HARD = "hard"  # soil factor added
    HOOKED = "hooked"  # share of trip on all springs, also standing
    SLIPPING = "slipping"  # slip added


@dataclass(frozen=True)
class Happening:
    """One thing that happens: from ``after_m`` or ``after_s`` into the leg named ``place``.

    It lasts ``for_s`` seconds, else ``for_m`` metres of travel, else to the end of the scenario.
    """

    kind: Kind
    place: str
    after_m: float = 0.0
    after_s: float = 0.0
    for_s: float = 0.0
    for_m: float = 0.0
    target: str = ""
    size: float = 0.0


@dataclass(frozen=True)
class Window:
    """A happening with its times."""

    kind: Kind
    start_s: float
    end_s: float
    target: str = ""
    size: float = 0.0

    def mask(self, t_s: Floats) -> NDArray[np.bool_]:
        """Which of these times fall inside."""
        return (t_s >= self.start_s) & (t_s < self.end_s)


class ScenarioError(ValueError):
    """A happening that names a place the layout does not have."""


def windows(
    happenings: tuple[Happening, ...], legs: tuple[Leg, ...], motion: Motion
) -> tuple[Window, ...]:
    """Times of all happenings on this drive, in order of start; ScenarioError for a lost place."""
    found = [_window(one, legs, motion) for one in happenings]
    return tuple(sorted(found, key=lambda window: window.start_s))


def _window(one: Happening, legs: tuple[Leg, ...], motion: Motion) -> Window:
    names = [leg.name for leg in legs]
    if one.place not in names:
        raise ScenarioError(
            f"{one.kind.value}: found place {one.place!r}, expected a leg; name one of {set(names)}"
        )
    here = np.flatnonzero(motion.leg == names.index(one.place))
    first = here[np.searchsorted(motion.into_m[here], one.after_m).clip(0, len(here) - 1)]
    start = float(motion.t_s[first]) + one.after_s
    end = float(motion.t_s[-1]) + 1.0
    if one.for_s:
        end = start + one.for_s
    elif one.for_m:
        index = min(int(np.searchsorted(motion.t_s, start)), len(motion) - 1)
        last = np.searchsorted(motion.travel_m, motion.travel_m[index] + one.for_m)
        end = float(motion.t_s[min(int(last), len(motion) - 1)])
    return Window(one.kind, start, end, one.target, one.size)

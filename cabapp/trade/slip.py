"""Wheel slip: how much of the wheels' way does not become ground covered.

Slip needs a wheel signal or counted revolutions. A receiver alone cannot show it, and nothing
here guesses it from ground speed.
"""

import math
from dataclasses import dataclass
from enum import Enum

from cabapp.trade.refuse import need_positive
from cabapp.trade.sources import ARIZONA_MACHINERY, OWN_DEFAULT, Source
from cabapp.units import KMH_MPS

LEAST_WHEEL_SPEED_MPS = 1.5 * KMH_MPS  # below it a wheel signal is steps and noise


class RunningGear(Enum):
    """What the tractor stands on."""

    WHEELS = "wheels"
    TRACKS = "tracks"


@dataclass(frozen=True)
class SlipLimits:
    """Slip (ratios, 0.15 is 15 %) from which it is high, far too high, and digging in."""

    high: float
    very_high: float
    digging_in: float
    source: Source


SLIP_LIMITS: dict[RunningGear, SlipLimits] = {
    RunningGear.WHEELS: SlipLimits(0.15, 0.25, 0.40, OWN_DEFAULT),
    RunningGear.TRACKS: SlipLimits(0.08, 0.15, 0.30, OWN_DEFAULT),
}

LEAST_BELIEVED_SLIP = -0.02  # less is a wheel calibrated wrong: a pulled tool leaves no such slip
LEAST_BELIEVED_SOURCE = OWN_DEFAULT


@dataclass(frozen=True)
class BestSlip:
    """The range of slip (ratios) at which wheels pull best on a surface."""

    surface: str
    least: float
    most: float
    source: Source


BEST_SLIP: tuple[BestSlip, ...] = (
    BestSlip("concrete", 0.04, 0.08, ARIZONA_MACHINERY),
    BestSlip("firm", 0.08, 0.10, ARIZONA_MACHINERY),
    BestSlip("tilled", 0.11, 0.13, ARIZONA_MACHINERY),
    BestSlip("soft", 0.14, 0.16, ARIZONA_MACHINERY),
)


def slip_ratio(ground_mps: float, wheel_mps: float) -> float | None:
    """``1 - ground / wheel``, or None where slip has no meaning.

    ``wheel_mps`` comes from a wheel calibrated with the tool lifted on the same ground. None
    when the wheel is near standstill or turns backwards, a speed is negative or not finite, or the
    slip is less than LEAST_BELIEVED_SLIP: it is then unknown, not zero. A wheel that spins on the
    spot has slip 1. Source: University of Arizona extension.
    """
    if not math.isfinite(ground_mps) or not math.isfinite(wheel_mps):
        return None
    if ground_mps < 0.0 or wheel_mps < LEAST_WHEEL_SPEED_MPS:
        return None
    slip = 1.0 - ground_mps / wheel_mps
    return slip if slip >= LEAST_BELIEVED_SLIP else None


def slip_from_revolutions(loaded_count: float, unloaded_count: float) -> float:
    """Slip ratio from wheel turns over the same two marks, tool down and tool up.

    Ten loaded against nine unloaded is 0.10. ValueError for counts not above zero. Source:
    University of Arizona and University of Missouri G1235.
    """
    mend = "count whole and part turns between the same two marks"
    need_positive("loaded_count", loaded_count, mend)
    need_positive("unloaded_count", unloaded_count, mend)
    return 1.0 - unloaded_count / loaded_count


def slip_from_times(tool_up_s: float, tool_down_s: float) -> float:
    """Slip ratio from two timed runs in the same gear at the same engine speed over one distance.

    13.6 s with the tool up against 15.2 s with it down is 0.105. ValueError for times not above
    zero. Follows from the definition of slip.
    """
    mend = "time the same distance in the same gear, tool up and tool down"
    need_positive("tool_up_s", tool_up_s, mend)
    need_positive("tool_down_s", tool_down_s, mend)
    return 1.0 - tool_up_s / tool_down_s

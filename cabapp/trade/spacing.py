"""Do the shanks stand close enough, and does the point still lift: spacing and critical depth."""

from dataclasses import dataclass
from enum import Enum

from cabapp.trade.refuse import need_positive
from cabapp.trade.sources import SPOOR_GODWIN, TASMANIA_RIPPING, Source


class PointKind(Enum):
    """What breaks the ground at the foot of a shank."""

    NARROW = "narrow"
    WINGED = "winged"
    WINGED_WITH_LEADING_TINES = "winged with shallow leading tines"


@dataclass(frozen=True)
class SpacingRule:
    """Shank spacing as a multiple of working depth."""

    least: float
    most: float
    source: Source


SPACING_RULES: dict[PointKind, SpacingRule] = {
    PointKind.NARROW: SpacingRule(1.0, 1.5, TASMANIA_RIPPING),
    PointKind.WINGED: SpacingRule(1.5, 2.0, TASMANIA_RIPPING),
    PointKind.WINGED_WITH_LEADING_TINES: SpacingRule(2.0, 2.5, TASMANIA_RIPPING),
}


class SpacingVerdict(Enum):
    """How the shanks on the bar stand against the rule for this depth."""

    CLOSE = "closer than needed"
    RIGHT = "right for this depth"
    WIDE = "so wide that ribs may stay unbroken between the shanks"


def spacing_range_m(depth_m: float, point: PointKind) -> tuple[float, float]:
    """Least and most shank spacing for a depth; ValueError unless the depth is above zero.

    Source: Tasmanian Government, deep ripping depths and implements (seen).
    """
    need_positive("depth_m", depth_m, "give the working depth in metres")
    rule = SPACING_RULES[point]
    return rule.least * depth_m, rule.most * depth_m


def judge_spacing(spacing_m: float, depth_m: float, point: PointKind) -> SpacingVerdict:
    """Whether shanks ``spacing_m`` apart suit the depth. Same source as ``spacing_range_m``."""
    need_positive("spacing_m", spacing_m, "measure from shank to shank across the tool, in metres")
    least_m, most_m = spacing_range_m(depth_m, point)
    slack_m = 1e-9 * most_m  # a spacing exactly on a bound is inside it
    if spacing_m < least_m - slack_m:
        return SpacingVerdict.CLOSE
    if spacing_m > most_m + slack_m:
        return SpacingVerdict.WIDE
    return SpacingVerdict.RIGHT


# Below the critical depth a point squeezes and smears the soil instead of lifting it. It moves
# with moisture and soil, so these figures only say when to dig and look.
CRITICAL_DEPTH_RATIO = (5.0, 7.0)  # times the width of a narrow point
CRITICAL_DEPTH_SOURCE = SPOOR_GODWIN


class CriticalVerdict(Enum):
    """What the ratio says; only digging confirms it, and the mend is to raise."""

    LIFTS = "above the critical depth"
    DIG_AND_LOOK = "near the critical depth: dig and look for smear below the point"
    LIKELY_BELOW = "likely below the critical depth: dig, and raise if it smears"


def critical_depth_range_m(point_width_m: float) -> tuple[float, float]:
    """Between which depths a narrow point stops lifting: 5 to 7 times its width.

    Wings move it deeper by an amount no source here gives. Source: Spoor and Godwin 1978, from
    memory.
    """
    need_positive("point_width_m", point_width_m, "measure across the point, in metres")
    return CRITICAL_DEPTH_RATIO[0] * point_width_m, CRITICAL_DEPTH_RATIO[1] * point_width_m


def judge_critical_depth(depth_m: float, point_width_m: float) -> CriticalVerdict:
    """Where a depth lies against the critical depth of a narrow point. Source as above, memory."""
    need_positive("depth_m", depth_m, "give the working depth in metres")
    least_m, most_m = critical_depth_range_m(point_width_m)
    if depth_m < least_m:
        return CriticalVerdict.LIFTS
    return CriticalVerdict.DIG_AND_LOOK if depth_m <= most_m else CriticalVerdict.LIKELY_BELOW

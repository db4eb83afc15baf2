"""Is it dry enough at shank depth: the test by feel, and what may be concluded from it.

The surface says nothing about the depth where the points work, so a sample taken higher up is
not judged at all.
"""

from dataclasses import dataclass
from enum import Enum

from cabapp.trade.refuse import need_between, need_positive
from cabapp.trade.sources import NRCS_324, OWN_DEFAULT, SOIL_BY_FEEL, Source
from cabapp.units import INCH_M


class Feel(Enum):
    """What a squeezed handful does; the value is how a person would describe it."""

    RIBBON = "presses out into a ribbon, or shines where a finger slides over it"
    STRONG_BALL = "makes a ball that stays whole when tossed"
    BREAKING_BALL = "makes a ball that breaks when tossed one to three times"
    NO_BALL = "makes no ball: powder, or hard lumps"


class MoistureVerdict(Enum):
    """What the handful means for ripping."""

    WAIT = "too wet: the points would smear and squeeze"
    DIG_AND_LOOK = "on the wet side: make a short pass, dig, and look for smear"
    GO = "dry enough to shatter"
    GO_HARD = "dry: expect a high load and big clods"
    UNKNOWN = "not known: take the sample at shank depth"


VERDICTS: dict[Feel, MoistureVerdict] = {
    Feel.RIBBON: MoistureVerdict.WAIT,
    Feel.STRONG_BALL: MoistureVerdict.DIG_AND_LOOK,
    Feel.BREAKING_BALL: MoistureVerdict.GO,
    Feel.NO_BALL: MoistureVerdict.GO_HARD,
}
VERDICTS_SOURCE = OWN_DEFAULT
LEAST_SAMPLES = 3  # places in a field; the published method asks for three or more
SAMPLE_SLACK_M = 1 * INCH_M


def judge_moisture(feel: Feel, sample_depth_m: float, shank_depth_m: float) -> MoistureVerdict:
    """The verdict of one handful, UNKNOWN if it came from more than an inch above the points.

    ValueError for depths not above zero. The verdicts are our own default; the signs come from
    the published test by feel (University of Minnesota Extension, NRCS; seen).
    """
    need_positive("sample_depth_m", sample_depth_m, "say how deep the handful came from")
    need_positive("shank_depth_m", shank_depth_m, "give the depth the shanks will work at")
    if sample_depth_m < shank_depth_m - SAMPLE_SLACK_M:
        return MoistureVerdict.UNKNOWN
    return VERDICTS[feel]


@dataclass(frozen=True)
class FeelRow:
    """Signs of a span of water available to plants, as ratios of what the soil can hold."""

    least: float
    most: float
    signs: str
    source: Source


FEEL_ROWS: tuple[FeelRow, ...] = (
    FeelRow(0.0, 0.25, "dry; clods are hard or go to crumbs, nothing holds together", SOIL_BY_FEEL),
    FeelRow(0.25, 0.50, "a weak ball that leaves no stain on the hand", SOIL_BY_FEEL),
    FeelRow(0.50, 0.75, "a ball that keeps the finger marks and stains lightly", SOIL_BY_FEEL),
)


@dataclass(frozen=True)
class RibbonAtCapacity:
    """Length of ribbon a texture gives when it holds all the water it can."""

    texture: str
    ribbon_m: float
    source: Source


RIBBONS: tuple[RibbonAtCapacity, ...] = (
    RibbonAtCapacity("clay loam", 2 * INCH_M, SOIL_BY_FEEL),
    RibbonAtCapacity("medium loam", 1 * INCH_M, SOIL_BY_FEEL),
)

# One practice standard asks for less than 30 % of field capacity at the deepest tillage depth.
# Ordinary advice is only "dry enough to shatter", so this is shown as a caution and bars nothing.
CAUTION_SHARE = 0.30
CAUTION_SOURCE = NRCS_324


def over_caution(water_share: float) -> bool:
    """True when the water at shank depth is at or over 30 % of field capacity (ratio 0 to 1).

    Source: USDA-NRCS practice standard 324, Deep Tillage (seen).
    """
    need_between(
        "water_share", water_share, 0.0, 1.0, "give a ratio of field capacity, 0.3 for 30 %"
    )
    return water_share >= CAUTION_SHARE

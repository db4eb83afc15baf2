"""The diagnosis table: symptoms, their causes in order, and one adjustment for each.

Common practice in the trade unless a row names a source. The operator's manual of the tool and
of the tractor goes before every line of it.
"""

from cabapp.trade.diagnosis import Cause, Hands, Step, Symptom
from cabapp.trade.sources import (
    ARIZONA_MACHINERY,
    COMMON_PRACTICE,
    MISSOURI_G1235,
    TASMANIA_RIPPING,
    Provenance,
    Source,
)
from cabapp.units import INCH_M, MPH_MPS

_FOREST_RIPPING = Source(
    "USDA Forest Service 0834-2828, subsoiling to reduce compaction", Provenance.SEEN
)
_SEAT = Hands.SEAT
_BIT_M = 0.5 * INCH_M
_BIT_MPS = 0.5 * MPH_MPS

SYMPTOMS: tuple[Symptom, ...] = (
    Symptom(
        "ridge_centre",
        "A ridge of soil is left down the middle of the pass",
        (
            Cause("front gangs cut too deep and throw inwards", "raise the front discs",
                  Step.FRONT_DISCS, by_m=_BIT_M),
            Cause("rear levelling discs carry too little soil back out", "lower the rear discs",
                  Step.REAR_FINISH, by_m=_BIT_M),
            Cause("soil is thrown too far at this speed", "drive slower",
                  Step.JUDGE, _SEAT, by_mps=_BIT_MPS),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "valley_centre",
        "A hollow is left down the middle of the pass",
        (
            Cause("front gangs cut too shallow", "lower the front discs",
                  Step.FRONT_DISCS, by_m=_BIT_M),
            Cause("rear levelling discs take too much soil out", "raise the rear discs",
                  Step.REAR_FINISH, by_m=_BIT_M),
            Cause("blades near the middle are worn small", "measure those blades; replace in pairs",
                  Step.CHECKS),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "ridge_edge",
        "A ridge or step is left between one pass and the next",
        (
            Cause("the frame hangs lower on one side", "level the frame side to side", Step.LEVEL),
            Cause("passes lie too far apart or too close", "correct the pass spacing",
                  Step.JUDGE, _SEAT),
            Cause("the outermost disc cuts too deep", "raise that end disc",
                  Step.FRONT_DISCS, by_m=_BIT_M),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "waves",
        "The finished ground rolls in waves along the pass",
        (
            Cause("the tool bounces at this speed", "drive slower", Step.JUDGE, _SEAT,
                  by_mps=_BIT_MPS),
            Cause("gauge tyres are soft or unequal", "set the tyres to the maker's pressure, cold",
                  Step.CHECKS),
            Cause("the hitch stands too high or too low", "level the frame front to back",
                  Step.LEVEL),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "open_furrows",
        "A deep open furrow stays behind each shank",
        (
            Cause("the points run too shallow", "set the depth by the layer again",
                  Step.SHANK_DEPTH),
            Cause("the shanks throw soil at this speed", "drive slower", Step.JUDGE, _SEAT,
                  by_mps=_BIT_MPS),
            Cause("the wings lift too steeply", "fit points with flatter or smaller wings",
                  Step.CHECKS),
            Cause("the ground is too wet to fall back", "feel the soil at shank depth; wait",
                  Step.WILL_IT_PULL),
        ),
        _FOREST_RIPPING,
    ),
    Symptom(
        "unbroken_ribs",
        "Dug across the pass, hard ribs stand between the shanks",
        (
            Cause("the ground is too wet to shatter", "feel the soil at shank depth; wait",
                  Step.WILL_IT_PULL),
            Cause("the points run below their critical depth", "raise the shanks", Step.SHANK_DEPTH,
                  by_m=INCH_M),
            Cause("the shanks stand too far apart for this depth", "move or add shanks",
                  Step.CHECKS),
        ),
        TASMANIA_RIPPING,
    ),
    Symptom(
        "big_clods",
        "Clods larger than a hand's length stay on top",
        (
            Cause("the finishing tools press too little", "give the basket more pressure",
                  Step.REAR_FINISH),
            Cause("the discs cut too shallow to break the top", "lower the front discs",
                  Step.FRONT_DISCS, by_m=_BIT_M),
            Cause("the tool runs slower than its band", "go faster inside the band", Step.JUDGE,
                  _SEAT, by_mps=_BIT_MPS),
            Cause("worn points tear out blocks", "measure the points; replace worn ones",
                  Step.CHECKS),
            Cause("the ground is too dry and hard now", "wait for moisture",
                  Step.WILL_IT_PULL),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "powder",
        "The finish is powder without clods",
        (
            Cause("the soil is thrown apart at this speed", "drive slower", Step.JUDGE, _SEAT,
                  by_mps=_BIT_MPS),
            Cause("the finishing tools press too hard", "ease the basket", Step.REAR_FINISH),
            Cause("the ground was worked too often", "leave out a pass", Step.JUDGE, _SEAT),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "smear",
        "The walls of the slots shine or look plastered",
        (
            Cause("the ground is too wet at shank depth", "stop; feel the soil there again; wait",
                  Step.WILL_IT_PULL, _SEAT),
            Cause("the points run below their critical depth", "raise the shanks", Step.SHANK_DEPTH,
                  by_m=INCH_M),
        ),
        TASMANIA_RIPPING,
    ),
    Symptom(
        "plugging",
        "Residue bunches in front of discs or shanks",
        (
            Cause("the straw is damp", "wait until the dew is off", Step.WILL_IT_PULL, _SEAT),
            Cause("the discs cut too shallow to cut it", "lower the front discs", Step.FRONT_DISCS,
                  by_m=_BIT_M),
            Cause("the discs are dull", "sharpen or replace the blades", Step.CHECKS),
            Cause("the tool runs too slow to clear itself", "go faster inside the band", Step.JUDGE,
                  _SEAT, by_mps=_BIT_MPS),
            Cause("shanks ride along the old rows", "work at more of an angle to the rows",
                  Step.JUDGE, _SEAT),
            Cause("gaps between shanks are too narrow for it", "spread the residue first",
                  Step.CHECKS),
        ),
        COMMON_PRACTICE,
        "Never clear a plug with the engine running or from under a raised tool.",
    ),
    Symptom(
        "front_deep",
        "Dug, the front shanks are deeper than the rear ones",
        (
            Cause("the frame tips forwards", "lengthen the levelling link",
                  Step.LEVEL),
            Cause("the rear wheels hold the frame up", "let the rear wheels up",
                  Step.SHANK_DEPTH),
            Cause("rear points are worn", "measure the points; replace worn ones", Step.CHECKS),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "rear_deep",
        "Dug, the rear shanks are deeper than the front ones",
        (
            Cause("the frame tips backwards", "shorten the levelling link",
                  Step.LEVEL),
            Cause("front points are worn", "measure the points; replace worn ones", Step.CHECKS),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "side_deep",
        "Dug, one side is deeper than the other",
        (
            Cause("the frame hangs lower on that side", "level it side to side on firm ground",
                  Step.LEVEL),
            Cause("a gauge tyre is soft or sinks in", "set the tyres to the maker's pressure, cold",
                  Step.CHECKS),
            Cause("the wing cylinders are out of step", "hold them at full reach until they agree",
                  Step.LEVEL, _SEAT),
            Cause("a shank is bent", "compare that shank with its neighbours", Step.CHECKS),
        ),
        COMMON_PRACTICE,
        "Stand clear of wings and frame while cylinders move.",
    ),
    Symptom(
        "drifts_shallow",
        "Depth creeps shallower over the hours",
        (
            Cause("the ground is harder than where it was set", "dig again and set again",
                  Step.SHANK_DEPTH),
            Cause("a depth stop has worked loose", "tighten the stop, then set again",
                  Step.SHANK_DEPTH),
            Cause("the lift leaks down", "have the cylinder seen to; collars hold till then",
                  Step.CHECKS),
            Cause("the points are wearing", "measure the points; replace worn ones", Step.CHECKS),
        ),
        COMMON_PRACTICE,
        "Never feel for an oil leak by hand: oil under pressure goes through skin.",
    ),
    Symptom(
        "slip_high",
        "Slip stays above its limit",
        (
            Cause("the shanks run deeper than the layer asks", "raise the shanks",
                  Step.SHANK_DEPTH, by_m=_BIT_M),
            Cause("the gear is too high for this ground", "take a lower gear", Step.JUDGE, _SEAT),
            Cause("the tractor's tyres are too hard", "set them by the maker's load chart, cold",
                  Step.CHECKS),
            Cause("the tractor is too light on its wheels", "add weight within its manual",
                  Step.WILL_IT_PULL),
            Cause("the top is too wet to grip", "wait until it carries", Step.WILL_IT_PULL, _SEAT),
        ),
        MISSOURI_G1235,
    ),
    Symptom(
        "slip_low",
        "Slip stays well under what wheels need to pull best",
        (
            Cause("the tractor carries more weight than the pull needs",
                  "take weight off within its manual", Step.WILL_IT_PULL),
        ),
        ARIZONA_MACHINERY,
    ),
    Symptom(
        "trips_one",
        "One shank trips again and again",
        (
            Cause("a stone or a root holds it", "stop and look at that shank", Step.CHECKS),
            Cause("its point is bent, worn or the wrong one", "compare its point with the others",
                  Step.CHECKS),
            Cause("its spring is weak or broken", "have that spring pack seen to", Step.CHECKS),
        ),
        COMMON_PRACTICE,
        "A tripped shank holds force. Follow the operator's manual before touching its springs.",
    ),
    Symptom(
        "trips_all",
        "Shanks trip all over the tool",
        (
            Cause("the points hit hard at this speed", "drive slower", Step.JUDGE, _SEAT,
                  by_mps=_BIT_MPS),
            Cause("the shanks run deeper than the layer asks", "raise the shanks",
                  Step.SHANK_DEPTH, by_m=_BIT_M),
            Cause("the layer lies otherwise in this part of the field", "dig a pit here",
                  Step.HARD_LAYER),
            Cause("the ground is too dry and hard now", "wait for moisture", Step.WILL_IT_PULL,
                  _SEAT),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "load_still",
        "A spring's load never moves while the tool works",
        (
            Cause("the sensor or its cable is at fault: the load is not known", "check that cable",
                  Step.CHECKS),
            Cause("the shank's pivot is seized", "see whether that shank moves as the others do",
                  Step.CHECKS),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "breaking",
        "Points, bolts or shanks break",
        (
            Cause("the tool turns while it is in the ground", "lift before every turn", Step.JUDGE,
                  _SEAT),
            Cause("obstacles are hit at this speed", "drive slower", Step.JUDGE, _SEAT,
                  by_mps=_BIT_MPS),
            Cause("the bolts are not the grade in the manual", "fit the bolts the manual names",
                  Step.CHECKS),
            Cause("a trip does not give way", "have that trip seen to", Step.CHECKS),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "labouring",
        "Speed falls and the engine labours",
        (
            Cause("the shanks run deeper than the layer asks", "raise the shanks",
                  Step.SHANK_DEPTH, by_m=_BIT_M),
            Cause("the gear is too high for this ground", "take a lower gear", Step.JUDGE, _SEAT),
            Cause("the tool is wider than this tractor pulls here", "reckon the pull again",
                  Step.WILL_IT_PULL, _SEAT),
        ),
        COMMON_PRACTICE,
    ),
    Symptom(
        "fast_uneven",
        "Speed runs high and the finish is uneven",
        (
            Cause("the tractor runs away downhill", "take a lower gear; never brake with depth",
                  Step.JUDGE, _SEAT),
            Cause("soil is thrown at this speed", "drive slower", Step.JUDGE, _SEAT,
                  by_mps=_BIT_MPS),
        ),
        COMMON_PRACTICE,
    ),
)  # fmt: skip

BY_KEY: dict[str, Symptom] = {symptom.key: symptom for symptom in SYMPTOMS}

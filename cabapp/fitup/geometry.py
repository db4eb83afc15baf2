"""The plan drawing of the tool as it is typed, its lengths in words, and what cannot be right."""

from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from cabapp.channels import family_of
from cabapp.rig import Rig, Shank
from cabapp.units import INCH_M, UnitSystem, fraction_text, to_unit

APART_LEAST_M = 0.10  # two shanks nearer than this are one typed twice
IN_LINE_M = 0.005  # a tape reads to this: nearer, it stands where the pattern has it
MIDDLE_M = INCH_M / 32  # nearer to the middle than this a tape does not tell a side


class Thing(Enum):
    """What a mark of the drawing stands for."""

    SHANK = "shank"
    DEPTH = "depth"
    SPRING = "spring"
    OTHER_SENSOR = "other_sensor"
    ANTENNA = "antenna"
    HITCH = "hitch"
    MIDDLE = "middle"  # where the tool is taken to be for area and pegs


@dataclass(frozen=True)
class Mark:
    """One thing at its true place: metres right of the middle, metres behind the hitch pin."""

    thing: Thing
    label: str
    across_m: float
    back_m: float


@dataclass(frozen=True)
class Drawing:
    """The tool from above, front up. ``width_m`` is the working width, drawn as two side lines."""

    marks: tuple[Mark, ...]
    width_m: float
    across_m: tuple[float, float]
    back_m: tuple[float, float]


def taped_text(length_m: float, units: UnitSystem) -> str:
    """A length on the tool as a tape shows it: ``165 3/8 in``, ``420 cm``."""
    if units is UnitSystem.US:
        return f"{fraction_text(to_unit(length_m, 'in'), 16)} in"
    return f"{to_unit(length_m, 'cm'):.2f}".rstrip("0").rstrip(".") + " cm"


def aside_text(right_m: float, units: UnitSystem) -> str:
    """A place to the right of the middle, or to its left: ``70 7/8 in left``."""
    if abs(right_m) < MIDDLE_M:
        return "in the middle"
    return f"{taped_text(abs(right_m), units)} {'right' if right_m > 0 else 'left'}"


def drawing(rig: Rig) -> Drawing:
    """Everything the rig file places, with the bounds that hold it all."""
    tool = rig.tool
    marks = [
        Mark(Thing.ANTENNA, "receiver", rig.receiver.antenna_right_m, -tool.hitch_back_m),
        Mark(Thing.HITCH, "hitch pin", 0.0, 0.0),
        Mark(Thing.MIDDLE, "middle of the shanks", 0.0, tool.lag_m),
    ]
    marks += [Mark(Thing.SHANK, str(s.number), s.across_m, s.back_m) for s in tool.shanks]
    marks += _sensor_marks(rig)
    half = tool.width_m / 2
    across = [mark.across_m for mark in marks] + [-half, half]
    back = [mark.back_m for mark in marks]
    return Drawing(tuple(marks), tool.width_m, (min(across), max(across)), (min(back), max(back)))


def _sensor_marks(rig: Rig) -> list[Mark]:
    shanks = {shank.number: shank for shank in rig.tool.shanks}
    marks = []
    for sensor in rig.sensors:
        family = family_of(sensor.channel).name
        thing = {"depth": Thing.DEPTH, "spring": Thing.SPRING}.get(family, Thing.OTHER_SENSOR)
        label = sensor.channel.removeprefix(family) or sensor.channel
        at = shanks.get(sensor.shank or 0)
        if at is not None:
            marks.append(Mark(thing, label, at.across_m, at.back_m))
        elif thing is Thing.DEPTH:
            marks.append(Mark(thing, label, sensor.across_m, sensor.back_m))
    return marks


def vee(count: int, spacing_m: float, first_back_m: float, step_m: float) -> tuple[Shank, ...]:
    """Shanks on a V, point forward: the middle one (or two) in front, each next ``step_m`` back."""
    middle = (count - 1) / 2
    return tuple(
        Shank(n + 1, (n - middle) * spacing_m, first_back_m + int(abs(n - middle)) * step_m)
        for n in range(count)
    )


def ranks(
    count: int, spacing_m: float, first_back_m: float, rank_gap_m: float, rank_count: int = 2
) -> tuple[Shank, ...]:
    """Shanks on straight bars, one after the other from bar to bar."""
    middle = (count - 1) / 2
    return tuple(
        Shank(n + 1, (n - middle) * spacing_m, first_back_m + (n % rank_count) * rank_gap_m)
        for n in range(count)
    )


@dataclass(frozen=True)
class Pattern:
    """Shanks on a V or on two bars: how many, how far apart, the first and the step back."""

    bars: bool
    count: int
    apart_m: float
    first_m: float
    step_m: float

    def shanks(self) -> tuple[Shank, ...]:
        """Their places."""
        if self.bars:
            return ranks(self.count, self.apart_m, self.first_m, self.step_m)
        return vee(self.count, self.apart_m, self.first_m, self.step_m)

    def apart_from(self, shanks: tuple[Shank, ...]) -> tuple[int, ...]:
        """The numbers of those that stand elsewhere, each by itself."""
        return tuple(
            shank.number
            for shank, meant in zip(shanks, self.shanks(), strict=True)
            if max(abs(shank.across_m - meant.across_m), abs(shank.back_m - meant.back_m))
            > IN_LINE_M
        )


def pattern_of(rig: Rig) -> Pattern:
    """What most shanks of a rig stand on; an empty rig begins with what is common."""
    shanks = rig.tool.shanks
    if not shanks:
        return Pattern(False, 0, 30 * INCH_M, max(0.0, rig.tool.lag_m - 0.6), 18 * INCH_M)
    first_m = min(s.back_m for s in shanks)
    if len(shanks) == 1:
        return Pattern(False, 1, 30 * INCH_M, first_m, 18 * INCH_M)
    across = sorted(s.across_m for s in shanks)
    apart_m = sorted(b - a for a, b in pairwise(across))[(len(shanks) - 1) // 2]
    steps = sorted({s.back_m - first_m for s in shanks})
    tries = [
        Pattern(bars, len(shanks), apart_m, first_m, step)
        for bars in (False, True)
        for step in steps
    ]
    return min(tries, key=lambda pattern: len(pattern.apart_from(shanks)))


def doubts(rig: Rig) -> tuple[str, ...]:
    """What in the drawing cannot be right, each as one sentence with its mend."""
    shanks, half = rig.tool.shanks, rig.tool.width_m / 2
    found = [
        f"Shank {s.number} stands outside the working width: measure the width again."
        for s in shanks
        if abs(s.across_m) > half
    ]
    for n, one in enumerate(shanks):
        found += [
            f"Shanks {one.number} and {other.number} stand in one place: type one again."
            for other in shanks[n + 1 :]
            if abs(one.across_m - other.across_m) < APART_LEAST_M
            and abs(one.back_m - other.back_m) < APART_LEAST_M
        ]
    if shanks and abs(sum(s.across_m for s in shanks) / len(shanks)) > 0.15:
        found.append("The shanks stand to one side: is a minus sign missing on the left?")
    if shanks and not min(s.back_m for s in shanks) <= rig.tool.lag_m <= max(
        s.back_m for s in shanks
    ):
        found.append("The middle of the shanks is not between them: measure hitch to middle again.")
    return (*found, *_depth_doubts(rig))


def _depth_doubts(rig: Rig) -> list[str]:
    depth = rig.fitted("depth")
    places = {(s.across_m, s.back_m) for s in depth}
    if len(depth) > 1 and len(places) < len(depth):
        return ["Two depth sensors stand in one place: level needs their true places."]
    return []

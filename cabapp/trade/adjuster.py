"""How depth is adjusted on a machine, and how far to move it, in steps a hand can make.

Play is taken out by ending every movement in the same direction, so that the parts always rest
on the same side. What a step does is learned from this machine's own digs: ``response.py``.
"""

import math
from dataclasses import dataclass, replace
from enum import Enum

import cabapp.rig as rig
from cabapp.rig import AdjusterKind
from cabapp.trade.refuse import need_finite, need_not_negative, need_positive
from cabapp.units import UnitSystem, depth_text, fraction_text, to_unit


class Direction(Enum):
    """Which way the points go."""

    DEEPER = "deeper"
    SHALLOWER = "shallower"

    @property
    def sign(self) -> int:
        """+1 for deeper, -1 for shallower."""
        return 1 if self is Direction.DEEPER else -1

    @property
    def other(self) -> "Direction":
        """The opposite way."""
        return Direction.SHALLOWER if self is Direction.DEEPER else Direction.DEEPER


SMALLEST_STEP: dict[AdjusterKind, float] = {
    AdjusterKind.CRANK: 0.5,
    AdjusterKind.COLLARS: 1.0,
    AdjusterKind.PINS: 1.0,
    AdjusterKind.SEAT: 1.0,
}
BEYOND_TURNS = 2.0  # turned past, then back, when the crank has to go against its last movement


@dataclass(frozen=True)
class Adjuster:
    """One way of adjusting depth, a fact of the rig.

    ``step_m``: change of depth for one turn, collar (on each side), hole, or step of the lever.
    ``finish``: the direction in which the last movement always goes. ``adding_goes``: which way
    the points go when a collar is added. ``part_m``: thickness of a collar, as written on it.
    ``setting``: steps now, counted deeper, with ``least`` and ``most`` where the parts end; None
    where nobody counts. ``finest``: smallest part of a step a hand can make, None for the usual
    one of the kind. ``learned``: whether ``step_m`` comes from this machine's own digs.
    """

    kind: AdjusterKind
    step_m: float
    finish: Direction = Direction.DEEPER
    adding_goes: Direction = Direction.SHALLOWER
    part_m: float | None = None
    setting: float | None = None
    least: float = -math.inf
    most: float = math.inf
    finest: float | None = None
    learned: bool = False

    @classmethod
    def of(cls, fitted: rig.Adjuster) -> "Adjuster":
        """The adjuster a rig file describes, not yet taught by any dig."""
        return cls(
            kind=fitted.kind,
            step_m=fitted.step_m,
            finish=Direction.DEEPER if fitted.last_deeper else Direction.SHALLOWER,
            adding_goes=Direction.DEEPER if fitted.adding_is_deeper else Direction.SHALLOWER,
            part_m=fitted.part_m,
            finest=fitted.finest_steps,
        )

    @property
    def smallest(self) -> float:
        """The part of a step that advice is rounded to; collars and holes are never divided."""
        usual = SMALLEST_STEP[self.kind]
        if self.finest is None:
            return usual
        whole = self.kind in (AdjusterKind.COLLARS, AdjusterKind.PINS)
        return max(usual, self.finest) if whole else self.finest

    def __post_init__(self) -> None:
        need_positive("step_m", self.step_m, "give the change of depth for one step in metres")
        need_positive("finest", self.smallest, "give the smallest part of a step, 0.5 for half")
        if self.part_m is not None:
            need_positive("part_m", self.part_m, "give the thickness of a collar in metres")
        if self.setting is not None:
            need_finite("setting", self.setting, "count the steps from a mark")
        if not self.least < self.most:
            raise ValueError(
                f"least: found {self.least!r} to {self.most!r}, expected the smaller one first; "
                "swap the two ends"
            )


@dataclass(frozen=True)
class Advice:
    """How far to move the adjuster. ``direction`` None means: leave it.

    ``steps`` is the net movement, zero or more. ``beyond`` is to be gone past it and come back,
    so that the last movement is ``finish``. ``expected_m`` is the depth to find in the next dig.
    ``short_m`` is the part of the way the adjuster cannot go because its parts end.
    """

    adjuster: Adjuster
    direction: Direction | None
    steps: float
    beyond: float
    finish: Direction
    expected_m: float
    short_m: float = 0.0

    @property
    def moved(self) -> float:
        """Signed net steps, deeper positive."""
        return 0.0 if self.direction is None else self.direction.sign * self.steps


def advise(adjuster: Adjuster, now_m: float, target_m: float) -> Advice:
    """Steps from the depth dug to the depth wanted, to the nearest step a hand can make.

    Half turns of a crank, whole collars, holes and lever steps, unless the rig says otherwise.
    ValueError for a depth that is negative or NaN, or a target not above zero. Arithmetic of
    our own.
    """
    need_not_negative("now_m", now_m, "dig and measure from the untouched surface")
    need_positive("target_m", target_m, "set the depth wanted first")
    smallest = adjuster.smallest
    exact = (target_m - now_m) / adjuster.step_m
    wanted = math.copysign(math.floor(abs(exact) / smallest + 0.5) * smallest, exact)
    moved = _within_reach(adjuster, wanted, smallest)
    direction = None if moved == 0 else Direction.DEEPER if moved > 0 else Direction.SHALLOWER
    against = direction is adjuster.finish.other and adjuster.kind is AdjusterKind.CRANK
    return Advice(
        adjuster=adjuster,
        direction=direction,
        steps=abs(moved),
        beyond=BEYOND_TURNS if against else 0.0,
        finish=adjuster.finish,
        expected_m=now_m + moved * adjuster.step_m,
        short_m=abs(wanted - moved) * adjuster.step_m,
    )


def _within_reach(adjuster: Adjuster, wanted: float, smallest: float) -> float:
    """The signed steps that the parts allow, in steps a hand can make."""
    if adjuster.setting is None:
        return wanted
    low, high = adjuster.least - adjuster.setting, adjuster.most - adjuster.setting
    reach = min(max(wanted, low), high)
    if reach == wanted:
        return wanted
    kept = math.copysign(math.floor(abs(reach) / smallest + 1e-9) * smallest, reach)
    return kept if kept * wanted > 0 else 0.0


def follow(adjuster: Adjuster, advice: Advice) -> Adjuster:
    """The adjuster after the advice was followed, where its setting is counted."""
    if adjuster.setting is None:
        return adjuster
    return replace(adjuster, setting=adjuster.setting + advice.moved)


_COUNTS = ("no", "one", "two", "three", "four", "five", "six")


def _count(number: float) -> str:
    whole = round(number)
    return _COUNTS[whole] if whole < len(_COUNTS) else str(whole)


def _thickness(part_m: float | None, system: UnitSystem) -> str:
    if part_m is None:
        return ""
    if system is UnitSystem.US:
        return f"{fraction_text(to_unit(part_m, 'in'), 8)} in "
    return f"{to_unit(part_m, 'mm'):.0f} mm "


def steps_text(advice: Advice, system: UnitSystem) -> str:
    """The movement alone: ``3 1/2 turns``, ``add one 3/4 in collar each side``, ``2 holes``.

    ``leave it`` where no step would bring it nearer.
    """
    if advice.direction is None:
        return "leave it"
    kind, steps = advice.adjuster.kind, advice.steps
    if kind is AdjusterKind.CRANK:
        return f"{fraction_text(steps, 4)} turn{'s' if steps > 1 else ''}"
    if kind is AdjusterKind.PINS:
        return f"{steps:.0f} hole{'s' if steps > 1 else ''}"
    if kind is AdjusterKind.COLLARS:
        verb = "add" if advice.direction is advice.adjuster.adding_goes else "take out"
        thickness = _thickness(advice.adjuster.part_m, system)
        return f"{verb} {_count(steps)} {thickness}collar{'s' if steps > 1 else ''} each side"
    return depth_text(steps * advice.adjuster.step_m, system, 4)


def advice_text(advice: Advice, system: UnitSystem) -> str:
    """The movement with its direction: ``Deeper: 3 1/2 turns of the crank``."""
    if advice.direction is None:
        return "Leave it: no step brings it nearer"
    way, steps = advice.direction.value.capitalize(), steps_text(advice, system)
    if advice.adjuster.kind is AdjusterKind.CRANK:
        return f"{way}: {steps} of the crank"
    return f"{way} {steps}" if advice.adjuster.kind is AdjusterKind.SEAT else f"{way}: {steps}"


def finish_text(advice: Advice, system: UnitSystem) -> str:
    """How to end the movement, and what cannot be reached; "" where there is nothing to say."""
    short = ""
    if advice.short_m > 0:
        short = f"At its end: {depth_text(advice.short_m, system, 4)} short."
    if advice.direction is None:
        return short
    kind, finish = advice.adjuster.kind, advice.finish.value
    if kind is AdjusterKind.CRANK and advice.beyond > 0:
        past = fraction_text(advice.beyond, 2)
        ending = f"Go {past} turns past, end turning {finish}."
    elif kind is AdjusterKind.CRANK:
        ending = f"End turning {finish}."
    elif advice.finish is Direction.DEEPER:
        ending = "Lift, then let it down on its stop."
    else:
        ending = "Let it down, then lift to its stop."
    return f"{ending} {short}".strip()

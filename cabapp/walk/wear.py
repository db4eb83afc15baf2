"""The wear book: points and discs by the ground they have worked and the hours they ran."""

from collections.abc import Sequence
from dataclasses import dataclass

from cabapp.units import UnitSystem, shown_unit, shown_value
from cabapp.walk.findings import length_words

PARTS = ("points", "discs")


@dataclass(frozen=True)
class WearLine:
    """One line of the book: a part fitted new, or measured, after so much ground and time.

    ``length_m`` is the point's length or the blade's diameter; ``fitted`` begins a new count.
    ``area_m2`` and ``hours`` are counted since the part was fitted.
    """

    part: str
    fitted: bool
    length_m: float | None
    area_m2: float | None
    hours: float | None
    day: str


@dataclass(frozen=True)
class Wear:
    """A part now: worn since fitted, over how much ground and how many hours; None: not known."""

    part: str
    since: str
    worn_m: float | None
    area_m2: float | None
    hours: float | None


def wear_of(part: str, lines: Sequence[WearLine]) -> Wear | None:
    """How a part stands since it was last fitted; None where it never was."""
    own = [line for line in lines if line.part == part]
    fitted = [i for i, line in enumerate(own) if line.fitted]
    if not fitted:
        return None
    new, later = own[fitted[-1]], own[fitted[-1] + 1 :]
    measured = [line.length_m for line in later if line.length_m is not None]
    worn = None if not measured or new.length_m is None else new.length_m - measured[-1]
    areas = [line.area_m2 for line in later if line.area_m2 is not None]
    hours = [line.hours for line in later if line.hours is not None]
    return Wear(part, new.day, worn, areas[-1] if areas else None, hours[-1] if hours else None)


def wear_words(wear: Wear, system: UnitSystem) -> str:
    """One line: ``worn 1 1/4 in in 210 ac, 24 h: 1/2 in a 100 ac``."""
    parts = []
    if wear.area_m2 is not None:
        parts.append(f"{shown_value(wear.area_m2, 'area', system):g} {shown_unit('area', system)}")
    if wear.hours is not None:
        parts.append(f"{wear.hours:g} h")
    over = ", ".join(parts)
    if wear.worn_m is None:
        return f"{over}, not measured yet" if over else "fitted, not measured yet"
    if wear.worn_m < 0:
        return f"longer than when new by {length_words(-wear.worn_m, system)}: measure again"
    worn = f"worn {length_words(wear.worn_m, system)}"
    return f"{worn} in {over}" if over else worn

"""What is typed about tractor, tool and receiver: one table, a row a fact of the rig file."""

from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

from cabapp.fitup.geometry import aside_text, taped_text
from cabapp.rig import AdjusterKind, DriveKind, FinishKind, Rig
from cabapp.rigbounds import BOUNDS, Bounds
from cabapp.units import UnitSystem, fraction_text, to_unit


class Kind(Enum):
    """How a fact is asked for."""

    FAR = "far"  # a length in feet or metres
    NEAR = "near"  # a length in inches or centimetres
    ASIDE = "aside"  # the same, to the right of the middle, or below 0 to its left
    POWER = "power"
    NUMBER = "number"
    CHOICE = "choice"
    NAME = "name"


@dataclass(frozen=True)
class Fact:
    """One fact: where it lies, how it is asked, and what none of it is called.

    ``choices`` are (value, word, smaller word). ``part`` is a dotted path inside the rig.
    """

    part: str
    attribute: str
    words: str
    help: str
    kind: Kind
    none: str = ""
    choices: tuple[tuple[Any, str, str], ...] = ()

    @property
    def name(self) -> str:
        """What its key is called."""
        return f"{self.part}_{self.attribute}".strip("_").replace(".", "_")

    @property
    def bounds(self) -> Bounds:
        """Least and most of a figure, in SI: those of the rig file."""
        return BOUNDS[f"{self.part}.{self.attribute}"]

    @property
    def signed(self) -> bool:
        """Whether it may be less than 0."""
        return self.bounds[0] < 0


def value_of(rig: Rig, fact: Fact) -> Any:
    """The fact's value in the rig."""
    return getattr(_part(rig, fact.part), fact.attribute)


def with_value(rig: Rig, fact: Fact, value: Any) -> Rig:
    """The rig with the fact changed."""
    return _put(rig, fact.part.split(".") if fact.part else [], fact.attribute, value)


def _part(rig: Rig, path: str) -> Any:
    found: Any = rig
    for name in filter(None, path.split(".")):
        found = getattr(found, name)
    return found


def _put(within: Any, path: list[str], attribute: str, value: Any) -> Any:
    if not path:
        return replace(within, **{attribute: value})
    inner = _put(getattr(within, path[0]), path[1:], attribute, value)
    return replace(within, **{path[0]: inner})


def units_of(fact: Fact, units: UnitSystem) -> tuple[str, ...]:
    """The units it may be typed in, the person's own first."""
    us = units is UnitSystem.US
    table = {
        Kind.FAR: ("ft", "m"),
        Kind.NEAR: ("in", "cm"),
        Kind.ASIDE: ("in", "cm"),
        Kind.POWER: ("hp", "kW"),
    }
    pair = table.get(fact.kind)
    if pair is None:
        return ()
    return pair if us else (pair[1], pair[0])


def text_of(rig: Rig, fact: Fact, units: UnitSystem) -> str:
    """The value as it is shown."""
    value = value_of(rig, fact)
    if value is None or value == "":
        return fact.none or "–"
    if fact.kind is Kind.CHOICE:
        return next((word for choice, word, _ in fact.choices if choice == value), str(value))
    if fact.kind is Kind.NEAR:
        return taped_text(value, units)
    if fact.kind is Kind.ASIDE:
        return aside_text(value, units)
    pair = units_of(fact, units)
    if not pair:
        return f"{value:g}" if isinstance(value, float) else str(value)
    number = to_unit(value, pair[0])
    if units is UnitSystem.US and fact.kind is Kind.FAR:
        return f"{fraction_text(number, 12)} {pair[0]}"
    return f"{number:.2f}".rstrip("0").rstrip(".") + f" {pair[0]}"


def refused(fact: Fact, value: float, units: UnitSystem) -> str:
    """Why a typed value (SI) cannot be right, "" if it can."""
    least, most = fact.bounds
    if least <= value <= most:
        return ""
    pair = units_of(fact, units)
    bounds = [to_unit(v, pair[0]) if pair else v for v in (least, most)]
    found = to_unit(value, pair[0]) if pair else value
    unit = f" {pair[0]}" if pair else ""
    low, high = (f"{bound:.3g}".replace("-", "−") for bound in bounds)
    return (
        f"{fact.words}: {found:.4g}{unit} cannot be right. Expected {low} to {high}{unit}: "
        "mind the unit."
    )


def _far(part: str, attribute: str, words: str, help_: str, none: str = "") -> Fact:
    return Fact(part, attribute, words, help_, Kind.FAR, none)


def _near(part: str, attribute: str, words: str, help_: str, none: str = "") -> Fact:
    return Fact(part, attribute, words, help_, Kind.NEAR, none)


def _choice(part: str, attribute: str, words: str, *choices: tuple[Any, str, str]) -> Fact:
    return Fact(part, attribute, words, "", Kind.CHOICE, choices=choices)


def _whole(part: str, attribute: str, words: str) -> Fact:
    return Fact(part, attribute, words, "As they are on the tool.", Kind.NUMBER)


SIZE = (
    _far("tool", "width_m", "Working width", "The ground it works in one pass."),
    _far(
        "tool",
        "lag_m",
        "Pin to shanks",
        "Hitch pin to the middle of the shanks: how far the work follows.",
    ),
    _far("tool", "transport_width_m", "Width on the road", "", "not typed"),
    _far("tool", "transport_height_m", "Height on the road", "", "not typed"),
    _choice("tool", "winged", "Points", (True, "Winged", ""), (False, "Narrow", "")),
)
GANGS = (
    _whole("tool", "front_gangs", "Front disc gangs"),
    _whole("tool", "rear_gangs", "Rear levelling gangs"),
    _choice(
        "tool",
        "finish",
        "Rear finish",
        (FinishKind.BASKET, "Basket", "a rolling one"),
        (FinishKind.HARROW, "Harrow", ""),
        (FinishKind.NONE, "Not fitted", ""),
    ),
)
RECEIVER = (
    _far(
        "tool",
        "hitch_back_m",
        "Receiver to pin",
        "Antenna straight back to the hitch pin.",
    ),
    Fact(
        "receiver",
        "antenna_right_m",
        "From the middle",
        "To the right. Left is less than 0.",
        Kind.ASIDE,
    ),
)
ADJUSTER = (
    _choice(
        "tool.adjuster",
        "kind",
        "Depth is set by",
        (AdjusterKind.CRANK, "Crank", "turns"),
        (AdjusterKind.COLLARS, "Collars", "on the rod, of known thickness"),
        (AdjusterKind.PINS, "Pins", "holes"),
        (AdjusterKind.SEAT, "From the seat", ""),
    ),
    _near("tool.adjuster", "step_m", "One step is", "Depth of one turn, collar or hole."),
    _near("tool.adjuster", "part_m", "Collar, thick", "As written on it.", "no collars"),
    _choice(
        "tool.adjuster",
        "adding_is_deeper",
        "A collar more goes",
        (False, "Shallower", ""),
        (True, "Deeper", ""),
    ),
    _choice(
        "tool.adjuster",
        "last_deeper",
        "Last movement",
        (True, "Deeper", "takes out the play"),
        (False, "Shallower", ""),
    ),
)
TRACTOR = (
    Fact("", "name", "This machine", "As people call it.", Kind.NAME),
    Fact("", "id", "Its mark", "Short, the same on its spare tablet.", Kind.NAME),
    Fact("tractor", "id", "Tractor", "Its own mark.", Kind.NAME, none="not typed"),
    Fact(
        "tractor",
        "rated_pto_w",
        "Rated PTO power",
        "From its plate or manual.",
        Kind.POWER,
        none="not known",
    ),
    _choice(
        "tractor",
        "drive",
        "Drives by",
        (DriveKind.TWO_WHEEL, "Two wheels", ""),
        (DriveKind.FRONT_ASSIST, "Front assist", ""),
        (DriveKind.FOUR_WHEEL, "Four wheels", "of equal size"),
        (DriveKind.TRACKS, "Tracks", ""),
    ),
)

"""SI inside, the person's units at the edge.

Every constant is exact by definition (SI Brochure, 9th ed.; NIST SP 811, appendix B.8) unless
its comment says otherwise. Values carry their unit in their name, so this module is the only
place where a number changes unit, together with the words that print it.
"""

import math
import re
from dataclasses import dataclass
from enum import Enum

INCH_M = 0.0254
FOOT_M = 0.3048
MILE_M = 1609.344
KNOT_MPS = 1852.0 / 3600.0
MPH_MPS = MILE_M / 3600.0
KMH_MPS = 1.0 / 3.6
ACRE_M2 = 4046.8564224  # international acre: 43,560 square feet
HECTARE_M2 = 10_000.0
POUND_KG = 0.45359237
STANDARD_GRAVITY_MPS2 = 9.80665
POUND_FORCE_N = POUND_KG * STANDARD_GRAVITY_MPS2
PSI_PA = POUND_FORCE_N / INCH_M**2
HORSEPOWER_W = 550.0 * FOOT_M * POUND_FORCE_N  # mechanical horsepower: 550 foot-pounds a second
US_GALLON_M3 = 231.0 * INCH_M**3


class UnitSystem(Enum):
    """What a person reads: inches, mph and acres, or centimetres, km/h and hectares."""

    US = "us"
    METRIC = "metric"


class UnitError(ValueError):
    """A typed quantity that cannot be read; the message says what was found and the mend."""


@dataclass(frozen=True)
class Unit:
    """One unit a person may type: what it measures and its size in SI."""

    quantity: str
    si_per_unit: float


UNITS: dict[str, Unit] = {
    "m": Unit("length", 1.0),
    "cm": Unit("length", 0.01),
    "mm": Unit("length", 0.001),
    "km": Unit("length", 1000.0),
    "in": Unit("length", INCH_M),
    "ft": Unit("length", FOOT_M),
    "mi": Unit("length", MILE_M),
    "m/s": Unit("speed", 1.0),
    "km/h": Unit("speed", KMH_MPS),
    "mph": Unit("speed", MPH_MPS),
    "kn": Unit("speed", KNOT_MPS),
    "m2": Unit("area", 1.0),
    "ha": Unit("area", HECTARE_M2),
    "ac": Unit("area", ACRE_M2),
    "N": Unit("force", 1.0),
    "kN": Unit("force", 1000.0),
    "lbf": Unit("force", POUND_FORCE_N),
    "W": Unit("power", 1.0),
    "kW": Unit("power", 1000.0),
    "hp": Unit("power", HORSEPOWER_W),
    "Pa": Unit("pressure", 1.0),
    "kPa": Unit("pressure", 1000.0),
    "MPa": Unit("pressure", 1_000_000.0),
    "bar": Unit("pressure", 100_000.0),
    "psi": Unit("pressure", PSI_PA),
    "deg": Unit("angle", 1.0),
    "s": Unit("time", 1.0),
    "min": Unit("time", 60.0),
    "h": Unit("time", 3600.0),
    "%": Unit("ratio", 0.01),
    "kg": Unit("mass", 1.0),
    "lb": Unit("mass", POUND_KG),
    "V": Unit("voltage", 1.0),
    "L": Unit("volume", 0.001),
    "gal": Unit("volume", US_GALLON_M3),
}

_NUMBER = re.compile(
    r"^(?P<sign>[-+\u2212]?)\s*"
    r"(?:(?P<whole>\d+)(?:\s+|-))?(?P<top>\d+)\s*/\s*(?P<bottom>\d+)$"
)
_DECIMAL = re.compile(r"^[-+\u2212]?(?:\d+(?:[.,]\d*)?|[.,]\d+)$")
_THOUSANDS = re.compile(r"^[-+\u2212]?[1-9]\d{0,2},\d{3}$")  # 1,250: a thousand, or one and a bit
_LONGEST = 24  # characters of a number; what people type is shorter
_QUANTITY = re.compile(r"^(?P<number>[-+\u2212\d][\d\s./,-]*|[.,]\d+)\s*(?P<unit>[A-Za-z%/0-9]*)$")


def parse_number(text: str) -> float:
    """Read ``11``, ``11.25``, ``1/4`` or ``11 1/4``; raises UnitError saying what to type.

    A comma is a decimal comma, except where it could as well mark thousands (``1,250``): that
    is refused.
    """
    stripped = text.strip()
    if len(stripped) > _LONGEST:
        raise UnitError(f"{stripped[:_LONGEST]}... is too long; type for example 11 1/4")
    if _THOUSANDS.match(stripped):
        plain = stripped.replace(",", "")
        raise UnitError(
            f"{text!r} can be read two ways; type {plain} or {stripped.replace(',', '.')}"
        )
    fraction = _NUMBER.match(stripped)
    if fraction:
        bottom = int(fraction["bottom"])
        if bottom == 0:
            raise UnitError(f"{text!r}: a fraction over zero; type for example 11 1/4")
        value = int(fraction["whole"] or 0) + int(fraction["top"]) / bottom
        return -value if fraction["sign"] in ("-", "\u2212") else value
    if _DECIMAL.match(stripped):
        value = float(stripped.replace("\u2212", "-").replace(",", "."))
        if math.isfinite(value):
            return value
    raise UnitError(f"{text!r} is not a number; type for example 11, 11.25 or 11 1/4")


def _with_article(quantity: str) -> str:
    return f"{'an' if quantity[0] in 'aeiou' else 'a'} {quantity}"


def parse_quantity(text: str, quantity: str) -> float:
    """Read ``11 1/4 in`` or ``28.6 cm`` into SI (degrees for angles).

    ``quantity`` is one of the names used in UNITS ("length", "speed", ...). The unit must be
    written: a bare number is refused, since guessing between inches and centimetres is how
    shanks get set to the wrong depth. Raises UnitError with found, expected and mend.
    """
    match = _QUANTITY.match(text.strip())
    known = ", ".join(name for name, unit in UNITS.items() if unit.quantity == quantity)
    if match is None:
        raise UnitError(
            f"{text!r} is not {_with_article(quantity)}; write a number and one of: {known}"
        )
    # "17 1/2 in": the pattern leaves the unit apart; "m2" keeps its digit through the unit group.
    unit = UNITS.get(match["unit"])
    if unit is None or unit.quantity != quantity:
        found = match["unit"] or "no unit"
        raise UnitError(f"{text!r} has {found}; {_with_article(quantity)} needs one of: {known}")
    return parse_number(match["number"].strip()) * unit.si_per_unit


def to_unit(value_si: float, unit: str) -> float:
    """Convert an SI value to a unit of UNITS; KeyError if the unit does not exist."""
    return value_si / UNITS[unit].si_per_unit


def from_unit(value: float, unit: str) -> float:
    """Convert a value in a unit of UNITS to SI; KeyError if the unit does not exist."""
    return value * UNITS[unit].si_per_unit


@dataclass(frozen=True)
class Shown:
    """How one kind of value is shown in one unit system: its unit and finest step."""

    unit: str
    step: float


SHOWN: dict[tuple[str, UnitSystem], Shown] = {
    ("speed", UnitSystem.US): Shown("mph", 0.1),
    ("speed", UnitSystem.METRIC): Shown("km/h", 0.1),
    ("depth", UnitSystem.US): Shown("in", 0.5),
    ("depth", UnitSystem.METRIC): Shown("cm", 1.0),
    ("length", UnitSystem.US): Shown("ft", 1.0),
    ("length", UnitSystem.METRIC): Shown("m", 1.0),
    ("area", UnitSystem.US): Shown("ac", 0.1),
    ("area", UnitSystem.METRIC): Shown("ha", 0.1),
    ("force", UnitSystem.US): Shown("lbf", 10.0),
    ("force", UnitSystem.METRIC): Shown("kN", 0.1),
    ("power", UnitSystem.US): Shown("hp", 1.0),
    ("power", UnitSystem.METRIC): Shown("kW", 1.0),
    ("pressure", UnitSystem.US): Shown("psi", 1.0),
    ("pressure", UnitSystem.METRIC): Shown("kPa", 1.0),
}


def shown_value(value_si: float, kind: str, system: UnitSystem) -> float:
    """The SI value in the person's unit, rounded half away from zero to the step of SHOWN."""
    shown = SHOWN[(kind, system)]
    steps = to_unit(value_si, shown.unit) / shown.step
    rounded = math.floor(abs(steps) + 0.5 + 1e-9)
    return math.copysign(rounded * shown.step, steps) if rounded else 0.0


def shown_unit(kind: str, system: UnitSystem) -> str:
    """The unit a person reads for a kind of value ("speed", "depth", "area", ...)."""
    return SHOWN[(kind, system)].unit


def fraction_text(value: float, denominator: int = 4) -> str:
    """Write 13.5 as ``13 1/2``, -0.25 as ``\u22121/4``, nearest part of ``denominator``."""
    parts = math.floor(abs(value) * denominator + 0.5 + 1e-9)
    whole, rest = divmod(parts, denominator)
    sign = "\u2212" if value < 0 and parts else ""
    if rest == 0:
        return f"{sign}{whole}"
    shared = math.gcd(rest, denominator)
    fraction = f"{rest // shared}/{denominator // shared}"
    return f"{sign}{whole} {fraction}" if whole else f"{sign}{fraction}"


def depth_text(depth_m: float, system: UnitSystem, denominator: int = 2) -> str:
    """A depth as people say it, with unit: ``13 1/2 in`` or ``34 cm``."""
    if system is UnitSystem.US:
        return f"{fraction_text(to_unit(depth_m, 'in'), denominator)} in"
    return f"{shown_value(depth_m, 'depth', system):.0f} cm".replace("-", "\u2212")

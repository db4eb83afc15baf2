"""Numbers as the driver reads them: SI in, the person's units and words out."""

from math import floor

from cabapp.units import INCH_M, UnitSystem, shown_unit, to_unit

US = UnitSystem.US


def speed_unit(units: UnitSystem) -> str:
    """``mph`` or ``km/h``."""
    return shown_unit("speed", units)


def speed_in(speed_mps: float, units: UnitSystem) -> float:
    """A speed in the person's unit, unrounded."""
    return to_unit(speed_mps, speed_unit(units))


def depth_in(depth_m: float, units: UnitSystem) -> float:
    """A depth in inches or centimetres, unrounded."""
    return to_unit(depth_m, shown_unit("depth", units))


def depth_step(units: UnitSystem) -> float:
    """The finest step of a shown depth: half an inch or a centimetre."""
    return 0.5 if units is US else 1.0


def band_end(speed_mps: float, units: UnitSystem) -> str:
    """An end of the speed band beside its bracket: ``7``, ``6.5``; whole numbers in km/h."""
    value = speed_in(speed_mps, units)
    if units is not US:
        return f"{floor(value + 0.5):.0f}"
    return f"{floor(value * 2 + 0.5) / 2:g}"


def whole_and_half(depth: float) -> tuple[str, bool]:
    """A depth in half steps as its whole number and whether a half follows.

    A minus is kept: minus a half is the sign alone, as nobody writes −0 1/2.
    """
    halves = floor(abs(depth) * 2 + 0.5 + 1e-9)
    sign = "−" if depth < 0 and halves else ""
    whole, half = divmod(halves, 2)
    number = f"{sign}{whole}" if whole or not half or not sign else sign
    return number, bool(half)


def target_text(depth_m: float, units: UnitSystem) -> str:
    """``14``, ``13 1/2`` or ``36``: a wanted depth without its unit."""
    if units is not US:
        return f"{floor(depth_in(depth_m, units) + 0.5):.0f}"
    whole, half = whole_and_half(depth_m / INCH_M)
    if not half:
        return whole
    return f"{whole.strip('0')}1/2" if whole in ("0", "−") else f"{whole} 1/2"


def lost_text(lost_s: float | None) -> str:
    """``for 12 s``, ``for 3 min``: how long nothing has been read; "" when not known."""
    return "" if lost_s is None else f"for {span_text(lost_s)}"


def span_text(seconds: float) -> str:
    """``12 s``, ``3 min``, ``2 h``: one unit, rounded down."""
    if seconds < 100:
        return f"{int(seconds)} s"
    minutes = int(seconds // 60)
    return f"{minutes} min" if minutes < 100 else f"{minutes // 60} h"


def area_text(area_m2: float, units: UnitSystem) -> str:
    """``38.2``: an area in acres or hectares without its unit."""
    area = to_unit(area_m2, area_unit(units))
    return f"{area:.1f}" if area < 999.95 else f"{area:.0f}"


def area_unit(units: UnitSystem) -> str:
    """``ac`` or ``ha``."""
    return shown_unit("area", units)


def round_area(area_m2: float, units: UnitSystem) -> str:
    """``21``, ``2.5``: an area left to do, finer where little is left."""
    area = to_unit(area_m2, area_unit(units))
    return f"{area:.0f}" if area >= 2.95 else f"{area:.1f}"


def rate_text(rate_m2_s: float, units: UnitSystem) -> str:
    """``12.1 ac/h``."""
    return f"{to_unit(rate_m2_s * 3600, area_unit(units)):.1f} {area_unit(units)}/h"

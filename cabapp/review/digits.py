"""One value with its unit, as page, report and exports print it: nothing rounds again."""

from datetime import datetime

from cabapp.review.sums import Share
from cabapp.units import UnitSystem, depth_text, shown_unit, shown_value, to_unit

NONE = "–"
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
          "October", "November", "December")  # fmt: skip


def area_text(area_m2: float, units: UnitSystem) -> str:
    """``118.4 ac``; under ten with two decimals."""
    return f"{area_number(area_m2, units)} {shown_unit('area', units)}"


def area_number(area_m2: float, units: UnitSystem) -> str:
    value = to_unit(area_m2, shown_unit("area", units))
    return f"{value:.2f}" if abs(value) < 9.995 else f"{value:.1f}"


def rate_text(rate_m2_s: float | None, units: UnitSystem) -> str:
    """``8.3 ac/h``; a dash where there was no work."""
    if rate_m2_s is None:
        return NONE
    return f"{to_unit(rate_m2_s * 3600, shown_unit('area', units)):.1f} {units_per_hour(units)}"


def units_per_hour(units: UnitSystem) -> str:
    return f"{shown_unit('area', units)}/h"


def hours_text(seconds: float) -> str:
    """``8 h 20``, ``48 min`` or ``35 s``."""
    minutes = round(seconds / 60)
    if seconds < 59.5:
        return f"{seconds:.0f} s"
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d}"


def speed_text(speed_mps: float | None, units: UnitSystem) -> str:
    """``6.1 mph``."""
    if speed_mps is None:
        return NONE
    return f"{shown_value(speed_mps, 'speed', units):.1f} {shown_unit('speed', units)}"


def fine_depth_text(depth_m: float | None, units: UnitSystem) -> str:
    """A mean or a dug depth to a quarter inch or half a centimetre."""
    if depth_m is None:
        return NONE
    if units is UnitSystem.US:
        return depth_text(depth_m, units, 4)
    return f"{round(to_unit(depth_m, 'cm') * 2) / 2:.1f} cm".replace("-", "−")


def length_text(length_m: float, units: UnitSystem) -> str:
    """``340 ft``, ``104 m``."""
    return f"{shown_value(length_m, 'length', units):.0f} {shown_unit('length', units)}"


def force_text(force_n: float, units: UnitSystem) -> str:
    unit = shown_unit("force", units)
    value = to_unit(force_n, unit)
    return f"{round(value, -2):.0f} {unit}" if units is UnitSystem.US else f"{value:.0f} {unit}"


def fuel_text(fuel_m3: float, units: UnitSystem) -> str:
    unit = "gal" if units is UnitSystem.US else "L"
    value = to_unit(fuel_m3, unit)
    return f"{value:.0f} {unit}" if value >= 10 else f"{value:.1f} {unit}"


def percent_text(share: Share, state: str) -> str:
    """``86``, ``<1``, or a dash where the state never was."""
    percents = share.percents()
    if percents is None or share.areas_m2.get(state, 0.0) <= 0:
        return NONE
    return str(percents[state]) if percents[state] else "<1"


def share_text(share: Share, state: str) -> str:
    """``86 %``; ``0 %`` where the state never was, a dash where nothing was judged."""
    if share.percents() is None:
        return NONE
    text = percent_text(share, state)
    return f"{'0' if text == NONE else text} %"


def ratio_text(ratio: float | None) -> str:
    """``71 %``."""
    return NONE if ratio is None else f"{100 * ratio:.0f} %"


def day_text(when: datetime | None, year: bool = True) -> str:
    """``14 October 2026``."""
    if when is None:
        return "no date"
    return f"{when.day} {MONTHS[when.month - 1]}" + (f" {when.year}" if year else "")


def days_text(days: int) -> str:
    """`` (+1 day)`` where a shift ends on another day, `` (−147 days)`` where a clock was wrong."""
    if not days:
        return ""
    return f" ({'+' if days > 0 else '−'}{abs(days)} day{'s' if abs(days) != 1 else ''})"


def place_text(lat_deg: float | None, lon_deg: float | None) -> str:
    """Degrees north and east to five decimals (about a metre)."""
    if lat_deg is None or lon_deg is None:
        return "no place"
    north, east = "N" if lat_deg >= 0 else "S", "E" if lon_deg >= 0 else "W"
    return f"{abs(lat_deg):.5f}° {north}, {abs(lon_deg):.5f}° {east}"

"""The columns of the track's CSV in the person's units, the unit in each head."""

import math
from dataclasses import dataclass

from cabapp.channels import column_of, family_of
from cabapp.review.shift import Floats, Shift
from cabapp.units import UnitSystem, shown_unit, to_unit

# What is in NUMBERS of a track, in the order of the table: column, words, kind.
_TRACK = (
    ("speed_mps", "speed", "speed"),
    ("course_deg", "course", "angle"),
    ("depth_m", "depth", "depth"),
    ("level_m", "level, rear less front", "depth"),
    ("side_m", "level, left less right", "depth"),
    ("row_angle_deg", "angle to rows", "angle"),
    ("slip_ratio", "slip", "ratio"),
    ("speed_low_mps", "speed band from", "speed"),
    ("speed_high_mps", "speed band to", "speed"),
    ("depth_low_m", "depth band from", "depth"),
    ("depth_high_m", "depth band to", "depth"),
)
_UNITS = {"angle": "deg", "ratio": "%", "": ""}  # the same in both systems
_DECIMALS = {"speed": 2, "depth": 2, "angle": 1, "ratio": 1, "area": 6, "": 3}


@dataclass(frozen=True)
class Column:
    """One column: its head with the unit, its values in that unit (NaN unknown), decimals."""

    head: str
    values: Floats
    decimals: int

    def texts(self) -> list[str]:
        """Each value as digits, "" where unknown."""
        form = f"%.{self.decimals}f"
        rounded = self.values.round(self.decimals) + 0.0  # no minus before a zero
        return [form % v if math.isfinite(v) else "" for v in rounded.tolist()]


def columns_of_run(shift: Shift, units: UnitSystem) -> list[Column]:
    """Readings, bands and ground of every row, then each sensor's own column."""
    track = shift.track
    found = [_column(words, kind, track.numbers[name], units) for name, words, kind in _TRACK]
    found.append(_column("ground of this second", "area", track.area_m2, units))
    if shift.page.rig.fitted("spring"):
        found.append(_column("worst spring, of its trip", "ratio", track.spring, units))
    return [*found, *_sensors(shift, units)]


def _sensors(shift: Shift, units: UnitSystem) -> list[Column]:
    found = []
    for sensor in shift.page.rig.sensors:
        values = shift.track.sensors.get(column_of(sensor.channel))
        if values is not None:
            family = family_of(sensor.channel)
            kind = {"length": "depth", "switch": ""}.get(family.quantity, family.quantity)
            found.append(_column(sensor.channel, kind, values, units))
    return found


def _column(words: str, kind: str, values: Floats, units: UnitSystem) -> Column:
    unit = _UNITS[kind] if kind in _UNITS else shown_unit(kind, units)
    scaled = values * to_unit(1.0, unit) if unit else values
    return Column(f"{words} ({unit})" if unit else words, scaled, _DECIMALS[kind])

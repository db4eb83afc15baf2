"""What a figure of the rig file may be: one table for the file's reader and the pages that ask.

Least and most by the dotted path of the attribute, in its own unit (SI; panels in millimetres).
A figure outside is a wrong unit or a slip of the finger, not an unusual machine.
"""

from cabapp.units import INCH_M, UNITS, to_unit

Bounds = tuple[float, float]

_ACROSS: Bounds = (-10.0, 10.0)
_BACK: Bounds = (0.0, 15.0)
_SPEED: Bounds = (0.5, 6.0)

BOUNDS: dict[str, Bounds] = {
    "tractor.rated_pto_w": (10e3, 1000e3),
    "tool.width_m": (0.5, 20.0),
    "tool.hitch_back_m": (-2.0, 12.0),
    "tool.lag_m": (0.0, 15.0),
    "tool.front_gangs": (0, 4),
    "tool.rear_gangs": (0, 4),
    "tool.transport_width_m": (1.0, 12.0),
    "tool.transport_height_m": (1.0, 8.0),
    "tool.adjuster.step_m": (0.0005, 0.2),
    "tool.adjuster.finest_steps": (0.05, 1.0),
    "tool.adjuster.part_m": (0.002, 0.1),
    "tool.shank.across_m": _ACROSS,
    "tool.shank.back_m": _BACK,
    "receiver.antenna_right_m": (-5.0, 5.0),
    "receiver.standing_below_mps": (0.1, 1.0),
    "receiver.moving_above_mps": (0.1, 1.5),
    "sensor.across_m": _ACROSS,
    "sensor.back_m": _BACK,
    "sensor.cable": (1, 99),
    "sensor.trip_n": (100.0, 200e3),
    "limits.speed_low_mps": _SPEED,
    "limits.speed_high_mps": _SPEED,
    "limits.depth_target_m": (0.05, 0.75),
    # A live depth is good to half an inch or three quarters: a tighter band cries wolf.
    "limits.depth_margin_m": (INCH_M, 0.15),
    "limits.level_standing_m": (0.006, 0.1),
    "limits.level_live_m": (0.012, 0.1),
    "limits.spring_high": (0.5, 1.0),
    "limits.slip_look": (0.05, 0.40),
    "limits.line_depth_m": (0.0, 1.0),
    "display.width_mm": (100.0, 1000.0),
    "display.height_mm": (60.0, 1000.0),
    "display.eye_mm": (300.0, 1500.0),
}

EDGE = 1e-9  # a bound typed in inches may miss its metres by as much

# For each kind of value the units a person in either system writes it in, largest first.
WRITTEN = {
    "speed": (("km/h",), ("mph",)),
    "length": (("m", "cm", "mm"), ("ft", "in")),
    "force": (("kN", "N"), ("lbf",)),
    "power": (("kW",), ("hp",)),
    "ratio": (("%",),),
}


def within(value: float, bounds: Bounds) -> bool:
    """Whether an SI value lies within its bounds; never for nan."""
    return bounds[0] - EDGE <= value <= bounds[1] + EDGE


def bounds_text(bounds: Bounds, kind: str) -> str:
    """Bounds as a person writes them, in both systems: ``0.5 to 20 m (1.64 to 65.6 ft)``."""
    texts = [
        f"{to_unit(bounds[0], unit):.3g} to {to_unit(bounds[1], unit):.3g} {unit}"
        for unit in (fitting(units, bounds) for units in WRITTEN[kind])
    ]
    return texts[0] + (f" ({texts[1]})" if len(texts) > 1 else "")


def fitting(units: tuple[str, ...], bounds: Bounds) -> str:
    """The largest of some units in which the most that is allowed is at least 5."""
    return next((unit for unit in units if bounds[1] >= 5 * UNITS[unit].si_per_unit), units[-1])

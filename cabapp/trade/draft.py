"""What the tool asks of the tractor: draft, power at drawbar, shaft and engine, and fuel.

Everything here is for planning: the table's own ranges are 20 to 50 % either way.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from cabapp.rig import DriveKind
from cabapp.trade.draft_rows import ROWS, DraftRow, Per, Soil
from cabapp.trade.refuse import DEEPEST_M, need_between, need_not_negative, need_positive, need_some
from cabapp.trade.sources import ARIZONA_MACHINERY, D497_FUEL, PENN_STATE_COMPACTION
from cabapp.units import HORSEPOWER_W, KMH_MPS

__all__ = [
    "DRAWBAR_OVER_PTO",
    "FUEL_SOURCE",
    "POWER_CHAIN_SOURCE",
    "PTO_OVER_ENGINE",
    "ROWS",
    "SHANK_RULE_SOURCE",
    "SHANK_RULE_W",
    "DraftRow",
    "DraftSum",
    "DriveKind",
    "Part",
    "Per",
    "Soil",
    "Surface",
    "draft_n",
    "drawbar_power_w",
    "engine_needed_w",
    "fuel_m3_s",
    "fuel_per_area_m",
    "least_tractor_w",
    "pto_needed_w",
    "total_draft",
]

FASTEST_MPS = 15.0  # faster than any tillage: a speed given in km/h or mph by mistake


def draft_n(
    row: DraftRow, soil: Soil, speed_mps: float, depth_m: float, count_or_width: float
) -> float:
    """Draft in newtons of one part of a tool.

    ``count_or_width`` is a number of tools or metres of width, as the row's ``per`` says; the
    depth of a minor row is not used. ValueError for values not above zero, part of a tool, or a
    depth or speed in the wrong unit. Source: ASABE D497, F (A + B S + C S^2) W T; the formula
    was read in a published worked example, the rows say how each was had.
    """
    need_positive("speed_mps", speed_mps, "give the field speed in m/s")
    need_between("speed_mps", speed_mps, 0.0, FASTEST_MPS, "give it in m/s, not km/h or mph")
    need_positive("count_or_width", count_or_width, f"give it counted by {row.per.value}")
    if row.per is Per.TOOL and count_or_width != math.floor(count_or_width):
        raise ValueError(
            f"count_or_width: found {count_or_width!r}, expected whole tools; "
            f"count the tools of {row.name!r}"
        )
    speed_kmh = speed_mps / KMH_MPS
    per_cm_n = row.soil_factor(soil) * (row.a + row.b * speed_kmh + row.c * speed_kmh**2)
    return per_cm_n * count_or_width * (1.0 if row.minor else _depth_cm(depth_m))


def _depth_cm(depth_m: float) -> float:
    need_positive("depth_m", depth_m, "give the tillage depth in metres")
    need_between("depth_m", depth_m, 0.0, DEEPEST_M, "give it in metres, not cm or inches")
    return depth_m * 100.0


@dataclass(frozen=True)
class Part:
    """One part of a combination tool: a row of the table, how much of it, and how deep."""

    row: DraftRow
    count_or_width: float
    depth_m: float


@dataclass(frozen=True)
class DraftSum:
    """Draft of a whole tool in newtons, with the range of the table.

    ``low_n`` and ``high_n`` take every part at the same end of its range, which is the widest
    the table allows. ``from_memory`` names the parts whose row still has to be looked up.
    """

    total_n: float
    low_n: float
    high_n: float
    parts_n: tuple[float, ...]
    from_memory: tuple[str, ...]


def total_draft(parts: Sequence[Part], soil: Soil, speed_mps: float) -> DraftSum:
    """Sum the parts of a tool pulled at one speed in one soil; ValueError as in ``draft_n``."""
    need_some("parts", parts, 1, "name at least one part of the tool")
    drafts_n = tuple(
        draft_n(part.row, soil, speed_mps, part.depth_m, part.count_or_width) for part in parts
    )
    ranged = list(zip(drafts_n, (part.row.plus_minus for part in parts), strict=True))
    return DraftSum(
        total_n=math.fsum(drafts_n),
        low_n=math.fsum(draft * (1.0 - share) for draft, share in ranged),
        high_n=math.fsum(draft * (1.0 + share) for draft, share in ranged),
        parts_n=drafts_n,
        from_memory=tuple(part.row.name for part in parts if part.row.from_memory),
    )


def drawbar_power_w(draft_force_n: float, speed_mps: float) -> float:
    """Power pulled through the drawbar: force times speed. ValueError for negative values."""
    need_not_negative("draft_force_n", draft_force_n, "give the pull in newtons")
    need_not_negative("speed_mps", speed_mps, "give the ground speed in m/s")
    return draft_force_n * speed_mps


class Surface(Enum):
    """What the tractor stands on."""

    CONCRETE = "concrete"
    FIRM = "firm"
    TILLED = "tilled"
    SOFT = "soft"


_SURFACES = (Surface.CONCRETE, Surface.FIRM, Surface.TILLED, Surface.SOFT)
# Drawbar power over PTO power. University of Arizona extension, seen.
DRAWBAR_OVER_PTO: dict[DriveKind, dict[Surface, float]] = {
    DriveKind.TWO_WHEEL: dict(zip(_SURFACES, (0.87, 0.72, 0.67, 0.55), strict=True)),
    DriveKind.FRONT_ASSIST: dict(zip(_SURFACES, (0.87, 0.77, 0.73, 0.65), strict=True)),
    DriveKind.FOUR_WHEEL: dict(zip(_SURFACES, (0.88, 0.78, 0.75, 0.70), strict=True)),
    DriveKind.TRACKS: dict(zip(_SURFACES, (0.88, 0.79, 0.80, 0.78), strict=True)),
}
PTO_OVER_ENGINE = 0.90
POWER_CHAIN_SOURCE = ARIZONA_MACHINERY


def pto_needed_w(drawbar_w: float, surface: Surface, drive: DriveKind) -> float:
    """PTO-equivalent power behind a drawbar power. ValueError for a negative power.

    Source: University of Arizona extension, table of drawbar to PTO ratios (seen).
    """
    need_not_negative("drawbar_w", drawbar_w, "give the power in watts")
    return drawbar_w / DRAWBAR_OVER_PTO[drive][surface]


def engine_needed_w(pto_w: float) -> float:
    """Flywheel power behind a PTO power (0.90 of it arrives). Source as ``pto_needed_w``."""
    need_not_negative("pto_w", pto_w, "give the power in watts")
    return pto_w / PTO_OVER_ENGINE


SHANK_RULE_W = 40.0 * HORSEPOWER_W  # at least this much tractor a subsoiler shank
SHANK_RULE_SOURCE = PENN_STATE_COMPACTION


def least_tractor_w(shank_count: int) -> float:
    """Rule of thumb for a subsoiler: 40 hp a shank at the least; deep and fast needs more.

    ValueError for a count not above zero. Source: Penn State Extension (seen).
    """
    need_positive("shank_count", shank_count, "count the shanks on the tool")
    return shank_count * SHANK_RULE_W


FUEL_SOURCE = D497_FUEL
LEAST_THROTTLE = 0.5  # below half of full-throttle speed the equation says nothing


def fuel_m3_s(pto_w: float, rated_pto_w: float, throttle: float = 1.0) -> float:
    """Diesel used, cubic metres a second, at a PTO-equivalent power.

    ``throttle`` is engine speed over full-throttle speed, 0.5 to 1. ValueError for a power over
    the rated one: that tractor cannot pull it. Source: ASABE D497.7, (0.22 X + 0.096) L/h a
    rated kW, and its reduction at part throttle; read in a public script that uses it.
    """
    need_positive("rated_pto_w", rated_pto_w, "give the tractor's rated PTO power in watts")
    need_not_negative("pto_w", pto_w, "give the PTO-equivalent power in watts")
    need_between("throttle", throttle, LEAST_THROTTLE, 1.0, "give a ratio of full-throttle speed")
    load = pto_w / rated_pto_w
    if load > 1.0 + 1e-9:
        raise ValueError(
            f"pto_w: found {pto_w!r}, expected at most the rated {rated_pto_w!r}; "
            "go slower or shallower, or take a larger tractor"
        )
    full_l_h = (0.22 * load + 0.096) * rated_pto_w / 1000.0
    at_throttle_l_h = full_l_h * (1.0 - (throttle - 1.0) * (0.45 * load - 0.877))
    return at_throttle_l_h * 0.001 / 3600.0


def fuel_per_area_m(fuel_rate_m3_s: float, rate_m2_s: float) -> float:
    """Fuel for each square metre covered, in cubic metres (so: metres). 1e-7 is one L/ha.

    ValueError for a negative rate of fuel, or ground not being covered. Plain arithmetic.
    """
    need_not_negative("fuel_rate_m3_s", fuel_rate_m3_s, "give the fuel in cubic metres a second")
    need_positive("rate_m2_s", rate_m2_s, "give the ground covered in square metres a second")
    return fuel_rate_m3_s / rate_m2_s

"""The cone penetrometer: its two cones, and what a push on the handle means.

A gauge carries a scale for each cone. Read on the wrong one it is two and a half times off, so
the cone is always asked for.
"""

import math
from dataclasses import dataclass
from enum import Enum

from cabapp.trade.refuse import need_not_negative, need_positive
from cabapp.trade.sources import (
    CORNELL_PO35,
    FOREST_SERVICE_CONES,
    PENN_STATE_COMPACTION,
)
from cabapp.units import PSI_PA


@dataclass(frozen=True)
class ConeSize:
    """A 30 degree cone by the diameter of its base, metres."""

    base_m: float

    @property
    def area_m2(self) -> float:
        """Area of the base, on which the pressure is reckoned."""
        return math.pi / 4.0 * self.base_m**2


class Cone(Enum):
    """The two standard cones. ASABE S313.3 and EP542, as given by the USDA Forest Service."""

    LARGE = ConeSize(0.02027)  # for soft ground: half a square inch
    SMALL = ConeSize(0.01283)  # for hard ground: a fifth of a square inch


CONE_SOURCE = FOREST_SERVICE_CONES
WORN_SHARE = 0.03  # of the diameter: a cone worn by more is replaced

ROOTS_STOP_PA = 300 * PSI_PA
ROOTS_SLOWED_PA = 200 * PSI_PA
ROOTS_SOURCES = (CORNELL_PO35, PENN_STATE_COMPACTION)


def cone_force_n(pressure_pa: float, cone: Cone) -> float:
    """Push in newtons that a soil of this resistance asks of the cone. Pressure times base."""
    need_not_negative("pressure_pa", pressure_pa, "give the resistance in pascals")
    return pressure_pa * cone.value.area_m2


def cone_pressure_pa(force_n: float, cone: Cone) -> float:
    """Resistance in pascals from the push on the cone. Push over base."""
    need_not_negative("force_n", force_n, "give the push in newtons")
    return force_n / cone.value.area_m2


def reread_pa(pressure_pa: float, scale: Cone, fitted: Cone) -> float:
    """The true resistance where a gauge was read on one cone's scale with the other one fitted."""
    return cone_pressure_pa(cone_force_n(pressure_pa, scale), fitted)


def cone_worn(diameter_m: float, cone: Cone) -> bool:
    """True when the cone has lost more than 3 % of its diameter (USDA Forest Service, seen)."""
    need_positive("diameter_m", diameter_m, "measure across the base of the cone, in metres")
    return diameter_m < (1.0 - WORN_SHARE) * cone.value.base_m - 1e-12

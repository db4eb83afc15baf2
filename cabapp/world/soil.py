"""The ground of an invented field: strength, hard layer, softness and height, place by place."""

import math
from dataclasses import dataclass

import numpy as np

from cabapp.world.noise import Floats


@dataclass(frozen=True)
class Patch:
    """A round patch that differs (knoll, wet hollow, old track): Gaussian, ``radius_m`` its SD."""

    x_m: float
    y_m: float
    radius_m: float
    strength: float = 0.0  # added to the soil factor
    layer_m: float = 0.0  # hard layer deeper by this
    soft: float = 0.0  # added softness, 0 firm to 1 gauge wheels sink all the way
    height_m: float = 0.0


@dataclass(frozen=True)
class Soil:
    """A field's soil: a factor on draft (1 = clay), the hard layer, and its patches.

    The factor stands where ASABE D497 has its soil factor: 0.70 medium, 0.45 coarse for shanks.
    """

    strength: float = 0.62
    layer_top_m: float = 0.20
    layer_bottom_m: float = 0.30
    soft: float = 0.35
    stones_km: float = 0.4  # strikes a kilometre of one shank: the scenario's, no figure exists
    patches: tuple[Patch, ...] = ()

    def _sum(self, part: str, x: float, y: float) -> float:
        total = 0.0
        for p in self.patches:
            value = getattr(p, part)
            if value:
                r2 = ((x - p.x_m) ** 2 + (y - p.y_m) ** 2) / (2 * p.radius_m**2)
                if r2 < 20.0:
                    total += value * math.exp(-r2)
        return total

    def factor(self, x: float, y: float) -> float:
        """Soil factor on draft at a place."""
        return max(0.2, self.strength + self._sum("strength", x, y))

    def height(self, x: float, y: float) -> float:
        """Height of the ground in metres."""
        return self._sum("height_m", x, y)

    def over(self, part: str, base: float, x: Floats, y: Floats) -> Floats:
        """Base and patches of one part ("layer_m", "soft", "strength") at many places."""
        total = np.full_like(x, base)
        for p in self.patches:
            value = getattr(p, part)
            if value:
                r2 = ((x - p.x_m) ** 2 + (y - p.y_m) ** 2) / (2 * p.radius_m**2)
                total += value * np.exp(-r2)
        return total

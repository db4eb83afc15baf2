"""How coarse the finish is: clods measured by hand, and sieved samples.

A clod is measured across its middle axis, the one that decides whether it falls through a hole.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cabapp.trade.refuse import need_positive, need_some
from cabapp.trade.sources import COMMON_PRACTICE, OWN_DEFAULT, VAN_BAVEL
from cabapp.units import INCH_M

LARGEST_CLOD_M = 6 * INCH_M
LARGEST_CLOD_SOURCE = COMMON_PRACTICE
ALLOWED_OVER_SHARE = 0.05  # of the clods counted
ALLOWED_OVER_SOURCE = OWN_DEFAULT
MEAN_WEIGHT_SOURCE = VAN_BAVEL


@dataclass(frozen=True)
class Clods:
    """What a handful of measured clods says: lengths in metres, shares 0 to 1 by count."""

    count: int
    largest_m: float
    over_share: float
    mean_m: float
    mass_weighted_m: float
    limit_m: float

    @property
    def fine_enough(self) -> bool:
        """True when no more than ALLOWED_OVER_SHARE of the clods are over the limit."""
        return self.over_share <= ALLOWED_OVER_SHARE


def measure_clods(diameters_m: Sequence[float], limit_m: float = LARGEST_CLOD_M) -> Clods:
    """Summarise measured clods (middle axis, metres). ValueError for none, or for a bad one.

    A clod exactly at the limit passes. The mass-weighted mean is sum d^4 / sum d^3: every clod
    weighs as its cube. Arithmetic of our own; the limit itself is common practice.
    """
    need_some("diameters_m", diameters_m, 1, "measure at least one clod")
    need_positive("limit_m", limit_m, "give the largest clod allowed, in metres")
    for place, diameter_m in enumerate(diameters_m, start=1):
        need_positive(f"clod {place}", diameter_m, "measure its middle axis in metres")
    over = sum(diameter_m > limit_m * (1.0 + 1e-9) for diameter_m in diameters_m)
    largest_m = max(diameters_m)
    shares = [diameter_m / largest_m for diameter_m in diameters_m]
    return Clods(
        count=len(diameters_m),
        largest_m=largest_m,
        over_share=over / len(diameters_m),
        mean_m=math.fsum(diameters_m) / len(diameters_m),
        mass_weighted_m=largest_m
        * math.fsum(share**4 for share in shares)
        / math.fsum(share**3 for share in shares),
        limit_m=limit_m,
    )


def mean_weight_diameter_m(mean_openings_m: Sequence[float], masses_kg: Sequence[float]) -> float:
    """Mean weight diameter: sum of mean opening times share of the mass.

    ``mean_openings_m`` is the mean of the two sieves each part lay between, 0 for the pan if so
    counted. ValueError for unequal lengths, negative values or no mass. Source: van Bavel 1950,
    the formula from memory.
    """
    if len(mean_openings_m) != len(masses_kg):
        raise ValueError(
            f"masses_kg: found {len(masses_kg)}, expected {len(mean_openings_m)}, one a sieve; "
            "weigh what lay on every sieve"
        )
    for name, values in (("mean_openings_m", mean_openings_m), ("masses_kg", masses_kg)):
        for value in values:
            if not math.isfinite(value) or value < 0:
                raise ValueError(f"{name}: found {value!r}, expected zero or more; weigh it again")
    total_kg = math.fsum(masses_kg)
    need_positive("sum of masses_kg", total_kg, "weigh what lay on the sieves")
    weighted = math.fsum(d * m for d, m in zip(mean_openings_m, masses_kg, strict=True))
    return weighted / total_kg


def mean_openings_m(openings_m: Sequence[float], top_m: float) -> tuple[float, ...]:
    """Mean openings for a stack of sieves, coarsest first; the last value is the pan's.

    ``top_m`` is the largest piece, which bounds what lies on the coarsest sieve; the pan is
    bounded by 0. ValueError unless the openings fall from each sieve to the next.
    """
    bounds = [top_m, *openings_m, 0.0]
    for upper, lower in pairwise(bounds):
        if not math.isfinite(upper) or not upper > lower:
            raise ValueError(
                f"openings_m: found {upper!r} above {lower!r}, expected each finer than the one "
                "before; list the sieves coarsest first"
            )
    return tuple((upper + lower) / 2 for upper, lower in pairwise(bounds))

"""Where the hard layer lies, over the places looked at. Reading a cone probe: ``probe.py``.

A bottom that was not reached is said and never made up.
"""

import math
import statistics
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum

from cabapp.trade.refuse import need_not_negative, need_positive, need_some
from cabapp.trade.sources import OWN_DEFAULT
from cabapp.units import INCH_M


class LayerState(Enum):
    """What a pit or a probe could tell; the value is how it is said."""

    FOUND = "layer found"
    NONE = "no hard layer"
    BOTTOM_NOT_REACHED = "bottom not reached: go deeper"
    TOO_DRY = "too dry to judge by the probe: dig"


@dataclass(frozen=True)
class Layer:
    """A hard layer in metres below the untouched surface.

    ``bottom_m`` is a number exactly when the state is FOUND; ``top_m`` also when the bottom was
    not reached. ``stones_m`` are depths of lone hard readings that were not counted.
    ``hard_again_m`` is where it turns hard once more below, None if it does not.
    """

    state: LayerState
    top_m: float | None = None
    bottom_m: float | None = None
    stones_m: tuple[float, ...] = ()
    hard_again_m: float | None = None

    def __post_init__(self) -> None:
        has_top = self.state in (LayerState.FOUND, LayerState.BOTTOM_NOT_REACHED)
        has_bottom = self.state is LayerState.FOUND
        if (self.top_m is not None, self.bottom_m is not None) != (has_top, has_bottom):
            raise ValueError(
                f"layer: found top {self.top_m!r} and bottom {self.bottom_m!r} with "
                f"{self.state.value!r}; leave out what was not seen"
            )
        if self.top_m is not None:
            need_not_negative("top_m", self.top_m, "measure from the untouched surface")
        if self.bottom_m is not None and self.top_m is not None:
            need_positive("bottom_m", self.bottom_m, "measure from the untouched surface")
            if self.bottom_m <= self.top_m:
                raise ValueError(
                    f"bottom_m: found {self.bottom_m!r}, expected below the top {self.top_m!r}; "
                    "check whether top and bottom were swapped"
                )


def dug(top_m: float, bottom_m: float) -> Layer:
    """A layer seen in a pit; ValueError when the bottom is not below the top."""
    return Layer(LayerState.FOUND, top_m, bottom_m)


@dataclass(frozen=True)
class Pit:
    """One place looked at: what was found, and the zone or soil it stands for ("" if none)."""

    layer: Layer
    zone: str = ""


LEAST_PITS = 3  # a soil; our own default
WIDE_SPREAD_M = 2 * INCH_M  # bottoms farther apart than this ask for zones; our own default
LAYER_SUMMARY_SOURCE = OWN_DEFAULT


@dataclass(frozen=True)
class LayerSummary:
    """The layer over several places, metres; None where no bottom (or top) was found at all.

    ``spread_m`` is deepest less shallowest bottom; ``deviation_m`` the standard deviation with
    n - 1, None below two bottoms. ``not_reached`` counts pits whose bottom lies deeper than dug:
    as long as there is one, ``deepest_m`` is only the deepest seen.
    """

    pits: int
    with_layer: int
    not_reached: int
    median_top_m: float | None
    mean_m: float | None
    median_m: float | None
    deepest_m: float | None
    spread_m: float | None
    deviation_m: float | None

    @property
    def wants_zones(self) -> bool:
        """True when one depth for all would be wrong somewhere by more than two inches."""
        return self.spread_m is not None and self.spread_m > WIDE_SPREAD_M + 1e-9

    @property
    def enough(self) -> bool:
        """True when enough pits were judged and every bottom was reached."""
        return self.pits >= LEAST_PITS and self.not_reached == 0


def summarise(pits: Iterable[Pit]) -> LayerSummary:
    """Median, mean, deepest and spread of the bottoms; a person chooses. Plain statistics.

    Pits too dry to judge are left out of every count. ValueError when no pit is left.
    """
    layers = [pit.layer for pit in pits if pit.layer.state is not LayerState.TOO_DRY]
    need_some("pits", layers, 1, "dig at least one pit in moist soil")
    bottoms_m = [layer.bottom_m for layer in layers if layer.bottom_m is not None]
    tops_m = [layer.top_m for layer in layers if layer.top_m is not None]
    return LayerSummary(
        pits=len(layers),
        with_layer=len(tops_m),
        not_reached=sum(layer.state is LayerState.BOTTOM_NOT_REACHED for layer in layers),
        median_top_m=statistics.median(tops_m) if tops_m else None,
        mean_m=math.fsum(bottoms_m) / len(bottoms_m) if bottoms_m else None,
        median_m=statistics.median(bottoms_m) if bottoms_m else None,
        deepest_m=max(bottoms_m, default=None),
        spread_m=max(bottoms_m) - min(bottoms_m) if bottoms_m else None,
        deviation_m=statistics.stdev(bottoms_m) if len(bottoms_m) > 1 else None,
    )


def summarise_zones(pits: Iterable[Pit]) -> dict[str, LayerSummary]:
    """One summary a zone, in the order first dug; a zone with only dry pits is left out."""
    zones: dict[str, list[Pit]] = {}
    for pit in pits:
        if pit.layer.state is not LayerState.TOO_DRY:
            zones.setdefault(pit.zone, []).append(pit)
    return {zone: summarise(members) for zone, members in zones.items()}

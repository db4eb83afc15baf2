"""Draft and fuel as estimates, with the range of the table they come from."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cabapp.review.shift import Shift
from cabapp.review.soil import ASSUMED
from cabapp.trade.combination import parts_of
from cabapp.trade.draft import (
    Surface,
    drawbar_power_w,
    fuel_m3_s,
    pto_needed_w,
    total_draft,
)

SURFACE = Surface.FIRM  # untilled ground under the tractor


@dataclass(frozen=True)
class Range:
    """An estimate with the least and most that its source allows."""

    value: float
    low: float
    high: float

    @property
    def percent(self) -> float:
        """The wider side as a percentage of the value."""
        return 100.0 * max(self.high - self.value, self.value - self.low) / self.value


@dataclass(frozen=True)
class Estimate:
    """Means over the shift's work. Draft N, power W, fuel m3; fuel is None without rated power.

    ``depth_source`` says which depth it rests on; ``limited`` that the tractor's rated power
    bounded the fuel.
    """

    draft_n: Range
    drawbar_w: Range
    fuel_m3: Range | None
    depth_m: float
    depth_source: str
    from_memory: tuple[str, ...]
    limited: bool


def estimate_of(shift: Shift, working_s: float, speed_mps: float | None) -> Estimate | None:
    """Draft by ASABE D497 at the mean working speed and depth.

    None without speed or depth, or where either is none that the table covers.
    """
    depth, source = _depth(shift)
    if depth is None or speed_mps is None or speed_mps <= 0 or working_s <= 0:
        return None
    try:
        return _estimate(shift, working_s, speed_mps, depth, source)
    except ValueError:
        return None


def _estimate(
    shift: Shift, working_s: float, speed_mps: float, depth: float, source: str
) -> Estimate:
    tool, tractor = shift.page.rig.tool, shift.page.rig.tractor
    draft = total_draft(parts_of(tool, depth), shift.soil or ASSUMED, speed_mps)
    force = Range(draft.total_n, draft.low_n, draft.high_n)
    power = _through(force, lambda n: drawbar_power_w(n, speed_mps))
    rated, limited, fuel = tractor.rated_pto_w, False, None
    if rated:
        needs = _through(power, lambda w: pto_needed_w(w, SURFACE, tractor.drive))
        limited = needs.high > rated
        fuel = _through(needs, lambda w: fuel_m3_s(min(w, rated), rated) * working_s)
    return Estimate(force, power, fuel, depth, source, draft.from_memory, limited)


def _through(found: Range, change: Callable[[float], float]) -> Range:
    return Range(change(found.value), change(found.low), change(found.high))


def _depth(shift: Shift) -> tuple[float | None, str]:
    """Mean read depth in work, else the mean dug, else the plan's target."""
    read = shift.track.numbers["depth_m"][shift.track.working]
    read = read[np.isfinite(read)]
    if len(read) and float(read.mean()) > 0.02:
        return float(read.mean()), "depth as read"
    target = shift.page.plan.depth_target_m
    return target, "the plan's target, since depth was not read"

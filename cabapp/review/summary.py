"""One shift summed up: the one computation behind page, report and exports.

``digits``, ``phrases``, ``happened`` and ``figures`` turn it into words; nothing else rounds.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cabapp.record.reader import RunFileError
from cabapp.review.ends import ends_error_m2
from cabapp.review.estimate import Estimate, estimate_of
from cabapp.review.hours import Hours, hours_of
from cabapp.review.lapses import Lapse, lapses_of
from cabapp.review.shift import CODE, Floats, Shift
from cabapp.review.told import Changed, Check, Told, alerts_of, changes_of, checks_of
from cabapp.review.worst import Stretch, worst_of
from cabapp.units import UnitSystem, to_unit
from cabapp.words import Phase

MOST_BINS = 400  # a figure far off the scale must not make a page of empty bars


@dataclass(frozen=True)
class Summary:
    """Everything an owner asks of a shift, in SI.

    ``gross_error_m2``: each pass begins and ends somewhere within the edge error of its fixes,
    independently of the others. ``net_error_m2``: that error along the outline of the block; None
    where overlap, and so net area, is not measurable. To both comes what the time of a pass's
    begin and end may be wrong by (ends.py).
    """

    shift: Shift
    hours: Hours
    lapses: tuple[Lapse, ...]
    worst: tuple[Stretch, ...]
    alerts: tuple[Told, ...]
    checks: tuple[Check, ...]
    changes: tuple[Changed, ...]
    estimate: Estimate | None
    gross_error_m2: float | None
    net_error_m2: float | None


def summarize(shift: Shift) -> Summary:
    """Sum a shift up; RunFileError for a rig, a plan or rows that no shift can have."""
    try:
        return _summarize(shift)
    except (ValueError, OverflowError, ZeroDivisionError) as error:
        raise RunFileError(
            f"{shift.brief.path}: its values fit no shift ({error}); use another copy"
        ) from None


def _summarize(shift: Shift) -> Summary:
    hours = hours_of(shift)
    working_s = hours.by_phase[Phase.WORKING.value]
    return Summary(
        shift=shift,
        hours=hours,
        lapses=lapses_of(shift),
        worst=worst_of(shift),
        alerts=alerts_of(shift.moments),
        checks=checks_of(shift),
        changes=changes_of(shift),
        estimate=estimate_of(shift, working_s, hours.mean_speed_mps),
        gross_error_m2=_gross_error(shift),
        net_error_m2=_net_error(shift),
    )


def _gross_error(shift: Shift) -> float | None:
    edge = shift.sums.edge_error_m
    if edge is None:
        return None
    ends = 2 * max(len(shift.sums.passes), 1)
    return edge * shift.page.rig.tool.width_m * math.sqrt(ends) + ends_error_m2(shift)


def _net_error(shift: Shift) -> float | None:
    sums, track = shift.sums, shift.track
    if sums.overlap_m2 is None or sums.edge_error_m is None:
        return None
    worked = (track.area_m2 > 0) & np.isfinite(track.x_m)
    outline = hull_length_m(track.x_m[worked], track.y_m[worked])
    around = outline + math.pi * shift.page.rig.tool.width_m
    return sums.edge_error_m * around + ends_error_m2(shift)


def hull_length_m(x_m: Floats, y_m: Floats) -> float:
    """Length round the convex hull of places (Andrew's monotone chain, 1979)."""
    places = sorted(set(zip(np.round(x_m, 2).tolist(), np.round(y_m, 2).tolist(), strict=True)))
    if len(places) < 2:
        return 0.0
    around = _chain(places) + _chain(places[::-1])
    return sum(math.dist(around[n - 1], around[n]) for n in range(len(around)))


def _chain(places: list[tuple[float, float]]) -> list[tuple[float, float]]:
    hull: list[tuple[float, float]] = []
    for place in places:
        while len(hull) > 1 and _turn(hull[-2], hull[-1], place) <= 0:
            hull.pop()
        hull.append(place)
    return hull[:-1]


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@dataclass(frozen=True)
class Distribution:
    """Judged ground by value: ``edges`` in ``unit`` (one more than ``shares``), parts of ground.

    ``unknown`` is the part of the judged ground whose value was not read. ``band`` are its limits
    in the same unit, as last in force; None where there is none.
    """

    thing: str
    unit: str
    edges: Floats
    shares: Floats
    unknown: float
    band: tuple[float, float] | None


_BINS: dict[tuple[str, UnitSystem], tuple[str, float]] = {
    ("speed", UnitSystem.US): ("mph", 0.25),
    ("speed", UnitSystem.METRIC): ("km/h", 0.5),
    ("depth", UnitSystem.US): ("in", 0.5),
    ("depth", UnitSystem.METRIC): ("cm", 1.0),
    ("level", UnitSystem.US): ("in", 0.25),
    ("level", UnitSystem.METRIC): ("cm", 0.5),
    ("springs", UnitSystem.US): ("%", 5.0),
    ("springs", UnitSystem.METRIC): ("%", 5.0),
}


def distribution(shift: Shift, thing: str, units: UnitSystem) -> Distribution | None:
    """How the judged ground is spread over a value; None where it was never read."""
    unit, step = _BINS[(thing, units)]
    track, whole = shift.track, shift.sums.shares[thing].judged_m2
    values = _values(shift, thing)
    judged = (track.area_m2 > 0) & (track.codes[thing] != CODE["idle"])
    known = judged & np.isfinite(values) & (track.codes[thing] != CODE["unknown"])
    if not known.any() or whole <= 0:
        return None
    shown = to_unit(1.0, unit) * values[known]
    first, last = math.floor(shown.min() / step), math.floor(shown.max() / step) + 1
    last = min(last, first + MOST_BINS)
    edges = np.arange(first, last + 1) * step
    heights, _ = np.histogram(np.minimum(shown, edges[-1]), edges, weights=track.area_m2[known])
    unknown = shift.sums.shares[thing].ratio("unknown") or 0.0
    return Distribution(thing, unit, edges, heights / whole, unknown, _band(shift, thing, unit))


def _values(shift: Shift, thing: str) -> Floats:
    if thing == "springs":
        return shift.track.spring
    column = {"speed": "speed_mps", "depth": "depth_m", "level": "level_m"}[thing]
    return shift.track.numbers[column]


def _band(shift: Shift, thing: str, unit: str) -> tuple[float, float] | None:
    limits = shift.page.rig.limits
    if thing == "level":
        return to_unit(-limits.level_live_m, unit), to_unit(limits.level_live_m, unit)
    if thing == "springs":
        return 0.0, to_unit(limits.spring_high, unit)
    name, si = ("speed", "mps") if thing == "speed" else ("depth", "m")
    ends = [_last(shift.track.numbers[f"{name}_{end}_{si}"]) for end in ("low", "high")]
    if ends[0] is None or ends[1] is None:
        return None
    return to_unit(ends[0], unit), to_unit(ends[1], unit)


def _last(values: npt.NDArray[np.float64]) -> float | None:
    known = values[np.isfinite(values)]
    return float(known[-1]) if len(known) else None

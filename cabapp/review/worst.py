"""The stretches that an owner should look at first: place, length and what was out."""

from dataclasses import dataclass, replace

import numpy as np

from cabapp.review.shift import CODE, Codes, Floats, Shift, Track
from cabapp.trade.geodesic import geodesic
from cabapp.units import ACRE_M2, HECTARE_M2

MOST = 5
NEAR_WIDTHS = 4.0  # middles no farther apart than so many tool widths are one place
LETTERS = "ABCDEFGHIJ"
LEAST_M2 = 0.005 * HECTARE_M2  # less than that is printed as no ground at all
LEAST_ALONE_M2 = 0.005 * ACRE_M2  # with neighbouring passes a little may come to something
BRIDGE_ROWS = 3  # so few seconds of another state do not cut a stretch in two
# What comes first: out of band, then slow as on hard ground, then what nobody knows, then raised.
ORDER = ("out", "hard", "unknown", "raised")


@dataclass(frozen=True)
class Stretch:
    """Ground in one state of one thing. ``letter`` joins list, map and strips.

    ``value`` is the mean of what was out (SI), ``low`` and ``high`` its band; NaN-free, None where
    unknown. The place is its middle.
    """

    letter: str
    thing: str
    state: str
    first: int
    last: int
    start_s: float
    end_s: float
    length_m: float
    area_m2: float
    lat_deg: float | None
    lon_deg: float | None
    value: float | None
    low: float | None
    high: float | None
    passes: int = 1  # neighbouring passes that were out at the same place are told as one


def worst_of(shift: Shift, most: int = MOST) -> tuple[Stretch, ...]:
    """The largest stretches by area: first those out of band, then as ORDER says.

    Two things out over the same ground are one stretch, named for the larger; so is one thing out
    at the same place of neighbouring passes, with their length and area together. What is too
    small to be printed as any area is left out.
    """
    found = [
        stretch
        for thing in ("depth", "speed", "level", "springs")
        for state in ORDER
        for stretch in _stretches(shift, thing, state)
    ]
    found.sort(key=lambda s: (ORDER.index(s.state), -s.area_m2, s.start_s))
    near_m = NEAR_WIDTHS * shift.page.rig.tool.width_m
    chosen: list[Stretch] = []
    for stretch in found:
        if any(_overlaps(stretch, other) for other in chosen):
            continue
        beside = next((n for n, o in enumerate(chosen) if _beside(stretch, o, near_m)), None)
        if beside is not None:
            chosen[beside] = _with(chosen[beside], stretch)
        elif sum(one.area_m2 >= LEAST_M2 for one in chosen) < most:
            chosen.append(stretch)
    chosen = [stretch for stretch in chosen if stretch.area_m2 >= LEAST_M2]
    chosen.sort(key=lambda s: (ORDER.index(s.state), -s.area_m2, s.start_s))
    return tuple(replace(one, letter=LETTERS[n]) for n, one in enumerate(chosen[:most]))


def _beside(one: Stretch, other: Stretch, near_m: float) -> bool:
    if (one.thing, one.state) != (other.thing, other.state):
        return False
    if one.lat_deg is None or one.lon_deg is None or other.lat_deg is None or other.lon_deg is None:
        return False
    return geodesic(one.lat_deg, one.lon_deg, other.lat_deg, other.lon_deg)[0] <= near_m


def _with(one: Stretch, other: Stretch) -> Stretch:
    return replace(
        one,
        length_m=one.length_m + other.length_m,
        area_m2=one.area_m2 + other.area_m2,
        passes=one.passes + 1,
    )


def runs_of(codes: Codes, code: int, bridge: int = 0) -> list[tuple[int, int]]:
    """First and last row of each run of a code; gaps of up to ``bridge`` rows are bridged."""
    there = np.nonzero(codes == code)[0]
    if not len(there):
        return []
    breaks = np.nonzero(np.diff(there) > bridge + 1)[0]
    firsts = there[np.concatenate([[0], breaks + 1])]
    lasts = there[np.concatenate([breaks, [len(there) - 1]])]
    return list(zip(firsts.tolist(), lasts.tolist(), strict=True))


def _stretches(shift: Shift, thing: str, state: str) -> list[Stretch]:
    track, width = shift.track, shift.page.rig.tool.width_m
    idle = track.codes[thing] == CODE["idle"]
    found = []
    for first, last in runs_of(track.codes[thing], CODE[state], BRIDGE_ROWS):
        area = float(track.area_m2[first : last + 1].sum())
        if area < LEAST_ALONE_M2 or idle[first : last + 1].any():
            continue
        found.append(_stretch(track, thing, state, first, last, area, width))
    return found


def _stretch(
    track: Track, thing: str, state: str, first: int, last: int, area: float, width: float
) -> Stretch:
    part = slice(first, last + 1)
    middle = _middle(track, first, last)
    value, low, high = _what(track, thing, part)
    end = float(track.t_s[last]) + 1.0
    return Stretch(
        "", thing, state, first, last, float(track.t_s[first]), end, area / width, area,
        *middle, value, low, high,
    )  # fmt: skip


def _what(track: Track, thing: str, part: slice) -> tuple[float | None, float | None, float | None]:
    """The mean of what is out, and the band it was judged against."""
    if thing == "springs":
        return _mean(track.spring[part]), None, None
    if thing == "level":
        return _mean(track.numbers["level_m"][part]), None, None
    name, unit = ("speed", "mps") if thing == "speed" else ("depth", "m")
    value = _mean(track.numbers[f"{name}_{unit}"][part])
    low = _mean(track.numbers[f"{name}_low_{unit}"][part])
    return value, low, _mean(track.numbers[f"{name}_high_{unit}"][part])


def _mean(values: Floats) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else None


def _middle(track: Track, first: int, last: int) -> tuple[float | None, float | None]:
    placed = np.nonzero(np.isfinite(track.lat_deg[first : last + 1]))[0]
    if not len(placed):
        return None, None
    row = first + int(placed[len(placed) // 2])
    return float(track.lat_deg[row]), float(track.lon_deg[row])


def _overlaps(one: Stretch, other: Stretch) -> bool:
    return one.first <= other.last and other.first <= one.last


def apart(places: list[tuple[float, float]], least: float) -> list[tuple[float, float]]:
    """Where to put letters that belong to places, so that no two stand nearer than ``least``.

    Each stays at its place if it can; else it goes the shortest of a few steps aside.
    """
    steps = sorted(
        ((column * least, row * least) for column in range(-4, 5) for row in range(-3, 4)),
        key=lambda step: (step[0] ** 2 + step[1] ** 2, -step[0], step[1]),
    )
    found: list[tuple[float, float]] = []
    for x, y in places:
        free = (
            (x + dx, y + dy)
            for dx, dy in steps
            if all((x + dx - a) ** 2 + (y + dy - b) ** 2 >= least**2 for a, b in found)
        )
        found.append(next(free, (x, y)))
    return found

"""The stretches that an owner should look at first: place, length and what was out."""

from dataclasses import dataclass, replace

import numpy as np

from cabapp.review.shift import CODE, Codes, Floats, Shift, Track

MOST = 5
LETTERS = "ABCDEFGHIJ"
BRIDGE_ROWS = 3  # so few seconds of another state do not cut a stretch in two
# What comes first: out of band, then ground that was hard, then what nobody knows, then raised.
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


def worst_of(shift: Shift, most: int = MOST) -> tuple[Stretch, ...]:
    """The largest stretches by area: first those out of band, then as ORDER says.

    Two things out over the same ground are one stretch, named for the larger.
    """
    found = [
        stretch
        for thing in ("depth", "speed", "level", "springs")
        for state in ORDER
        for stretch in _stretches(shift, thing, state)
    ]
    found.sort(key=lambda s: (ORDER.index(s.state), -s.area_m2, s.start_s))
    chosen: list[Stretch] = []
    for stretch in found:
        if len(chosen) == most:
            break
        if not any(_overlaps(stretch, other) for other in chosen):
            chosen.append(stretch)
    return tuple(replace(stretch, letter=LETTERS[n]) for n, stretch in enumerate(chosen))


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
        if area <= 0.0 or idle[first : last + 1].any():
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

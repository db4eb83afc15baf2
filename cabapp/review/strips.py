"""A value over the shift as a strip of columns: its least and most, its band, its states."""

import math
from dataclasses import dataclass

import numpy as np

from cabapp.review.shift import CODE, Floats, Shift
from cabapp.review.worst import runs_of

BLOCKS = ("unknown", "raised", "hard")  # drawn as blocks; out shows as the line leaving its band


@dataclass(frozen=True)
class Strip:
    """One strip of equal columns of time, SI. NaN in ``least`` and ``most`` is a gap.

    ``low`` and ``high`` are the band in force (NaN for none); ``blocks`` are (state, from, to) in
    columns, not whole ones. ``start_s`` and ``end_s`` bound the strip.
    """

    thing: str
    start_s: float
    end_s: float
    least: Floats
    most: Floats
    low: Floats
    high: Floats
    blocks: tuple[tuple[str, float, float], ...]

    def at(self, t_s: float) -> float:
        """Where a time lies, in columns."""
        whole = max(self.end_s - self.start_s, 1.0)
        return (t_s - self.start_s) / whole * len(self.least)

    def scale(self) -> tuple[float, float]:
        """Values for the lower and upper edge: the band in the middle third, or what was read."""
        low, high = _least(self.low), _most(self.high)
        if math.isfinite(low) and math.isfinite(high) and high > low:
            return low - (high - low), high + (high - low)
        low, high = _least(self.least), _most(self.most)
        if not (math.isfinite(low) and math.isfinite(high)):
            return 0.0, 1.0
        return low - 0.1 * abs(low), high + 0.1 * abs(high) + 1e-6


def strip_of(shift: Shift, thing: str, columns: int) -> Strip:
    """The strip of "speed", "depth", "level" or "springs", of the seconds in work."""
    track = shift.track
    t_s = track.t_s if len(track) else np.zeros(1)
    start, end = float(t_s[0]), float(t_s[-1]) + 1.0
    place = np.clip(((t_s - start) / max(end - start, 1.0) * columns).astype(int), 0, columns - 1)
    values, low, high = _values(shift, thing)
    known = track.working & np.isfinite(values)
    least, most = np.full(columns, np.inf), np.full(columns, -np.inf)
    np.minimum.at(least, place[known], values[known])
    np.maximum.at(most, place[known], values[known])
    least[np.isinf(least)] = np.nan
    most[np.isinf(most)] = np.nan
    band = np.full((2, columns), np.nan)
    band[0][place], band[1][place] = low, high
    strip = Strip(thing, start, end, least, most, band[0], band[1], ())
    blocks = [
        (state, strip.at(float(t_s[first])), strip.at(float(t_s[last]) + 1.0))
        for state in BLOCKS
        for first, last in runs_of(track.codes[thing], CODE[state], bridge=3)
    ]
    return Strip(thing, start, end, least, most, _filled(band[0]), _filled(band[1]), tuple(blocks))


def _values(shift: Shift, thing: str) -> tuple[Floats, Floats, Floats]:
    numbers, limits = shift.track.numbers, shift.page.rig.limits
    rows = len(shift.track)
    if thing == "springs":
        return shift.track.spring, np.zeros(rows), np.full(rows, limits.spring_high)
    if thing == "level":
        edge = np.full(rows, limits.level_live_m)
        return numbers["level_m"], -edge, edge
    name, unit = ("speed", "mps") if thing == "speed" else ("depth", "m")
    return (
        numbers[f"{name}_{unit}"],
        numbers[f"{name}_low_{unit}"],
        numbers[f"{name}_high_{unit}"],
    )


def _filled(values: Floats) -> Floats:
    """Each unknown column takes the band of the one before it, the first ones of the first."""
    known = np.isfinite(values)
    if not known.any():
        return values
    last = np.maximum.accumulate(np.where(known, np.arange(len(values)), -1))
    last[last < 0] = int(np.argmax(known))
    return values[last]


def _least(values: Floats) -> float:
    return float(np.nanmin(values)) if np.isfinite(values).any() else math.nan


def _most(values: Floats) -> float:
    return float(np.nanmax(values)) if np.isfinite(values).any() else math.nan

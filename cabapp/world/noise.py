"""Seeded roughness: the same seed gives the same ground, in whatever pieces it is asked for."""

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def stream(seed: int, *names: str | int) -> np.random.Generator:
    """A generator of its own for each named use of one seed."""
    words = [seed]
    for name in names:
        words += [name] if isinstance(name, int) else list(name.encode())
    return np.random.default_rng(words)


class Rough:
    """A smooth random line over distance or time: unit SD, one knot each ``every``.

    Knots are white; between them a cubic ease, so its slope has no steps. Beyond the last knot it
    begins again: long enough never to be noticed, bounded whatever is asked.
    """

    def __init__(self, rng: np.random.Generator, every: float, knots: int = 8192) -> None:
        self._every = every
        self._knots = rng.standard_normal(knots) * _EASE_GAIN

    def at(self, where: Floats) -> Floats:
        """Values at any places, shape as given."""
        place = where / self._every
        whole = np.floor(place)
        part = place - whole
        first = whole.astype(np.int64) % len(self._knots)
        ease = part * part * (3.0 - 2.0 * part)
        low = self._knots[first]
        high = self._knots[(first + 1) % len(self._knots)]
        return np.asarray(low + (high - low) * ease)


# Between knots two white values are mixed e : 1-e; the mean of e^2 + (1-e)^2 over the cubic ease
# is 26/35, so this brings the SD back to one.
_EASE_GAIN = math.sqrt(35.0 / 26.0)

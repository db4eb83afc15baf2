"""Today's worked block: where a lifted tool at working speed is probably a forgotten one.

A place is inside the block when there is worked ground close by (under it, or up to one and a
half widths away in some direction) and no pass began or ended near it. So the start of the next
pass beside the last one is inside once the headland is left, and a drive along the headland,
however long, is not.
"""

import math

from cabapp.ground.raster import Raster

HEADLAND_M = 20.0  # no pass end within this: field judgement
_DIRECTIONS = tuple(
    (math.cos(step * math.pi / 4), math.sin(step * math.pi / 4)) for step in range(8)
)


class Block:
    """The pass ends of today, in squares of HEADLAND_M so that looking costs the same all day."""

    def __init__(self, width_m: float) -> None:
        self._rings_m = (0.75 * width_m, 1.5 * width_m)
        self._ends: dict[tuple[int, int], list[tuple[int, float, float]]] = {}

    def end_at(self, number: int, x_m: float, y_m: float) -> None:
        """The pass of this number began or ended here."""
        self._ends.setdefault(_square(x_m, y_m), []).append((number, x_m, y_m))

    def ends(self) -> tuple[tuple[int, float, float], ...]:
        """All of them, pass by pass."""
        return tuple(sorted(end for ends in self._ends.values() for end in ends))

    def keep_first(self, count: int) -> None:
        """Forget the ends of passes that were withdrawn."""
        for square, ends in self._ends.items():
            self._ends[square] = [end for end in ends if end[0] <= count]

    def holds(self, raster: Raster, x_m: float, y_m: float) -> bool:
        """Whether a place on the plane lies inside the block."""
        return self._near_work(raster, x_m, y_m) and not self._near_end(x_m, y_m)

    def _near_work(self, raster: Raster, x_m: float, y_m: float) -> bool:
        return raster.covered(x_m, y_m) or any(
            raster.covered(x_m + ring * east, y_m + ring * north)
            for ring in self._rings_m
            for east, north in _DIRECTIONS
        )

    def _near_end(self, x_m: float, y_m: float) -> bool:
        column, row = _square(x_m, y_m)
        return any(
            math.hypot(x_m - end_x, y_m - end_y) <= HEADLAND_M
            for i in (-1, 0, 1)
            for j in (-1, 0, 1)
            for _, end_x, end_y in self._ends.get((column + i, row + j), ())
        )


def _square(x_m: float, y_m: float) -> tuple[int, int]:
    return math.floor(x_m / HEADLAND_M), math.floor(y_m / HEADLAND_M)

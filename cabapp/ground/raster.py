"""Worked ground as cells of 0.25 m, in tiles that exist only where the tool has been.

Swaths are painted as quadrilaterals; a cell is worked when its middle lies inside one. The cells
lie at the golden angle (slope 0.618) to the first pass, since the middles are then spread evenly
across any long edge: along the cells' own direction a whole column would be counted or missed.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

CELL_M = 0.25
CELL_M2 = CELL_M * CELL_M
TILE = 256  # cells along a tile's side: 64 m, 64 kB
LARGEST_STAMP = 8_000_000  # cells painted at once; a wider batch is halved

_GOLDEN_RAD = math.atan((math.sqrt(5.0) - 1.0) / 2.0)


@dataclass(frozen=True, slots=True)
class Fresh:
    """Cells of one tile that a paint worked for the first time (flat indices)."""

    tile: tuple[int, int]
    cells: Ints


class Raster:
    """The cells worked so far, on a plane in metres."""

    def __init__(self, turn_rad: float) -> None:
        """``turn_rad``: the cells' columns against east, anticlockwise."""
        self._cos, self._sin = math.cos(turn_rad) / CELL_M, math.sin(turn_rad) / CELL_M
        self.turn_rad = turn_rad
        self.tiles: dict[tuple[int, int], Bools] = {}
        self.cells = 0

    @classmethod
    def for_first_pass(cls, east: float, north: float) -> "Raster":
        """Cells turned for a first pass along this unit vector."""
        return cls(math.atan2(north, east) - _GOLDEN_RAD)

    @property
    def area_m2(self) -> float:
        """Ground worked at least once."""
        return self.cells * CELL_M2

    def covered(self, x_m: float, y_m: float) -> bool:
        """Whether the cell at this place is worked."""
        column = math.floor(x_m * self._cos + y_m * self._sin)
        row = math.floor(y_m * self._cos - x_m * self._sin)
        tile = self.tiles.get((row // TILE, column // TILE))
        return tile is not None and bool(tile[row % TILE, column % TILE])

    def paint(self, quads: Floats, fresh: list[Fresh] | None = None) -> int:
        """Work the ground of quadrilaterals, shape (n, 4, 2), metres; how many cells were new.

        A quadrilateral that crosses itself (the inner end of the tool going back in a tight turn)
        is filled by the even-odd rule: what its moving edge swept. New cells are put into
        ``fresh``, where given, so that they can be unpainted.
        """
        if len(quads) == 0:
            return 0
        u = quads[:, :, 0] * self._cos + quads[:, :, 1] * self._sin
        v = quads[:, :, 1] * self._cos - quads[:, :, 0] * self._sin
        left, low = math.floor(u.min()), math.floor(v.min())
        columns, rows = math.ceil(u.max()) - left + 1, math.ceil(v.max()) - low + 1
        if columns * rows > LARGEST_STAMP and len(quads) > 1:
            half = len(quads) // 2
            return self.paint(quads[:half], fresh) + self.paint(quads[half:], fresh)
        stamp = _fill(u - left, v - low, rows, columns)
        new = 0
        for key, part, under, y, x in self._below(stamp, low, left):
            added = part & ~under
            new += int(np.count_nonzero(added))
            if fresh is not None:
                new_y, new_x = np.nonzero(added)
                fresh.append(Fresh(key, (new_y + y) * TILE + new_x + x))
            under |= part
        self.cells += new
        return new

    def unpaint(self, fresh: list[Fresh]) -> None:
        """Take back what a paint had worked for the first time."""
        for piece in fresh:
            self.tiles[piece.tile].reshape(-1)[piece.cells] = False
            self.cells -= len(piece.cells)

    def _below(
        self, stamp: Bools, low: int, left: int
    ) -> Iterator[tuple[tuple[int, int], Bools, Bools, int, int]]:
        """Tiles below a stamp, made where missing: key, part of stamp, view, row, column."""
        rows, columns = stamp.shape
        for tile_row in range(low // TILE, (low + rows - 1) // TILE + 1):
            for tile_column in range(left // TILE, (left + columns - 1) // TILE + 1):
                top, side = tile_row * TILE - low, tile_column * TILE - left
                part = stamp[max(top, 0) : top + TILE, max(side, 0) : side + TILE]
                if not part.any():
                    continue
                key = (tile_row, tile_column)
                tile = self.tiles.get(key)
                if tile is None:
                    tile = self.tiles[key] = np.zeros((TILE, TILE), np.bool_)
                y, x = max(-top, 0), max(-side, 0)
                yield key, part, tile[y : y + part.shape[0], x : x + part.shape[1]], y, x


def _fill(u: Floats, v: Floats, rows: int, columns: int) -> Bools:
    """Cells (rows, columns) whose middle lies in one of the quadrilaterals u, v, shape (n, 4)."""
    first = np.ceil(v.min(axis=1) - 0.5).astype(np.int64)
    count = np.maximum(np.floor(v.max(axis=1) - 0.5).astype(np.int64) - first + 1, 0)
    quad, row = _runs(first, count)
    middle: Floats = row.astype(np.float64) + 0.5
    crossings = _crossings(u[quad], v[quad], middle)
    starts = np.ceil(crossings[:, 0::2] - 0.5)
    ends = np.ceil(crossings[:, 1::2] - 0.5)
    crossed = np.isfinite(starts)
    line = np.broadcast_to(row[:, None], starts.shape)[crossed]
    begin = starts[crossed].astype(np.int64)
    _, cell = _runs(line * columns + begin, ends[crossed].astype(np.int64) - begin)
    stamp = np.zeros(rows * columns, np.bool_)
    stamp[cell] = True
    return stamp.reshape(rows, columns)


def _runs(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """For each run its index repeated, and the numbers first, first + 1, ... of all runs."""
    index = np.repeat(np.arange(len(count)), count)
    ends = np.cumsum(count)
    total = int(ends[-1]) if len(ends) else 0
    return index, np.arange(total) + np.repeat(first - ends + count, count)


def _crossings(u: Floats, v: Floats, at: Floats) -> Floats:
    """Where each quadrilateral's four sides cross its line v = at: sorted, inf where none."""
    v2, u2 = np.roll(v, -1, axis=1), np.roll(u, -1, axis=1)
    line = at[:, None]
    crosses = (v <= line) != (v2 <= line)
    rise = np.where(crosses, v2 - v, 1.0)
    where = np.where(crosses, u + (line - v) * (u2 - u) / rise, np.inf)
    return np.sort(where, axis=1)

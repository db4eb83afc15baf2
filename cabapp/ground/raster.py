"""Worked ground as cells of 0.25 m, in tiles that exist only where the tool has been.

Swaths are painted as quadrilaterals; a cell is worked when its middle lies inside one. The cells
lie at the golden angle (slope 0.618) to the first pass, since the middles are then spread evenly
across any long edge: along the cells' own direction a whole column would be counted or missed.

Cells are kept and painted as bits, eight in a byte along a row, the first in the highest: a shift's
ground stays for the whole shift, and as bytes it would be most of what a shift adds to memory.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Bits = npt.NDArray[np.uint8]

CELL_M = 0.25
CELL_M2 = CELL_M * CELL_M
TILE = 256  # cells along a tile's side: 64 m, 8 kB of bits
_WIDE = TILE // 8  # bytes of one row of a tile
LARGEST_STAMP = 8_000_000  # cells painted at once; a wider batch is halved

_GOLDEN_RAD = math.atan((math.sqrt(5.0) - 1.0) / 2.0)


@dataclass(frozen=True, slots=True)
class Fresh:
    """Cells of one tile that a paint worked for the first time, from this row and byte on."""

    tile: tuple[int, int]
    row: int
    byte: int
    bits: Bits


class Raster:
    """The cells worked so far, on a plane in metres."""

    def __init__(self, turn_rad: float) -> None:
        """``turn_rad``: the cells' columns against east, anticlockwise."""
        self._cos, self._sin = math.cos(turn_rad) / CELL_M, math.sin(turn_rad) / CELL_M
        self.turn_rad = turn_rad
        self.tiles: dict[tuple[int, int], Bits] = {}
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
        return tile is not None and bool(tile[row % TILE, column % TILE // 8] << column % 8 & 0x80)

    def cells_of(self, key: tuple[int, int]) -> Bools | None:
        """A tile's cells one by one, shape (TILE, TILE); None where nothing was worked."""
        tile = self.tiles.get(key)
        return None if tile is None else np.unpackbits(tile, axis=1).view(np.bool_)

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
        left, low = math.floor(u.min()) // 8 * 8, math.floor(v.min())
        columns, rows = math.ceil(u.max()) - left + 1, math.ceil(v.max()) - low + 1
        if columns * rows > LARGEST_STAMP and len(quads) > 1:
            half = len(quads) // 2
            return self.paint(quads[:half], fresh) + self.paint(quads[half:], fresh)
        stamp = np.packbits(_fill(u - left, v - low, rows, columns), axis=1)
        new = 0
        for key, part, under, row, byte in self._below(stamp, low, left // 8):
            added = part & ~under
            new += count(added)
            if fresh is not None:
                fresh.append(Fresh(key, row, byte, added))
            under |= part
        self.cells += new
        return new

    def unpaint(self, fresh: list[Fresh]) -> None:
        """Take back what a paint had worked for the first time."""
        for piece in fresh:
            rows, bytes_ = piece.bits.shape
            tile = self.tiles[piece.tile]
            tile[piece.row : piece.row + rows, piece.byte : piece.byte + bytes_] &= ~piece.bits
            self.cells -= count(piece.bits)

    def _below(
        self, stamp: Bits, low: int, left: int
    ) -> Iterator[tuple[tuple[int, int], Bits, Bits, int, int]]:
        """Tiles below a stamp, made where missing: key, part of stamp, view, its row and byte.

        ``low`` is the stamp's first row, ``left`` its first byte.
        """
        rows, width = stamp.shape
        for tile_row in range(low // TILE, (low + rows - 1) // TILE + 1):
            for tile_column in range(left // _WIDE, (left + width - 1) // _WIDE + 1):
                top, side = tile_row * TILE - low, tile_column * _WIDE - left
                part = stamp[max(top, 0) : top + TILE, max(side, 0) : side + _WIDE]
                if not part.any():
                    continue
                key = (tile_row, tile_column)
                tile = self.tiles.get(key)
                if tile is None:
                    tile = self.tiles[key] = np.zeros((TILE, _WIDE), np.uint8)
                y, x = max(-top, 0), max(-side, 0)
                yield key, part, tile[y : y + part.shape[0], x : x + part.shape[1]], y, x


def count(bits: Bits) -> int:
    """How many cells are set."""
    return int(np.count_nonzero(np.unpackbits(bits)))


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

"""Misses: unworked ground too narrow for the tool, left between worked ground.

Stated definition: a place is missed when it is not worked and no circle of the given radius that
holds it keeps clear of worked ground. With a quarter of the working width as radius, strips and
corners narrower than half the tool count; the open side of the block, and a strip that a whole
pass still fits into, do not.
"""

import math

import numpy as np

from cabapp.ground.raster import CELL_M, CELL_M2, TILE, Bools, Raster


def misses_m2(raster: Raster, radius_m: float) -> float:
    """Missed ground in square metres, for circles of ``radius_m``."""
    reach = max(1, round(radius_m / CELL_M))
    return sum(_missed_cells(raster, key, reach) for key in raster.tiles) * CELL_M2


def _missed_cells(raster: Raster, key: tuple[int, int], reach: int) -> int:
    window = _window(raster, key, 2 * reach)
    if window.all():
        return 0
    # An open cell is reached by a clear circle if the circle's middle is `reach` from all work.
    clear = ~_grow(window, reach)
    inner = slice(2 * reach, 2 * reach + TILE)
    missed = ~window & ~_grow(clear, reach)
    return int(np.count_nonzero(missed[inner, inner]))


def _window(raster: Raster, key: tuple[int, int], border: int) -> Bools:
    """A tile with a border from its neighbours, shape (TILE + 2 border) squared."""
    side = TILE + 2 * border
    window = np.zeros((side, side), np.bool_)
    for i in (-1, 0, 1):
        for j in (-1, 0, 1):
            tile = raster.cells_of((key[0] + i, key[1] + j))
            if tile is not None:
                to_y, from_y = _overlap(i, border)
                to_x, from_x = _overlap(j, border)
                window[to_y, to_x] = tile[from_y, from_x]
    return window


def _overlap(step: int, border: int) -> tuple[slice, slice]:
    """Where a neighbour's cells go in the window, and which of its cells they are."""
    if step == 0:
        return slice(border, border + TILE), slice(0, TILE)
    if step < 0:
        return slice(0, border), slice(TILE - border, TILE)
    return slice(border + TILE, 2 * border + TILE), slice(0, border)


def _grow(cells: Bools, reach: int) -> Bools:
    """Every cell within ``reach`` cells (Euclidean) of a set one, the border taken as unset."""
    rows, columns = cells.shape
    sums = np.zeros((rows, columns + 1), np.int32)
    np.cumsum(cells, axis=1, out=sums[:, 1:])
    grown = np.zeros_like(cells)
    x = np.arange(columns)
    for dy in range(-reach, reach + 1):
        half = int(math.sqrt(reach * reach - dy * dy))
        first, last = np.maximum(x - half, 0), np.minimum(x + half + 1, columns)
        near = sums[:, last] > sums[:, first]
        to, source = _shifted(rows, dy)
        grown[to] |= near[source]
    return grown


def _shifted(rows: int, dy: int) -> tuple[slice, slice]:
    if dy >= 0:
        return slice(dy, rows), slice(0, rows - dy)
    return slice(0, rows + dy), slice(-dy, rows)

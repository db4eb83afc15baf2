"""Pegs ahead: places that speak again before the tool gets there."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from cabapp.events import Peg
from cabapp.trade.geodesy import LocalPlane

# How far to the side of the tool's edge a peg still concerns it, metres. A pipe or a tile runs on
# from its peg, nobody knows which way; the others are where they are, give or take a plain fix.
LINE_SIDE_M = 30.0
POINT_SIDE_M = 3.0
LINES = frozenset({"pipe", "tile"})
NEAR_DEG = 0.01  # about a kilometre: pegs farther off are not worth projecting


@dataclass(frozen=True, slots=True)
class PegAhead:
    """A peg in the way: metres ahead along the course, and metres to the right of it."""

    peg: Peg
    ahead_m: float
    right_m: float


def pegs_ahead(
    pegs: Iterable[Peg],
    lat_deg: float,
    lon_deg: float,
    course_deg: float,
    width_m: float,
    within_m: float = 60.0,
) -> tuple[PegAhead, ...]:
    """Pegs in front of a place within ``within_m``, nearest first. Pure reminder, no line locate.

    A peg to the side counts within half of ``width_m`` plus POINT_SIDE_M, or LINE_SIDE_M for a
    pipe or tile.
    """
    near = [
        peg
        for peg in pegs
        if abs(peg.lat_deg - lat_deg) < NEAR_DEG
        and abs((peg.lon_deg - lon_deg + 180.0) % 360.0 - 180.0)
        < NEAR_DEG / max(0.1, math.cos(math.radians(lat_deg)))
    ]
    if not near:
        return ()
    plane = LocalPlane.at(lat_deg, lon_deg)
    angle = math.radians(course_deg)
    found = []
    for peg in near:
        x_m, y_m = plane.to_xy(peg.lat_deg, peg.lon_deg)
        ahead = x_m * math.sin(angle) + y_m * math.cos(angle)
        right = x_m * math.cos(angle) - y_m * math.sin(angle)
        side = LINE_SIDE_M if peg.kind in LINES else POINT_SIDE_M
        if 0.0 < ahead <= within_m and abs(right) <= width_m / 2 + side:
            found.append(PegAhead(peg, ahead, right))
    return tuple(sorted(found, key=lambda item: item.ahead_m))

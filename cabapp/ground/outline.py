"""A field's outline, where one was loaded or driven: inside or not, and how far from the edge."""

import math

from cabapp.trade.geodesy import LocalPlane


class Outline:
    """A closed ring of (lat, lon) corners in degrees, at least three; the last joins the first."""

    def __init__(self, corners: tuple[tuple[float, float], ...]) -> None:
        if len(corners) < 3:
            raise ValueError(f"an outline of {len(corners)} corners; give three or more")
        self._plane = LocalPlane.at(*corners[0])
        self._ring = [self._plane.to_xy(lat, lon) for lat, lon in corners]

    @property
    def area_m2(self) -> float:
        """Area inside the ring (shoelace formula)."""
        return abs(sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in self._sides())) / 2

    def edge_distance_m(self, lat_deg: float, lon_deg: float) -> float:
        """Metres to the nearest side: positive inside the field, negative outside."""
        x, y = self._plane.to_xy(lat_deg, lon_deg)
        nearest = min(_to_side(x, y, start, end) for start, end in self._sides())
        return nearest if self._inside(x, y) else -nearest

    def _sides(self) -> list[tuple[tuple[float, float], tuple[float, float]]]:
        return list(zip(self._ring, self._ring[1:] + self._ring[:1], strict=True))

    def _inside(self, x: float, y: float) -> bool:
        crossed = 0
        for (x1, y1), (x2, y2) in self._sides():
            if (y1 <= y) != (y2 <= y):
                crossed += x1 + (y - y1) * (x2 - x1) / (y2 - y1) > x
        return crossed % 2 == 1


def _to_side(x: float, y: float, start: tuple[float, float], end: tuple[float, float]) -> float:
    """Distance of a point to a straight piece between two points."""
    side_x, side_y = end[0] - start[0], end[1] - start[1]
    length2 = side_x * side_x + side_y * side_y
    along = ((x - start[0]) * side_x + (y - start[1]) * side_y) / length2 if length2 else 0.0
    along = min(1.0, max(0.0, along))
    return math.hypot(x - start[0] - along * side_x, y - start[1] - along * side_y)

"""The plane through the depth sensors of a frame, and the one of them that lies.

A place on the tool is ``across_m`` (to the right of the middle) and ``back_m`` (towards the
rear). Depth is positive downwards.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from cabapp.trade.sources import OWN_DEFAULT
from cabapp.units import INCH_M


@dataclass(frozen=True, slots=True)
class PlacedDepth:
    """What one sensor reads, and where on the frame it sits (metres right, metres back)."""

    sensor: str
    across_m: float
    back_m: float
    depth_m: float


@dataclass(frozen=True, slots=True)
class ToolDepth:
    """Depth of the tool over its shanks, metres; a side is None where the sensors do not tell."""

    mean_m: float
    front_m: float | None
    rear_m: float | None
    left_m: float | None
    right_m: float | None

    @property
    def shallowest_end_m(self) -> float:
        """The shallower of front and rear, or the mean where level is not known."""
        if self.front_m is None or self.rear_m is None:
            return self.mean_m
        return min(self.front_m, self.rear_m)

    @property
    def rear_low_m(self) -> float | None:
        """How much deeper the rear runs than the front, None where not known."""
        if self.front_m is None or self.rear_m is None:
            return None
        return self.rear_m - self.front_m

    @property
    def left_low_m(self) -> float | None:
        """How much deeper the left runs than the right, None where not known."""
        if self.left_m is None or self.right_m is None:
            return None
        return self.left_m - self.right_m


@dataclass(frozen=True, slots=True)
class Plane:
    """A plane through depth readings. A slope is None where the sensors do not tell it.

    ``residuals_m`` is reading less plane, a sensor each, empty when there is nothing left over
    to check with. ``disagree`` says that some reading does not fit the others; ``suspect`` names
    it where the readings tell which one it is.
    """

    across_m: float
    back_m: float
    depth_m: float
    across_slope: float | None
    back_slope: float | None
    residuals_m: tuple[tuple[str, float], ...] = ()
    disagree: bool = False
    suspect: str | None = None

    def depth_at(self, across_m: float, back_m: float) -> float:
        """Depth at a place on the tool; an unknown slope counts as level."""
        across = (self.across_slope or 0.0) * (across_m - self.across_m)
        return self.depth_m + across + (self.back_slope or 0.0) * (back_m - self.back_m)

    def over(self, places: Sequence[tuple[float, float]]) -> ToolDepth:
        """Depth over places (across_m, back_m), such as the shanks; ValueError for none.

        Front, rear, left and right are at the outermost of the places, in the middle of the
        other direction.
        """
        if not places:
            raise ValueError("places: found none, expected at least one; name the shanks' places")
        acrosses = [across_m for across_m, _ in places]
        backs = [back_m for _, back_m in places]
        middle, centre = sum(acrosses) / len(places), sum(backs) / len(places)
        along, aside = self.back_slope is not None, self.across_slope is not None
        return ToolDepth(
            mean_m=self.depth_at(middle, centre),
            front_m=self.depth_at(middle, min(backs)) if along else None,
            rear_m=self.depth_at(middle, max(backs)) if along else None,
            left_m=self.depth_at(min(acrosses), centre) if aside else None,
            right_m=self.depth_at(max(acrosses), centre) if aside else None,
        )


NEAR_M = 0.5  # sensors nearer to each other than this tell no level
ASIDE_SHARE = 1.0 / 3.0  # a row of sensors may stand this much askew and still tell one level
LYING_M = 1.5 * INCH_M  # a reading this far from what the others say is not soil
LYING_SOURCE = OWN_DEFAULT


@dataclass(frozen=True, slots=True)
class _Geometry:
    """What the places alone decide: the centre, which slopes can be told, and the solution.

    ``solve`` gives a slope as a sum over the readings; ``leverage`` is how much a reading pulls
    the plane to itself (the diagonal of the hat matrix), near 1 where nothing checks it.
    """

    across_m: float
    back_m: float
    across_span_m: float
    back_span_m: float
    solve_across: tuple[float, ...] | None
    solve_back: tuple[float, ...] | None
    leverage: tuple[float, ...]

    @property
    def terms(self) -> int:
        return 1 + (self.solve_across is not None) + (self.solve_back is not None)


def _slopes_told(offsets: npt.NDArray[np.float64]) -> tuple[bool, bool]:
    """Whether places (across, back from their centre) tell the side and the fore-aft slope."""
    spans = offsets.max(axis=0) - offsets.min(axis=0)
    thinnest_m = float(np.linalg.svd(offsets, compute_uv=False)[-1]) / math.sqrt(len(offsets))
    if len(offsets) >= 3 and thinnest_m >= NEAR_M / 2.0:
        return True, True
    aside = bool(spans[0] >= NEAR_M and spans[1] <= ASIDE_SHARE * spans[0])
    along = bool(spans[1] >= NEAR_M and spans[0] <= ASIDE_SHARE * spans[1])
    return aside, along


@lru_cache(maxsize=256)
def _geometry(places: tuple[tuple[float, float], ...]) -> _Geometry:
    """Solve the least squares once for each set of places: they do not move."""
    grid = np.asarray(places, dtype=np.float64)
    centre = grid.mean(axis=0)
    offsets = grid - centre
    told = _slopes_told(offsets)
    columns = [index for index in (0, 1) if told[index]]
    solved = np.linalg.pinv(offsets[:, columns]) if columns else np.zeros((0, len(places)))
    leverage = 1.0 / len(places) + np.einsum("ij,ji->i", offsets[:, columns], solved)
    rows = {column: tuple(map(float, solved[row])) for row, column in enumerate(columns)}
    spans = offsets.max(axis=0) - offsets.min(axis=0)
    return _Geometry(
        float(centre[0]), float(centre[1]), float(spans[0]), float(spans[1]),
        rows.get(0), rows.get(1), tuple(map(float, leverage)),
    )  # fmt: skip


def _dot(weights: tuple[float, ...] | None, values: list[float]) -> float | None:
    return None if weights is None else sum(w * v for w, v in zip(weights, values, strict=True))


def _fit(points: Sequence[PlacedDepth]) -> tuple[_Geometry, Plane]:
    shape = _geometry(tuple((point.across_m, point.back_m) for point in points))
    depths_m = [point.depth_m for point in points]
    plane = Plane(
        shape.across_m,
        shape.back_m,
        sum(depths_m) / len(depths_m),
        _dot(shape.solve_across, depths_m),
        _dot(shape.solve_back, depths_m),
    )
    return shape, plane


def _residuals(plane: Plane, points: Sequence[PlacedDepth]) -> list[float]:
    return [point.depth_m - plane.depth_at(point.across_m, point.back_m) for point in points]


def fit_plane(
    points: Sequence[PlacedDepth], usual: Plane | None = None, lying_m: float = LYING_M
) -> Plane:
    """Least-squares plane through one reading a sensor.

    One sensor gives a depth only, two along the tool the fore-aft level, two across it the side
    level, three a plane, four or more a plane and what is left over. Four at the corners can
    only name the lying one by supposing that the frame lies as in ``usual`` (a plane fitted
    while all was well; level if None); six tell by themselves. The plane goes through all the
    readings: fit again without the suspect to use it. ValueError for no sensors, the same name
    twice, or a NaN. Ordinary least squares; the 1.5 in limit is our own default.
    """
    _check_points(points)
    shape, plane = _fit(points)
    if len(points) <= shape.terms:
        return plane
    residuals_m = _residuals(plane, points)
    named = tuple((p.sensor, r) for p, r in zip(points, residuals_m, strict=True))
    disagree = _worst_m(shape, residuals_m) > lying_m
    suspect = _lying(points, shape.terms, usual, lying_m) if disagree else None
    return Plane(
        plane.across_m, plane.back_m, plane.depth_m, plane.across_slope, plane.back_slope,
        named, disagree, suspect,
    )  # fmt: skip


def _worst_m(shape: _Geometry, residuals_m: Sequence[float]) -> float:
    """The most any reading is off from what all the others say (its deleted residual)."""
    return max(
        abs(residual_m) / (1.0 - leverage) if leverage < 0.999 else 0.0
        for residual_m, leverage in zip(residuals_m, shape.leverage, strict=True)
    )


def _check_points(points: Sequence[PlacedDepth]) -> None:
    if not points:
        raise ValueError("points: found none, expected at least one sensor; fit what reads")
    if len({point.sensor for point in points}) < len(points):
        names = ", ".join(point.sensor for point in points)
        raise ValueError(f"points: found {names}, expected each sensor once; fit one reading each")
    for point in points:
        if not math.isfinite(point.across_m + point.back_m + point.depth_m):
            found = f"across {point.across_m!r}, back {point.back_m!r}, depth {point.depth_m!r}"
            raise ValueError(
                f"{point.sensor}: found {found}, expected finite metres; "
                "leave out a sensor that does not read"
            )


def _lying(
    points: Sequence[PlacedDepth], terms: int, usual: Plane | None, lying_m: float
) -> str | None:
    """The sensor without which the others agree, if one stands out; the level tells in a tie.

    Nobody is named while the others still disagree: then more than one is wrong.
    """
    tried: list[tuple[float, float, str]] = []
    for index, point in enumerate(points):
        others = [*points[:index], *points[index + 1 :]]
        shape, plane = _fit(others)
        if shape.terms == terms:  # else the others alone cannot say anything about this one
            worst_m = _worst_m(shape, _residuals(plane, others))
            tried.append((worst_m, _tilt_m(shape, plane, usual), point.sensor))
    best_m = min((worst_m for worst_m, _, _ in tried), default=math.inf)
    if best_m > lying_m:
        return None
    near = sorted(row[1:] for row in tried if row[0] < best_m + lying_m / 2.0)
    if len(near) > 1 and near[1][0] - near[0][0] < lying_m / 2.0:
        return None
    return near[0][1]


def _tilt_m(shape: _Geometry, plane: Plane, usual: Plane | None) -> float:
    """How far a plane lies from the usual one over the span of its sensors."""
    usual_across = (usual.across_slope or 0.0) if usual else 0.0
    usual_back = (usual.back_slope or 0.0) if usual else 0.0
    across = 0.0 if plane.across_slope is None else plane.across_slope - usual_across
    back = 0.0 if plane.back_slope is None else plane.back_slope - usual_back
    return abs(across) * shape.across_span_m + abs(back) * shape.back_span_m

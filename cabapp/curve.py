"""A sensor's calibration curve, and the one place where it is evaluated.

Fit-up makes curves, the rig file keeps them, hear/transducers asks them for values.
"""

from bisect import bisect_right
from dataclasses import dataclass
from enum import Enum


class CurveKind(Enum):
    """The shapes a calibration may have."""

    LINEAR = "linear"  # y = c0 + c1 x
    QUADRATIC = "quadratic"  # y = c0 + c1 x + c2 x^2
    MONOTONE = "monotone"  # straight pieces through points in rising x, y rising or falling


@dataclass(frozen=True)
class Curve:
    """Wire value (volts, or the sender's own figure) to SI.

    ``coefficients`` hold c0, c1(, c2) for polynomials; ``knots`` hold (x, y) pairs for MONOTONE.
    ``x_least``/``x_most`` bound what was proven, in wire units; ``offset`` (SI) is the field offset
    from dug slots, added last; ``proven_error`` (SI) is the largest residual of the accepted
    calibration, shed points and slots together; ``made``/``by`` say when and who, as typed.
    """

    kind: CurveKind
    x_least: float
    x_most: float
    coefficients: tuple[float, ...] = ()
    knots: tuple[tuple[float, float], ...] = ()
    offset: float = 0.0
    proven_error: float = 0.0
    made: str = ""
    by: str = ""

    def value(self, x: float) -> float:
        """SI value at wire value ``x``; MONOTONE goes on straight beyond its last piece."""
        if self.kind is CurveKind.MONOTONE:
            return self._on_pieces(x) + self.offset
        total = 0.0
        for coefficient in reversed(self.coefficients):
            total = total * x + coefficient
        return total + self.offset

    def within_proof(self, x: float, margin: float = 0.10) -> bool:
        """False where ``x`` lies more than ``margin`` of the proven span outside it."""
        reach = margin * (self.x_most - self.x_least)
        return self.x_least - reach <= x <= self.x_most + reach

    def _on_pieces(self, x: float) -> float:
        xs = [knot[0] for knot in self.knots]
        piece = min(max(bisect_right(xs, x) - 1, 0), len(xs) - 2)
        (x0, y0), (x1, y1) = self.knots[piece], self.knots[piece + 1]
        return y0 + (y1 - y0) * (x - x0) / (x1 - x0)

"""The three shapes a calibration may take, fitted to rows of points."""

import math
from dataclasses import dataclass

from cabapp.curve import Curve, CurveKind
from cabapp.fitup.least_squares import LeastSquares, fit_polynomial
from cabapp.fitup.points import Row, pairs

DEGREE = {CurveKind.LINEAR: 1, CurveKind.QUADRATIC: 2}
LEAST_ROWS = {CurveKind.LINEAR: 3, CurveKind.QUADRATIC: 4, CurveKind.MONOTONE: 4}


@dataclass(frozen=True)
class Fit:
    """A curve with how far each take lies off it: (row number, known minus curve, SI).

    For MONOTONE, whose pieces go through their points, a row is judged by the pieces made without
    it. ``squares`` is the polynomial's own account, None for MONOTONE.
    """

    curve: Curve
    off: tuple[tuple[int, float], ...]
    squares: LeastSquares | None

    @property
    def worst(self) -> tuple[int, float]:
        """Row number and size (SI) of the largest residual."""
        row, off = max(self.off, key=lambda pair: abs(pair[1]))
        return row, abs(off)


def fit(rows: tuple[Row, ...], kind: CurveKind) -> Fit:
    """Fit usable rows; raises TooFewPoints where their signals are not different enough."""
    return _pieces(rows) if kind is CurveKind.MONOTONE else _polynomial(rows, kind)


def _polynomial(rows: tuple[Row, ...], kind: CurveKind) -> Fit:
    signals, known, numbers = pairs(rows)
    squares = fit_polynomial(signals, known, DEGREE[kind])
    curve = Curve(kind, min(signals), max(signals), coefficients=squares.coefficients)
    return Fit(curve, tuple(zip(numbers, squares.residuals, strict=True)), squares)


def _pieces(rows: tuple[Row, ...]) -> Fit:
    curve = _through(rows)
    ordered = sorted(rows, key=lambda row: row.mean_signal)
    off = []
    for place, row in enumerate(ordered):
        inner = 0 < place < len(ordered) - 1
        # The outermost rows have no neighbour beyond them: only their own spread is judged.
        judge = _through(tuple(other for other in rows if other is not row)) if inner else curve
        off += [(row.number, row.known - judge.value(take.signal)) for take in row.takes]
    return Fit(curve, tuple(off), None)


def _through(rows: tuple[Row, ...]) -> Curve:
    """One knot for each known value; rows of the same value share it."""
    signals: dict[float, list[float]] = {}
    for row in rows:
        signals.setdefault(row.known, []).append(row.mean_signal)
    knots = tuple(sorted((math.fsum(s) / len(s), known) for known, s in signals.items()))
    return Curve(CurveKind.MONOTONE, knots[0][0], knots[-1][0], knots=knots)


def turns_within(curve: Curve) -> bool:
    """Whether a quadratic has its turning point inside what was proven: two depths, one signal."""
    if curve.kind is not CurveKind.QUADRATIC or curve.coefficients[2] == 0:
        return False
    turn = -curve.coefficients[1] / (2 * curve.coefficients[2])
    return curve.x_least < turn < curve.x_most


def slope_of(curve: Curve) -> float:
    """Mean slope over the proven range, SI a wire unit."""
    rise = curve.value(curve.x_most) - curve.value(curve.x_least)
    return rise / (curve.x_most - curve.x_least)

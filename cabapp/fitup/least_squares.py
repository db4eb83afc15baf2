"""Polynomial least squares with its uncertainty, by Householder QR on a centred, scaled variable.

Normal equations in the raw variable lose half the digits (a load of 3,000,000 squared against 1);
QR on x moved to -1..1 keeps them. The way back to the caller's own x is done in exact fractions.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


class TooFewPoints(ValueError):
    """Fewer different x than the polynomial has coefficients."""


@dataclass(frozen=True)
class LeastSquares:
    """A fitted polynomial; coefficients and standard errors are lowest power first, in raw x.

    ``residuals`` are measured minus fitted, in the order given; ``residual_sd`` divides by n minus
    the number of coefficients and is 0.0 where none is left over. ``r_squared`` is
    reported because people ask for it; nothing in this room judges by it.
    """

    coefficients: tuple[float, ...]
    standard_errors: tuple[float, ...]
    residual_sd: float
    r_squared: float
    residuals: tuple[float, ...]
    centre: float
    half_span: float
    scaled: tuple[float, ...]
    scaled_root: tuple[tuple[float, ...], ...]  # inverse R: covariance is sd^2 root root'

    def value(self, x: float) -> float:
        """The polynomial at ``x``, evaluated in the scaled variable."""
        t = (x - self.centre) / self.half_span
        return math.fsum(c * t**k for k, c in enumerate(self.scaled))

    def standard_uncertainty(self, x: float) -> float:
        """Standard uncertainty of the fitted value at ``x`` (JCGM 100:2008, H.3.4)."""
        t = (x - self.centre) / self.half_span
        powers = np.array([t**k for k in range(len(self.scaled))])
        return self.residual_sd * float(np.linalg.norm(powers @ np.array(self.scaled_root)))


def fit_polynomial(x: Sequence[float], y: Sequence[float], degree: int) -> LeastSquares:
    """Least squares of y on 1, x .. x^degree; residuals are measured minus fitted.

    Raises TooFewPoints where fewer than degree + 1 different x were given.
    """
    if len(set(x)) < degree + 1:
        raise TooFewPoints(f"{len(set(x))} different points, {degree + 1} needed")
    least, most = min(x), max(x)
    centre, half_span = (least + most) / 2, (most - least) / 2 or 1.0
    powers = np.vander((np.array(x) - centre) / half_span, degree + 1, increasing=True)
    measured = np.array(y, dtype=np.float64)
    root, scaled = _solve(powers, measured)
    residuals = measured - powers @ scaled
    left_over = len(x) - (degree + 1)
    sum_squares = float(residuals @ residuals)
    sd = math.sqrt(sum_squares / left_over) if left_over else 0.0
    exact = _to_raw_powers(degree, centre, half_span)
    return LeastSquares(
        coefficients=tuple(_rows_times(exact, scaled)),
        standard_errors=tuple(sd * _exact_norm(row, root) for row in exact),
        residual_sd=sd,
        r_squared=_r_squared(measured, sum_squares),
        residuals=tuple(float(r) for r in residuals),
        centre=centre,
        half_span=half_span,
        scaled=tuple(float(c) for c in scaled),
        scaled_root=tuple(tuple(float(v) for v in row) for row in root),
    )


def _solve(powers: Array, measured: Array) -> tuple[Array, Array]:
    """Inverse of R, and the coefficients after one refinement on their own residuals."""
    q, r = np.linalg.qr(powers)
    coefficients = np.linalg.solve(r, q.T @ measured)
    rest = measured - powers @ coefficients
    coefficients = coefficients + np.linalg.solve(r, q.T @ rest)
    return np.linalg.inv(r), coefficients


def _to_raw_powers(degree: int, centre: float, half_span: float) -> list[list[Fraction]]:
    """Row j, column k: how much of x^j lies in ((x - centre) / half_span)^k, exactly."""
    moved, stretched = Fraction(-centre), Fraction(1) / Fraction(half_span)
    return [
        [
            Fraction(math.comb(k, j)) * moved ** (k - j) * stretched**k if k >= j else Fraction(0)
            for k in range(degree + 1)
        ]
        for j in range(degree + 1)
    ]


def _rows_times(rows: list[list[Fraction]], scaled: Array) -> list[float]:
    exact = [Fraction(float(c)) for c in scaled]
    return [float(sum(a * c for a, c in zip(row, exact, strict=True))) for row in rows]


def _exact_norm(row: list[Fraction], root: Array) -> float:
    """Length of ``row`` times ``root``; the products are exact, since their sums cancel."""
    columns = [
        float(sum(a * Fraction(float(v)) for a, v in zip(row, column, strict=True)))
        for column in root.T
    ]
    return math.hypot(*columns)


def _r_squared(measured: Array, sum_squares: float) -> float:
    about_mean = float(np.sum((measured - np.mean(measured)) ** 2))
    return 1.0 - sum_squares / about_mean if about_mean > 0 else 1.0

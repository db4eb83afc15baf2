"""Polynomial least squares with its uncertainty, by Householder QR on a centred, scaled variable.

Normal equations in the raw variable lose half the digits (a load of 3,000,000 squared against 1);
QR on x moved to -1..1 keeps them. The way back to the caller's own x is done in exact fractions.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

import numpy as np
import numpy.typing as npt

Array = npt.NDArray[np.float64]


class TooFewPoints(ValueError):
    """Fewer different x than the polynomial has coefficients."""


@dataclass(frozen=True)
class LeastSquares:
    """A fitted polynomial in t = (x - centre) / half_span, and its account in raw x.

    ``residuals`` are measured minus fitted, in the order given; ``residual_sd`` divides by n minus
    the number of coefficients and is 0.0 where none is left over. ``r_squared`` is reported
    because people ask for it; nothing in this room judges by it.
    """

    residual_sd: float
    r_squared: float
    residuals: tuple[float, ...]
    centre: float
    half_span: float
    scaled: tuple[float, ...]  # coefficients of t, lowest power first
    scaled_root: tuple[tuple[float, ...], ...]  # inverse R: covariance is sd^2 root root'

    @cached_property
    def coefficients(self) -> tuple[float, ...]:
        """Coefficients of raw x, lowest power first."""
        exact = [Fraction(c) for c in self.scaled]
        return tuple(
            float(sum(a * c for a, c in zip(row, exact, strict=True))) for row in self._to_raw
        )

    @cached_property
    def standard_errors(self) -> tuple[float, ...]:
        """Standard errors of ``coefficients``; sums that cancel are made exactly."""
        columns = [[Fraction(v) for v in column] for column in zip(*self.scaled_root, strict=True)]
        return tuple(
            self.residual_sd
            * math.hypot(*(float(sum(a * v for a, v in zip(row, c, strict=True))) for c in columns))
            for row in self._to_raw
        )

    def value(self, x: float) -> float:
        """The polynomial at ``x``, evaluated in the scaled variable."""
        t = (x - self.centre) / self.half_span
        return math.fsum(c * t**k for k, c in enumerate(self.scaled))

    @cached_property
    def _to_raw(self) -> list[list[Fraction]]:
        """Row j, column k: how much of x^j lies in ((x - centre) / half_span)^k, exactly."""
        moved, stretched = Fraction(-self.centre), 1 / Fraction(self.half_span)
        powers = range(len(self.scaled))
        return [
            [math.comb(k, j) * moved ** max(k - j, 0) * stretched**k for k in powers]
            for j in powers
        ]


def fit_polynomial(x: Sequence[float], y: Sequence[float], degree: int) -> LeastSquares:
    """Least squares of y on 1, x .. x^degree.

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
    return LeastSquares(
        residual_sd=math.sqrt(sum_squares / left_over) if left_over else 0.0,
        r_squared=_r_squared(measured, sum_squares),
        residuals=tuple(residuals.tolist()),
        centre=centre,
        half_span=half_span,
        scaled=tuple(scaled.tolist()),
        scaled_root=tuple(tuple(row) for row in root.tolist()),
    )


def _solve(powers: Array, measured: Array) -> tuple[Array, Array]:
    """Inverse of R, and the coefficients after one refinement on their own residuals."""
    q, r = np.linalg.qr(powers)
    coefficients = np.linalg.solve(r, q.T @ measured)
    rest = measured - powers @ coefficients
    coefficients = coefficients + np.linalg.solve(r, q.T @ rest)
    return np.linalg.inv(r), coefficients


def _r_squared(measured: Array, sum_squares: float) -> float:
    about_mean = float(np.sum((measured - np.mean(measured)) ** 2))
    return 1.0 - sum_squares / about_mean if about_mean > 0 else 1.0

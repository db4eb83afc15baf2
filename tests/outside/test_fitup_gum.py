"""The calibration of a thermometer worked through in JCGM 100:2008 (GUM), example H.3."""

import pytest

from cabapp.fitup.least_squares import fit_polynomial

READINGS_C = [
    21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511,
]  # fmt: skip
CORRECTIONS_C = [
    -0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.160,
]  # fmt: skip


def _fit():
    return fit_polynomial([t - 20.0 for t in READINGS_C], CORRECTIONS_C, 1)


def test_intercept_slope_and_their_uncertainties():
    fit = _fit()
    assert fit.coefficients[0] == pytest.approx(-0.1712, abs=5e-5)
    assert fit.standard_errors[0] == pytest.approx(0.0029, abs=5e-5)
    assert fit.coefficients[1] == pytest.approx(0.00218, abs=5e-6)
    assert fit.standard_errors[1] == pytest.approx(0.00067, abs=5e-6)
    assert fit.residual_sd == pytest.approx(0.0035, abs=5e-5)


def test_a_correction_beyond_the_points():
    fit = _fit()
    assert fit.value(30.0 - 20.0) == pytest.approx(-0.1494, abs=5e-5)

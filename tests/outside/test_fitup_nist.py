"""Least squares against certified values.

Source: NIST Statistical Reference Datasets, linear regression, sets "Norris" and "Pontius"
(U.S. Government work, public domain). Pontius is a real load-cell calibration.
"""

import pytest

from cabapp.curve import CurveKind
from cabapp.fitup.findings import Fault, Measure
from cabapp.fitup.judge import Verdict, judge
from cabapp.fitup.least_squares import fit_polynomial
from cabapp.fitup.points import Approach, Place, Row, Take
from cabapp.fitup.scaling import Wire
from cabapp.fitup.task import Task

NINE_DIGITS = 1e-9

NORRIS = [  # (y, x) as the source lists them
    (0.1, 0.2), (338.8, 337.4), (118.1, 118.2), (888.0, 884.6), (9.2, 10.1), (228.1, 226.5),
    (668.5, 666.3), (998.5, 996.3), (449.1, 448.6), (778.9, 777.0), (559.2, 558.2), (0.3, 0.4),
    (0.1, 0.6), (778.1, 775.5), (668.8, 666.9), (339.3, 338.0), (448.9, 447.5), (10.8, 11.6),
    (557.7, 556.0), (228.3, 228.1), (998.0, 995.8), (888.8, 887.6), (119.6, 120.2), (0.3, 0.3),
    (0.6, 0.3), (557.6, 556.8), (339.3, 339.1), (888.0, 887.2), (998.5, 999.0), (778.9, 779.0),
    (10.2, 11.1), (117.6, 118.3), (228.9, 229.2), (668.4, 669.1), (449.2, 448.9), (0.2, 0.5),
]  # fmt: skip
PONTIUS_FIRST = [
    0.11019, 0.21956, 0.32949, 0.43899, 0.54803, 0.65694, 0.76562, 0.87487, 0.98292, 1.09146,
    1.20001, 1.30822, 1.41599, 1.52399, 1.63194, 1.73947, 1.84646, 1.95392, 2.06128, 2.16844,
]  # fmt: skip
PONTIUS_SECOND = [
    0.11052, 0.22018, 0.32939, 0.43886, 0.54798, 0.65739, 0.76596, 0.87474, 0.98300, 1.09150,
    1.20004, 1.30818, 1.41613, 1.52408, 1.63159, 1.73965, 1.84696, 1.95445, 2.06177, 2.16829,
]  # fmt: skip
PONTIUS_LOADS = [150_000.0 * step for step in range(1, 21)]


def test_norris_straight_line_agrees_to_nine_digits():
    fit = fit_polynomial([x for _, x in NORRIS], [y for y, _ in NORRIS], 1)
    assert fit.coefficients[0] == pytest.approx(-0.262323073774029, rel=NINE_DIGITS)
    assert fit.coefficients[1] == pytest.approx(1.00211681802045, rel=NINE_DIGITS)
    assert fit.standard_errors[0] == pytest.approx(0.232818234301152, rel=NINE_DIGITS)
    assert fit.standard_errors[1] == pytest.approx(0.429796848199937e-03, rel=NINE_DIGITS)
    assert fit.residual_sd == pytest.approx(0.884796396144373, rel=NINE_DIGITS)
    assert fit.r_squared == pytest.approx(0.999993745883712, rel=1e-12)
    assert sum(r * r for r in fit.residuals) == pytest.approx(26.6173985294224, rel=NINE_DIGITS)


def test_pontius_quadratic_agrees_to_nine_digits():
    fit = fit_polynomial(PONTIUS_LOADS * 2, PONTIUS_FIRST + PONTIUS_SECOND, 2)
    assert fit.coefficients[0] == pytest.approx(6.73565789473684e-04, rel=NINE_DIGITS)
    assert fit.coefficients[1] == pytest.approx(7.32059160401003e-07, rel=NINE_DIGITS)
    assert fit.coefficients[2] == pytest.approx(-3.16081871345029e-15, rel=NINE_DIGITS)
    assert fit.residual_sd == pytest.approx(2.05177424076185e-04, rel=NINE_DIGITS)
    assert fit.r_squared == pytest.approx(0.999999900178537, rel=1e-13)


def _pontius_rows() -> tuple[Row, ...]:
    """As a calibration is taken: known loads in two runs, and the cell's deflection at each."""
    return tuple(
        Row(
            number,
            load,
            Place.SHED,
            (Take(first, Approach.UP, first, first), Take(second, Approach.UP, second, second)),
        )
        for number, (load, first, second) in enumerate(
            zip(PONTIUS_LOADS, PONTIUS_FIRST, PONTIUS_SECOND, strict=True), start=1
        )
    )


PONTIUS_TASK = Task(
    Measure("N"),
    Wire("in", 0.0, 3.0, 0.0005),
    off=0.02 * 3_000_000,
    least=0.0,
    most=4_000_000.0,
    used_least=0.0,
    used_most=3_000_000.0,
)


def test_pontius_straight_line_is_refused_although_r_squared_is_0_99998():
    judgement = judge(_pontius_rows(), PONTIUS_TASK, CurveKind.LINEAR)
    assert judgement.r_squared is not None and judgement.r_squared > 0.99998
    assert max(abs(off) for _, off in judgement.off) < PONTIUS_TASK.off  # within 2 % everywhere
    assert judgement.verdict is Verdict.REFUSED
    assert [f.fault for f in judgement.findings if f.fault is Fault.CURVED]


def test_pontius_quadratic_is_not_refused_and_ten_times_closer():
    line = judge(_pontius_rows(), PONTIUS_TASK, CurveKind.LINEAR)
    curve = judge(_pontius_rows(), PONTIUS_TASK, CurveKind.QUADRATIC)
    assert curve.verdict is not Verdict.REFUSED
    assert curve.residual_sd is not None and line.residual_sd is not None
    assert curve.residual_sd < line.residual_sd / 10


@pytest.mark.parametrize("base", [1.0, 0.1])
def test_steep_exact_polynomials_come_back(base):
    """The "Wampler" sets of the same source: y is an exact fifth power of x = 0 .. 20."""
    x = [float(k) for k in range(21)]
    y = [sum((base * v) ** power for power in range(6)) for v in x]
    fit = fit_polynomial(x, y, 5)
    for power, found in enumerate(fit.coefficients):
        assert found == pytest.approx(base**power, rel=NINE_DIGITS)

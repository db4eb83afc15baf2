"""Terms of a transducer's calibration: hysteresis, residual and terminal-based linearity.

Definitions as in ANSI/ISA-37.1 (known from secondary texts; the standard itself was not read).
The counts are a constructed example, worked apart with a general least-squares library.
"""

import numpy as np
import pytest

from cabapp.curve import CurveKind
from cabapp.fitup.findings import Measure
from cabapp.fitup.judge import judge
from cabapp.fitup.points import pairs, rows_from
from cabapp.fitup.scaling import Wire
from cabapp.fitup.task import Task
from cabapp.units import INCH_M

DEPTHS_IN = [0, 2, 4, 6, 8, 10, 12, 14]
UP = [102, 218, 331, 447, 560, 677, 790, 905]
DOWN = [105, 223, 337, 453, 566, 681, 793, 905]
TASK = Task(
    Measure("in"),
    Wire("counts", 0, 1023, 1.0),
    off=0.25 * INCH_M,
    least=-0.6,
    most=0.9,
    used_least=0.0,
    used_most=14 * INCH_M,
)


def _judged():
    rows = rows_from([depth * INCH_M for depth in DEPTHS_IN], UP, DOWN)
    return rows, judge(rows, TASK, CurveKind.LINEAR)


def test_the_line_and_its_largest_residual():
    rows, judged = _judged()
    assert judged.curve is not None
    offset, slope = (c / INCH_M for c in judged.curve.coefficients)
    assert slope == pytest.approx(0.01747378, abs=5e-9)
    assert offset == pytest.approx(-1.838455, abs=5e-7)
    assert max(abs(off) for _, off in judged.off) / INCH_M == pytest.approx(0.0772, abs=5e-5)
    assert judged.residual_sd == pytest.approx(0.04756 * INCH_M, rel=1e-3)
    assert judged.r_squared == pytest.approx(0.99990576, abs=5e-9)
    signals, known, _ = pairs(rows)
    assert judged.curve.coefficients == pytest.approx(np.polyfit(signals, known, 1)[::-1])


def test_hysteresis_and_terminal_based_linearity():
    _, judged = _judged()
    assert judged.play is not None and judged.curve is not None
    assert judged.play.hysteresis == pytest.approx(6.0)
    assert judged.play.hysteresis_share == pytest.approx(0.00749, abs=5e-6)
    in_inches = judged.play.hysteresis * judged.curve.coefficients[1] / INCH_M
    assert in_inches == pytest.approx(0.105, abs=5e-4)
    assert judged.play.terminal_line_off == pytest.approx(0.00374, abs=5e-6)

"""A spring calibrated by two witnessed points: its curve gives shares of the trip by itself."""

import pytest

from cabapp.curve import Curve, CurveKind
from cabapp.hear.lines import Lines
from cabapp.hear.transducers import Transducers
from cabapp.readings import Quality
from cabapp.rig import Sensor
from tests.sentences import sentence

SHARES = Curve(CurveKind.LINEAR, 0.6, 3.6, coefficients=(-0.2, 1 / 3))


def reading(sensor, volts):
    sensors = Transducers((sensor,))
    for line in Lines().feed(sentence(f"YXXDR,U,{volts:.3f},V,SPRING1"), 1.0):
        sensors.hear("node", line)
    return sensors.reading("spring1", 1.0)


@pytest.mark.parametrize(("volts", "share"), [(0.6, 0.0), (2.1, 0.5), (3.6, 1.0), (4.2, 1.2)])
def test_lifted_is_nothing_and_the_witnessed_trip_is_all(volts, share):
    sensor = Sensor("spring1", "SPRING1", "node", "V", shank=1, curve=SHARES)
    assert reading(sensor, volts).value == pytest.approx(share, abs=1e-3)


def test_a_spring_with_neither_curve_nor_trip_is_not_calibrated():
    sensor = Sensor("spring1", "SPRING1", "node", "V", shank=1)
    assert reading(sensor, 2.0).quality is Quality.NOT_CALIBRATED

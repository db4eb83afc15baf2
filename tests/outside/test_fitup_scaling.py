"""Scaling of common sensor signals, and the geometry of a gauge arm.

The 4 to 20 mA live zero is that of IEC 60381-1; the 0.5 to 4.5 V ratiometric range and the fault
bounds are common practice; the arm figures are plane trigonometry worked by hand.
"""

import pytest

from cabapp.fitup.arm import depth_change_m, depth_per_degree_m
from cabapp.fitup.scaling import (
    WIRES,
    converter_counts,
    current_share,
    ratiometric_share,
    span_per_count,
)
from cabapp.units import INCH_M


@pytest.mark.parametrize(
    ("current_ma", "load_lbf"), [(4, 0), (8, 750), (12, 1500), (20, 3000), (3.5, -93.75)]
)
def test_a_3000_pound_sensor_on_a_current_loop(current_ma, load_lbf):
    assert current_share(current_ma) * 3000 == pytest.approx(load_lbf)


def test_a_broken_loop_is_a_fault_and_not_a_negative_load():
    assert not WIRES["mA"].is_sound(3.5)
    assert not WIRES["mA"].is_sound(21.1)
    assert WIRES["mA"].is_sound(3.8) and WIRES["mA"].is_sound(20.5)


@pytest.mark.parametrize(("volts", "share"), [(0.5, 0.0), (2.5, 0.5), (4.5, 1.0)])
def test_half_to_four_and_a_half_volts(volts, share):
    assert ratiometric_share(volts, supply_v=5.0) == pytest.approx(share)


def test_a_sagging_supply_does_not_move_a_ratiometric_sensor():
    assert ratiometric_share(2.4, supply_v=4.8) == pytest.approx(0.5)
    assert ratiometric_share(2.4, supply_v=5.0) != pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize("volts", [0.0, 0.24, 4.76, 5.0, float("nan")])
def test_volts_outside_the_dead_zones_are_a_wire_fault(volts):
    assert not WIRES["V"].is_sound(volts)


@pytest.mark.parametrize(
    ("bits", "volts", "counts"),
    [(10, 0.5, 102.3), (10, 4.5, 920.7), (12, 0.5, 409.5), (12, 4.5, 3685.5)],
)
def test_converter_counts(bits, volts, counts):
    assert converter_counts(volts, bits, 5.0) == pytest.approx(counts)


def test_one_count_of_a_ten_bit_converter_is_a_fiftieth_of_an_inch():
    assert span_per_count(16.0, 4.0, 10, 5.0) == pytest.approx(0.0196, abs=5e-5)


@pytest.mark.parametrize(("now_deg", "inches"), [(30, 1.766), (25, 3.623), (20, 5.557)])
def test_a_24_inch_arm_rising_from_35_degrees(now_deg, inches):
    assert depth_change_m(24 * INCH_M, 35, now_deg) / INCH_M == pytest.approx(inches, abs=5e-4)


def test_the_arm_grows_more_sensitive_as_it_comes_level():
    assert depth_per_degree_m(24 * INCH_M, 35) / INCH_M == pytest.approx(0.343, abs=5e-4)
    assert depth_per_degree_m(24 * INCH_M, 20) / INCH_M == pytest.approx(0.394, abs=5e-4)

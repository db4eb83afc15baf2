"""Field capacity against the published rows.

Iowa State University Extension PM 696 and AgDM A3-24 print field capacity to 0.1 acre an hour.
The twelve rows checked here are those at hand; the publications hold more, and their method is the
one formula for all of them.
"""

import pytest

from cabapp.trade.capacity import (
    USUAL_SPEED_MPS,
    USUAL_SPEED_SOURCE,
    effective_width_m,
    field_capacity_m2_s,
    field_efficiency,
    finish_s,
)
from cabapp.trade.sources import Provenance
from cabapp.units import ACRE_M2, FOOT_M, HECTARE_M2, INCH_M, MPH_MPS

ROWS = [
    # width ft, speed mph, efficiency, acres an hour as printed
    (10.0, 5.0, 0.85, 5.2),  # subsoiler, 5 at 24 in
    (12.5, 5.0, 0.85, 6.4),  # subsoiler, 5 at 30 in
    (14.0, 5.0, 0.85, 7.2),  # subsoiler, 7 at 24 in
    (17.5, 5.0, 0.83, 8.8),  # subsoiler, 7 at 30 in
    (11.25, 5.5, 0.85, 6.4),  # chisel plow
    (13.75, 5.5, 0.85, 7.8),
    (16.25, 5.5, 0.83, 9.0),
    (8 * 16 / 12, 5.0, 0.85, 5.5),  # moldboard, 8 at 16 in
    (12 * 18 / 12, 5.0, 0.83, 9.1),  # moldboard, 12 at 18 in
    (40.0, 6.0, 0.70, 20.4),
    (60.0, 12.0, 0.68, 59.3),
    (45.0, 5.0, 0.60, 16.4),
]


def acres_an_hour(m2_s: float) -> float:
    return m2_s * 3600.0 / ACRE_M2


@pytest.mark.parametrize(("width_ft", "speed_mph", "efficiency", "printed"), ROWS)
def test_field_capacity_is_as_printed(
    width_ft: float, speed_mph: float, efficiency: float, printed: float
) -> None:
    rate = field_capacity_m2_s(speed_mph * MPH_MPS, width_ft * FOOT_M, efficiency)
    # Printed to 0.1; 8 x 16 in and 12 x 18 in come to 5.49 and 9.05.
    assert acres_an_hour(rate) == pytest.approx(printed, abs=0.0501)


def test_the_rule_of_eight_and_a_quarter_is_exact() -> None:
    # EP496 in US units: mph x ft x efficiency / 8.25. 43,560 over 5,280 is 8.25 exactly.
    rate = field_capacity_m2_s(5.5 * MPH_MPS, 17.5 * FOOT_M, 0.85)
    assert acres_an_hour(rate) == pytest.approx(5.5 * 17.5 * 0.85 / 8.25, rel=1e-12)
    assert acres_an_hour(rate) == pytest.approx(9.917, abs=0.001)
    assert rate * 3600 / HECTARE_M2 == pytest.approx(4.013, abs=0.001)


def test_a_foot_of_overlap_costs_its_share() -> None:
    # Reckoned from the same formula.
    width_m = effective_width_m(17.5 * FOOT_M, 12 * INCH_M)
    rate = field_capacity_m2_s(5.5 * MPH_MPS, width_m, 0.85)
    assert acres_an_hour(rate) == pytest.approx(9.350, abs=0.001)


def test_efficiency_of_an_hour_of_work() -> None:
    # Reckoned from the same formula: 9.2 acres in 1.10 h at 17.5 ft and 5.5 mph.
    share = field_efficiency(9.2 * ACRE_M2, 1.10 * 3600, 5.5 * MPH_MPS, 17.5 * FOOT_M)
    assert share == pytest.approx(0.7169, abs=0.0001)


def test_finish_time_is_area_left_over_rate() -> None:
    rate = field_capacity_m2_s(5.0 * MPH_MPS, 17.5 * FOOT_M, 0.83)
    left_s = finish_s(44.0 * ACRE_M2, rate)
    assert left_s is not None
    assert left_s / 3600 == pytest.approx(44.0 / (5 * 17.5 * 0.83 / 8.25), rel=1e-12)


def test_five_to_seven_miles_an_hour_is_marked_common_practice() -> None:
    # Common practice for a combination ripper; no published source.
    assert pytest.approx((5.0, 7.0)) == [speed / MPH_MPS for speed in USUAL_SPEED_MPS]
    assert USUAL_SPEED_SOURCE.provenance is Provenance.PRACTICE

"""Field efficiency and rates against extension tables.

Iowa State University PM 696 and AgDM A3-24, table of field capacities (seen): width in feet, speed
in mph, efficiency, acres an hour printed to 0.1.
"""

from dataclasses import replace

import pytest

from cabapp.outcome import Row
from cabapp.review.hours import hours_of
from cabapp.review.shift import load_shift
from cabapp.rig import Rig, Tool
from cabapp.units import ACRE_M2, FOOT_M, MPH_MPS
from tests.review.runs import hand_made, row

TABLE = (
    (10.0, 5.0, 0.85, 5.2),
    (12.5, 5.0, 0.85, 6.4),
    (14.0, 5.0, 0.85, 7.2),
    (17.5, 5.0, 0.83, 8.8),
    (11.25, 5.5, 0.85, 6.4),
    (16.25, 5.5, 0.83, 9.0),
)


@pytest.mark.parametrize(("width_ft", "mph", "efficiency", "acres_an_hour"), TABLE)
def test_a_shift_with_the_table_s_lost_time_has_the_table_s_rate(
    width_ft: float, mph: float, efficiency: float, acres_an_hour: float
) -> None:
    """Work at the table's speed for its share of the time; the rest passes in turns."""
    rig = Rig(id="table", tool=Tool(width_m=width_ft * FOOT_M, hitch_back_m=0.0, lag_m=0.0))
    speed = mph * MPH_MPS
    rows: list[Row] = []
    north = 52.0
    for second in range(1000):
        works = second % 100 < 100 * efficiency or second > 990
        one = row(second, "in" if works else "idle", "working" if works else "turning",
                  speed_mps=speed)  # fmt: skip
        rows.append(replace(one, lat_deg=north))
        if works:
            north += speed / 111_270.0
    hours = hours_of(load_shift(hand_made("table.gpkg", rows, rig=rig)))
    assert hours.efficiency == pytest.approx(efficiency, abs=0.02)
    rate = (hours.rate_m2_s or 0.0) * 3600 / ACRE_M2
    assert rate == pytest.approx(acres_an_hour, rel=0.03)


def test_the_worked_example_of_ten_acres_short_of_an_hour() -> None:
    """9.2 ac in 1.10 h with 17.5 ft at 5.5 mph: 0.717 by the formula of EP496 as PM 696 uses it."""
    from cabapp.trade.capacity import field_efficiency

    found = field_efficiency(9.2 * ACRE_M2, 1.10 * 3600, 5.5 * MPH_MPS, 17.5 * FOOT_M)
    assert found == pytest.approx(9.2 / 1.10 * 8.25 / (5.5 * 17.5), rel=1e-4)

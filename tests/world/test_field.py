"""Layouts put the tractor where a driver would: beside the last pass, turned round."""

import math

import pytest

from cabapp.world.constants import FIRST
from cabapp.world.drive import end_of
from cabapp.world.field import headland, in_lands, passes


@pytest.mark.parametrize("spacing_m", [2.0, 5.2, 15.5, 18.0, 21.0, 40.0])
@pytest.mark.parametrize("right", [True, False])
def test_a_headland_turn_ends_beside_where_it_began_and_heads_back(
    spacing_m: float, right: bool
) -> None:
    x = y = heading = 0.0
    for leg in headland("turn", spacing_m, right, FIRST):
        x, y, heading = end_of(leg, x, y, heading)
    assert x == pytest.approx(spacing_m if right else -spacing_m, abs=1e-9)
    assert y == pytest.approx(0.0, abs=1e-9)
    assert math.cos(heading) == pytest.approx(-1.0)


@pytest.mark.parametrize("count", [8, 16, 32])
def test_lands_work_every_lane_exactly_once(count: int) -> None:
    assert sorted(in_lands(count)) == list(range(count))


def test_each_pass_lies_in_its_own_lane() -> None:
    x = y = heading = 0.0
    starts = []
    for leg in passes((0, 4, 1, 5, 2), 100.0, 5.0, FIRST):
        if leg.tool_down:
            starts.append(round(x, 6) + 0.0)
        x, y, heading = end_of(leg, x, y, heading)
    assert starts == pytest.approx([0.0, 20.0, 5.0, 25.0, 10.0])

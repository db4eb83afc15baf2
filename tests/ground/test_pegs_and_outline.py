"""Pegs that speak before the tool gets there, and how far the field's edge is."""

import pytest

from cabapp.events import Peg
from cabapp.ground.outline import Outline
from cabapp.ground.pegs import pegs_ahead
from cabapp.trade.geodesy import LocalPlane

PLANE = LocalPlane.at(52.0, 5.0)


def peg(number: int, x_m: float, y_m: float, kind: str = "stone") -> Peg:
    lat, lon = PLANE.to_lat_lon(x_m, y_m)
    return Peg(number, kind, lat, lon)


def ahead(*pegs: Peg, course_deg: float = 0.0) -> list[int]:
    found = pegs_ahead(pegs, 52.0, 5.0, course_deg, width_m=5.0)
    return [item.peg.number for item in found]


def test_pegs_in_the_way_come_nearest_first() -> None:
    assert ahead(peg(1, 0.0, 50.0), peg(2, 1.0, 20.0)) == [2, 1]


def test_pegs_behind_beside_or_too_far_say_nothing() -> None:
    assert ahead(peg(1, 0.0, -5.0), peg(2, 9.0, 30.0), peg(3, 0.0, 61.0)) == []


def test_the_same_peg_lies_ahead_on_the_way_back() -> None:
    assert ahead(peg(1, 0.0, -40.0), course_deg=180.0) == [1]


def test_a_pipe_speaks_from_far_to_the_side_since_it_runs_on() -> None:
    assert ahead(peg(1, 25.0, 30.0, "pipe"), peg(2, 25.0, 30.0, "stone")) == [1]


def test_the_distance_ahead_is_along_the_course() -> None:
    (found,) = pegs_ahead([peg(1, 1.0, 42.0)], 52.0, 5.0, 0.0, width_m=5.0)
    assert found.ahead_m == pytest.approx(42.0, abs=0.01)
    assert found.right_m == pytest.approx(1.0, abs=0.01)


def square() -> Outline:
    corners = [(0.0, 0.0), (200.0, 0.0), (200.0, 100.0), (0.0, 100.0)]
    return Outline(tuple(PLANE.to_lat_lon(x, y) for x, y in corners))


@pytest.mark.parametrize(
    ("x_m", "y_m", "edge_m"),
    [(100.0, 50.0, 50.0), (10.0, 50.0, 10.0), (-30.0, 50.0, -30.0), (203.0, 104.0, -5.0)],
)
def test_the_edge_is_positive_inside_and_negative_outside(
    x_m: float, y_m: float, edge_m: float
) -> None:
    assert square().edge_distance_m(*PLANE.to_lat_lon(x_m, y_m)) == pytest.approx(edge_m, abs=0.01)


def test_the_outline_knows_its_area() -> None:
    assert square().area_m2 == pytest.approx(20_000.0, rel=1e-5)


def test_a_line_is_no_outline() -> None:
    with pytest.raises(ValueError, match="three or more"):
        Outline(((52.0, 5.0), (52.1, 5.0)))

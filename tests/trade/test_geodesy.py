"""The local plane: there and back, arrays and single points alike, and what it refuses."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cabapp.trade.geodesy import LocalPlane, destination, geodesic


@settings(deadline=None)
@given(st.floats(-80, 80), st.floats(-180, 180), st.floats(-2e4, 2e4), st.floats(-2e4, 2e4))
def test_there_and_back_is_the_same_place(
    lat: float, lon: float, east_m: float, north_m: float
) -> None:
    plane = LocalPlane.at(lat, lon)
    east, north = plane.to_xy(*plane.to_lat_lon(east_m, north_m))
    assert east == pytest.approx(east_m, abs=1e-6)
    assert north == pytest.approx(north_m, abs=1e-6)


def test_the_origin_is_zero_and_north_is_up() -> None:
    plane = LocalPlane.at(41.0, -93.0)
    assert plane.to_xy(41.0, -93.0) == pytest.approx((0.0, 0.0), abs=1e-9)
    east, north = plane.to_xy(41.001, -92.999)
    assert east > 0
    assert north > 0


def test_many_points_lie_where_each_alone_would() -> None:
    plane = LocalPlane.at(-33.0, 148.0)
    lats, lons = np.array([-33.0, -33.01, -32.99]), np.array([148.0, 148.02, 147.97])
    east, north = plane.to_xy(lats, lons)
    for index in range(3):
        single = plane.to_xy(float(lats[index]), float(lons[index]))
        assert single == pytest.approx((east[index], north[index]), abs=1e-9)
    back = plane.to_lat_lon(east, north)
    assert np.allclose(back[0], lats, atol=1e-12)
    assert np.allclose(back[1], lons, atol=1e-12)


def test_a_field_on_the_date_line_is_one_field() -> None:
    plane = LocalPlane.at(-17.0, 179.999)
    east, _ = plane.to_xy(-17.0, -179.999)
    assert east == pytest.approx(212.9, abs=0.2)
    _, lon = plane.to_lat_lon(east, 0.0)
    assert lon == pytest.approx(-179.999, abs=1e-9)


def test_points_without_a_fix_stay_without_a_place() -> None:
    east, north = LocalPlane.at(41.0, -93.0).to_xy(
        np.array([41.0, math.nan]), np.array([-93.0, math.nan])
    )
    assert np.isnan(east).tolist() == [False, True]
    assert np.isnan(north).tolist() == [False, True]


@pytest.mark.parametrize(("lat", "lon"), [(math.nan, 0), (91, 0), (0, 181), (0, math.nan), (90, 0)])
def test_an_origin_that_is_no_field_is_refused(lat: float, lon: float) -> None:
    with pytest.raises(ValueError, match="found"):
        LocalPlane.at(lat, lon)


@pytest.mark.parametrize(("lat", "lon"), [(math.nan, -93), (41, math.nan), (-93, 41), (91, -93)])
def test_swapped_or_unknown_points_are_refused(lat: float, lon: float) -> None:
    plane = LocalPlane.at(41.0, -93.0)
    with pytest.raises(ValueError, match="swapped columns"):
        plane.to_xy(lat, lon)
    with pytest.raises(ValueError, match="two finite numbers"):
        plane.to_lat_lon(math.nan, 0.0)
    if not math.isnan(lat + lon):
        with pytest.raises(ValueError, match="swapped columns"):
            plane.to_xy(np.array([lat]), np.array([lon]))


def test_a_point_to_itself_is_no_line() -> None:
    assert geodesic(41.0, -93.0, 41.0, -93.0) == (0.0, 0.0)


@pytest.mark.parametrize(
    ("ahead", "azimuth"), [((1, 0), 0), ((0, 1), 90), ((-1, 0), 180), ((0, -1), 270)]
)
def test_the_four_winds_from_the_equator(ahead: tuple[float, float], azimuth: float) -> None:
    assert geodesic(0.0, 0.0, *ahead)[1] == pytest.approx(azimuth, abs=1e-9)


@settings(deadline=None)
@given(st.floats(-89, 89), st.floats(-180, 180), st.floats(-89, 89), st.floats(-180, 180))
def test_a_line_is_as_long_there_as_back(
    lat1: float, lon1: float, lat2: float, lon2: float
) -> None:
    there, _ = geodesic(lat1, lon1, lat2, lon2)
    back, _ = geodesic(lat2, lon2, lat1, lon1)
    assert there == pytest.approx(back, abs=1e-5)


def test_going_backwards_undoes_going_forwards() -> None:
    lat, lon = destination(41.0, -93.0, 30.0, -1000.0)
    assert destination(41.0, -93.0, 210.0, 1000.0) == pytest.approx((lat, lon), abs=1e-12)


def test_lines_from_nowhere_are_refused() -> None:
    for bad in ((91, 0, 0, 0), (0, 0, -91, 0), (math.nan, 0, 0, 0), (0, math.inf, 0, 0)):
        with pytest.raises(ValueError, match="found"):
            geodesic(*bad)
    for start in ((91, 0, 0, 1), (0, math.nan, 0, 1), (0, 0, math.nan, 1), (0, 0, 0, math.inf)):
        with pytest.raises(ValueError, match="found"):
            destination(*start)

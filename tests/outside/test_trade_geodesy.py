"""The local plane and long lines against published lines and an independent library (pyproj)."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod, Transformer

from cabapp.trade.geodesy import LocalPlane, destination, geodesic

WGS84 = Geod(ellps="WGS84")
LATITUDES = st.floats(-70.0, 70.0)
LONGITUDES = st.floats(-180.0, 180.0)


def test_the_worked_line_of_a_datum_manual() -> None:
    # Geocentric Datum of Australia technical manual, worked inverse problem. GRS 80 and WGS-84
    # differ by less than a micrometre here.
    distance_m, azimuth_deg = geodesic(-37.951033417, 144.424867889, -37.652821139, 143.926495528)
    assert distance_m == pytest.approx(54_972.271, abs=0.001)
    assert azimuth_deg == pytest.approx(306.86816, abs=0.00001)


def test_a_published_line_from_end_to_end_of_an_island() -> None:
    # A widely printed worked example of Vincenty's formula: 969,954.166 m at 9.1419 degrees. Its
    # end points are from memory, to five decimals, and reproduce it.
    distance_m, azimuth_deg = geodesic(50.06632, -5.71475, 58.64402, -3.07009)
    assert distance_m == pytest.approx(969_954.166, abs=0.001)
    assert azimuth_deg == pytest.approx(9.1419, abs=0.00005)


def test_degrees_are_measured_on_the_ellipsoid_and_not_on_a_sphere() -> None:
    # WGS-84 at 40 north: 0.0036 of latitude and 0.0047 of longitude, in metres.
    north_m, _ = geodesic(40.0 - 0.0018, 0.0, 40.0 + 0.0018, 0.0)
    east_m, _ = geodesic(40.0, 0.0, 40.0, 0.0047)
    assert north_m == pytest.approx(399.7248, abs=0.0005)
    assert east_m == pytest.approx(401.3511, abs=0.0005)


@settings(max_examples=150, deadline=None)
@given(lat1=st.floats(-90, 90), lon1=LONGITUDES, lat2=st.floats(-90, 90), lon2=LONGITUDES)
def test_a_line_is_as_long_as_an_independent_library_says(
    lat1: float, lon1: float, lat2: float, lon2: float
) -> None:
    _, _, expected_m = WGS84.inv(lon1, lat1, lon2, lat2)
    distance_m, azimuth_deg = geodesic(lat1, lon1, lat2, lon2)
    assert distance_m == pytest.approx(expected_m, abs=1e-5)
    lat, lon = destination(lat1, lon1, azimuth_deg, distance_m)
    _, _, missed_m = WGS84.inv(lon2, lat2, lon, lat)
    assert missed_m < 1e-4


@settings(max_examples=100, deadline=None)
@given(
    lat=st.floats(-60, 60), lon=LONGITUDES, north=st.floats(-0.5, 0.5), east=st.floats(-0.5, 0.5)
)
def test_nearly_opposite_points_are_solved_too(
    lat: float, lon: float, north: float, east: float
) -> None:
    _, _, expected_m = WGS84.inv(lon, lat, lon + 180 + east, -lat + north)
    distance_m, _ = geodesic(lat, lon, -lat + north, lon + 180 + east)
    assert distance_m == pytest.approx(expected_m, abs=1e-4)


@settings(max_examples=150, deadline=None)
@given(lat=LATITUDES, lon=LONGITUDES, azimuth=st.floats(0, 360), distance=st.floats(0, 2e6))
def test_the_end_of_a_line_is_where_an_independent_library_puts_it(
    lat: float, lon: float, azimuth: float, distance: float
) -> None:
    lon2, lat2, _ = WGS84.fwd(lon, lat, azimuth, distance)
    found_lat, found_lon = destination(lat, lon, azimuth, distance)
    _, _, missed_m = WGS84.inv(lon2, lat2, found_lon, found_lat)
    assert missed_m < 1e-5


@settings(max_examples=200, deadline=None)
@given(
    lat=LATITUDES,
    lon=LONGITUDES,
    out=st.floats(0, 10_000),
    bearing=st.floats(0, 360),
    heading=st.floats(0, 360),
)
def test_a_hundred_metres_anywhere_in_a_field_is_good_to_a_millimetre(
    lat: float, lon: float, out: float, bearing: float, heading: float
) -> None:
    plane = LocalPlane.at(lat, lon)
    lon1, lat1, _ = WGS84.fwd(lon, lat, bearing, out)
    lon2, lat2, _ = WGS84.fwd(lon1, lat1, heading, 100.0)
    x1, y1 = plane.to_xy(lat1, lon1)
    x2, y2 = plane.to_xy(lat2, lon2)
    assert math.hypot(x2 - x1, y2 - y1) == pytest.approx(100.0, abs=0.001)


@pytest.mark.parametrize(("lat", "lon"), [(41.5, -93.6), (-34.2, 142.1), (60.2, 179.99), (0, 0)])
def test_fifty_thousand_points_lie_where_an_independent_projection_puts_them(
    lat: float, lon: float
) -> None:
    places = np.random.default_rng(7).uniform(-0.05, 0.05, (2, 50_000))
    lats, lons = lat + places[0], (lon + places[1] + 180.0) % 360.0 - 180.0
    east, north = LocalPlane.at(lat, lon).to_xy(lats, lons)
    other = Transformer.from_crs(
        "EPSG:4326",
        f"+proj=tmerc +lat_0={lat} +lon_0={lon} +k=1 +ellps=WGS84",
        always_xy=True,
    )
    expected_east, expected_north = other.transform(lons, lats)
    assert np.abs(east - expected_east).max() < 1e-6
    assert np.abs(north - expected_north).max() < 1e-6

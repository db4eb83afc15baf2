"""Worked area against general libraries: unions in a projected plane, distances on the ellipsoid.

The drives: the overlap example below, and 1 Hz tracks of field machines (licences beside them in
tests/outside/tracks). Unions by shapely of the swath pieces in a UTM zone of pyproj, which is a
plane of its own: its scale, up to 4 in 10,000 off, is taken out of both lengths and areas.
"""

import csv
import gzip
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pyproj
import pytest
import shapely

from cabapp.ground.worked import Worked
from cabapp.readings import FixKind
from cabapp.rig import Receiver, Tool
from cabapp.trade.geodesy import LocalPlane

TRACKS = Path(__file__).parent / "tracks"
TOOL = Tool(width_m=5.334, hitch_back_m=2.9, lag_m=4.3)
WITHIN = 0.005
Floats = npt.NDArray[np.float64]


def two_passes(bearing_deg: float) -> Worked:
    """Two passes of 400 m, there and back, 4.334 m apart: 1.000 m of overlap on 5.334 m."""
    plane = LocalPlane.at(41.0, -93.0)
    east, north = math.sin(math.radians(bearing_deg)), math.cos(math.radians(bearing_deg))
    lead = TOOL.hitch_back_m + TOOL.lag_m
    worked = Worked(TOOL, Receiver())
    t_s = 0.0
    for side, back in ((0.0, False), (4.334, True)):
        for step in range(-10, 412):
            along = 400.0 - step - lead if back else step + lead
            lat, lon = plane.to_lat_lon(side * north + along * east, along * north - side * east)
            course = (bearing_deg + 180.0 * back) % 360.0
            worked.fix(t_s, lat, lon, course, 0 <= step < 400, FixKind.FIXED)
            t_s += 0.4
        t_s += 60.0
    return worked


@pytest.mark.parametrize("bearing_deg", [0.0, 17.0, 45.0, 90.0, 121.7, 271.3])
def test_two_overlapping_passes_give_the_worked_example(bearing_deg: float) -> None:
    """Arithmetic of gross and net: 2 x 400 x 5.334 = 4,267.2; less 400 x 1.000 = 3,867.2 m2."""
    worked = two_passes(bearing_deg)
    assert worked.gross_m2 == pytest.approx(4267.2, rel=WITHIN)
    assert worked.net_m2 == pytest.approx(3867.2, rel=WITHIN)


@dataclass(frozen=True)
class Track:
    """A field machine's way: seconds, places, courses; numpy arrays of one length."""

    t_s: Floats
    lat: Floats
    lon: Floats
    course: Floats


def track(name: str, rows: int) -> Track:
    with gzip.open(TRACKS / f"{name}.gz", "rt") as file:
        table = [row for _, row in zip(range(rows), csv.DictReader(file), strict=False)]
    if "time_s" in table[0]:
        t_s = np.array([float(row["time_s"]) for row in table])
    else:
        t_s = np.cumsum([float(row["duration_s"]) for row in table])
    columns = [np.array([float(row[key]) for row in table])
               for key in ("lat_deg", "lon_deg", "course_deg")]  # fmt: skip
    return Track(t_s, *columns)


def union_and_way(way: Track, width_m: float) -> tuple[float, float]:
    """Area of the union of all swath pieces, and the way, both true to the ellipsoid."""
    zone = pyproj.Proj(proj="utm", zone=int((way.lon.mean() + 180) // 6) + 1, ellps="WGS84")
    x, y = zone(way.lon, way.lat)
    factors = zone.get_factors(way.lon, way.lat)
    grid = np.radians(way.course - factors.meridian_convergence)
    half = width_m / 2 * factors.meridional_scale
    left = np.column_stack([x - np.cos(grid) * half, y + np.sin(grid) * half])
    right = np.column_stack([x + np.cos(grid) * half, y - np.sin(grid) * half])
    _, _, step = pyproj.Geod(ellps="WGS84").inv(
        way.lon[:-1], way.lat[:-1], way.lon[1:], way.lat[1:]
    )
    joined = (np.diff(way.t_s) <= 2.5) & (step <= 80 / 3.6 * np.diff(way.t_s) + 3.0)
    rings = np.stack([left[:-1], right[:-1], right[1:], left[1:]], axis=1)[joined]
    ground = shapely.union_all(shapely.make_valid(shapely.polygons(rings)))
    return ground.area / factors.areal_scale.mean(), float(step[joined].sum())


@pytest.mark.parametrize("name", ["machine-a-1hz.csv", "machine-c-1hz.csv"])
def test_area_of_a_real_machine_is_the_union_of_its_swath(name: str) -> None:
    way, tool = track(name, 6000), Tool(width_m=5.334, hitch_back_m=0.0, lag_m=0.0)
    worked = Worked(tool, Receiver())
    for t_s, lat, lon, course in zip(way.t_s, way.lat, way.lon, way.course, strict=True):
        worked.fix(float(t_s), float(lat), float(lon), float(course), True, FixKind.FIXED)
    worked.keep()
    union_m2, way_m = union_and_way(way, tool.width_m)
    assert worked.net_m2 == pytest.approx(union_m2, rel=WITHIN)
    assert worked.gross_m2 == pytest.approx(way_m * tool.width_m, rel=WITHIN)


@pytest.mark.parametrize("name", ["machine-a-1hz.csv", "machine-c-1hz.csv"])
def test_distance_on_the_plane_is_the_distance_on_the_ellipsoid(name: str) -> None:
    way = track(name, 6000)
    plane = LocalPlane.at(float(way.lat[0]), float(way.lon[0]))
    x, y = plane.to_xy(way.lat, way.lon)
    flat = float(np.hypot(np.diff(x), np.diff(y)).sum())
    _, _, step = pyproj.Geod(ellps="WGS84").inv(
        way.lon[:-1], way.lat[:-1], way.lon[1:], way.lat[1:]
    )
    assert flat == pytest.approx(float(step.sum()), rel=0.001)


@pytest.mark.parametrize("seed", range(6))
def test_area_of_an_invented_wandering_drive_is_the_union_of_its_swath(seed: int) -> None:
    """Tight turns in the ground included, where the inner end of the tool goes back."""
    dice = np.random.default_rng(seed)
    course = np.cumsum(dice.normal(0.0, 12.0, 400)) + dice.uniform(0, 360)
    step = dice.uniform(1.2, 3.0, 400)
    plane = LocalPlane.at(float(dice.uniform(-50, 60)), float(dice.uniform(-170, 170)))
    lat, lon = plane.to_lat_lon(
        np.cumsum(step * np.sin(np.radians(course))), np.cumsum(step * np.cos(np.radians(course)))
    )
    way = Track(np.arange(400.0), lat, lon, course % 360.0)
    worked = Worked(Tool(width_m=6.0, hitch_back_m=0.0, lag_m=0.0), Receiver())
    for t_s, one_lat, one_lon, one_course in zip(
        way.t_s, way.lat, way.lon, way.course, strict=True
    ):
        worked.fix(float(t_s), float(one_lat), float(one_lon), float(one_course), True)
    worked.keep()
    union_m2, way_m = union_and_way(way, 6.0)
    assert worked.net_m2 == pytest.approx(union_m2, rel=WITHIN)
    assert worked.gross_m2 == pytest.approx(way_m * 6.0, rel=WITHIN)

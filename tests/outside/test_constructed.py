"""The constructed inputs are what they say: arithmetic, pyproj and shapely agree about them."""

import numpy as np
import pynmea2
import pytest
from pyproj import Geod
from shapely import LineString, union_all

from cabapp.world.place import to_degrees
from tests.outside.constructed import WGS84, two_passes
from tests.outside.track_tools import labels_of, nmea_of, track


def test_two_overlapping_passes_have_the_areas_of_plain_arithmetic() -> None:
    passes = two_passes()
    assert passes.gross_m2 == pytest.approx(4_267.2)
    assert passes.net_m2 == pytest.approx(3_867.2)
    lines: list[list[tuple[float, float]]] = [[]]
    for step in passes.steps:
        if step.down:
            lines[-1].append((step.x_m, step.y_m))
        elif lines[-1]:
            lines.append([])
    strips = [
        LineString(line).buffer(5.334 / 2, cap_style="flat") for line in lines if len(line) > 1
    ]
    step_m = 0.25
    assert len(strips) == 2
    assert sum(strip.area for strip in strips) == pytest.approx(
        passes.gross_m2, abs=2 * step_m * 5.334 + 0.1
    )
    assert union_all(strips).area == pytest.approx(passes.net_m2, abs=2 * step_m * 5.334 + 0.1)


def test_the_passes_are_as_long_on_the_ellipsoid_as_on_paper() -> None:
    down = [step for step in two_passes().steps if step.down and step.course_deg < 1.0]
    _, _, length = WGS84.inv(down[0].lon_deg, down[0].lat_deg, down[-1].lon_deg, down[-1].lat_deg)
    assert length == pytest.approx(400.0 - 0.25, abs=0.001)


@pytest.mark.parametrize(("x", "y"), [(100.0, 0.0), (0.0, 100.0), (900.0, 1400.0), (-700.0, 300.0)])
def test_the_invented_fields_places_agree_with_pyproj_to_a_millimetre_in_100_m(
    x: float, y: float
) -> None:
    # PROJ's geodesics (Karney 2013, Journal of Geodesy 87).
    lat, lon = to_degrees(np.array([x, x + 100.0, x]), np.array([y, y, y + 100.0]))
    for n in (1, 2):
        _, _, metres = Geod(ellps="WGS84").inv(lon[0], lat[0], lon[n], lat[n])
        assert metres == pytest.approx(100.0, abs=0.001)


@pytest.mark.parametrize("name", ["a", "c"])
def test_a_track_as_sentences_keeps_its_places_speeds_and_courses(name: str) -> None:
    one = track(name)
    lines = nmea_of(name).decode("ascii").splitlines()
    assert len(lines) == 3 * len(one.t_s)
    for n in range(0, len(one.t_s), 977):
        rmc = pynmea2.parse(lines[3 * n], check=True)
        assert rmc.latitude == pytest.approx(one.lat_deg[n], abs=2e-8)
        assert rmc.longitude == pytest.approx(one.lon_deg[n], abs=2e-8)
        assert rmc.spd_over_grnd * 1852 / 3600 == pytest.approx(one.speed_mps[n], abs=5e-4)
        assert abs((rmc.true_course - one.course_deg[n] + 180) % 360 - 180) < 0.01


@pytest.mark.parametrize(("name", "passes"), [("a", 11_000), ("c", 11_000)])
def test_every_row_of_a_track_has_a_label(name: str, passes: int) -> None:
    labels = labels_of(name)
    names = [labels.at(float(t)) for t in track(name).t_s]
    assert "" not in names
    assert names.count("pass") > passes
    assert names.count("other") < 0.02 * len(names)

"""A row's bearing by driving 60 m along it."""

import pytest

from cabapp.readings import Fix, FixKind, Quality
from cabapp.trade.geodesy import LocalPlane
from cabapp.watch.along import LastStraight

PLANE = LocalPlane.at(44.0, -30.0)


def fix(east_m: float, north_m: float, course_deg: float | None) -> Fix:
    lat, lon = PLANE.to_lat_lon(east_m, north_m)
    good = Quality.GOOD
    return Fix(0.0, None, None, lat, lon, 2.0, course_deg, FixKind.FIXED, good, good, good)


def test_sixty_metres_along_a_row_give_its_axis_either_way() -> None:
    there, back = LastStraight(), LastStraight()
    for metre in range(0, 64, 2):  # on the sphere of the module, 60 m read up to 0.2 m less
        there.take(fix(metre, 0.0, 90.0))
        back.take(fix(-metre, 0.0, 270.0))
    assert there.bearing_deg == pytest.approx(90.0, abs=0.1)
    assert back.bearing_deg == pytest.approx(90.0, abs=0.1)


def test_fifty_metres_or_a_bend_give_nothing() -> None:
    short, bent = LastStraight(), LastStraight()
    for metre in range(0, 52, 2):
        short.take(fix(0.0, metre, 0.0))
    for metre in range(0, 120, 2):
        bent.take(fix(0.0, metre, metre * 0.5))
    assert short.bearing_deg is None
    assert bent.bearing_deg is None


def test_a_lost_course_begins_anew_and_keeps_the_last_row() -> None:
    along = LastStraight()
    for metre in range(0, 70, 2):
        along.take(fix(0.0, metre, 0.0))
    along.take(fix(0.0, 72.0, None))
    for metre in range(74, 120, 2):
        along.take(fix(metre - 74.0, 72.0, 90.0))
    assert along.bearing_deg == pytest.approx(0.0, abs=0.1) or along.bearing_deg == pytest.approx(
        180.0, abs=0.1
    )

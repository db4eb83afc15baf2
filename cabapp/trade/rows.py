"""Angle of travel to the old rows, and how far a course has turned."""

from cabapp.trade.refuse import need_finite
from cabapp.trade.sources import COMMON_PRACTICE

# A slight angle keeps shanks and discs from riding in or along the old rows.
GOOD_ANGLE_DEG = (10.0, 30.0)
GOOD_ANGLE_SOURCE = COMMON_PRACTICE


def row_angle_deg(course_deg: float, bearing_deg: float) -> float:
    """Acute angle between the course driven and the rows, 0 to 90 degrees.

    Rows have no direction, so the difference is folded: 350 against 10 is 20, 210 against 30
    is 0. Both angles must be true, never one magnetic. Plane geometry, no source needed.
    """
    need_finite("course_deg", course_deg, "judge the angle only on a good course")
    need_finite("bearing_deg", bearing_deg, "give the row bearing in degrees from true north")
    return abs((course_deg - bearing_deg + 90.0) % 180.0 - 90.0)


def turned_deg(from_course_deg: float, to_course_deg: float) -> float:
    """Signed turn from one course to another: right positive, above -180 up to 180 degrees."""
    need_finite("from_course_deg", from_course_deg, "sum turns only over good courses")
    need_finite("to_course_deg", to_course_deg, "sum turns only over good courses")
    turn = (to_course_deg - from_course_deg) % 360.0
    return turn - 360.0 if turn > 180.0 else turn

"""The bearing of the last straight stretch driven: how a row's direction is had by driving it."""

import math

from cabapp.readings import Fix
from cabapp.trade.rows import turned_deg

LONG_ENOUGH_M = 60.0
M_PER_DEG = 111_320.0  # on a sphere: a bearing over 60 m is good to a fifth of a degree, anywhere
STRAIGHT_DEG = 8.0  # off the first course by more, and it is another stretch; our own default


class LastStraight:
    """Fed every epoch; ``bearing_deg`` is the axis (0 to 180) of the last 60 m and more driven.

    None until there was one. An epoch without place or course begins anew.
    """

    def __init__(self) -> None:
        self.bearing_deg: float | None = None
        self._from: tuple[float, float] | None = None
        self._course_deg = 0.0

    def take(self, fix: Fix) -> None:
        """One epoch of the receiver."""
        if fix.lat_deg is None or fix.lon_deg is None or fix.course_deg is None:
            self._from = None
            return
        if self._from is None or abs(turned_deg(self._course_deg, fix.course_deg)) > STRAIGHT_DEG:
            self._from = fix.lat_deg, fix.lon_deg
            self._course_deg = fix.course_deg
            return
        north_m = M_PER_DEG * (fix.lat_deg - self._from[0])
        east_m = M_PER_DEG * (fix.lon_deg - self._from[1]) * math.cos(math.radians(fix.lat_deg))
        if math.hypot(east_m, north_m) >= LONG_ENOUGH_M:
            self.bearing_deg = math.degrees(math.atan2(east_m, north_m)) % 180.0

"""Where the tool is, given where the antenna was: it hangs behind and follows late.

The antenna is carried back by ``hitch_back_m`` along the tractor's heading and sideways by
``antenna_right_m`` to the hitch pin. The middle of the shanks trails the pin at ``lag_m`` as a
wheel on a drawbar does: it moves only towards the pin (the tractrix), so it cuts corners and
comes straight again after them. On the straight this is plainly ``lag_m`` behind the pin.
"""

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class ToolPlace:
    """The middle of the shanks on the plane, metres, and the unit vector of the tool's heading."""

    x_m: float
    y_m: float
    east: float
    north: float

    def edge(self, half_width_m: float) -> tuple[float, float, float, float]:
        """Left and right end of the swath across the tool here: x, y, x, y in metres."""
        across_x, across_y = self.north * half_width_m, -self.east * half_width_m
        return (
            self.x_m - across_x,
            self.y_m - across_y,
            self.x_m + across_x,
            self.y_m + across_y,
        )


class Follower:
    """Carries antenna places to tool places, one after another; holds the last of each."""

    def __init__(self, hitch_back_m: float, lag_m: float, antenna_right_m: float) -> None:
        self._hitch_back_m = hitch_back_m
        self._lag_m = lag_m
        self._antenna_right_m = antenna_right_m
        self._heading: tuple[float, float] | None = None
        self._place: ToolPlace | None = None

    def to(
        self, x_m: float, y_m: float, course_deg: float | None, backing: bool
    ) -> ToolPlace | None:
        """The tool's place for an antenna at (x, y); None until a course was once known.

        ``course_deg`` is the way it travels, None while withheld (the last heading is kept);
        backing, the tractor looks the other way.
        """
        if course_deg is not None:
            angle = math.radians(course_deg + (180.0 if backing else 0.0))
            self._heading = (math.sin(angle), math.cos(angle))
        if self._heading is None:
            return None
        east, north = self._heading
        pin_x = x_m - self._hitch_back_m * east - self._antenna_right_m * north
        pin_y = y_m - self._hitch_back_m * north + self._antenna_right_m * east
        self._place = self._trail(pin_x, pin_y, east, north)
        return self._place

    def lift(self) -> None:
        """Forget how the tool hung: at the next place it hangs straight behind."""
        self._place = None

    def _trail(self, pin_x: float, pin_y: float, east: float, north: float) -> ToolPlace:
        lag = self._lag_m
        if self._place is not None:
            to_x, to_y = pin_x - self._place.x_m, pin_y - self._place.y_m
            far = math.hypot(to_x, to_y)
            if lag > 0 and far > 0.1 * lag:  # nearer than that only a jump of the fix gets
                east, north = to_x / far, to_y / far
        return ToolPlace(pin_x - lag * east, pin_y - lag * north, east, north)

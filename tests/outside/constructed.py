"""Passes constructed on paper, as bytes: area and overlap follow from plain arithmetic.

``two_passes()`` is two parallel passes with an overlap, and a lifted bulb turn between them:
400 m of 5.334 m twice is 4,267.2 m2 gross; 400 m of 1.000 m less is 3,867.2 m2 net. Places come
from pyproj's geodesics, so nothing of the program under test is used to make them.
"""

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from pyproj import Geod

from tests.outside.track_tools import checksum, sentences

WGS84 = Geod(ellps="WGS84")
ORIGIN = (44.0, -30.0)  # open ocean
STARTS = datetime(2027, 5, 5, 9, 0, tzinfo=UTC)
RADIUS_M = 9.0
LEAD_M = 30.0  # straight and lifted before and after each pass


@dataclass(frozen=True)
class Step:
    """One epoch: the antenna's place and course, whether the tool is down, and its bytes."""

    t_s: float
    x_m: float
    y_m: float
    lat_deg: float
    lon_deg: float
    course_deg: float
    down: bool
    gnss: bytes
    node: bytes


@dataclass(frozen=True)
class Passes:
    """The drive, and what area arithmetic says of it."""

    steps: tuple[Step, ...]
    gross_m2: float
    net_m2: float


def two_passes(
    length_m: float = 400.0,
    width_m: float = 5.334,
    overlap_m: float = 1.0,
    *,
    behind_m: float = 0.0,
    speed_mps: float = 2.5,
    hz: int = 10,
) -> Passes:
    """Two passes of ``length_m`` side by side; the tool runs ``behind_m`` behind the antenna.

    The tool is down for exactly ``length_m`` of its own travel in each; ``length_m`` must be whole
    steps of ``speed_mps / hz`` for the arithmetic to hold to the millimetre.
    """
    spacing = width_m - overlap_m
    legs = [(LEAD_M + behind_m, 0.0, False), (length_m, 0.0, True), (LEAD_M, 0.0, False)]
    legs += [(arc, bend, False) for arc, bend in _bulb(spacing)]
    legs += [(LEAD_M + behind_m, 0.0, False), (length_m, 0.0, True), (LEAD_M, 0.0, False)]
    step_m = speed_mps / hz
    steps: list[Step] = []
    x, y, heading = 0.0, -LEAD_M, 0.0
    for length, bend, down in legs:
        count = max(1, round(length / step_m))
        turn = bend * length / count
        for _ in range(count):
            steps.append(_step(len(steps) / hz, x, y, heading, down, speed_mps))
            x += length / count * math.sin(heading + turn / 2)
            y += length / count * math.cos(heading + turn / 2)
            heading += turn
    gross = 2 * length_m * width_m
    return Passes(tuple(steps), gross, gross - length_m * overlap_m)


def _bulb(spacing_m: float) -> list[tuple[float, float]]:
    """Arcs (length, radians a metre): out, round, and in again, ``spacing_m`` to the right."""
    swing = math.acos((spacing_m + 2 * RADIUS_M) / (4 * RADIUS_M))
    out = (RADIUS_M * swing, -1 / RADIUS_M)
    return [out, (RADIUS_M * (math.pi + 2 * swing), 1 / RADIUS_M), out]


def _step(t_s: float, x_m: float, y_m: float, heading: float, down: bool, speed_mps: float) -> Step:
    # East along the geodesic, then north along the meridian: straight lines of the plane to a
    # millimetre at this size.
    lon, lat, _ = WGS84.fwd(ORIGIN[1], ORIGIN[0], 90.0, x_m)
    lon, lat, _ = WGS84.fwd(lon, lat, 0.0, y_m)
    course = math.degrees(heading) % 360.0
    utc = STARTS + timedelta(seconds=t_s)
    body = f"YXXDR,G,{int(down)},,TOOLDOWN,G,{round(t_s * 10) % 10_000},,SEQ"
    node = f"${body}*{checksum(body):02X}\r\n".encode("ascii")
    gnss = sentences(utc, lat, lon, speed_mps, course)
    return Step(t_s, x_m, y_m, lat, lon, course, down, gnss, node)

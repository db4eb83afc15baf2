"""From metres in an invented field to latitude and longitude on WGS-84."""

import math

import numpy as np

from cabapp.world.noise import Floats

SEMI_MAJOR_M = 6_378_137.0  # WGS-84, NIMA TR8350.2
FLATTENING = 1.0 / 298.257223563
ECCENTRICITY2 = FLATTENING * (2.0 - FLATTENING)

# Open ocean: nobody farms there.
ORIGIN_LAT_DEG = 44.0
ORIGIN_LON_DEG = -30.0


def to_degrees(x_m: Floats, y_m: Floats) -> tuple[Floats, Floats]:
    """Latitude and longitude of metres east and north of the field's origin.

    North along the meridian with its radius half way, east along the parallel reached: good to
    1 mm in 100 m over the few kilometres of a shift.
    """
    start = math.radians(ORIGIN_LAT_DEG)
    half = start + 0.5 * y_m / _meridian(np.asarray(start))
    lat = start + y_m / _meridian(half)
    radius = SEMI_MAJOR_M / np.sqrt(1.0 - ECCENTRICITY2 * np.sin(lat) ** 2)
    lon = math.radians(ORIGIN_LON_DEG) + x_m / (radius * np.cos(lat))
    return np.degrees(lat), np.degrees(lon)


def _meridian(lat: Floats) -> Floats:
    bent = 1.0 - ECCENTRICITY2 * np.sin(lat) ** 2
    return np.asarray(SEMI_MAJOR_M * (1.0 - ECCENTRICITY2) / bent**1.5)

"""The WGS-84 ellipsoid; both numbers are exact by definition (NGA.STND.0036)."""

import math

EQUATOR_RADIUS_M = 6_378_137.0
FLATTENING = 1.0 / 298.257223563
POLE_RADIUS_M = EQUATOR_RADIUS_M * (1.0 - FLATTENING)
ECCENTRICITY = math.sqrt(FLATTENING * (2.0 - FLATTENING))
THIRD_FLATTENING = FLATTENING / (2.0 - FLATTENING)
# Radius of the circle as long as a meridian: series in the third flattening, sixth order.
RECTIFYING_RADIUS_M = (EQUATOR_RADIUS_M / (1.0 + THIRD_FLATTENING)) * (
    1.0 + THIRD_FLATTENING**2 / 4 + THIRD_FLATTENING**4 / 64 + THIRD_FLATTENING**6 / 256
)

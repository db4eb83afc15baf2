"""Shortest lines on the WGS-84 ellipsoid: length, azimuth, and the point at their end.

Bessel's two integrals along the line are summed by Gauss quadrature, and the azimuth that meets
the far meridian is found between bounds, so the line is found for every pair of points, nearly
opposite ones too, where the usual iteration fails. The reduction of the problem (which point
comes first, which signs) is Karney's (2013, J. Geodesy 87, 43), from memory; checked in the
tests against published lines and an independent library.
"""

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cabapp.trade.refuse import need_between, need_finite
from cabapp.trade.wgs84 import ECCENTRICITY, EQUATOR_RADIUS_M, FLATTENING, POLE_RADIUS_M

_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(32)
_SECOND_ECCENTRICITY_SQUARED = ECCENTRICITY**2 / (1.0 - ECCENTRICITY**2)
_OFF_EQUATOR = 1e-15  # sine of a latitude six nanometres off the equator


@dataclass(frozen=True)
class _Line:
    """A geodesic by the cosine and sine of its azimuth where it crosses the equator."""

    cos_equator: float
    sin_equator: float

    def _root(self, sigma: float, to_sigma: float) -> tuple[float, npt.NDArray[np.float64]]:
        """Half the arc, and the integrand's root at the quadrature nodes along it."""
        half = 0.5 * (to_sigma - sigma)
        angles = 0.5 * (to_sigma + sigma) + half * _NODES
        k_squared = _SECOND_ECCENTRICITY_SQUARED * self.cos_equator**2
        return half, np.sqrt(1.0 + k_squared * np.sin(angles) ** 2)

    def length_m(self, sigma: float, to_sigma: float) -> float:
        """Distance between two arcs counted from the equator."""
        half, root = self._root(sigma, to_sigma)
        return POLE_RADIUS_M * half * float(_WEIGHTS @ root)

    def longitude_lag(self, sigma: float, to_sigma: float) -> float:
        """How far the longitude stays behind that on the auxiliary sphere, radians."""
        half, root = self._root(sigma, to_sigma)
        part = float(_WEIGHTS @ ((2.0 - FLATTENING) / (1.0 + (1.0 - FLATTENING) * root)))
        return FLATTENING * self.sin_equator * half * part


@dataclass(frozen=True)
class _Tried:
    """One azimuth tried from the first point: where it meets the second latitude."""

    longitude: float
    line: _Line
    sigma: float
    to_sigma: float
    end_sin: float
    end_cos: float


def _reduced(lat_rad: float) -> tuple[float, float]:
    """Sine and cosine of the reduced latitude; the cosine is kept off zero at the poles."""
    sine, cosine = (1.0 - FLATTENING) * math.sin(lat_rad), math.cos(lat_rad)
    size = math.hypot(sine, cosine)
    return sine / size, max(cosine / size, 1e-16)


def _try(past_east: float, first: tuple[float, float], second: tuple[float, float]) -> _Tried:
    """Follow an azimuth from the first reduced latitude up to the second.

    The azimuth is given as what it has past due east, -pi/2 to pi/2: beside the equator the last
    digits of its cosine decide, and they would be lost in an angle near a right one.
    """
    sin_azimuth, cos_azimuth = math.cos(past_east), -math.sin(past_east)
    sin_equator = sin_azimuth * first[1]
    line = _Line(math.hypot(cos_azimuth, sin_azimuth * first[0]), sin_equator)
    end_sin = sin_equator / second[1]
    part = 1 if first[1] < abs(first[0]) else 0  # sines near the equator, cosines near a pole
    spread = (second[part] - first[part]) * (second[part] + first[part]) * (1 if part else -1)
    end_cos = math.sqrt(max(0.0, (cos_azimuth * first[1]) ** 2 + spread)) / second[1]
    sigma = math.atan2(first[0], cos_azimuth * first[1])
    to_sigma = math.atan2(second[0], end_cos * second[1])
    omega = math.atan2(sin_equator * first[0], cos_azimuth * first[1])
    to_omega = math.atan2(sin_equator * second[0], end_cos * second[1])
    longitude = to_omega - omega - line.longitude_lag(sigma, to_sigma)
    return _Tried(longitude, line, sigma, to_sigma, end_sin, end_cos)


def _meeting(
    first: tuple[float, float], second: tuple[float, float], longitude: float
) -> tuple[float, _Tried]:
    """The azimuth whose line meets the second point: a bracket cut by its chord or halved."""
    low, high = -math.pi / 2.0, math.pi / 2.0
    low_miss, high_miss = -longitude, math.pi - longitude
    past_east, tried = low, _try(low, first, second)
    for turn in range(200):
        chord = low - low_miss * (high - low) / (high_miss - low_miss)
        middle = 0.5 * (low + high)
        past_east = chord if turn % 3 and low < chord < high else middle
        tried = _try(past_east, first, second)
        miss = tried.longitude - longitude
        if abs(miss) < 1e-16 or not low < middle < high:
            break
        if miss > 0.0:
            high, high_miss = past_east, miss
        else:
            low, low_miss = past_east, miss
    return past_east, tried


def geodesic(
    lat1_deg: float, lon1_deg: float, lat2_deg: float, lon2_deg: float
) -> tuple[float, float]:
    """Length in metres and azimuth at the first point, 0 to 360 degrees from true north.

    Good to a micrometre in a field and far better than a millimetre anywhere. The azimuth of a
    point to itself is given as 0. ValueError for a latitude over 90 degrees or a NaN.
    """
    for name, lat_deg in (("lat1_deg", lat1_deg), ("lat2_deg", lat2_deg)):
        need_between(name, lat_deg, -90.0, 90.0, "give degrees, north positive")
    for name, lon_deg in (("lon1_deg", lon1_deg), ("lon2_deg", lon2_deg)):
        need_finite(name, lon_deg, "give degrees, east positive")
    turn = math.radians(math.remainder(lon2_deg - lon1_deg, 360.0))
    # Karney's order: the first point is the farther from the equator, and south of it.
    swapped = abs(lat1_deg) < abs(lat2_deg)
    far, near = (lat2_deg, lat1_deg) if swapped else (lat1_deg, lat2_deg)
    mirror = -1.0 if far > 0.0 else 1.0
    first, second = _reduced(math.radians(far * mirror)), _reduced(math.radians(near * mirror))
    distance_m, start, end = _canonical(first, second, abs(turn))
    sine, cosine = end if swapped else start
    if swapped:
        mirror = -mirror  # the line is walked backwards: east stays east, north turns round
    azimuth = math.degrees(math.atan2(math.copysign(sine, turn), mirror * cosine))
    return distance_m, (azimuth % 360.0 if distance_m > 0.0 else 0.0)


def _canonical(
    first: tuple[float, float], second: tuple[float, float], longitude: float
) -> tuple[float, tuple[float, float], tuple[float, float]]:
    """Length, and sine and cosine of the azimuth at both ends, for ordered points."""
    on_equator = abs(first[0]) < 1e-16 and longitude <= (1.0 - FLATTENING) * math.pi
    if on_equator:
        return EQUATOR_RADIUS_M * longitude, (1.0, 0.0), (1.0, 0.0)
    if abs(first[0]) < _OFF_EQUATOR:  # from the equator nearly round it: the line needs a side
        first = (-_OFF_EQUATOR, 1.0)
    if longitude < 1e-16 or math.pi - longitude < 1e-16:
        past_east = math.copysign(math.pi / 2.0, longitude - 1.0)
        tried = _try(past_east, first, second)
    else:
        past_east, tried = _meeting(first, second, longitude)
    distance_m = tried.line.length_m(tried.sigma, tried.to_sigma)
    start = (math.cos(past_east), -math.sin(past_east))
    return abs(distance_m), start, (tried.end_sin, tried.end_cos)


def destination(
    lat_deg: float, lon_deg: float, azimuth_deg: float, distance_m: float
) -> tuple[float, float]:
    """Latitude and longitude in degrees at the end of a line; longitude in -180 to 180.

    A negative distance goes backwards. ValueError for a latitude over 90 degrees or a NaN.
    """
    need_between("lat_deg", lat_deg, -90.0, 90.0, "give degrees, north positive")
    need_finite("lon_deg", lon_deg, "give degrees, east positive")
    need_finite("azimuth_deg", azimuth_deg, "give degrees from true north")
    need_finite("distance_m", distance_m, "give metres")
    azimuth = math.radians(math.remainder(azimuth_deg, 360.0))
    sin_lat, cos_lat = _reduced(math.radians(lat_deg))
    sin_azimuth, cos_azimuth = math.sin(azimuth), math.cos(azimuth)
    line = _Line(math.hypot(cos_azimuth, sin_azimuth * sin_lat), sin_azimuth * cos_lat)
    sigma = math.atan2(sin_lat, cos_azimuth * cos_lat)
    to_sigma = _arc_after(line, sigma, distance_m)
    omega = math.atan2(line.sin_equator * sin_lat, cos_azimuth * cos_lat)
    return _end_of(line, sigma, to_sigma, omega, lon_deg)


def _arc_after(line: _Line, sigma: float, distance_m: float) -> float:
    """The arc at which the line is ``distance_m`` long, by Newton; it converges by 300 a round."""
    to_sigma = sigma + distance_m / POLE_RADIUS_M
    for _ in range(12):
        miss_m = line.length_m(sigma, to_sigma) - distance_m
        k_squared = _SECOND_ECCENTRICITY_SQUARED * line.cos_equator**2
        to_sigma -= miss_m / (POLE_RADIUS_M * math.sqrt(1.0 + k_squared * math.sin(to_sigma) ** 2))
        if abs(miss_m) < 1e-10:
            break
    return to_sigma


def _end_of(
    line: _Line, sigma: float, to_sigma: float, omega: float, lon_deg: float
) -> tuple[float, float]:
    """The place of an arc ``to_sigma`` of a line begun at ``sigma``, ``omega`` on the sphere."""
    sine, cosine = math.sin(to_sigma), math.cos(to_sigma)
    sin_lat = line.cos_equator * sine
    cos_lat = math.hypot(line.sin_equator, line.cos_equator * cosine)
    lat_deg = math.degrees(math.atan2(sin_lat, (1.0 - FLATTENING) * cos_lat))
    to_omega = math.atan2(line.sin_equator * sine, cosine)
    turn = math.remainder(to_omega - omega, math.tau) - line.longitude_lag(sigma, to_sigma)
    return lat_deg, math.remainder(lon_deg + math.degrees(turn), 360.0)

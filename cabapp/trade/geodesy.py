"""A flat plane laid on the WGS-84 ellipsoid, for everything measured inside a field.

The plane is a transverse Mercator projection about its own meridian, at scale one: conformal,
and true to 1 in 100,000 within 28 km east or west of its origin (the scale grows by half the
square of the distance over the earth's radius). Lines between far points: see ``geodesic.py``.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, NamedTuple, TypeVar

import numpy as np
import numpy.typing as npt

from cabapp.trade.geodesic import destination, geodesic
from cabapp.trade.refuse import need_between, need_finite
from cabapp.trade.wgs84 import ECCENTRICITY, RECTIFYING_RADIUS_M, THIRD_FLATTENING

__all__ = ["LocalPlane", "destination", "geodesic"]

FARTHEST_LONGITUDE_DEG = 30.0  # the series below are exact to far less than a millimetre inside it

Value = TypeVar("Value", float, npt.NDArray[np.float64])


class _Functions(NamedTuple):
    """The functions the series need, from ``math`` for one point, from numpy for many."""

    sin: Callable[[Any], Any]
    cos: Callable[[Any], Any]
    sinh: Callable[[Any], Any]
    cosh: Callable[[Any], Any]
    arctan: Callable[[Any], Any]
    arctan2: Callable[[Any, Any], Any]
    arcsinh: Callable[[Any], Any]
    arctanh: Callable[[Any], Any]
    sqrt: Callable[[Any], Any]
    tan: Callable[[Any], Any]


_ONE = _Functions(
    math.sin, math.cos, math.sinh, math.cosh, math.atan, math.atan2, math.asinh, math.atanh,
    math.sqrt, math.tan,
)  # fmt: skip
_MANY = _Functions(
    np.sin, np.cos, np.sinh, np.cosh, np.arctan, np.arctan2, np.arcsinh, np.arctanh,
    np.sqrt, np.tan,
)  # fmt: skip


def _krueger_forward(n: float) -> tuple[float, ...]:
    """Coefficients from conformal to rectifying latitude, to the fourth order in n."""
    return (
        n / 2 - 2 * n**2 / 3 + 5 * n**3 / 16 + 41 * n**4 / 180,
        13 * n**2 / 48 - 3 * n**3 / 5 + 557 * n**4 / 1440,
        61 * n**3 / 240 - 103 * n**4 / 140,
        49561 * n**4 / 161280,
    )


def _krueger_reverse(n: float) -> tuple[float, ...]:
    """Coefficients from rectifying to conformal latitude, to the fourth order in n."""
    return (
        n / 2 - 2 * n**2 / 3 + 37 * n**3 / 96 - n**4 / 360,
        n**2 / 48 + n**3 / 15 - 437 * n**4 / 1440,
        17 * n**3 / 480 - 37 * n**4 / 840,
        4397 * n**4 / 161280,
    )


_FORWARD = _krueger_forward(THIRD_FLATTENING)
_REVERSE = _krueger_reverse(THIRD_FLATTENING)


def _conformal_tangent(f: _Functions, tangent: Any) -> Any:
    """Tangent of the conformal latitude from the tangent of the geographic one."""
    secant = f.sqrt(1.0 + tangent * tangent)
    sigma = f.sinh(ECCENTRICITY * f.arctanh(ECCENTRICITY * tangent / secant))
    return tangent * f.sqrt(1.0 + sigma * sigma) - sigma * secant


def _series(f: _Functions, terms: tuple[float, ...], north: Any, east: Any) -> tuple[Any, Any]:
    """The two sums shared by both directions of the projection."""
    to_north: Any = 0.0
    to_east: Any = 0.0
    for index, term in enumerate(terms, start=1):
        angle, stretch = 2 * index * north, 2 * index * east
        to_north = to_north + term * f.sin(angle) * f.cosh(stretch)
        to_east = to_east + term * f.cos(angle) * f.sinh(stretch)
    return to_north, to_east


def _project(f: _Functions, lat_rad: Any, from_meridian_rad: Any) -> tuple[Any, Any]:
    """Metres east of the meridian and metres north of the equator (Karney 2011, eq. 7 to 11)."""
    tangent = _conformal_tangent(f, f.tan(lat_rad))
    cos_lon = f.cos(from_meridian_rad)
    north = f.arctan2(tangent, cos_lon)
    east = f.arcsinh(f.sin(from_meridian_rad) / f.sqrt(tangent * tangent + cos_lon * cos_lon))
    more_north, more_east = _series(f, _FORWARD, north, east)
    return RECTIFYING_RADIUS_M * (east + more_east), RECTIFYING_RADIUS_M * (north + more_north)


def _unproject(f: _Functions, east_m: Any, north_m: Any) -> tuple[Any, Any]:
    """Latitude and longitude from the meridian, radians (Karney 2011, eq. 15 to 21)."""
    more_north, more_east = _series(
        f, _REVERSE, north_m / RECTIFYING_RADIUS_M, east_m / RECTIFYING_RADIUS_M
    )
    north = north_m / RECTIFYING_RADIUS_M - more_north
    east = east_m / RECTIFYING_RADIUS_M - more_east
    conformal = f.sin(north) / f.sqrt(f.sinh(east) ** 2 + f.cos(north) ** 2)
    tangent = conformal
    for _ in range(3):  # Newton; two rounds reach the last digit, the third costs nothing
        error = _conformal_tangent(f, tangent) - conformal
        slope = (1.0 - ECCENTRICITY**2) * f.sqrt(1.0 + conformal * conformal)
        shape = 1.0 + (1.0 - ECCENTRICITY**2) * tangent * tangent
        tangent = tangent - error * shape / (slope * f.sqrt(1.0 + tangent * tangent))
    return f.arctan(tangent), f.arctan2(f.sinh(east), f.cos(north))


@lru_cache(maxsize=32)
def _north_of_equator_m(lat_deg: float) -> float:
    return float(_project(_ONE, math.radians(lat_deg), 0.0)[1])


@dataclass(frozen=True)
class LocalPlane:
    """East and north in metres about an origin; make one with ``LocalPlane.at``.

    Series of Krueger as given by Karney 2011 (J. Geodesy 85, 475), from memory and checked
    against an independent library in the tests. An array may hold NaN where there was no fix:
    those places stay NaN. A single point must be finite.
    """

    lat_deg: float
    lon_deg: float

    @classmethod
    def at(cls, lat_deg: float, lon_deg: float) -> "LocalPlane":
        """A plane whose (0, 0) is this point; ValueError outside +-85 or +-180 degrees."""
        need_between("lat_deg", lat_deg, -85.0, 85.0, "give a latitude where fields are worked")
        need_between(
            "lon_deg", lon_deg, -180.0, 180.0, "give a longitude in degrees, east positive"
        )
        return cls(float(lat_deg), float(lon_deg))

    def to_xy(self, lat_deg: Value, lon_deg: Value) -> tuple[Value, Value]:
        """Metres east and north of the origin, for one point or for arrays of points.

        ValueError for a latitude over 90 degrees, or a longitude more than 30 degrees off: no
        tool gets there in one shift, and swapped columns do.
        """
        if isinstance(lat_deg, np.ndarray) or isinstance(lon_deg, np.ndarray):
            away = (lon_deg - self.lon_deg + 180.0) % 360.0 - 180.0
            if np.any(np.abs(lat_deg) > 90.0) or np.any(np.abs(away) > FARTHEST_LONGITUDE_DEG):
                raise ValueError(_too_far("some points"))
            east, north = _project(_MANY, np.radians(lat_deg), np.radians(away))
        else:
            off = (lon_deg - self.lon_deg + 180.0) % 360.0 - 180.0
            if not (abs(lat_deg) <= 90.0 and abs(off) <= FARTHEST_LONGITUDE_DEG):
                raise ValueError(_too_far(f"latitude {lat_deg!r}, longitude {lon_deg!r}"))
            east, north = _project(_ONE, math.radians(lat_deg), math.radians(off))
        return east, north - _north_of_equator_m(self.lat_deg)

    def to_lat_lon(self, east_m: Value, north_m: Value) -> tuple[Value, Value]:
        """Latitude and longitude in degrees of a place on the plane, single or arrays."""
        many = isinstance(east_m, np.ndarray) or isinstance(north_m, np.ndarray)
        if not many:
            need_finite("east_m", float(east_m), "a place on the plane is two finite numbers")
            need_finite("north_m", float(north_m), "a place on the plane is two finite numbers")
        lat_rad, away_rad = _unproject(
            _MANY if many else _ONE, east_m, north_m + _north_of_equator_m(self.lat_deg)
        )
        lon_deg = (self.lon_deg + away_rad * (180.0 / math.pi) + 180.0) % 360.0 - 180.0
        return lat_rad * (180.0 / math.pi), lon_deg


def _too_far(found: str) -> str:
    return (
        f"{found}: expected latitude within 90 degrees and longitude within "
        f"{FARTHEST_LONGITUDE_DEG:g} degrees of the plane's origin; "
        "look for swapped columns, or begin a new plane"
    )

"""Tracks of real machines as NMEA bytes, and the labels made from their geometry.

``nmea_of("a")`` gives hours of real driving as RMC, GGA and VTG; ``labels_of("a")`` says for each
second whether the geometry is a pass or a turn. See tracks/README.md for where they come from.
"""

import csv
import gzip
import io
import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path

import numpy as np

TRACKS = Path(__file__).parent / "tracks"
STARTS = datetime(2027, 5, 5, 8, 0, tzinfo=UTC)
KNOT_MPS = 1852.0 / 3600.0
JUMP_M = 6.0  # a step no machine of these makes in a second: rows are missing
USUAL_MPS = 2.0


@dataclass(frozen=True)
class Track:
    """A track as columns, one row a second outside gaps: times from zero, degrees, m/s."""

    t_s: np.ndarray
    lat_deg: np.ndarray
    lon_deg: np.ndarray
    speed_mps: np.ndarray
    course_deg: np.ndarray

    def metres(self) -> tuple[np.ndarray, np.ndarray]:
        """East and north of the first point, plane enough for shapes of a few hundred metres."""
        east = math.radians(1.0) * 6_378_137.0 * math.cos(math.radians(float(self.lat_deg[0])))
        north = math.radians(1.0) * 6_367_449.0
        return (self.lon_deg - self.lon_deg[0]) * east, (self.lat_deg - self.lat_deg[0]) * north


@cache
def track(name: str) -> Track:
    """A machine's track, mended as tracks/README.md says."""
    raw = gzip.decompress((TRACKS / f"machine-{name}-1hz.csv.gz").read_bytes()).decode("ascii")
    rows = list(csv.DictReader(io.StringIO(raw)))
    lat, lon, course, distance = (
        np.array([float(row[key]) for row in rows])
        for key in ("lat_deg", "lon_deg", "course_deg", "distance_m")
    )
    logged = _logged(rows)
    speed = np.array([float(r["speed_mps"]) for r in rows]) if "speed_mps" in rows[0] else distance
    order = _in_order(lat, lon, course)
    lat, lon, course, speed = lat[order], lon[order], course[order], speed[order]
    step = Track(logged, lat, lon, speed, course)
    x, y = step.metres()
    jump = np.hypot(np.diff(x), np.diff(y))
    passed = np.diff(logged)
    gap = (jump > JUMP_M) | (passed > 3.0)
    seconds = np.where(gap, np.maximum(np.round(jump / USUAL_MPS), np.round(passed)), 1.0)
    t = np.concatenate([[0.0], np.cumsum(np.maximum(1.0, seconds))])
    return Track(t, lat, lon, speed, course % 360.0)


def _logged(rows: list[dict[str, str]]) -> np.ndarray:
    if "time_s" in rows[0]:
        return np.array([float(row["time_s"]) for row in rows])
    return np.cumsum([float(row["duration_s"]) for row in rows])


def _in_order(lat: np.ndarray, lon: np.ndarray, course: np.ndarray) -> np.ndarray:
    """Row numbers with neighbours swapped where that makes three steps run with their course."""
    order = np.arange(len(lat))
    scale = math.cos(math.radians(float(lat[0])))

    def against(i: int, j: int) -> bool:
        direction = math.atan2((lon[j] - lon[i]) * scale, lat[j] - lat[i])
        return math.cos(direction - math.radians(course[i])) < -0.5

    for n in range(1, len(order) - 2):
        a, b, c, d = order[n - 1 : n + 3]
        if against(b, c) and not (against(a, c) or against(c, b) or against(b, d)):
            order[n], order[n + 1] = c, b
    return order


def nmea_of(name: str, hz: int = 1) -> bytes:
    """RMC, GGA and VTG of a whole track; over 1 Hz places and courses between rows are straight.

    Nothing is sent inside gaps.
    """
    one = track(name)
    return b"".join(data for _, data in epochs_of(one, hz))


def epochs_of(one: Track, hz: int = 1) -> list[tuple[float, bytes]]:
    """Each epoch's time from the start, and its sentences."""
    t = np.arange(round(one.t_s[-1] * hz) + 1) / hz
    before = np.searchsorted(one.t_s, t + 1e-9) - 1
    after = np.minimum(before + 1, len(one.t_s) - 1)
    on_row = np.abs(one.t_s[before] - t) < 1e-6
    keep = on_row | (one.t_s[after] - one.t_s[before] <= 1.0 + 1e-6)
    course = np.degrees(np.unwrap(np.radians(one.course_deg)))
    columns = (one.lat_deg, one.lon_deg, one.speed_mps, course)
    lat, lon, speed, way = (np.interp(t, one.t_s, column) for column in columns)
    return [
        (float(t[n]), sentences(STARTS + timedelta(seconds=float(t[n])), *place))
        for n, place in enumerate(zip(lat, lon, speed, way % 360.0, strict=True))
        if keep[n]
    ]


def sentences(
    utc: datetime, lat_deg: float, lon_deg: float, speed_mps: float, course_deg: float
) -> bytes:
    """One epoch as RMC, GGA and VTG (NMEA 0183, layouts as published in receiver manuals)."""
    clock = f"{utc:%H%M%S}.{utc.microsecond // 10_000:02d}"
    where = f"{_minutes(lat_deg, 2, 'NS')},{_minutes(lon_deg, 3, 'EW')}"
    knots, course = speed_mps / KNOT_MPS, f"{course_deg % 360.0:.2f}"
    bodies = (
        f"GPRMC,{clock},A,{where},{knots:.3f},{course},{utc:%d%m%y},,,A",
        f"GPGGA,{clock},{where},1,12,0.8,250.0,M,-30.0,M,,",
        f"GPVTG,{course},T,,M,{knots:.3f},N,{speed_mps * 3.6:.3f},K,A",
    )
    return "".join(f"${body}*{checksum(body):02X}\r\n" for body in bodies).encode("ascii")


def checksum(body: str) -> int:
    """XOR of the characters between $ and * (NMEA 0183)."""
    total = 0
    for letter in body.encode("ascii"):
        total ^= letter
    return total


def _minutes(degrees: float, whole: int, letters: str) -> str:
    units = round(abs(degrees) * 60.0 * 1e6)
    text = f"{units // 60_000_000:0{whole}d}{units % 60_000_000 / 1e6:09.6f}"
    return f"{text},{letters[0] if degrees >= 0 else letters[1]}"


@dataclass(frozen=True)
class Labels:
    """Runs of one label: seconds from (inclusive) to (exclusive), from the track's start."""

    start_s: tuple[float, ...]
    end_s: tuple[float, ...]
    label: tuple[str, ...]

    def at(self, t_s: float) -> str:
        """The label of a second, "" inside a gap."""
        for start, end, label in zip(self.start_s, self.end_s, self.label, strict=True):
            if start <= t_s < end:
                return label
        return ""

    def runs(self, label: str) -> list[tuple[float, float]]:
        """All runs of one label."""
        rows = zip(self.start_s, self.end_s, self.label, strict=True)
        return [(start, end) for start, end, name in rows if name == label]


@cache
def labels_of(name: str) -> Labels:
    """The labels as committed."""
    with (TRACKS / f"labels-{name}.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    return Labels(
        tuple(float(row["from_s"]) for row in rows),
        tuple(float(row["to_s"]) for row in rows),
        tuple(row["label"] for row in rows),
    )

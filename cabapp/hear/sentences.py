"""What one checked sentence says: NMEA 0183 fields to SI, each field believed only if well formed.

Field tables follow NMEA 0183 (RMC, VTG, GGA, GNS, GLL, ZDA). Water speed (VHW, VBW) is no ground
speed and is not read; makers' own sentences are not read.
"""

from collections.abc import Callable
from datetime import date
from functools import lru_cache
from typing import NamedTuple

from cabapp.readings import FixKind
from cabapp.units import KMH_MPS, KNOT_MPS

DAY_S = 86400.0
MOST_SPEED_MPS = 1000.0  # beyond this no receiver means a speed


class Said(NamedTuple):
    """One sentence about the receiver. None is "not said"; ``has_fix`` is the sender's own claim.

    ``bad_place`` and ``bad_speed`` mark fields that were filled but can't be true (malformed, out
    of range, latitude and longitude both zero). ``no_fix_cause`` is a key of words.CAUSES.
    """

    kind: str
    talker: str
    time_s: float | None = None
    day: date | None = None
    has_fix: bool | None = None
    fix_kind: FixKind | None = None
    lat_deg: float | None = None
    lon_deg: float | None = None
    bad_place: bool = False
    speed_mps: float | None = None
    bad_speed: bool = False
    course_deg: float | None = None
    satellites: int | None = None
    hdop: float | None = None
    no_fix_cause: str = "sky"


# Mode letters (RMC, VTG, GLL field "mode", and each letter of GNS). S and E are no fix to us: a
# simulated or reckoned speed says nothing about this tractor.
MODES: dict[str, tuple[bool, FixKind]] = {
    "A": (True, FixKind.PLAIN),
    "P": (True, FixKind.PLAIN),
    "D": (True, FixKind.SATELLITE_CORRECTED),
    "F": (True, FixKind.FLOAT),
    "R": (True, FixKind.FIXED),
    "E": (False, FixKind.ESTIMATED),
    "M": (False, FixKind.NONE),
    "S": (False, FixKind.NONE),
    "N": (False, FixKind.NONE),
}
# GGA quality field.
QUALITIES: dict[str, tuple[bool, FixKind]] = {
    "0": (False, FixKind.NONE),
    "1": (True, FixKind.PLAIN),
    "2": (True, FixKind.SATELLITE_CORRECTED),
    "3": (True, FixKind.PLAIN),
    "4": (True, FixKind.FIXED),
    "5": (True, FixKind.FLOAT),
    "6": (False, FixKind.ESTIMATED),
    "7": (False, FixKind.NONE),
    "8": (False, FixKind.NONE),
}
_RANK = "RFDPAESMN"  # a combined GNS fix is as good as its best constellation
_NOT_SKY = {"S": "simulated", "8": "simulated", "E": "reckoned", "6": "reckoned"}
# Reference stations of a ground network carry any number, augmentation satellites 120 to 158.
_NO_GROUND_STATION = {0, *range(120, 159)}


_UNSIGNED = ".0123456789"


def number(text: str) -> float | None:
    """A plain unsigned decimal of ASCII text, or None: float() takes nan, inf, 1e9, 1_0 and -3."""
    if not text or text.strip(_UNSIGNED):
        return None
    try:
        return float(text)
    except ValueError:
        return None


@lru_cache(maxsize=8)  # every sentence of an epoch says the same
def time_of_day(text: str) -> float | None:
    """``hhmmss`` or ``hhmmss.sss`` to seconds since midnight UTC; second 60 is a leap second."""
    if not (text[:6].isdigit() and len(text) >= 6):
        return None
    hours, minutes, seconds = int(text[:2]), int(text[2:4]), int(text[4:6])
    if hours > 23 or minutes > 59 or seconds > 60:
        return None
    whole = hours * 3600 + minutes * 60 + seconds
    if len(text) == 6 or text[6:] == ".":
        return float(whole)
    return whole + float(text[6:]) if text[6] == "." and text[7:].isdigit() else None


@lru_cache(maxsize=8)
def day_of(text: str) -> date | None:
    """``ddmmyy``; years 80 to 99 are of the last century, as receivers before a fix send them."""
    if len(text) != 6 or not text.isdigit():
        return None
    year = int(text[4:])
    return _date(year + (1900 if year >= 80 else 2000), int(text[2:4]), int(text[:2]))


def _date(year: int, month: int, day: int) -> date | None:
    if not 1980 <= year < 2080:  # satellite time began in 1980
        return None
    try:
        return date(year, month, day)
    except ValueError:
        return None


def angle(text: str, side: str, sides: str, most_deg: float) -> float | None:
    """``dddmm.mmmm`` and its side to degrees, north and east positive; None if it can't be."""
    dot = text.find(".")
    if dot < 3 or side not in sides or not side:
        return None
    whole, part = text[:dot], text[dot + 1 :]
    if not (whole.isdigit() and (part.isdigit() or not part)):
        return None
    minutes = float(text[dot - 2 :])
    degrees = int(whole[:-2]) + minutes / 60.0
    if minutes >= 60.0 or degrees > most_deg:
        return None
    return degrees if side == sides[0] else -degrees


def _place(lat: str, ns: str, lon: str, ew: str) -> tuple[float | None, float | None, bool]:
    if not lat and not lon:
        return None, None, False
    lat_deg, lon_deg = angle(lat, ns, "NS", 90.0), angle(lon, ew, "EW", 180.0)
    if lat_deg is None or lon_deg is None or (lat_deg == 0.0 and lon_deg == 0.0):
        return None, None, True
    return lat_deg, lon_deg, False


def _speed(text: str, unit_mps: float) -> float | None:
    value = number(text)
    speed = None if value is None else value * unit_mps
    return speed if speed is not None and speed <= MOST_SPEED_MPS else None


def _course(text: str) -> float | None:
    value = number(text)
    return value if value is not None and value <= 360.0 else None


def _rmc(fields: list[str]) -> Said | None:
    if len(fields) < 10 or fields[2] not in ("A", "V"):
        return None
    mode = fields[12] if len(fields) > 12 else ""
    claim, kind = MODES.get(mode, (True, None))
    lat, lon, bad_place = _place(fields[3], fields[4], fields[5], fields[6])
    has_fix = claim and fields[2] == "A"
    speed = _speed(fields[7], KNOT_MPS)
    return Said(
        "RMC",
        fields[0][:2],
        time_of_day(fields[1]),
        day_of(fields[9]),
        has_fix,
        kind if has_fix else FixKind.NONE,
        lat,
        lon,
        bad_place,
        speed,
        speed is None and fields[7] != "",
        _course(fields[8]),
        None,
        None,
        _NOT_SKY.get(mode, "sky"),
    )


def _vtg(fields: list[str]) -> Said | None:
    if len(fields) < 9 or fields[2] not in ("T", ""):
        return None  # the four-field form of early receivers has its figures in other places
    mode = fields[9] if len(fields) > 9 else ""
    claim, kind = MODES.get(mode, (None, None))
    speed = _speed(fields[5], KNOT_MPS) if fields[6] == "N" else None
    if speed is None and fields[8] == "K":
        speed = _speed(fields[7], KMH_MPS)
    return Said(
        "VTG",
        fields[0][:2],
        None,
        None,
        claim,
        kind,
        None,
        None,
        False,
        speed,
        speed is None and (fields[5] != "" or fields[7] != ""),
        _course(fields[1]) if fields[2] == "T" else None,
        None,
        None,
        _NOT_SKY.get(mode, "sky"),
    )


def _gga(fields: list[str]) -> Said | None:
    if len(fields) < 9 or fields[6] not in QUALITIES:
        return None
    claim, kind = QUALITIES[fields[6]]
    station = fields[14] if len(fields) > 14 else ""
    if fields[6] == "2" and station.isdigit() and int(station) not in _NO_GROUND_STATION:
        kind = FixKind.CORRECTED
    return _with_place("GGA", fields, claim, kind, fields[6])


def _gns(fields: list[str]) -> Said | None:
    if len(fields) < 9 or not fields[6] or not set(fields[6]) <= set(_RANK):
        return None
    best = min(fields[6], key=_RANK.index)
    return _with_place("GNS", fields, *MODES[best], best)


def _with_place(name: str, fields: list[str], claim: bool, kind: FixKind, mode: str) -> Said:
    lat, lon, bad_place = _place(fields[2], fields[3], fields[4], fields[5])
    satellites = fields[7]
    return Said(
        name,
        fields[0][:2],
        time_of_day(fields[1]),
        None,
        claim,
        kind,
        lat,
        lon,
        bad_place,
        None,
        False,
        None,
        int(satellites) if satellites.isdigit() else None,
        number(fields[8]),
        _NOT_SKY.get(mode, "sky"),
    )


def _gll(fields: list[str]) -> Said | None:
    if len(fields) < 7 or fields[6] not in ("A", "V"):
        return None
    mode = fields[7] if len(fields) > 7 else ""
    claim, kind = MODES.get(mode, (True, None))
    lat, lon, bad_place = _place(fields[1], fields[2], fields[3], fields[4])
    return Said(
        "GLL",
        fields[0][:2],
        time_of_day(fields[5]),
        has_fix=claim and fields[6] == "A",
        fix_kind=kind if claim and fields[6] == "A" else FixKind.NONE,
        lat_deg=lat,
        lon_deg=lon,
        bad_place=bad_place,
        no_fix_cause=_NOT_SKY.get(mode, "sky"),
    )


def _zda(fields: list[str]) -> Said | None:
    if len(fields) < 5 or not all(part.isdigit() for part in fields[2:5]):
        return None
    day = _date(int(fields[4]), int(fields[3]), int(fields[2]))
    return Said("ZDA", fields[0][:2], time_of_day(fields[1]), day)


READERS: dict[str, Callable[[list[str]], Said | None]] = {
    "RMC": _rmc,
    "VTG": _vtg,
    "GGA": _gga,
    "GNS": _gns,
    "GLL": _gll,
    "ZDA": _zda,
}

# Everything that anybody here reads: the rest of a wire need not be looked at.
WANTED_KINDS = (*READERS, "XDR")


def read_sentence(kind: str, text: str) -> Said | None:
    """What a sentence of ``kind`` says, or None if it is not about the receiver or not well built.

    ``text`` is everything between ``$`` and ``*``; none of it is believed unless all is ASCII.
    """
    reader = READERS.get(kind)
    return reader(text.split(",")) if reader and text.isascii() else None

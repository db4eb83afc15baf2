"""What a wire said, and what may be believed of it."""

from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import NamedTuple, Self


class Quality(Enum):
    """Whether a value may be used; everything but GOOD is a kind of unknown."""

    GOOD = "good"
    STARTING = "starting"
    WITHHELD = "withheld"  # known to be poor now: course at a crawl, settling after a fix
    SILENT = "silent"
    NO_FIX = "no_fix"
    IMPLAUSIBLE = "implausible"
    FROZEN = "frozen"
    WIRE_FAULT = "wire_fault"
    NOT_CALIBRATED = "not_calibrated"
    NOT_FITTED = "not_fitted"
    SET_ASIDE = "set_aside"


_GOOD = Quality.GOOD


@dataclass(frozen=True, slots=True)
class Sample:
    """One value as a wire sent it: name and unit are the wire's own, ``at`` monotonic seconds.

    ``value`` is None where the sender left the field empty: its way to say "sensor fault".
    """

    port: str
    name: str
    kind: str  # XDR type letter, "" for a value that did not come in an XDR
    value: float | None
    unit: str
    at: float


class _Reading(NamedTuple):
    channel: str
    value: float | None
    at: float
    quality: Quality
    cause: str
    least: float | None
    most: float | None


# Readings and fixes are named tuples: ten times a second each sensor makes one, and a frozen
# dataclass takes several times as long to make.
class Reading(_Reading):
    """A channel's value in SI, or None and why not. ``value`` is None unless quality is GOOD.

    ``cause`` is a short key into words.CAUSES ("cable", "no_speed_sent", ""), for the next step.
    ``least`` and ``most`` bound the value inside the sender's own averaging window, if it sends
    them (a load node samples faster than it speaks). ValueError for a value of poor quality or a
    good one that is missing.
    """

    __slots__ = ()

    def __new__(
        cls,
        channel: str,
        value: float | None,
        at: float,
        quality: Quality,
        cause: str = "",
        least: float | None = None,
        most: float | None = None,
    ) -> Self:
        """Make one."""
        if (value is None) == (quality is _GOOD):
            raise ValueError(f"{channel}: value {value!r} with quality {quality}")
        return tuple.__new__(cls, (channel, value, at, quality, cause, least, most))


class FixKind(Enum):
    """How a position was made (NMEA 0183 GGA quality), which bounds what area may claim."""

    NONE = "none"
    PLAIN = "plain"
    CORRECTED = "corrected"  # code differential from the ground
    SATELLITE_CORRECTED = "satellite_corrected"
    FLOAT = "float"
    FIXED = "fixed"
    ESTIMATED = "estimated"  # dead reckoning: never used for speed or area


class Fix(NamedTuple):
    """One epoch of a receiver: every sentence that carried the same receiver time.

    ``speed_mps`` and ``course_deg`` (true) are the receiver's own Doppler figures, None where it
    sent none; ``utc`` is None until a believable date was heard; ``time_of_day_s`` is the
    receiver's time field, None for an epoch without one.
    """

    at: float
    utc: datetime | None
    time_of_day_s: float | None
    lat_deg: float | None
    lon_deg: float | None
    speed_mps: float | None
    course_deg: float | None
    kind: FixKind
    speed_quality: Quality
    position_quality: Quality
    course_quality: Quality
    cause: str = ""
    satellites: int | None = None
    hdop: float | None = None

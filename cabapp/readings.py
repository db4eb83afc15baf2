"""What a wire said, and what may be believed of it."""

from dataclasses import dataclass
from datetime import datetime
from enum import Enum


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


@dataclass(frozen=True, slots=True)
class Reading:
    """A channel's value in SI, or None and why not. ``value`` is None unless quality is GOOD.

    ``cause`` is a short key into words.CAUSES ("cable", "no_speed_sent", ""), for the next step.
    ``least`` and ``most`` bound the value inside the sender's own averaging window, if it sends
    them (a load node samples faster than it speaks).
    """

    channel: str
    value: float | None
    at: float
    quality: Quality
    cause: str = ""
    least: float | None = None
    most: float | None = None

    def __post_init__(self) -> None:
        if (self.value is None) == (self.quality is Quality.GOOD):
            raise ValueError(f"{self.channel}: value {self.value!r} with quality {self.quality}")


class FixKind(Enum):
    """How a position was made (NMEA 0183 GGA quality), which bounds what area may claim."""

    NONE = "none"
    PLAIN = "plain"
    CORRECTED = "corrected"  # code differential from the ground
    SATELLITE_CORRECTED = "satellite_corrected"
    FLOAT = "float"
    FIXED = "fixed"
    ESTIMATED = "estimated"  # dead reckoning: never used for speed or area


@dataclass(frozen=True, slots=True)
class Fix:
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

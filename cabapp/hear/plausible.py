"""What a receiver may be believed: steps that a tractor can make, and dates that can be true."""

import math
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Generic, TypeVar

from cabapp.hear.sentences import DAY_S, Said

FASTEST_MPS = 80.0 / 3.6
# A tractor brakes at up to about 5 m/s2; the rest is the noise of an old receiver's Doppler figure
# (2.1 km/h was seen at rest) with a margin for coarse steps. Judgement, no printed source.
MOST_ACCELERATION_MPS2 = 6.0
SPEED_NOISE_MPS = 1.0
# Old receivers move a standing antenna by 37 m between two epochs; corruption mostly by more.
PLACE_NOISE_M = 50.0
# A lasting new value is the truth: the third sample that agrees with the two before it is taken.
AGREEING_SAMPLES = 3
ERA = timedelta(weeks=1024)  # the 10-bit week number of the older GPS message wraps
_METRES_PER_DEGREE = 111_320.0

Value = TypeVar("Value")


def speed_step(before: float, after: float, dt_s: float) -> bool:
    """Whether a tractor can go from one speed to the other (m/s) within ``dt_s``."""
    return abs(after - before) <= MOST_ACCELERATION_MPS2 * dt_s + SPEED_NOISE_MPS


def place_step(before: tuple[float, float], after: tuple[float, float], dt_s: float) -> bool:
    """Whether a tractor can go from one (lat, lon) in degrees to the other within ``dt_s``."""
    north = (after[0] - before[0]) * _METRES_PER_DEGREE
    turn = (after[1] - before[1] + 180.0) % 360.0 - 180.0
    east = turn * _METRES_PER_DEGREE * math.cos(math.radians(after[0]))
    return math.hypot(north, east) <= FASTEST_MPS * dt_s + PLACE_NOISE_M


class TwoSided(Generic[Value]):
    """Refuses a step that can't be, yet takes a new value that stays.

    ``possible(before, after, dt_s)`` judges one step. ``dt_s`` is the real time between the two
    samples, so the first good sample after a gap is not thrown away.
    """

    __slots__ = (
        "_agreeing",
        "_possible",
        "_since_tried_s",
        "_since_trusted_s",
        "_tried",
        "_trusted",
    )

    def __init__(self, possible: Callable[[Value, Value, float], bool]) -> None:
        self._possible = possible
        self._trusted: Value | None = None
        self._tried: Value | None = None
        self._since_trusted_s = self._since_tried_s = 0.0
        self._agreeing = 0

    def take(self, value: Value, dt_s: float) -> bool:
        """True if ``value`` may be believed; ``dt_s`` is the time since the value before it."""
        self._since_trusted_s += dt_s
        self._since_tried_s += dt_s
        if self._trusted is None or self._possible(self._trusted, value, self._since_trusted_s):
            return self._trust(value)
        if self._tried is None or not self._possible(self._tried, value, self._since_tried_s):
            self._agreeing = 0
        self._agreeing += 1
        self._tried, self._since_tried_s = value, 0.0
        return self._agreeing >= AGREEING_SAMPLES and self._trust(value)

    def _trust(self, value: Value) -> bool:
        self._trusted, self._since_trusted_s = value, 0.0
        self._tried, self._agreeing = None, 0
        return True


class Calendar:
    """UTC of epochs from times of day and the dates a receiver sends now and then.

    Dates are taken as sent, unless ``near`` is given: then each is moved by whole 1024-week eras
    to the one nearest to it. A date that breaks with a clock that runs on is a corrupted field
    until it has come three times.
    """

    __slots__ = ("_at", "_breaks", "_day", "_near", "_time_s", "_utc")

    def __init__(self, near: date | None = None) -> None:
        self._near = near
        self._utc: datetime | None = None
        self._at = 0.0
        self._day: date | None = None  # as last sent and believed
        self._time_s = DAY_S
        self._breaks = 0

    def with_fix(self, day: date | None, time_s: float | None, at: float) -> datetime | None:
        """UTC of an epoch with a fix: its own date if believable, else the running one."""
        if time_s is None:
            return None
        if self._utc is not None and day == self._day and 0 < time_s - self._time_s < 60.0:
            utc: datetime | None = self._utc + timedelta(
                microseconds=round((time_s - self._time_s) * 1e6)
            )
        else:
            utc = self._settled(day, time_s, at)
        if utc is not None:
            self._utc, self._at, self._time_s = utc, at, time_s
        return utc

    def _settled(self, day: date | None, time_s: float, at: float) -> datetime | None:
        running = self._running(time_s, at)
        sent = None if day is None else utc_of(self._in_era(day), time_s)
        if sent is None:
            utc = running
        elif running is not None and self._breaks_off(sent, running, at):
            self._breaks += 1
            utc = sent if self._breaks >= AGREEING_SAMPLES else running
        else:
            utc = sent
        if utc is sent:
            self._breaks, self._day = 0, day
        return utc

    def without_fix(self, time_s: float | None, at: float) -> datetime | None:
        """UTC of an epoch without a fix: only a clock that simply runs on is believed."""
        running = None if time_s is None else self._running(time_s, at)
        return running if running is not None and self._runs_on(running, at) else None

    def _in_era(self, day: date) -> date:
        if self._near is None:
            return day
        return day + round((self._near - day) / ERA) * ERA

    def _running(self, time_s: float, at: float) -> datetime | None:
        """The moment with this time of day that is nearest to where the clock should be now."""
        if self._utc is None:
            return None
        expected = self._utc + timedelta(seconds=at - self._at)
        days = [expected.date() + timedelta(days=step) for step in (-1, 0, 1)]
        moments = [utc_of(day, time_s) for day in days]
        return min(moments, key=lambda moment: abs(moment - expected))

    def _runs_on(self, moment: datetime, at: float) -> bool:
        assert self._utc is not None
        return abs((moment - self._utc).total_seconds() - (at - self._at)) <= 60.0

    def _breaks_off(self, sent: datetime, running: datetime, at: float) -> bool:
        return sent != running and self._runs_on(running, at)


def utc_of(day: date, time_s: float) -> datetime:
    """Date and seconds since midnight to UTC; a leap second reads as the next midnight."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=UTC)
    return midnight + timedelta(microseconds=round(time_s * 1e6))


def seconds_on(before_s: float, after_s: float) -> float:
    """Seconds from one time of day to the next, 0 to 86400: midnight lies between where it must."""
    return (after_s - before_s) % DAY_S


def day_beside(zda: Said, time_s: float) -> date | None:
    """The date of a time of day within 3 s of a ZDA sentence, across midnight; else None."""
    if zda.time_s is None or zda.day is None:
        return None
    away = time_s - zda.time_s
    turns = round(away / DAY_S)
    return zda.day - timedelta(days=turns) if abs(away - turns * DAY_S) <= 3.0 else None

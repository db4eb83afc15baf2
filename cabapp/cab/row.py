"""One row a second of track: keyed to the receiver's second while there is a fix, else to ours."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from cabapp.channels import column_of, family_of
from cabapp.outcome import Row
from cabapp.readings import Fix, FixKind, Quality, Reading
from cabapp.rig import Rig
from cabapp.watch.now import Now
from cabapp.words import Phase

NO_EPOCH_S = 1.5  # later than any epoch of a 1 Hz receiver: then our own seconds count
STRETCHES = ("speed", "depth", "level", "springs")

# Columns of every row, beside t_s, utc, lat_deg and lon_deg, and beside those of the sensors.
BASE_COLUMNS: dict[str, str] = {
    "speed_mps": "REAL",
    "course_deg": "REAL",
    "phase": "TEXT",
    "fix": "TEXT",
    "depth_m": "REAL",
    "depth_front_m": "REAL",
    "depth_rear_m": "REAL",
    "level_m": "REAL",
    "side_m": "REAL",
    "row_angle_deg": "REAL",
    "slip_ratio": "REAL",
    "gross_m2": "REAL",
    # The band that this second was judged against: it may change within a shift.
    "speed_low_mps": "REAL",
    "speed_high_mps": "REAL",
    "depth_low_m": "REAL",
    "depth_high_m": "REAL",
    "stretch": "TEXT",
    "stretch_speed": "TEXT",
    "stretch_depth": "TEXT",
    "stretch_level": "TEXT",
    "stretch_springs": "TEXT",
    "attention": "TEXT",
}


def row_columns(rig: Rig) -> dict[str, str]:
    """Every key of ``Row.values`` on this rig with its SQL type, in order.

    A measuring sensor has its mean of the second under its column, with ``_most`` the highest and,
    for depth, ``_least`` the lowest; a switch has its last state as 0 or 1. ``stretch`` columns
    say "in", "out", "unknown", "raised", "hard" or "idle" (nothing judged); ``attention`` is the
    rule in the headline, empty when calm. Lengths in metres, ratios from 0 to 1, true degrees.
    """
    columns = dict(BASE_COLUMNS)
    for sensor in rig.sensors:
        family = family_of(sensor.channel)
        column = column_of(sensor.channel)
        columns[column] = "REAL"
        if family.quantity != "switch":
            columns[f"{column}_most"] = "REAL"
        if family.name == "depth":
            columns[f"{column}_least"] = "REAL"
    return columns


@dataclass(slots=True)
class _Sum:
    """One channel's readings inside the second."""

    total: float = 0.0
    count: int = 0
    most: float = -math.inf
    least: float = math.inf
    last: float = 0.0

    def take(self, value: float, most: float | None = None, least: float | None = None) -> None:
        self.total += value
        self.count += 1
        self.last = value
        most = value if most is None else most
        least = value if least is None else least
        if most > self.most:
            self.most = most
        if least < self.least:
            self.least = least


@dataclass(frozen=True, slots=True)
class Closing:
    """What a row says besides its sensors, as known when it closes."""

    now: Now
    gross_m2: float
    stretches: dict[str, str]
    attention: str


class RowBuilder:
    """Collects readings and closes a row a second."""

    def __init__(self, rig: Rig) -> None:
        self._sensors = [
            (s.channel, column_of(s.channel), family_of(s.channel)) for s in rig.sensors
        ]
        self._sums = {s.channel: _Sum() for s in rig.sensors}
        self._speed = _Sum()
        self._since: float | None = None
        self._second: int | None = None
        self._told: int | None = None  # the second of the last row with a place
        self._fix: Fix | None = None  # the first of this second: its place is the row's
        self._fix_at = -math.inf

    def start(self, now: float) -> None:
        """The first event."""
        if self._since is None:
            self._since = now

    def take(self, readings: Sequence[Reading]) -> None:
        """Sensors' readings as heard."""
        sums = self._sums
        for channel, value, _, _, _, least, most in readings:
            if value is not None and channel in sums:
                sums[channel].take(value, most, least)

    def fix(self, fix: Fix, t_s: float, closing: Callable[[], Closing]) -> Row | None:
        """An epoch: closes the row if it begins another second of the receiver."""
        placed = fix.position_quality is Quality.GOOD and fix.lat_deg is not None
        second = _second_of(fix)
        if not placed or second is None:
            return None
        self._fix_at = fix.at
        row = None
        if second not in (self._second, self._told):  # what comes late is of a row that was told
            # A bit of our own second before the first epoch is part of the row that begins.
            whole = self._fix is not None or fix.at - (self._since or fix.at) >= 0.5
            row = self._close(fix.at, t_s, closing) if whole else None
            self._second, self._fix, self._since = second, fix, fix.at
        if fix.speed_quality is Quality.GOOD and fix.speed_mps is not None:
            self._speed.take(fix.speed_mps)
        return row

    def tick(self, now: float, t_s: float, closing: Callable[[], Closing]) -> Row | None:
        """Without epochs, a row each second of our own."""
        if self._since is None or now - self._fix_at < NO_EPOCH_S:
            return None
        if now - self._since < 1.0 - 1e-6:
            return None
        row = self._close(self._since + 1.0, t_s, closing)
        self._second = self._fix = None
        return row

    def end(self, now: float, t_s: float, closing: Callable[[], Closing]) -> Row | None:
        """The shift ends: the row being filled, if there is anything in it."""
        if self._since is None or now <= self._since:
            return None
        return self._close(now, t_s, closing)

    def _close(self, until: float, t_s: float, closing: Callable[[], Closing]) -> Row:
        fix, since = self._fix, self._since if self._since is not None else until
        closed = closing()
        now = closed.now
        values: dict[str, float | str | None] = {
            "speed_mps": _mean(self._speed),
            "course_deg": now.course_deg if fix is not None else None,
            "phase": now.phase.value,
            "fix": (fix.kind if fix is not None else FixKind.NONE).value,
            "depth_m": now.depth_m,
            "depth_front_m": now.front_m,
            "depth_rear_m": now.rear_m,
            "level_m": _difference(now.rear_m, now.front_m),
            "side_m": now.side_m,
            "row_angle_deg": now.row_angle_deg if now.phase is Phase.WORKING else None,
            "slip_ratio": now.slip,
            "gross_m2": closed.gross_m2,
            "speed_low_mps": now.speed_low_mps,
            "speed_high_mps": now.speed_high_mps,
            "depth_low_m": now.depth_low_m,
            "depth_high_m": now.depth_high_m,
            "stretch": overall(closed.stretches),
            "attention": closed.attention,
        }
        for name in STRETCHES:
            values[f"stretch_{name}"] = closed.stretches[name]
        self._put_sensors(values)
        self._since = until
        self._told = self._told if fix is None else self._second
        row = Row(
            t_s - (now.at - since) if now.at >= since else t_s,
            "" if fix is None or fix.utc is None else _utc_second(fix.utc),
            None if fix is None else fix.lat_deg,
            None if fix is None else fix.lon_deg,
            values,
        )
        self._speed = _Sum()
        return row

    def _put_sensors(self, values: dict[str, float | str | None]) -> None:
        for channel, column, family in self._sensors:
            found = self._sums[channel]
            heard = found.count > 0
            if family.quantity == "switch":
                values[column] = found.last if heard else None
            else:
                values[column] = _mean(found)
                values[f"{column}_most"] = found.most if heard else None
            if family.name == "depth":
                values[f"{column}_least"] = found.least if heard else None
            self._sums[channel] = _Sum()


def overall(stretches: dict[str, str]) -> str:
    """Where several states hold: unknown, then out, then raised, then hard, then in band."""
    held = set(stretches.values())
    return next((s for s in ("unknown", "out", "raised", "hard", "in") if s in held), "idle")


def _mean(found: _Sum) -> float | None:
    return found.total / found.count if found.count else None


def _difference(after: float | None, before: float | None) -> float | None:
    return None if after is None or before is None else after - before


def _second_of(fix: Fix) -> int | None:
    if fix.time_of_day_s is not None:
        return math.floor(fix.time_of_day_s)
    return None if fix.utc is None else math.floor(fix.utc.timestamp())


def _utc_second(utc: datetime) -> str:
    return utc.replace(microsecond=0, tzinfo=None).isoformat() + "Z"

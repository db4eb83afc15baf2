"""A run read for review: briefly (its page and sums) or whole (every row as well).

Files come from sticks and other people: what is read is counted and checked first, and whatever is
wrong with it comes out as one RunFileError.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import TypeVar

import numpy as np
import numpy.typing as npt

from cabapp.channels import column_of
from cabapp.ground.shares import unpack_trace
from cabapp.outcome import Moment
from cabapp.record.reader import Run, RunPage
from cabapp.review.joined import Files, files_of, joined, opened
from cabapp.review.soil import soil_of
from cabapp.review.sums import ALL, THINGS, Sums, sums_from
from cabapp.trade.draft import Soil
from cabapp.words import Phase

Floats = npt.NDArray[np.float64]
Codes = npt.NDArray[np.int8]

NUMBERS = (
    "t_s", "speed_mps", "course_deg", "depth_m", "depth_front_m", "depth_rear_m", "level_m",
    "side_m", "row_angle_deg", "slip_ratio",
    "speed_low_mps", "speed_high_mps", "depth_low_m", "depth_high_m",
)  # fmt: skip
MOST = 1e9  # of seconds, metres or newtons: whatever is beyond was never measured on a tool
CODES = ("idle", "in", "hard", "raised", "out", "unknown")  # a state's code is its place here
CODE = {state: code for code, state in enumerate(CODES)}
Found = TypeVar("Found")


@dataclass(frozen=True)
class Brief:
    """A shift's page and sums: enough for a list and a season. ``path`` is its last file."""

    path: Path
    page: RunPage
    sums: Sums
    files: Files
    last_utc: str  # of its end or, where nobody ended it, of its last row

    @property
    def begun(self) -> datetime | None:
        """When it began, in local time with its offset; None where no date was ever known."""
        return local(self.page.begun_utc, self.page)


@dataclass(frozen=True)
class Track:
    """Every row as arrays of one length; NaN is unknown. ``area_m2`` is what its state holds for.

    ``codes`` are places in CODES for each thing; ``x_m``, ``y_m`` and ``heading_rad`` (clockwise
    from north) are the tool's place on the plane of the sums.
    """

    utc: list[str | None]
    phase: list[str]
    fix: list[str | None]
    numbers: dict[str, Floats]
    sensors: dict[str, Floats]  # each sensor's mean of the second, by its column
    spring: Floats  # the worst shank's most of the second, as a share of its trip
    codes: dict[str, Codes]
    lat_deg: Floats
    lon_deg: Floats
    area_m2: Floats
    x_m: Floats
    y_m: Floats
    heading_rad: Floats

    def __len__(self) -> int:
        return len(self.utc)

    @property
    def t_s(self) -> Floats:
        """Seconds from the first event."""
        return self.numbers["t_s"]

    @property
    def working(self) -> npt.NDArray[np.bool_]:
        """Rows in the working phase."""
        return np.array([phase == Phase.WORKING.value for phase in self.phase], np.bool_)


@dataclass(frozen=True)
class Shift:
    """A whole run in memory."""

    brief: Brief
    track: Track
    moments: tuple[Moment, ...]
    soil: Soil | None = None  # None: nobody said

    @property
    def page(self) -> RunPage:
        return self.brief.page

    @property
    def sums(self) -> Sums:
        return self.brief.sums


def load_brief(path: Path) -> Brief:
    """Page and sums; made again where none are stored. RunFileError names what is wrong."""
    return _careful(path, lambda run, files: _brief(run, files, _sums(run, stored=True)[0]))


def load_shift(path: Path, again: bool = False) -> Shift:
    """Everything of a run; ``again`` makes the sums again from its rows and moments."""
    return _careful(path, lambda run, files: _shift(run, files, again))


def _careful(path: Path, read: Callable[[Run, Files], Found]) -> Found:
    """Read, with the files that the shift goes on from; one sentence where something is wrong."""
    with opened(path) as run:
        files = files_of(run)
        if len(files.paths) == 1:
            return read(run, files)
    with joined(files) as run:
        return read(run, files)


def _sums(run: Run, stored: bool) -> tuple[Sums, bytes]:
    plain = run.summary() if stored else {}
    if "area_by_stretch_m2" not in plain:
        plain = run.totals()
    return sums_from(plain), bytes(plain.get("trace", b""))


def _brief(run: Run, files: Files, sums: Sums) -> Brief:
    return Brief(run.path, run.page, sums, files, run.last_utc())


def _shift(run: Run, files: Files, again: bool) -> Shift:
    sums, trace = _sums(run, stored=not again)
    soil = soil_of(run.path, run.page)
    shift = Shift(_brief(run, files, sums), _track(run, trace), tuple(run.moments()), soil)
    _need_plausible(shift)
    return shift


def _need_plausible(shift: Shift) -> None:
    """ValueError for values of any type or size that SQLite keeps and no shift can have."""
    track, moments = shift.track, shift.moments
    times = np.array([m.t_s for m in moments], np.float64)
    values = np.array([m.value for m in moments if isinstance(m.value, float)], np.float64)
    numbers = (*track.numbers.values(), *track.sensors.values(), times, values)
    if any(bool((np.abs(found) > MOST).any()) for found in numbers):
        raise ValueError("a number that no shift has")
    if not all(
        isinstance(utc, str) for utc in (*filter(None, track.utc), *(m.utc for m in moments))
    ):
        raise ValueError("a time that is no text")


def _track(run: Run, trace: bytes) -> Track:
    springs = [f"{column_of(s.channel)}_most" for s in run.page.rig.fitted("spring")]
    own = [column_of(sensor.channel) for sensor in run.page.rig.sensors]
    numbers = run.numbers((*NUMBERS, *springs, *own))
    things = {thing: "stretch" if thing == ALL else f"stretch_{thing}" for thing in THINGS}
    words = run.words(("utc", "phase", "fix", *things.values()))
    lat, lon = run.places()
    rows = len(lat)
    area, x, y, heading = unpack_trace(trace, rows)
    return Track(
        utc=words["utc"],
        phase=[phase or Phase.UNKNOWN.value for phase in words["phase"]],
        fix=words["fix"],
        numbers={name: numbers[name] for name in NUMBERS},
        sensors={name: numbers[name] for name in own},
        spring=_highest([numbers[name] for name in springs], rows),
        codes={
            thing: np.array([CODE.get(state or "idle", 0) for state in words[column]], np.int8)
            for thing, column in things.items()
        },
        lat_deg=lat,
        lon_deg=lon,
        area_m2=area,
        x_m=x,
        y_m=y,
        heading_rad=heading,
    )


def _highest(columns: list[Floats], rows: int) -> Floats:
    """The highest of each row, NaN where none is known."""
    return np.fmax.reduce(columns) if columns else np.full(rows, math.nan)


def local(utc: str, page: RunPage) -> datetime | None:
    """A UTC text of the record in the rig's local time; None for "" or a text that is no time."""
    try:
        when = datetime.fromisoformat(utc)
    except ValueError:
        return None
    if when.tzinfo is None:
        when = when.replace(tzinfo=UTC)
    offset = timedelta(minutes=page.rig.locale.utc_offset_min)
    return when.astimezone(timezone(offset))

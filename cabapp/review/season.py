"""Many shifts together, one file in memory at a time: by shift, by rig, and as a whole."""

import os
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TypeVar

from cabapp.record.folder import runs_in
from cabapp.record.reader import IsTheBook, RunFileError
from cabapp.review.digits import NONE, area_text, share_text
from cabapp.review.joined import Files
from cabapp.review.phrases import worst_alert_text
from cabapp.review.shift import Brief, load_brief, local
from cabapp.review.sums import ALL, Share
from cabapp.units import UnitSystem
from cabapp.words import Phase

Key = TypeVar("Key", str, int)
Count = TypeVar("Count", int, float)


@dataclass(frozen=True)
class Line:
    """What a season keeps of one shift."""

    path: Path
    day: str  # "2026-10-14", local; "" where no date was known
    field: str
    driver: str
    rig: str
    tractor: str
    gross_m2: float
    working_s: float
    shares: dict[str, Share]
    trips: dict[int, int] | None  # None: no spring has a sensor, so nobody knows
    alerts: dict[str, int]
    worst: str
    ended: bool
    files: Files
    until: str  # local clock of its end or last row, "" where no time was known
    shift: tuple[object, ...]  # what is the same in every copy of a shift, and in no other
    last_utc: str  # of its end or last row, "" where no date was known


@dataclass
class Group:
    """Sums over some shifts: areas add up, and shares are of the area of all of them together."""

    name: str
    shifts: int = 0
    gross_m2: float = 0.0
    working_s: float = 0.0
    areas_m2: dict[str, dict[str, float]] = field(default_factory=dict)
    idle_m2: dict[str, float] = field(default_factory=dict)
    trips: dict[int, int] = field(default_factory=dict)
    counted: int = 0  # shifts whose trips were counted
    alerts: dict[str, int] = field(default_factory=dict)

    def add(self, line: Line) -> None:
        """One shift more."""
        self.shifts += 1
        self.gross_m2 += line.gross_m2
        self.working_s += line.working_s
        for thing, share in line.shares.items():
            _add(self.areas_m2.setdefault(thing, {}), share.areas_m2)
            self.idle_m2[thing] = self.idle_m2.get(thing, 0.0) + share.idle_m2
        if line.trips is not None:
            self.counted += 1
            _add(self.trips, line.trips)
        _add(self.alerts, line.alerts)

    def share(self, thing: str = ALL) -> Share:
        """Ground by state of one thing over all shifts."""
        return Share(self.areas_m2.get(thing, {}), self.idle_m2.get(thing, 0.0))

    @property
    def rate_m2_s(self) -> float | None:
        """Area by time in work; turns and stops are not in it."""
        return self.gross_m2 / self.working_s if self.working_s > 0 else None


@dataclass(frozen=True)
class Season:
    """Shifts oldest first, sums by rig and tractor and of all, and the files that were not read."""

    lines: tuple[Line, ...]
    rigs: tuple[Group, ...]
    whole: Group
    faults: tuple[str, ...]
    copies: tuple[str, ...] = ()  # files that hold a shift which another one holds too

    @property
    def days(self) -> list[str]:
        """The days that have a shift, first to last (ISO dates)."""
        return sorted({line.day for line in self.lines if line.day})


NO_SHIFTS = Season((), (), Group("All shifts"), ())


def season_of(folder: Path, live: Path | None = None) -> Season:
    """Every run of a folder; one that cannot be read is named among the faults.

    ``live`` is the writer's own copy of a run of this folder, and stands for it.
    """
    faults: list[str] = []
    paths = [live if live and live.name == path.name else path for path in _runs(folder)]
    return season_from(_briefs(paths, faults), faults)


def _runs(folder: Path) -> list[Path]:
    """The run files of a folder; RunFileError for one that is not there or cannot be read."""
    try:
        if not folder.is_dir():
            raise RunFileError(f"{folder}: there is no such folder; name the one with the runs")
        os.listdir(folder)  # a search through a folder that may not be read just finds nothing
    except OSError as error:
        raise RunFileError(
            f"{folder}: cannot be read ({error.strerror}); name a folder that you may read"
        ) from None
    return runs_in(folder)


def season_from(briefs: Iterable[Brief], faults: list[str]) -> Season:
    """A season of shifts as they come; ``faults`` is read after the last of them.

    A file that another one goes on from is part of that one's shift and no shift of its own.
    """
    lines = sorted(map(line_of, briefs), key=lambda line: (line.day, line.path.name))
    parts = {path for line in lines for path in line.files.paths[:-1]}
    missing = [f"{line.path}: {line.files.missing}" for line in lines if line.files.missing]
    whole = [line for line in lines if line.path not in parts]
    once: dict[tuple[object, ...], Line] = {}
    for line in whole:  # of copies the one that goes on longest, as a copy of a run is not ended
        if line.shift not in once or line.last_utc > once[line.shift].last_utc:
            once[line.shift] = line
    copies = [
        f"{line.path}: the shift of {once[line.shift].path.name} again, counted once"
        for line in whole
        if once[line.shift] is not line
    ]
    kept = [line for line in whole if once[line.shift] is line]
    return _summed(kept, [*faults, *missing], copies)


def between(season: Season, first: str, last: str) -> Season:
    """The same season with the days from ``first`` to ``last`` only (ISO dates, both included)."""
    chosen = [line for line in season.lines if line.day and first <= line.day <= last]
    return _summed(chosen, season.faults, season.copies)


def _summed(lines: Iterable[Line], faults: Iterable[str], copies: Iterable[str]) -> Season:
    lines, whole = tuple(lines), Group("All shifts")
    rigs: dict[str, Group] = {}
    for line in lines:
        name = f"{line.rig}, tractor {line.tractor}" if line.tractor else line.rig
        rigs.setdefault(name, Group(name)).add(line)
        whole.add(line)
    return Season(lines, tuple(rigs.values()), whole, tuple(faults), tuple(copies))


def line_of(brief: Brief) -> Line:
    """What is kept of a shift."""
    page, sums, begun = brief.page, brief.sums, brief.begun
    until = local(brief.last_utc, page)
    return Line(
        path=brief.path,
        day=begun.date().isoformat() if begun else "",
        field=page.field,
        driver=page.driver,
        rig=page.rig.name,
        tractor=page.rig.tractor.id,
        gross_m2=sums.gross_m2,
        working_s=float(sums.seconds_by_phase.get(Phase.WORKING.value, 0)),
        shares=sums.shares,
        trips=sums.trips if page.rig.fitted("spring") else None,
        alerts=sums.alerts,
        worst=worst_alert_text(sums),
        ended=bool(page.ended),
        files=brief.files,
        until=until.strftime("%H:%M") if until else "",
        shift=_identity(brief),
        last_utc=brief.last_utc,
    )


def _identity(brief: Brief) -> tuple[object, ...]:
    """Its rig, name and begin; where no date was ever known, its work in place of that."""
    page, sums = brief.page, brief.sums
    if page.begun_utc:
        return page.rig.id, page.shift, page.begun_utc
    return page.rig.id, page.shift, sums.gross_m2, str(sums.seconds_by_phase)


def _briefs(paths: list[Path], faults: list[str]) -> Iterator[Brief]:
    for path in paths:
        try:
            yield load_brief(path)
        except IsTheBook:
            continue
        except RunFileError as error:
            faults.append(str(error))


def _add(into: dict[Key, Count], more: Mapping[Key, Count]) -> None:
    for key, value in more.items():
        into[key] = into[key] + value if key in into else value


HEADS = ("day", "field", "driver", "rig", "area", "in band", "unknown", "trips", "worst")


def table_of(season: Season, units: UnitSystem) -> list[tuple[str, ...]]:
    """A season as lines of text under HEADS: each shift, each rig, and all of them."""
    shifts = [
        (
            line.day or "no date",
            line.field or NONE,
            line.driver or NONE,
            line.rig,
            *_sums_text(line.gross_m2, line.shares[ALL], units),
            trips_words(line.trips),
            line.worst or NONE,
        )
        for line in season.lines
    ]
    groups = [*season.rigs, season.whole] if len(season.rigs) > 1 else [season.whole]
    sums = [
        (
            f"{group.shifts} shift{'s' if group.shifts != 1 else ''}", "", "", group.name,
            *_sums_text(group.gross_m2, group.share(), units),
            trips_words(group.trips if group.counted else None), "",
        )
        for group in groups
    ]  # fmt: skip
    return [*shifts, *sums]


def _sums_text(area_m2: float, share: Share, units: UnitSystem) -> tuple[str, str, str]:
    return area_text(area_m2, units), share_text(share, "in"), share_text(share, "unknown")


def trips_words(trips: Mapping[int, int] | None) -> str:
    """``9, most on shank 3``; a dash where no spring sensor counted them."""
    if trips is None:
        return NONE
    if not trips:
        return "none"
    worst = max(trips, key=lambda shank: trips[shank])
    return f"{sum(trips.values())}, most on shank {worst}"


def text_of(season: Season, units: UnitSystem) -> str:
    """The table with its columns lined up."""
    rows = [HEADS, *table_of(season, units)]
    wide = [max(len(row[n]) for row in rows) for n in range(len(HEADS))]
    right = {4, 5, 6}
    return "\n".join(
        "  ".join(
            cell.rjust(wide[n]) if n in right else cell.ljust(wide[n]) for n, cell in enumerate(row)
        ).rstrip()
        for row in rows
    )

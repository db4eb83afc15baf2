"""The list of shifts as a person has it: its order, its page, a range of days, the live one."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from cabapp.record.reader import RunFileError
from cabapp.review.season import NO_SHIFTS, Line, Season, between, season_of

# The list stands newest first; by name, those of one name keep that order and no name comes last.
ORDERS: dict[str, Callable[[Line], tuple[bool, str]]] = {
    "date": lambda line: (False, ""),
    "field": lambda line: (not line.field, line.field.casefold()),
    "driver": lambda line: (not line.driver, line.driver.casefold()),
}


@dataclass(frozen=True)
class Live:
    """The run being written as the engine last told: its copy, or why there is none."""

    copy: Path | None = None
    fault: str = ""


def read_season(folder: Path, live: Live) -> Season:
    """Every run's page and sums; nothing was ever ended where there is no folder yet."""
    try:
        return season_of(folder, live.copy)
    except RunFileError:
        return NO_SHIFTS


class Listing:
    """What of the shifts is listed; the page draws it."""

    def __init__(self) -> None:
        self.season: Season = NO_SHIFTS
        self.live = Live()
        self.read = False  # at least once
        self.leaf = 0  # which page of the list
        self.order = "date"  # a key of ORDERS
        self.first_day = self.last_day = ""

    def take(self, season: Season) -> None:
        """Shifts as just read; a range of days that was chosen stays."""
        days, before = season.days, self.season.days
        if not days or self.first_day == (before[0] if before else ""):
            self.first_day = days[0] if days else ""
        if not days or self.last_day == (before[-1] if before else ""):
            self.last_day = days[-1] if days else ""
        self.season, self.read = season, True

    def is_live(self, line: Line) -> bool:
        """Whether a line is the shift being driven."""
        return line.path == self.live.copy

    def on_page(self, rows: int) -> list[Line]:
        """The shifts on this page of the list, in its order; the one being driven comes first."""
        lines = list(reversed(self.season.lines))
        lines.sort(key=ORDERS[self.order])
        lines.sort(key=lambda line: not self.is_live(line))
        return lines[self.leaf * rows : (self.leaf + 1) * rows]

    def pages(self, rows: int) -> int:
        """How many pages the list has."""
        return max(1, -(-len(self.season.lines) // rows))

    def reorder(self) -> None:
        """The next order of the list, from its beginning."""
        names = list(ORDERS)
        self.order = names[(names.index(self.order) + 1) % len(names)]
        self.leaf = 0

    def turn(self, pages: int, rows: int) -> None:
        """Turn to older (positive) or newer shifts."""
        self.leaf = min(max(self.leaf + pages, 0), self.pages(rows) - 1)

    def chosen(self) -> Season:
        """The shifts from the first to the last day chosen."""
        return between(self.season, self.first_day, self.last_day)

    def step_day(self, end: str, step: int) -> None:
        """Move the first or the last day to the next one that has a shift."""
        days = self.season.days
        if not days:
            return
        day = self.first_day if end == "first" else self.last_day
        new = days[min(max(days.index(day) + step, 0), len(days) - 1)]
        if end == "first":
            self.first_day = min(new, self.last_day)
        else:
            self.last_day = max(new, self.first_day)

"""Shifts: the owner's page. A list, one shift, two side by side, a season; report and copy.

The page keeps where a person is; figures come from cabapp.review and are rounded nowhere else.
Reading, reports and copies run away from the window and are asked now and then how far they are.
"""

from collections.abc import Callable
from dataclasses import replace
from enum import Enum
from pathlib import Path
from typing import Any

from kivy.clock import Clock

from cabapp.engine.home import Home
from cabapp.outcome import Snapshot
from cabapp.record.book import Kind
from cabapp.record.reader import RunFileError
from cabapp.review.again import Bands, judged_again
from cabapp.review.apart import Making
from cabapp.review.beside import book_path, entries_of
from cabapp.review.notes import Note, add_note, notes_of
from cabapp.review.season import NO_SHIFTS, Line, Season, between, season_of
from cabapp.screens.fronts import Way
from cabapp.screens.pages.page import ParkedPage
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.shift_more import (
    write_again,
    write_figures,
    write_more,
    write_places,
    write_report,
)
from cabapp.screens.pages.shift_notes import typed, write_notes, write_typing
from cabapp.screens.pages.shift_one import write_one
from cabapp.screens.pages.shifts_list import rows_on, write_list, write_season
from cabapp.screens.pages.shifts_two import write_two
from cabapp.screens.pages.shifts_work import Job, Opened, copy_job, open_path, opened
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import box, frame
from cabapp.screens.theme import Role
from cabapp.units import INCH_M, KMH_MPS, MPH_MPS, UnitSystem

ASK_EACH_S = 0.1
STEP = {
    ("speed", UnitSystem.US): 0.5 * MPH_MPS,
    ("speed", UnitSystem.METRIC): KMH_MPS,
    ("depth", UnitSystem.US): 0.5 * INCH_M,
    ("depth", UnitSystem.METRIC): 0.01,
}


# The list stands newest first; by name, those of one name keep that order and no name comes last.
ORDERS: dict[str, Callable[[Line], tuple[bool, str]]] = {
    "date": lambda line: (False, ""),
    "field": lambda line: (not line.field, line.field.casefold()),
    "driver": lambda line: (not line.driver, line.driver.casefold()),
}


class Room(Enum):
    """What of Shifts is in front."""

    LIST = "list"
    SEASON = "season"
    ONE = "one"
    MORE = "more"
    PLACES = "places"
    FIGURES = "figures"
    AGAIN = "again"
    TWO = "two"
    REPORT = "report"
    NOTES = "notes"
    TYPING = "typing"
    BUSY = "busy"
    SAID = "said"  # one sentence: what was copied, or what is wrong


class ShiftsPage(ParkedPage):
    """The page. ``home`` is the state folder; ``inline`` does the work at once, for pictures."""

    def __init__(
        self,
        layout: Layout,
        way: Way,
        back: Callable[[], None],
        home: Home,
        inline: bool = False,
        **kwargs: Any,
    ) -> None:
        super().__init__(layout, way, back, **kwargs)
        self.home, self.inline = home, inline
        self.room = Room.LIST
        self.season: Season = NO_SHIFTS
        self.leaf = 0  # which page of the list
        self.order = "date"  # of the list, a key of ORDERS
        self.one: Opened | None = None
        self.asked: Opened | None = None  # the same shift, judged again
        self.beside: Opened | None = None  # the first of two
        self.bands = Bands()
        self.refused = ""  # why the last key moved no band
        self.notes: tuple[Note, ...] = ()
        self.correcting: Note | None = None
        self.note_text, self.note_part = "", 0
        self.first_day = self.last_day = ""
        self.job: Job | None = None
        self.then: Callable[[Any], None] = lambda answer: None
        self.making: Making | None = None
        self.said = ""
        self.said_of = Room.LIST  # where a said sentence leads back to
        self._asking: Any = None

    # -- what the house calls ----------

    def enter(self, snapshot: Snapshot) -> None:
        """Read the folder of runs anew."""
        self.units = snapshot.units
        self.read_season()
        super().enter(snapshot)

    def leave(self) -> None:
        """Drive comes to the front: a report under way is given up, a copy goes on."""
        super().leave()
        if self.making is not None:
            self.making.stop()
            self.making = None
            self.room = Room.ONE

    def write(self, paper: Paper) -> None:
        """The room in front."""
        one = self.asked or self.one
        if self.room is Room.LIST:
            write_list(self, paper)
        elif self.room is Room.SEASON:
            write_season(self, paper)
        elif self.room is Room.BUSY:
            self._write_busy(paper)
        elif self.room is Room.SAID:
            self._write_said(paper)
        elif one is not None:
            self._write_shift(paper, one)

    def _write_shift(self, paper: Paper, one: Opened) -> None:
        if self.room is Room.ONE:
            write_one(self, paper, one)
        elif self.room is Room.MORE:
            write_more(self, paper)
        elif self.room is Room.PLACES:
            write_places(self, paper, one)
        elif self.room is Room.FIGURES:
            write_figures(self, paper, one)
        elif self.room is Room.AGAIN:
            write_again(self, paper, one)
        elif self.room is Room.REPORT:
            write_report(self, paper, one)
        elif self.room is Room.NOTES:
            write_notes(self, paper)
        elif self.room is Room.TYPING:
            write_typing(self, paper)
        elif self.room is Room.TWO and self.beside is not None:
            write_two(self, paper, self.beside, one)

    # -- the list ----------

    def read_season(self) -> None:
        """Every run's page and sums."""
        try:
            self.season = season_of(self.home.runs)
        except RunFileError:
            self.season = NO_SHIFTS  # no folder yet: nothing was ever ended
        days = [line.day for line in self.season.lines if line.day]
        self.first_day, self.last_day = (min(days), max(days)) if days else ("", "")

    def listed(self) -> list[Line]:
        """The shifts on this page of the list, in its order."""
        lines = list(reversed(self.season.lines))
        lines.sort(key=ORDERS[self.order])
        first = self.leaf * rows_on(self)
        return lines[first : first + rows_on(self)]

    def reorder(self) -> None:
        """The next order of the list, from its beginning."""
        names = list(ORDERS)
        self.order = names[(names.index(self.order) + 1) % len(names)]
        self.leaf = 0
        self.again()

    def pages_of_list(self) -> int:
        """How many pages the list has."""
        return max(1, -(-len(self.season.lines) // rows_on(self)))

    def earlier(self) -> None:
        """Turn to older shifts."""
        self.leaf = min(self.leaf + 1, self.pages_of_list() - 1)
        self.again()

    def later(self) -> None:
        """Turn to newer shifts."""
        self.leaf = max(self.leaf - 1, 0)
        self.again()

    def choose(self, path: Path) -> None:
        """Open a shift, or set it beside the one already chosen."""
        self._do(Job("Reading the shift", lambda job: open_path(path)), self._chosen)

    def _chosen(self, found: Opened) -> None:
        self.one, self.asked, self.bands = found, None, Bands()
        self.room = Room.ONE if self.beside is None else Room.TWO
        self.again()

    # -- going from room to room ----------

    def go(self, room: Room) -> None:
        """Show another room."""
        self.room = room
        self.again()

    def to_list(self) -> None:
        """The list, with nothing chosen."""
        self.one = self.asked = self.beside = None
        self.go(Room.LIST)

    def to_one(self) -> None:
        """Back to the shift."""
        if self.beside is not None:
            self.one, self.beside = self.beside, None
        self.go(Room.ONE)

    def to_more(self) -> None:
        """What else can be done with the shift."""
        self.go(Room.MORE)

    def to_places(self) -> None:
        """Where it went wrong."""
        self.go(Room.PLACES)

    def to_figures(self) -> None:
        """All figures of the shift."""
        self.go(Room.FIGURES)

    def to_again(self) -> None:
        """Another speed or depth band."""
        self.refused = ""
        self.go(Room.AGAIN)

    def to_season(self) -> None:
        """A range of dates."""
        self.go(Room.SEASON)

    def to_report(self) -> None:
        """Make the report."""
        self.go(Room.REPORT)

    def to_notes(self) -> None:
        """What the book holds about the shift."""
        if self.one is None:
            return
        try:
            brief = self.one.shift.brief
            self.notes = notes_of(brief, book_path(brief.path))
        except RunFileError as error:
            self.said_of = Room.ONE
            self._say(str(error))
            return
        self.go(Room.NOTES)

    def to_note(self, note: Note | None) -> None:
        """Type a new note, or put one right."""
        self.correcting, self.note_part = note, 0
        self.note_text = note.text if note else ""
        self.go(Room.TYPING)

    def press_note(self, key: str) -> None:
        """A key of the letters."""
        self.note_part += key == "part"
        self.note_text = typed(self.note_text, key)
        self.again()

    def keep_note(self) -> None:
        """Put the note into the book, with who was said to drive and the receiver's time."""
        if self.one is None or self.snapshot is None or not self.note_text.strip():
            return
        brief, number = self.one.shift.brief, self.correcting.number if self.correcting else None
        try:
            drivers = entries_of(self.home.book, Kind.DRIVER)  # the last one named drives
            who = str(drivers[-1].value.get("name", "")) if drivers else ""
            who = who or "no name given"
            add_note(brief, book_path(brief.path), self.note_text.strip(), who,
                     self.snapshot.utc, number)  # fmt: skip
        except RunFileError as error:
            self.said_of = Room.NOTES
            self._say(str(error))
            return
        self.to_notes()

    def to_beside(self) -> None:
        """Choose another shift to set beside this one."""
        self.beside = self.one
        self.go(Room.LIST)

    # -- a range of dates ----------

    def chosen(self) -> Season:
        """The shifts from the first to the last day chosen."""
        return between(self.season, self.first_day, self.last_day)

    def step_day(self, end: str, step: int) -> None:
        """Move the first or the last day to the next one that has a shift."""
        days = sorted({line.day for line in self.season.lines if line.day})
        if not days:
            return
        day = self.first_day if end == "first" else self.last_day
        new = days[min(max(days.index(day) + step, 0), len(days) - 1)]
        if end == "first":
            self.first_day = min(new, self.last_day)
        else:
            self.last_day = max(new, self.first_day)
        self.again()

    # -- judged again ----------

    def movable(self) -> tuple[str, ...]:
        """Whose band can be moved: speed, and depth where the rig reads one and has a band."""
        assert self.one is not None
        page = self.one.shift.page
        depth = page.rig.fitted("depth") and page.plan.depth_low_m is not None
        return ("speed", "depth") if depth and page.plan.depth_high_m is not None else ("speed",)

    def band(self, thing: str) -> tuple[float, float]:
        """The band of "speed" or "depth" to judge against, m/s or metres."""
        assert self.one is not None
        plan = self.one.shift.page.plan
        if thing == "speed":
            return self.bands.speed_mps or (plan.speed_low_mps, plan.speed_high_mps)
        assert plan.depth_low_m is not None and plan.depth_high_m is not None
        return self.bands.depth_m or (plan.depth_low_m, plan.depth_high_m)

    def step_band(self, thing: str, end: int, step: int) -> None:
        """Move the lower (0) or upper (1) end of the band to judge against, and judge."""
        if self.one is None:
            return
        low, high = self.band(thing)
        by = step * STEP[(thing, self.units)]
        moved = (low, high + by) if end else (low + by, high)
        field = "speed_mps" if thing == "speed" else "depth_m"
        try:
            bands = replace(self.bands, **{field: moved})
            self.asked = opened(judged_again(self.one.shift, bands))
        except ValueError as error:
            self.refused = str(error)[0].upper() + str(error)[1:]
            self.again()
            return
        self.bands, self.refused = bands, ""
        self.again()

    def as_recorded(self) -> None:
        """Back to the band of the day."""
        self.asked, self.bands, self.refused = None, Bands(), ""
        self.again()

    # -- work away from the window ----------

    def make_report(self, customer: bool) -> None:
        """Start the report in a process of its own."""
        if self.one is None or self.making is not None:
            return
        run = self.one.shift.brief.path
        kind = "customer-report" if customer else "report"
        out = run.with_name(f"{run.stem}-{kind}.html")
        self.making = Making(run, out, self.units.value, customer)
        self._ask()
        self.again()

    def copy_one(self) -> None:
        """Copy this shift with its report."""
        if self.one is not None:
            self.said_of = Room.ONE
            self._do(copy_job([self.one.shift.brief.path]), self._say)

    def copy_all(self) -> None:
        """Copy every shift of the list."""
        self.said_of = Room.LIST
        self._do(copy_job([line.path for line in self.season.lines]), self._say)

    def _say(self, words: str) -> None:
        """One sentence; a run is named by its file, for its folder is the tablet's own."""
        self.said = words.replace(f"{self.home.runs}/", "")
        self.go(Room.SAID)

    def _do(self, job: Job, then: Callable[[Any], None]) -> None:
        self.job, self.then = job, then
        if self.inline:
            job.run()
            self._finish()
            return
        self.room = Room.BUSY
        self.again()
        job.start()
        self._ask()

    def _ask(self) -> None:
        if self._asking is None:
            self._asking = Clock.schedule_once(self._asked, ASK_EACH_S)

    def _asked(self, _: float) -> None:
        self._asking = None
        if self.making is not None:
            self._ask_report(self.making)
        if self.job is not None and not self.job.going:
            self._finish()
        elif self.room is Room.BUSY:
            self.again()
        if self.making is not None or self.job is not None:
            self._ask()

    def _ask_report(self, making: Making) -> None:
        making.step()
        if not making.going:
            self.making = None
            self.said_of = Room.REPORT
            self._say(making.fault or f"Made: {making.path.name if making.path else ''}")
        else:
            self.again()

    def _finish(self) -> None:
        job, self.job = self.job, None
        assert job is not None
        if job.fault:
            self.said_of = Room.ONE if self.room is Room.ONE else self.said_of
            self._say(job.fault)
        else:
            self.then(job.answer)

    # -- the two plain rooms ----------

    def _write_busy(self, paper: Paper) -> None:
        words = self.job.words if self.job else ""
        self.head(words, "A moment", "Shifts", self.to_list)
        write_progress(paper, self.job.share if self.job else 0.0, 300)

    def _write_said(self, paper: Paper) -> None:
        room = self.said_of
        word = "Shifts" if room is Room.LIST else "Shift"
        self.head("Shifts", "", word, lambda: self.go(room))
        paper.lines(self.said, 24, 220, 30, self.right - 24, 6)


def write_progress(paper: Paper, share: float, y: float) -> None:
    """A bar that fills."""
    wide = paper.wide - 48
    if share > 0:
        paper.fill(Role.WANTED, box(24, y, wide * min(share, 1.0), 40))
    paper.fill(Role.INK, frame(24, y, wide, 40, 4))
    paper.say(f"{100 * share:.0f} %", 24, y + 84, 30)

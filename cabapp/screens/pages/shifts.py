"""Shifts: the owner's page. A list, one shift, two side by side, a season; report and copy.

The page keeps where a person is; figures come from cabapp.review and are rounded nowhere else.
Finished runs are read as they lie; of the one being written the engine is asked for a copy.
"""

from collections.abc import Callable
from enum import Enum
from functools import partial
from pathlib import Path
from typing import Any

from cabapp.engine.home import Home
from cabapp.engine.wire import RunCopied, RunWanted
from cabapp.outcome import Snapshot
from cabapp.record.reader import RunFileError
from cabapp.review.apart import Making
from cabapp.review.notes import Note
from cabapp.screens.fronts import Way
from cabapp.screens.pages.page import ParkedPage
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.shift_more import (
    write_again,
    write_figures,
    write_more,
    write_places,
    write_report,
    write_tomorrow,
)
from cabapp.screens.pages.shift_notes import Notepad, write_notes, write_typing
from cabapp.screens.pages.shift_one import write_one
from cabapp.screens.pages.shifts_judging import Judging
from cabapp.screens.pages.shifts_list import rows_on, write_list, write_season
from cabapp.screens.pages.shifts_listing import Listing, Live, read_season
from cabapp.screens.pages.shifts_two import write_two
from cabapp.screens.pages.shifts_work import Desk, Job, Opened, copy_job, open_path
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import box, frame
from cabapp.screens.theme import Role

ASK_AGAIN_S = 5.0  # an engine that was started anew meanwhile has not heard


class Room(Enum):
    """What of Shifts is in front."""

    LIST = "list"
    SEASON = "season"
    ONE = "one"
    MORE = "more"
    PLACES = "places"
    TOMORROW = "tomorrow"
    FIGURES = "figures"
    AGAIN = "again"
    TWO = "two"
    REPORT = "report"
    NOTES = "notes"
    TYPING = "typing"
    BUSY = "busy"
    SAID = "said"  # one sentence: what was copied, or what is wrong


OF_A_SHIFT: dict[Room, Callable[["ShiftsPage", Paper, Opened], None]] = {
    Room.ONE: write_one,
    Room.MORE: lambda page, paper, one: write_more(page, paper),
    Room.PLACES: write_places,
    Room.TOMORROW: write_tomorrow,
    Room.FIGURES: write_figures,
    Room.AGAIN: write_again,
    Room.REPORT: write_report,
    Room.NOTES: lambda page, paper, one: write_notes(page, paper),
    Room.TYPING: lambda page, paper, one: write_typing(page, paper),
    Room.TWO: lambda page, paper, one: write_two(page, paper, page.beside or one, one),
}


class ShiftsPage(ParkedPage):
    """The page. ``home`` is the state folder; ``inline`` does the work at once, for pictures."""

    judging: Judging  # of the shift in front
    pad: Notepad

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
        self.home = home
        self.room = Room.LIST
        self.listing = Listing()
        self.one: Opened | None = None
        self.beside: Opened | None = None  # the first of two
        self.desk = Desk(self._step, inline)
        self.job: Job | None = None  # the one that the page waits for
        self.said = ""
        self.said_of = Room.LIST  # where a said sentence leads back to
        self._ask_at: float | None = None  # None once the engine has answered

    # -- what the house calls ----------

    def enter(self, snapshot: Snapshot) -> None:
        """Read the folder of runs anew, and ask for the run being written."""
        self.units = snapshot.units
        self._ask_at = self.clock()
        self._read()
        super().enter(snapshot)

    def show(self, snapshot: Snapshot) -> None:
        """A new snapshot; an engine that has not answered is asked again."""
        super().show(snapshot)
        if self._ask_at is not None and self.clock() >= self._ask_at:
            self._ask_at = self.clock() + ASK_AGAIN_S
            self.way.tell(RunWanted())

    def heard(self, message: object) -> None:
        """The engine's copy of the run being written, or that there is none."""
        if not isinstance(message, RunCopied):
            return
        self._ask_at = None
        live = Live(Path(message.copy) if message.copy else None, message.fault)
        if live.copy or live != self.listing.live:
            self.listing.live = live
            self._read()

    def leave(self) -> None:
        """Drive comes to the front: a report under way is given up, a copy goes on."""
        super().leave()
        self._ask_at = None
        if self.desk.give_up_report():
            self.room = Room.ONE

    def write(self, paper: Paper) -> None:
        """The room in front; a shift's room without a shift is the list."""
        if self.one is None and self.room in OF_A_SHIFT:
            self.room = Room.LIST
        if self.room is Room.LIST:
            write_list(self, paper)
        elif self.room is Room.SEASON:
            write_season(self, paper)
        elif self.room is Room.BUSY:
            self._write_busy(paper)
        elif self.room is Room.SAID:
            self._write_said(paper)
        elif self.one is not None:
            OF_A_SHIFT[self.room](self, paper, self.judging.found or self.one)

    # -- the list ----------

    def _read(self) -> None:
        """Every run's page and sums; what was listed stays until they are there."""
        folder, live = self.home.runs, self.listing.live
        job = Job("Reading the shifts", lambda job: read_season(folder, live))
        self.desk.do(job, self._has_read)

    def _has_read(self, job: Job) -> None:
        self.listing.take(job.answer)
        self.again()

    def reorder(self) -> None:
        """The next order of the list, from its beginning."""
        self.listing.reorder()
        self.again()

    def turn(self, pages: int) -> None:
        """Turn to older (positive) or newer shifts."""
        self.listing.turn(pages, rows_on(self))
        self.again()

    def step_day(self, end: str, step: int) -> None:
        """Move an end of the range of days."""
        self.listing.step_day(end, step)
        self.again()

    def choose(self, path: Path) -> None:
        """Open a shift, or set it beside the one already chosen."""
        self.said_of = Room.LIST
        self._do(Job("Reading the shift", lambda job: open_path(path)), self._chosen)

    def _chosen(self, found: Opened) -> None:
        if self.room is not Room.BUSY:
            return  # the person went back meanwhile
        self._take(found)
        self.go(Room.ONE if self.beside is None else Room.TWO)

    def _take(self, found: Opened) -> None:
        self.one, self.judging = found, Judging(found)
        self.pad = Notepad(found.shift.brief, self.home.book)

    # -- going from room to room ----------

    def go(self, room: Room) -> None:
        """Show another room."""
        self.room = room
        self.again()

    def to_list(self) -> None:
        """The list, with nothing chosen."""
        self.one = self.beside = None
        self.go(Room.LIST)

    def to_one(self) -> None:
        """Back to the shift."""
        if self.beside is not None:
            self._take(self.beside)
            self.beside = None
        self.go(Room.ONE)

    def to_more(self) -> None:
        """What else can be done with the shift."""
        self.go(Room.MORE)

    def to_places(self) -> None:
        """Where it went wrong."""
        self.go(Room.PLACES)

    def to_tomorrow(self) -> None:
        """What to change."""
        self.go(Room.TOMORROW)

    def to_figures(self) -> None:
        """All figures of the shift."""
        self.go(Room.FIGURES)

    def to_again(self) -> None:
        """Another speed or depth band."""
        self.judging.refused = ""
        self.go(Room.AGAIN)

    def to_season(self) -> None:
        """A range of dates."""
        self.go(Room.SEASON)

    def to_report(self) -> None:
        """Make the report."""
        self.go(Room.REPORT)

    def to_beside(self) -> None:
        """Choose another shift to set beside this one."""
        self.beside = self.one
        self.go(Room.LIST)

    # -- notes ----------

    def to_notes(self) -> None:
        """What the book holds about the shift."""
        self._with_book(Room.ONE, self.pad.read)

    def to_note(self, note: Note | None) -> None:
        """Type a new note, or put one right."""
        self.pad.begin(note)
        self.go(Room.TYPING)

    def press_note(self, key: str) -> None:
        """A key of the letters."""
        self.pad.press(key)
        self.again()

    def keep_note(self) -> None:
        """Put the note into the book, with the receiver's time."""
        utc = self.snapshot.utc if self.snapshot else ""
        if self.pad.text.strip():
            self._with_book(Room.NOTES, partial(self.pad.keep, utc), self.pad.read)

    def _with_book(self, back: Room, *steps: Callable[[], None]) -> None:
        """Do something with the book and show the notes, or say what is wrong with it."""
        try:
            for step in steps:
                step()
        except RunFileError as error:
            self.said_of = back
            self._say(str(error))
            return
        self.go(Room.NOTES)

    # -- judged again ----------

    def step_band(self, thing: str, end: int, step: int) -> None:
        """Move an end of the band to judge against, and judge."""
        self.judging.step(thing, end, step, self.units)
        self.again()

    def as_recorded(self) -> None:
        """Back to the band of the day."""
        self.judging.reset()
        self.again()

    # -- work away from the window ----------

    def make_report(self, customer: bool) -> None:
        """Start the report in a process of its own."""
        if self.one is None or self.desk.making is not None:
            return
        run = self.one.shift.brief.path
        kind = "customer-report" if customer else "report"
        out = run.with_name(f"{run.stem}-{kind}.html")
        self.desk.make(Making(run, out, self.units.value, customer), self._made)
        self.again()

    def _made(self, making: Making) -> None:
        """Say so wherever the person is by now, and lead back there."""
        if self.room in (Room.BUSY, Room.SAID):
            self.said_of = Room.LIST if self.one is None else Room.ONE
        else:
            self.said_of = self.room
        self._say(making.fault or f"Made: {making.path.name if making.path else ''}")

    def copy_one(self) -> None:
        """Copy this shift with its report."""
        if self.one is not None:
            self.said_of = Room.ONE
            self._do(copy_job(self.one.shift.brief.files.paths), self._say)

    def copy_all(self) -> None:
        """Copy every shift of the list."""
        self.said_of = Room.LIST
        lines = self.listing.season.lines
        self._do(copy_job(path for line in lines for path in line.files.paths), self._say)

    def _say(self, words: str) -> None:
        """One sentence; a run is named by its file, for its folder is the tablet's own."""
        for folder in (self.home.runs, self.home.live):
            words = words.replace(f"{folder}/", "")
        self.said = words
        self.go(Room.SAID)

    def _do(self, job: Job, then: Callable[[Any], None]) -> None:
        """Do what the page waits for: it is busy until then."""
        self.job = job
        self.go(Room.BUSY)
        self.desk.do(job, partial(self._done, then))

    def _done(self, then: Callable[[Any], None], job: Job) -> None:
        self.job = None
        if job.fault:
            self._say(job.fault)
        else:
            then(job.answer)

    def _step(self) -> None:
        """Something under way went on."""
        if self.desk.making is not None or self.room is Room.BUSY:
            self.again()

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

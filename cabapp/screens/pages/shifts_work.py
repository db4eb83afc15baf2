"""What the Shifts pages do besides drawing: reading runs and copying, away from the window.

A job runs in a thread of its own and is asked now and then how far it is; the window never waits.
"""

import threading
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from kivy.clock import Clock

from cabapp.record.folder import captures_of
from cabapp.record.reader import RunFileError
from cabapp.review.apart import Making
from cabapp.review.pieces import Piece, pieces_of, thinned
from cabapp.review.shift import Shift, load_shift
from cabapp.review.stick import StickError, copy_to, sticks
from cabapp.review.strips import Strip, strip_of
from cabapp.review.summary import Summary, summarize

ASK_EACH_S = 0.1
COLUMNS = 368  # of a strip on the page: three units each
MOST_PLACES = 4_000
FAULTS = (RunFileError, StickError)


@dataclass(frozen=True)
class Opened:
    """One shift ready to be drawn."""

    summary: Summary
    pieces: list[Piece]
    strips: tuple[Strip, ...]

    @property
    def shift(self) -> Shift:
        return self.summary.shift


def opened(shift: Shift) -> Opened:
    """Sum up and thin out what is drawn."""
    things = ("speed", "depth") if shift.page.rig.fitted("depth") else ("speed", "springs")
    columns = min(COLUMNS, max(len(shift.track) // 2, 2))
    return Opened(
        summarize(shift),
        thinned(pieces_of(shift), MOST_PLACES),
        tuple(strip_of(shift, thing, columns) for thing in things),
    )


def open_path(path: Path) -> Opened:
    """Read and sum up a run; RunFileError names what is wrong with it."""
    return opened(load_shift(path))


class Job:
    """Work under way: ``answer`` once it is done, or ``fault`` in one sentence."""

    def __init__(self, words: str, work: Callable[["Job"], Any]) -> None:
        self.words = words
        self.share = 0.0
        self.answer: Any = None
        self.fault = ""
        self._work = work
        self._thread = threading.Thread(target=self.run, name="shifts", daemon=True)

    @property
    def going(self) -> bool:
        """Whether it is still under way."""
        return self.answer is None and not self.fault

    def start(self) -> "Job":
        """Begin in a thread."""
        self._thread.start()
        return self

    def run(self) -> None:
        """The work itself; what goes wrong with a file becomes the fault."""
        try:
            self.answer = self._work(self)
        except FAULTS as error:
            self.fault = str(error)

    def tell(self, share: float) -> None:
        """How far it is, 0 to 1."""
        self.share = share


class Desk:
    """Work under way and the report being made; ``asked`` is called at each step of either.

    ``inline`` does the work at once, for pictures and tests.
    """

    def __init__(self, asked: Callable[[], None], inline: bool = False) -> None:
        self._asked, self._inline = asked, inline
        self._jobs: list[tuple[Job, Callable[[Job], None]]] = []
        self._made: Callable[[Making], None] = lambda making: None
        self._asking: Any = None
        self.making: Making | None = None

    def do(self, job: Job, then: Callable[[Job], None]) -> None:
        """Begin a job; ``then`` is called with it in the window's thread once it is over."""
        if self._inline:
            job.run()
            then(job)
            return
        self._jobs.append((job.start(), then))
        self._ask()

    def make(self, making: Making, then: Callable[[Making], None]) -> None:
        """Watch over a report that is being made."""
        self.making, self._made = making, then
        self._ask()

    def give_up_report(self) -> bool:
        """Stop the report under way; True if there was one."""
        if self.making is None:
            return False
        self.making.stop()
        self.making = None
        return True

    def look(self) -> None:
        """See how far everything is."""
        going = [pair for pair in self._jobs if pair[0].going]
        over = [pair for pair in self._jobs if not pair[0].going]
        self._jobs = going
        for job, then in over:
            then(job)
        if self.making is not None:
            self.making.step()
            if not self.making.going:
                making, self.making = self.making, None
                self._made(making)
        self._asked()

    def _ask(self) -> None:
        if self._asking is None:
            self._asking = Clock.schedule_once(self._next, ASK_EACH_S)

    def _next(self, _: float) -> None:
        self._asking = None
        self.look()
        if self._jobs or self.making is not None:
            self._ask()


def copy_job(paths: Iterable[Path]) -> Job:
    """Copy runs with their reports and captures to the first stick there is."""
    wanted = list(paths)

    def work(job: Job) -> str:
        found = sticks()
        if not found:
            raise StickError("No stick found: plug one in, wait a moment, and tap Copy again")
        files = [file for path in wanted for file in with_its_files(path)]
        return copy_to(found[0] / "shifts", files, job.tell).words()

    return Job("Copying to the stick", work)


def with_its_files(run: Path) -> list[Path]:
    """A run, its captures and the reports made of it."""
    return [run, *captures_of(run), *sorted(run.parent.glob(f"{run.stem}-*report.html"))]

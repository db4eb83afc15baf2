"""What the Shifts pages do besides drawing: reading runs and copying, away from the window.

A job runs in a thread of its own and is asked now and then how far it is; the window never waits.
"""

import threading
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cabapp.record.folder import captures_of
from cabapp.record.reader import RunFileError
from cabapp.review.pieces import Piece, pieces_of, thinned
from cabapp.review.shift import Shift, load_shift
from cabapp.review.stick import StickError, copy_to, sticks
from cabapp.review.strips import Strip, strip_of
from cabapp.review.summary import Summary, summarize

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


def copy_job(paths: list[Path]) -> Job:
    """Copy runs with their reports and captures to the first stick there is."""

    def work(job: Job) -> str:
        found = sticks()
        if not found:
            raise StickError("No stick found: plug one in, wait a moment, and tap Copy again")
        files = [file for path in paths for file in with_its_files(path)]
        return copy_to(found[0] / "shifts", files, job.tell).words()

    return Job("Copying to the stick", work)


def with_its_files(run: Path) -> list[Path]:
    """A run, its captures and the reports made of it."""
    return [run, *captures_of(run), *sorted(run.parent.glob(f"{run.stem}-*report.html"))]

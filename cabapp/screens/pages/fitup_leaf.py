"""One of the installer's pages: written on the shell's paper, with the shell's work."""

from typing import TYPE_CHECKING

from cabapp.fitup.pages import PAGES, Page, PageWords
from cabapp.fitup.plugs import Mark
from cabapp.readings import Sample
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup import FitupPage

SIGNS = {Mark.DONE: "done", Mark.TO_DO: "to_do", Mark.TROUBLE: "no_reading"}


class Leaf:
    """Subclasses name their ``page`` and write it; ``state`` is their card on the list."""

    page: Page

    def __init__(self, shell: "FitupPage") -> None:
        self.shell, self.work = shell, shell.work

    @property
    def words(self) -> PageWords:
        """Title, help and cautions."""
        return PAGES[self.page]

    @property
    def length_unit(self) -> str:
        """What short lengths are typed in."""
        return "in" if self.shell.units is UnitSystem.US else "cm"

    @property
    def length_units(self) -> tuple[str, str]:
        """The same, and the other one."""
        return ("in", "cm") if self.shell.units is UnitSystem.US else ("cm", "in")

    def open(self) -> None:
        """The page was chosen on the list."""

    def close(self) -> None:
        """The list, or Drive, comes to the front."""

    def hear(self, sample: Sample) -> None:
        """A sample, while the page is open."""

    def write(self, paper: Paper) -> None:
        """Everything but what stands over it."""

    def state(self) -> tuple[Mark, str]:
        """The mark and the words of its card."""
        return Mark.TO_DO, ""

    # -- parts ----------

    def head(self, title: str = "", line: str = "", right: float | None = None) -> None:
        """The head with the way back to the list."""
        words = self.words
        self.shell.head(
            title or words.title, line or words.help, "Fit-up", self.shell.to_list, right
        )

    def rule(self, paper: Paper, y: float, x: float = 24.0, wide: float | None = None) -> None:
        """A hairline under a row."""
        wide = self.shell.right - x if wide is None else wide
        paper.fill(Role.HAIRLINE, box(x, y, wide, 2))

    def mark(self, paper: Paper, mark: Mark, x: float, y: float, size: float = 30.0) -> None:
        """The square before or after a row."""
        paper.sign(SIGNS[mark], x, y, size)

    def pager(self, paper: Paper, place: Rect, shown: int, count: int, start: int) -> None:
        """A key to the next rows where there are more than fit."""
        if count <= shown:
            return
        last = min(start + shown, count)
        paper.key("more", place, self.turn, "More", f"{start + 1} to {last} of {count}")

    def turn(self) -> None:
        """Show the next rows."""

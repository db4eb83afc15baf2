"""Limits: the rig's own band, no tighter than its sensors were proven."""

from dataclasses import replace
from functools import partial

from cabapp.fitup.limits import LimitRow, change, limit_rows, refusals
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.rig import Rig
from cabapp.screens.pages.fitup_asks import plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role

KEY_WIDE, KEY_HIGH, GAP = 100.0, 88.0, 14.0


class LimitsLeaf(Leaf):
    """Less and more for each limit; the reason of the last refusal at the foot."""

    page = Page.LIMITS
    refused = ""

    def state(self) -> tuple[Mark, str]:
        tight = refusals(self.work.rig_in(self.shell.units))
        if tight:
            return Mark.TROUBLE, f"{len(tight)} too tight"
        return Mark.DONE, "None too tight"

    def open(self) -> None:
        self.refused = ""

    def write(self, paper: Paper) -> None:
        self.head()
        rows = limit_rows(self.work.rig_in(self.shell.units))
        wide, gap = (self.shell.right - 24 - 40) / 2, 8.0 if paper.layout.small else GAP
        for n, row in enumerate(rows):
            column, line = divmod(n, 4)
            self._row(paper, row, 24 + column * (wide + 40), 134 + line * (KEY_HIGH + gap), wide)
        tight = refusals(self.work.rig_in(self.shell.units))
        # What was just asked for is known by its row; one in force is named.
        words = self.refused.partition(": ")[2] or next(iter(tight), "")
        y = 134 + 4 * (KEY_HIGH + gap)
        place = Rect(24, y, self.shell.right - 24, min(150.0, self.shell.bottom - y))
        if words:
            what, _, mend = words.partition(". ")
            plate(paper, place, what, mend, True)
        else:
            plate(
                paper,
                place,
                "Every limit can be held",
                "A band tighter than a sensor's proven error would cry wolf: it is refused.",
            )

    def _row(self, paper: Paper, row: LimitRow, x: float, y: float, wide: float) -> None:
        name = row.kind.attribute
        keys = x + wide - 2 * KEY_WIDE - GAP
        paper.say(row.kind.words, x, y + 36, 22, Role.SOFT, False, limit=keys - x - 12)
        paper.say(row.text, x, y + 78, 32, limit=keys - x - 12)
        for n, (sign, way, can) in enumerate(
            (("minus", -1, row.can_less), ("plus", 1, row.can_more))
        ):
            rect = Rect(keys + n * (KEY_WIDE + GAP), y, KEY_WIDE, KEY_HIGH)
            paper.key(
                f"{name}_{sign}",
                rect,
                partial(self._change, row, way),
                sign=sign,
                look=PLAIN if can else QUIET,
            )

    def _change(self, row: LimitRow, way: int) -> None:
        value = row.value + way * row.kind.step(self.shell.units)
        made = change(self.work.rig_in(self.shell.units), row.kind.attribute, value)
        self.refused = "" if isinstance(made, Rig) else made
        if isinstance(made, Rig):
            self._save(made)
        self.shell.again()

    def _save(self, made: Rig) -> None:
        self.shell.save(replace(self.work.rig, limits=made.limits))

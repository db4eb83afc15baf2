"""The sign-off sheet: what was verified and, as plainly, what was not; signed and kept."""

from dataclasses import replace
from datetime import date
from functools import partial
from typing import Any

from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.signoff import GOOD, Line, Sheet, Standing, sheet
from cabapp.screens.pages.fitup_asks import AskName, Notice
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import GO, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, frame
from cabapp.screens.theme import Role

PITCH = 54.0
MARKS = {
    Standing.PROVEN: Mark.DONE,
    Standing.TAPED: Mark.DONE,
    Standing.NOT_FITTED: Mark.DONE,
    Standing.REFUSED: Mark.TROUBLE,
}


class SignLeaf(Leaf):
    """A line a thing, what the driver works without, two names, and the day."""

    page = Page.SIGN
    start = 0

    def sheet(self) -> Sheet:
        """The sheet as it stands."""
        return sheet(self.work.rig_in(self.shell.units), self.work.evidence)

    def state(self) -> tuple[Mark, str]:
        made = self.sheet()
        if made.signed_on:
            whole = made.proven == made.to_prove and not made.limits
            mark = Mark.DONE if whole else Mark.TO_DO
            return mark, f"Signed, {made.proven} of {made.to_prove}"
        word = "sign again" if self.work.sheets() else "not signed"
        return Mark.TO_DO, f"{made.proven} of {made.to_prove}, {word}"

    def turn(self) -> None:
        self.start += self._shown
        self.shell.again()

    @property
    def _shown(self) -> int:
        return int((self.shell.bottom - 104 - 76 - 134) // PITCH)

    def write(self, paper: Paper) -> None:
        made = self.sheet()
        many = len(made.lines) > self._shown
        end = self.shell.right - 238 - 232 * many
        machine = (made.machine, self.work.rig.name)
        self.head(line=paper.fitting(machine, end - 242, 24, False), right=end)
        right = self.shell.right
        paper.key("day", Rect(right - 220, 24, 220, 88), self._day, "Day", self.work.day)
        if many:
            place = Rect(right - 234 - 218, 24, 218, 88)
            self.pager(paper, place, self._shown, len(made.lines), self.start)
        self.start = self.start if self.start < len(made.lines) else 0
        for n, line in enumerate(made.lines[self.start : self.start + self._shown]):
            self._line(paper, line, 134 + PITCH * n)
        self._bar(paper, made)
        self._names(paper, made)

    def _line(self, paper: Paper, line: Line, y: float) -> None:
        foot, right = y + PITCH / 2 + 12, self.shell.right
        good = line.standing in GOOD
        how_x = 24 + (0.32 if paper.layout.small else 0.30) * (right - 24)
        end = right - 0.175 * (right - 24)
        if line.standing is Standing.NOT_FITTED:
            paper.fill(Role.SOFT, box(30, foot - 15, 30, 6))
        else:
            self.mark(paper, MARKS.get(line.standing, Mark.TO_DO), 30, foot - 27)
        paper.say(line.what, 76, foot, 24, limit=how_x - 76 - 10)
        how, high = line.how or line.meaning, max(22.0, paper.floor)
        first = how.partition(". ")[0]
        last = first.rpartition(", ")[2]
        said = (how, first, last[:1].upper() + last[1:], "Touch to read")
        room = end - how_x - 8
        how = next(text for text in said if paper.over.width_of(text, high, not good) <= room)
        paper.say(
            how, how_x, foot, 22, Role.SOFT if good else Role.INK, not good, limit=end - how_x - 8
        )
        paper.say(line.standing.value, right, foot, 23, align="right", limit=right - end)
        self.rule(paper, y + PITCH - 2)
        whole = tuple(part for part in (line.how, line.meaning) if part)
        read = Notice(f"{line.what}: {line.standing.value}", whole, warn=False)
        paper.touch(
            f"line_{line.what}", Rect(24, y, right - 24, PITCH - 2), partial(self.shell.put, read)
        )

    def _bar(self, paper: Paper, made: Sheet) -> None:
        y = self.shell.bottom - 104 - 70
        wide = self.shell.right - 24
        paper.fill(Role.INK, frame(24, y, wide, 58, 4))
        words = made.limits[0] if made.limits else made.bar
        high = 26.0 if paper.over.width_of(words, 26) <= wide - 40 else max(21.0, paper.floor)
        if paper.over.width_of(words, high) > wide - 40:
            words = f"You can work. {made.counted}: see the lines."
            if made.limits:
                words = f"Limits no sensor can hold: {len(made.limits)}. See page Limits."
        paper.say(words, 44, y + 29 + high / 2, high, limit=wide - 40)

    def _names(self, paper: Paper, made: Sheet) -> None:
        y, right = self.shell.bottom - 92, self.shell.right
        sign = 0.33 * (right - 24)
        wide = (right - 24 - sign - 36) / 2
        for n, (name, words, value) in enumerate(
            (
                ("fitted_by", "Fitted by", made.fitted_by),
                ("seen_by", "Seen by", made.seen_by),
            )
        ):
            x = 24 + n * (wide + 18)
            paper.say(words, x, y + 22, 20, Role.SOFT, False)
            paper.say(
                value or "touch to type",
                x,
                y + 72,
                30,
                Role.INK if value else Role.WANTED,
                limit=wide,
            )
            paper.fill(Role.INK, box(x, y + 89, wide, 3))
            paper.touch(name, Rect(x, y, wide, 88), partial(self._name, name, words, value))
        rect = Rect(right - sign, y, sign, 92)
        paper.key("sign", rect, self._sign, made.button, look=GO, high=27)

    def _name(self, attribute: str, words: str, value: str) -> None:
        def enter(text: str) -> str:
            if not text:
                return "Type a name."
            named: dict[str, Any] = {attribute: text}
            return self.work.prove(replace(self.work.evidence, **named))

        self.shell.put(AskName(words, "Who stands for it", enter, value))

    def _day(self) -> None:
        line = "Year-month-day. A tablet's clock may be wrong: say the day."
        self.shell.put(AskName("The day", line, self._day_typed, self.work.day))

    def _day_typed(self, text: str) -> str:
        text = text.replace(" ", "-")
        try:
            self.work.day = date.fromisoformat(text).isoformat()
        except ValueError:
            return "Type a day as 2031-04-09."
        return ""

    def _sign(self) -> None:
        evidence = self.work.evidence
        if not evidence.fitted_by:
            self.shell.tell_fault(
                "Type who fitted it first: a sheet without a name proves nothing."
            )
            return
        signed = replace(evidence, signed_on=self.work.day)
        made = sheet(self.work.rig_in(self.shell.units), signed)
        fault, path = self.work.save_sheet(made)
        if self.shell.tell_fault(fault or self.work.prove(signed), "Not signed"):
            return
        lines = (
            f"Kept as {path.parent.name}/{path.name}. Copy it to a stick on page Rig file.",
            *made.limits,
            "You can work. What was not proven:",
            *made.meanings,
        )
        self.shell.put(
            Notice(f"Signed: {made.proven} of {made.to_prove} proven", lines, warn=False)
        )

"""Tool: its lengths, shanks, adjuster, receiver's place and tractor, beside the plan drawing."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from typing import Any

from cabapp.fitup.edits import with_shanks
from cabapp.fitup.findings import Measure
from cabapp.fitup.geometry import (
    aside_text,
    doubts,
    drawing,
    pattern_of,
    taped_text,
)
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.receiver import far_text
from cabapp.fitup.sensors import sensor_words
from cabapp.rig import Rig
from cabapp.rigbounds import BOUNDS
from cabapp.screens.pages.fitup_asks import AskChoice, AskFigure, AskName, Notice
from cabapp.screens.pages.fitup_fields import (
    ADJUSTER,
    GANGS,
    RECEIVER,
    SIZE,
    TRACTOR,
    Fact,
    Kind,
    refused,
    text_of,
    units_of,
    value_of,
    with_value,
)
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.fitup_plan import draw_plan
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role

GROUPS: dict[str, tuple[Fact, ...]] = {
    "Size": SIZE,
    "Shanks": (),
    "Discs": GANGS,
    "Receiver": RECEIVER,
    "Depth set": ADJUSTER,
    "Machine": TRACTOR,
}
MOST_SHANKS = 30


class ToolLeaf(Leaf):
    """A group of facts beside the drawing; a row asks, and the drawing grows."""

    page = Page.TOOL
    group = "Size"

    def state(self) -> tuple[Mark, str]:
        rig = self.work.rig
        if doubts(rig):
            return Mark.TROUBLE, "Cannot be right"
        taped = self.work.evidence.lengths_taped
        words = f"{len(rig.tool.shanks)} shanks"
        return (Mark.DONE if taped else Mark.TO_DO), words + ("" if taped else ", not taped")

    @property
    def _width(self) -> str:
        return text_of(self.work.rig, SIZE[0], self.shell.units)

    def write(self, paper: Paper) -> None:
        taped = self.work.evidence.lengths_taped
        self.head(right=self.shell.right - 208)
        self.shell.side_key(
            0,
            "taped",
            self._taped,
            "Taped",
            "yes" if taped else "not yet",
            look=PLAIN if taped else GO,
        )
        tabs = self.shell.bottom - 88
        wide = 0.43 * (self.shell.right - 24)
        found = doubts(self.work.rig)
        small = paper.layout.small
        room = (110.0 if small else 66.0) if found else 0.0
        draw_plan(
            paper, Rect(24, 134, wide, tabs - 14 - 134 - room), drawing(self.work.rig), self._width
        )
        if found:
            paper.sign("look", 24, tabs - room, 40, Role.LOOK, hole=Role.ON_LOOK)
            paper.lines(
                found[0], 74, tabs - room + 22, 20, wide - 54, 3 if small else 2, pitch=1.35
            )
        self._rows(paper, Rect(24 + wide + 24, 134, self.shell.right - 48 - wide, tabs - 148))
        self._tabs(paper, tabs)

    def _tabs(self, paper: Paper, y: float) -> None:
        wide = (self.shell.right - 24 - 14 * (len(GROUPS) - 1)) / len(GROUPS)
        for n, group in enumerate(GROUPS):
            rect = Rect(24 + n * (wide + 14), y, wide, 88)
            look = CHOSEN if group == self.group else PLAIN
            paper.key(f"tab_{n}", rect, partial(self._show, group), group, look=look, high=25)

    def _rows(self, paper: Paper, r: Rect) -> None:
        rows = self.rows()
        pitch = min(92.0, r.h / max(5, len(rows)))
        for n, (name, words, value, ask) in enumerate(rows):
            y = r.y + n * pitch
            foot = y + pitch / 2 + 12
            half = 0.54 * r.w
            left = paper.say(words, r.x + 10, foot, 23, Role.SOFT, False, limit=half - 10)
            room = r.w - left - 44
            high = 29.0 if paper.over.width_of(value, 29) <= room else max(21.0, paper.floor)
            paper.say(value, r.right - 10, foot, high, align="right", limit=room)
            self.rule(paper, y + pitch - 3, r.x, r.w)
            paper.touch(name, Rect(r.x, y, r.w, pitch - 4), ask)

    def rows(self) -> list[tuple[str, str, str, Callable[[], None]]]:
        """Name, words, value and what asks for it, of the group that is shown."""
        if self.group == "Shanks":
            return self._shank_rows()
        rig, units = self.work.rig, self.shell.units
        facts = GROUPS[self.group]
        return [(f.name, f.words, text_of(rig, f, units), partial(self._ask, f)) for f in facts]

    def _show(self, group: str) -> None:
        self.group = group
        self.shell.again()

    def _taped(self) -> None:
        evidence = self.work.evidence
        changed = replace(evidence, lengths_taped=not evidence.lengths_taped)
        self.shell.tell_fault(self.work.prove(changed))
        self.shell.again()

    # -- asking ----------

    def _ask(self, fact: Fact) -> None:
        if fact.kind is Kind.CHOICE:
            words = tuple((word, line) for _, word, line in fact.choices)
            now = value_of(self.work.rig, fact)
            chosen = next((n for n, c in enumerate(fact.choices) if c[0] == now), None)
            self.shell.put(
                AskChoice(
                    fact.words, "", words, lambda n: self._take(fact, fact.choices[n][0]), chosen
                )
            )
        elif fact.kind is Kind.NAME:
            text = str(value_of(self.work.rig, fact))
            text = "" if text in (Rig().id, Rig().name) else text
            self.shell.put(AskName(fact.words, fact.help, partial(self._enter, fact), text))
        else:
            skip = (fact.none.capitalize(), lambda: self._take(fact, None)) if fact.none else None
            self.shell.put(
                AskFigure(
                    fact.words,
                    fact.help,
                    partial(self._enter, fact),
                    units_of(fact, self.shell.units),
                    fact.signed,
                    skip,
                )
            )

    def _enter(self, fact: Fact, value: Any) -> str:
        if fact.kind is Kind.NAME:
            value = value.lower().replace(" ", "-") if fact.attribute == "id" else value
            return self._change(with_value(self.work.rig, fact, value)) if value else "Type a name."
        fault = refused(fact, value, self.shell.units)
        if fault:
            return fault
        if fact.kind is Kind.NUMBER:
            if not float(value).is_integer():
                return "They are whole: type how many there are."
            value = int(value)
        return self._change(with_value(self.work.rig, fact, value))

    def _take(self, fact: Fact, value: Any) -> None:
        self.shell.tell_fault(self._change(with_value(self.work.rig, fact, value)))
        self.shell.again()

    def _change(self, rig: Rig) -> str:
        """On disk; a length typed anew is not taped any more."""
        evidence = self.work.evidence
        before = self.work.rig
        fault = self.work.save(rig)
        moved = rig.tool != before.tool or rig.receiver != before.receiver
        if not fault and moved and evidence.lengths_taped:
            fault = self.work.prove(replace(evidence, lengths_taped=False))
        return fault

    # -- shanks ----------

    def _shank_rows(self) -> list[tuple[str, str, str, Callable[[], None]]]:
        now = pattern_of(self.work.rig)
        units, length = self.shell.units, self._ask_length
        return [
            ("shank_count", "How many", str(now.count), self._ask_count),
            ("shank_bars", "They stand", "on two bars" if now.bars else "in a V", self._ask_bars),
            (
                "shank_apart",
                "Apart, side to side",
                taped_text(now.apart_m, units),
                partial(length, "apart_m", "Apart", 0.2, 2.0),
            ),
            (
                "shank_first",
                "First, behind the pin",
                taped_text(now.first_m, units),
                partial(length, "first_m", "First shank behind the pin", 0.0, 15.0),
            ),
            (
                "shank_step",
                "Next, further back",
                taped_text(now.step_m, units),
                partial(length, "step_m", "Step back", 0.0, 4.0),
            ),
            ("shank_one", "One shank by itself", self._by_itself(), self._ask_one),
        ]

    def _by_itself(self) -> str:
        apart = pattern_of(self.work.rig).apart_from(self.work.rig.tool.shanks)
        if not apart:
            return "type its place"
        return ", ".join(map(str, apart)) if len(apart) < 4 else f"{len(apart)} of them"

    def _set_pattern(self, **values: Any) -> str:
        """All shanks anew; asked again where that takes something that was typed or calibrated."""
        rig = self.work.rig
        now = pattern_of(rig)
        made = with_shanks(rig, replace(now, **values).shanks())
        goes = [
            f"Shank {number} was typed by itself: it goes back into line."
            for number in now.apart_from(rig.tool.shanks)
        ]
        kept = {sensor.channel for sensor in made.sensors}
        goes += [
            f"{sensor_words(sensor)} is taken out of the rig with its shank."
            for sensor in rig.sensors
            if sensor.channel not in kept
        ]
        if not goes:
            return self._change(made)
        self.shell.put(
            Notice("Set all shanks anew?", tuple(goes), ("Set anew", partial(self._anew, made)))
        )
        return ""

    def _anew(self, made: Rig) -> None:
        self.shell.tell_fault(self._change(made))
        self.shell.again()

    def _ask_count(self) -> None:
        def enter(value: float) -> str:
            if not (value.is_integer() and 0 <= value <= MOST_SHANKS):
                return f"{value:g} shanks cannot be right. Expected 0 to {MOST_SHANKS}."
            return self._set_pattern(count=int(value))

        self.shell.put(AskFigure("Shanks", "All of them, left to right.", enter))

    def _ask_bars(self) -> None:
        choices = (("In a V", "the middle one in front"), ("On two bars", "one after the other"))
        chosen = int(pattern_of(self.work.rig).bars)
        self.shell.put(AskChoice("They stand", "", choices, self._bars, chosen))

    def _bars(self, n: int) -> None:
        self.shell.tell_fault(self._set_pattern(bars=bool(n)))
        self.shell.again()

    def _ask_length(self, name: str, words: str, least: float, most: float) -> None:
        def enter(value: float) -> str:
            if not least <= value <= most:
                text = Measure(self.length_unit).text
                return (
                    f"{words}: {text(value)} cannot be right. Expected {text(least)} to "
                    f"{text(most)}: mind the unit."
                )
            return self._set_pattern(**{name: value})

        line = "Measured on the tool."
        self.shell.put(AskFigure(words, line, enter, self.length_units))

    def _ask_one(self) -> None:
        count = len(self.work.rig.tool.shanks)
        if not count:
            self.shell.tell_fault("Type how many shanks there are first.")
            return

        def enter(value: float) -> str:
            if not (value.is_integer() and 1 <= value <= count):
                return f"The tool has shanks 1 to {count}."
            self._ask_side(int(value))
            return ""

        self.shell.put(AskFigure("Which shank", "Counted from the left.", enter))

    def _ask_side(self, number: int) -> None:
        def enter(value: float) -> str:
            least, most = BOUNDS["tool.shank.across_m"]
            if not least <= value <= most:
                far = far_text(most, self.shell.units)
                return f"More than {far} from the middle cannot be right: mind the unit."
            fault = self._move(number, across_m=value)
            if not fault:
                self._ask_back(number)
            return fault

        shank, units = self.work.rig.tool.shanks[number - 1], self.shell.units
        self.shell.put(
            AskFigure(
                f"Shank {number}, from the middle",
                f"Now {aside_text(shank.across_m, units)}. Right is above 0, left below.",
                enter,
                self.length_units,
                signed=True,
            )
        )

    def _ask_back(self, number: int) -> None:
        def enter(value: float) -> str:
            least, most = BOUNDS["tool.shank.back_m"]
            if not least <= value <= most:
                far = far_text(most, self.shell.units)
                return f"More than {far} behind the pin cannot be right: mind the unit."
            return self._move(number, back_m=value)

        back_m = self.work.rig.tool.shanks[number - 1].back_m
        line = f"Now {taped_text(back_m, self.shell.units)}. Straight back."
        self.shell.put(AskFigure(f"Shank {number}, behind the pin", line, enter, self.length_units))

    def _move(self, number: int, **place: Any) -> str:
        shanks = tuple(
            replace(s, **place) if s.number == number else s for s in self.work.rig.tool.shanks
        )
        return self._change(with_shanks(self.work.rig, shanks))

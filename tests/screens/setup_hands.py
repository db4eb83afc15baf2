"""A gloved hand on the Set up page: it taps what can be seen, and knows nothing else."""

from pathlib import Path
from typing import Any

from cabapp.screens.fronts import Way
from cabapp.screens.pages import setup_gallery
from cabapp.screens.pages.setup import SetupPage
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.pictures import layout_of
from cabapp.walk.steps import AskKind


class Hands:
    """The page on an empty book, and the fingers that tap on it."""

    def __init__(self, cabin: Any, panel: str, folder: Path) -> None:
        self.cabin, self.folder = cabin, folder
        self.told: list[Any] = []
        self.sent: list[tuple[Any, Any]] = []
        self.left = 0
        layout = layout_of(panel)
        way = Way(lambda kind, value: self.sent.append((kind, value)), lambda name: None, (),
                  self.told.append)  # fmt: skip
        home = setup_gallery.home_in(folder)
        self.page = SetupPage(layout, way, self._leave, home=home, clock=self._time)
        cabin.stage.show(self.page, layout.panel.wide_px, layout.panel.high_px)

    def _time(self) -> float:
        return float(self.cabin.stage.time)

    def _leave(self) -> None:
        self.left += 1

    def tap(self, name: str) -> None:
        """One tap on what is called so; KeyError names what can be tapped instead."""
        names = [target.name for target in self.page.targets()]
        if name not in names:
            raise KeyError(f"{name} is not among {names}")
        area = next(t.area for t in self.page.targets() if t.name == name)
        self.cabin.tap(self.page, area.x + area.w / 2, area.y + area.h / 2)

    def can(self, name: str) -> bool:
        """Is there something called so to tap?"""
        return any(target.name == name for target in self.page.targets())

    def say(self, text: str) -> None:
        """A figure on the keypad, its unit chosen, then Enter: ``12 1/2 in``, ``92 deg``, ``3``."""
        figure, _, unit = text.rpartition(" ")
        if not figure:
            figure, unit = text, ""
        for part in figure.split():
            for key in [part] if "/" in part else list(part):
                self.tap(f"key_{key}")
        if unit and unit != self.page.asking.typed.unit:
            self.tap("unit")
        self.tap("enter")

    def spell(self, name: str) -> None:
        """A name, letter by letter."""
        for letter in name:
            key = "key_space" if letter == " " else f"key_{letter.upper()}"
            if not self.can(key):
                self.tap("part")
            self.tap(key)
        self.tap("enter")

    def begin(self, step: str, lines: str = "") -> None:
        """A step from the list, past its cautions; ``lines`` answers its hold."""
        if self.page.room is Room.STEP:
            self.tap("back")
        if self.page.room is Room.LIST:
            if not self.can(f"step_{step}"):
                self.tap("more")
            self.tap("road" if step == "road" else f"step_{step}")
        self.past_cautions(lines)

    def past_cautions(self, lines: str = "") -> None:
        """Read what stands before a step and go on."""
        if self.page.room is Room.HOLD:
            self.tap(f"choice_{lines}")
        while self.page.room is Room.LOOK:
            self.tap("go_on")

    def answer(self, answers: dict[str, str]) -> None:
        """Whatever the page asks, in its own order, while there is an answer to it."""
        left = dict(answers)
        while (question := self.page.question) is not None and question.key in left:
            text = left.pop(question.key)
            if question.ask.kind is AskKind.CHOICE:
                self.tap(f"choice_{text}")
            elif question.ask.kind is AskKind.TEXT:
                self.tap("new_name")
                self.spell(text)
            else:
                self.say(text)

    def words(self) -> str:
        """Every word on the page as it is read: down one column after another."""
        edges = [self.page.paper.wide * share for share in (0.37, 0.64)]
        says = [say for say in self.page.paper.over.says if say.text]
        says.sort(key=lambda say: (sum(say.x > edge for edge in edges), say.y, say.x))
        return " ".join(say.text for say in says)

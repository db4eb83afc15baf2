"""A walk of the shipped steps with the full example rig, answered in words as a person would."""

from dataclasses import replace

from cabapp.rig import Rig
from cabapp.units import UnitSystem
from cabapp.walk.entries import Entry, read_value
from cabapp.walk.findings import About
from cabapp.walk.progress import Progress, progress
from cabapp.walk.shank_depth import shank_numbers
from cabapp.walk.steps import Ask, AskKind, Walk


class Book:
    """Entries in order, typed as text with a unit; ``now`` is the walk as it stands."""

    def __init__(self, walk: Walk, rig: Rig) -> None:
        self.walk, self.rig = walk, rig
        self.entries: list[Entry] = []
        self.field, self.day = "North", "2031-10-14"

    def say(self, step: str, **answers: str) -> "Book":
        for key, text in answers.items():
            ask = self._ask(step, key)
            figure, unit = text, ""
            if ask.kind is AskKind.QUANTITY:
                figure, unit = text.rsplit(" ", 1)
            value = read_value(ask, figure, unit)
            number = value if isinstance(value, float) else None
            self._add(Entry(step, key, figure, unit, number))
        return self

    def say_raw(self, step: str, key: str, text: str) -> "Book":
        """What the walk itself puts into the book, beside the questions."""
        self._add(Entry(step, key, text))
        return self

    def happen(self, what: str) -> "Book":
        self._add(Entry("happening", what, what))
        return self

    def _add(self, entry: Entry) -> None:
        self.entries.append(
            replace(entry, field=self.field, day=self.day, order=len(self.entries), who="K.")
        )

    def _ask(self, step: str, key: str) -> Ask:
        stem = key
        if "_" in key and key.split("_")[0].rstrip("0123456789") in ("pit", "dig", "frame"):
            stem = key.split("_", 1)[1].rstrip("0123456789")
        return self.walk.step(step).ask({"shank": "dug"}.get(stem, stem))

    def now(self, system: UnitSystem = UnitSystem.US) -> Progress:
        return progress(self.walk, self.entries, self.rig, system, self.field, self.day)


def checked(book: Book) -> Book:
    """Every line of the walk-round answered well."""
    return book.say(
        "checks", field="North", area="58 ac", row_bearing="92 deg", hitch_pin="home",
        chain="fitted", stand="stowed", hoses="dry", hose_droop="clear", plug="good", lights="all",
        tyre_front="14 psi", tyre_front_chart="14 psi", tyre_tool="52 psi",
        tyre_tool_chart="52 psi", point_worn="1/2 in", blade="24 in", blade_new="26 in",
        springs="sound", unfold="level", overhead="none", buried="answered",
    )  # fmt: skip


def three_pits(book: Book, bottoms: tuple[str, ...] = ("13 in", "12 1/2 in", "13 1/2 in")) -> Book:
    """Lines asked for; pits with tops at nine inches and the bottoms given, the middle chosen."""
    book.say("checks", buried="answered")
    for n, bottom in enumerate(bottoms, start=1):
        answers = {f"pit{n}_way": "pit", f"pit{n}_found": "layer", f"pit{n}_top": "9 in",
                   f"pit{n}_bottom": bottom}  # fmt: skip
        book.say("hard_layer", **answers)
    return book.say("hard_layer", use="median")


def pulled(book: Book, feel: str = "breaking_ball") -> Book:
    """Loam, firm, 14 in at 5 mph, 500 hp, three equal handfuls from shank depth."""
    return book.say(
        "will_it_pull", soil="medium", surface="firm", depth_planned="14 in",
        speed_planned="5 mph", power="500 hp", feel1=feel, feel2=feel, feel3=feel,
        feel_depth="14 in",
    )  # fmt: skip


def levelled(book: Book, **corners: str) -> Book:
    heights = {"front_left": "24 in", "front_right": "24 in", "rear_left": "24 in",
               "rear_right": "24 in"} | corners  # fmt: skip
    return book.say("level", **heights)


def dug(book: Book, number: int, depth: str, moved: str = "", **shanks: str) -> Book:
    """One round of digging at the five shanks of the seven."""
    numbers = shank_numbers(About(book.rig, UnitSystem.US))
    slots = {f"dig{number}_shank{n}": depth for n in numbers} | {
        f"dig{number}_{key}": value for key, value in shanks.items()
    }
    if moved:
        book.say("shank_depth", **{f"dig{number}_moved": moved})
    return book.say("shank_depth", **slots)

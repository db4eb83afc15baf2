"""The keypad: large keys, fractions, and the unit key; draws on a page's paper."""

from collections.abc import Callable
from functools import partial

from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box
from cabapp.screens.theme import Role
from cabapp.screens.typing import FRACTIONS, Typed

KEYS = ("789<", "456f", "123f", "0.uf")
GAP = 16.0
LETTERS = ("ABCDEFGHIJ", "KLMNOPQRST", "UVWXYZ .-<", "0123456789")
# Two parts for a small panel: "<" takes back, ">" shows the other part.
SMALL_LETTERS = (("ABCDEFGH", "IJKLMNOP", "QRSTUV<>"), ("01234567", "89WXYZ.-", " <>"))


def keypad(
    paper: Paper,
    typed: Typed,
    press: Callable[[str], None],
    enter: Callable[[], None],
    place: Rect,
    units: tuple[str, ...] = (),
    signed: bool = False,
    enter_word: str = "Enter",
    offer: str = "",
) -> None:
    """Five rows of keys in ``place``: digits, fractions for inches, the unit, Enter.

    ``units`` with two names shows a key that changes between them; ``signed`` a minus in place
    of the point's neighbour where a figure may be negative; ``offer`` a figure known otherwise,
    which its key puts in.
    """
    wide = (place.w - 3 * GAP) / 4
    high = (place.h - 4 * GAP) / 5
    fractions = iter(FRACTIONS)
    for row, names in enumerate(KEYS):
        for column, name in enumerate(names):
            rect = Rect(place.x + column * (wide + GAP), place.y + row * (high + GAP), wide, high)
            if name == "f":
                _fraction(paper, rect, next(fractions), typed, press)
            elif name == "<":
                paper.key("key_back", rect, lambda: press("back"), sign="back")
            elif name == "u" and offer:
                paper.key("offer", rect, partial(press, f"offer:{offer}"), offer, "driven")
            elif name == "u":
                _unit(paper, rect, typed, press, units, signed)
            else:
                paper.key(f"key_{name}", rect, partial(press, name), name, high=44)
    rect = Rect(place.x, place.y + 4 * (high + GAP), place.w, high)
    paper.key("enter", rect, enter, enter_word, look=QUIET if typed.empty else GO, high=36)


def _fraction(paper: Paper, r: Rect, text: str, typed: Typed, press: Callable[[str], None]) -> None:
    if typed.unit not in ("in", "ft", ""):
        return
    paper.key(
        f"key_{text}", r, lambda: press(text), look=CHOSEN if typed.fraction == text else PLAIN
    )
    top, bottom = text.split("/")
    middle, centre = r.x + r.w / 2, r.y + r.h / 2
    paper.fill(Role.INK, box(middle - 19, centre - 2, 38, 4))
    paper.say(top, middle, centre - 9, 28, digits=True, align="middle")
    paper.say(bottom, middle, centre + 37, 28, digits=True, align="middle")


def _unit(
    paper: Paper,
    rect: Rect,
    typed: Typed,
    press: Callable[[str], None],
    units: tuple[str, ...],
    signed: bool,
) -> None:
    if signed:
        paper.key("key_-", rect, lambda: press("-"), sign="minus")
    elif len(units) == 2 and units[0] != units[1]:
        other = units[1] if typed.unit == units[0] else units[0]
        paper.key("unit", rect, lambda: press(f"unit:{other}"), typed.unit, other, high=30)


def letters(
    paper: Paper,
    text: str,
    press: Callable[[str], None],
    enter: Callable[[], None],
    place: Rect,
    enter_word: str = "Enter",
    part: int | None = None,
) -> None:
    """Letters and digits for a name, in order of the alphabet, and Enter.

    On a small panel a gloved finger needs them in two parts: with ``part`` given one is shown, and
    its key presses "part", upon which the page writes the other one.
    """
    rows = LETTERS if part is None or not paper.layout.small else SMALL_LETTERS[part % 2]
    columns = len(rows[0])
    wide = (place.w - (columns - 1) * GAP) / columns
    high = (place.h - len(rows) * GAP) / (len(rows) + 1)
    for row, names in enumerate(rows):
        for column, name in enumerate(names):
            rect = Rect(place.x + column * (wide + GAP), place.y + row * (high + GAP), wide, high)
            _letter(paper, rect, name, press, part or 0)
    rect = Rect(place.x, place.y + len(rows) * (high + GAP), place.w, high)
    paper.key("enter", rect, enter, enter_word, look=GO if text.strip() else QUIET, high=36)


def _letter(paper: Paper, r: Rect, name: str, press: Callable[[str], None], part: int) -> None:
    if name == "<":
        paper.key("key_back", r, lambda: press("back"), sign="back")
    elif name == ">":
        paper.key("part", r, lambda: press("part"), "ABC" if part % 2 else "123", high=30)
    elif name == " ":
        paper.key("key_space", r, lambda: press(" "))
        left, foot = r.x + r.w / 2 - 26, r.y + r.h / 2 + 10
        paper.fill(Role.INK, box(left, foot - 12, 5, 17), box(left, foot, 52, 5),
                   box(left + 47, foot - 12, 5, 17))  # fmt: skip
    else:
        paper.key(f"key_{name}", r, partial(press, name), name, high=36)


def spelled(text: str, key: str) -> str:
    """A name after one key of ``letters``: capitals at the start of a word, small ones inside."""
    if key == "back":
        return text[:-1]
    if key == "part":
        return text
    if len(text) >= 24:
        return text
    inside = text and text[-1].isalpha()
    return text + (key.lower() if inside else key)

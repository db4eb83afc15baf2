"""What stands over an installer's page for a moment: a figure, a name, a choice, a notice."""

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import Protocol

from cabapp.screens.pages.keypad import keypad, letters, spelled
from cabapp.screens.pages.page import HEAD_BOTTOM, ParkedPage
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN, WARN, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, round_box, round_frame
from cabapp.screens.theme import Role
from cabapp.screens.typing import Typed
from cabapp.units import UNITS, UnitError, parse_number

ROW_HIGH = 88.0
PLATE_EDGE = 20.0  # what a plate keeps free above and below its texts
GAP = 16.0

Answer = Callable[[float], str]


class Over(Protocol):
    """Something that is written in place of the page until it is done."""

    def write(self, page: ParkedPage, paper: Paper, close: Callable[[], None]) -> None:
        """Write it; ``close`` goes back to the page."""


def plate(paper: Paper, rect: Rect, headline: str, line: str, warn: bool = False) -> None:
    """A plate of two texts: amber with an ink edge for trouble, else a plain frame."""
    r = rect
    ink = Role.ON_LOOK if warn else Role.INK
    if warn:
        paper.fill(Role.LOOK, box(r.x, r.y, r.w, r.h))
    edge = Role.INK if warn else Role.SOFT
    paper.fill(edge, round_frame(r.x, r.y, r.w, r.h, 6, 5 if warn else 4))
    high, small, heads, tails = _sizes(paper, headline, line, r.w - 44, r.h)
    tall = _tall(high, small, heads, tails)
    foot = r.y + (r.h - tall) / 2 + high
    foot = paper.lines(headline, r.x + 22, foot, high, r.w - 44, heads, ink, pitch=1.42)
    if line:
        foot += small - high + 0.04 * high
        paper.lines(line, r.x + 22, foot, small, r.w - 44, tails, ink, False, 1.42)


def _sizes(
    paper: Paper, headline: str, line: str, room: float, high: float
) -> tuple[float, float, int, int]:
    """The largest letters with which both texts stand whole in a plate, and their lines.

    Where none are small enough the smallest are taken: the frame's edge is then the tighter one.
    """
    found = (paper.floor, paper.floor, 1, 1)
    for big in (32.0, 27.0, 24.0, paper.floor):
        big = max(big, paper.floor)
        for small in (21.0, paper.floor):
            small = max(small, paper.floor)
            heads = len(paper.wrapped(headline, room, big))
            tails = len(paper.wrapped(line, room, small, False)) if line else 0
            found = (big, small, heads, tails)
            one_line = heads == 1 or big <= 24.0
            if one_line and _tall(*found) <= high - PLATE_EDGE:
                return found
    return found


def _tall(high: float, small: float, heads: int, tails: int) -> float:
    return heads * 1.42 * high + tails * 1.42 * small - 0.42 * (small if tails else high)


@dataclass
class AskFigure:
    """A figure on the keypad. ``enter`` takes it in SI and answers a fault, "" if it is taken.

    ``units`` may be two to change between, one, or none for a plain number. ``skip`` is a word
    for having no such thing, with what that does.
    """

    title: str
    line: str
    enter: Answer
    units: tuple[str, ...] = ()
    signed: bool = False
    skip: tuple[str, Callable[[], None]] | None = None
    fault: str = ""
    typed: Typed = field(default_factory=Typed)

    def __post_init__(self) -> None:
        self.typed = Typed(unit=self.units[0] if self.units else "")

    def write(self, page: ParkedPage, paper: Paper, close: Callable[[], None]) -> None:
        left = 400.0 if paper.layout.small else 440.0
        page.head(self.title, "", "Back", close)
        self._box(paper, Rect(24, HEAD_BOTTOM, left, 104))
        foot = paper.lines(self.line, 24, 282, 24, left, 4, Role.SOFT, False)
        self._keys(page, paper, close, left, max(foot, 300.0))
        if self.fault:
            what, _, mend = self.fault.partition(". ")
            plate(paper, Rect(24, page.bottom - 196, left, 196), what, mend, True)
        pad = Rect(left + 48, HEAD_BOTTOM, page.right - left - 48, page.bottom - HEAD_BOTTOM)
        keypad(
            paper,
            self.typed,
            partial(self._press, page),
            partial(self._enter, page, close),
            pad,
            () if self.signed else self.units,
            self.signed,
        )

    def _box(self, paper: Paper, r: Rect) -> None:
        paper.fill(Role.WANTED, round_frame(r.x, r.y, r.w, r.h, 16, 7))
        text = (self.typed.text or "-" * self.typed.minus).replace("-", "−")
        end = r.right - 22
        if self.typed.unit:
            end -= paper.say(self.typed.unit, end, r.y + 72, 28, Role.SOFT, align="right") + 16
        paper.fill(Role.WANTED, box(end, r.y + 22, 5, 60))
        paper.say(text, end - 8, r.y + 75, 46, align="right", limit=end - r.x - 30)

    def _keys(
        self, page: ParkedPage, paper: Paper, close: Callable[[], None], wide: float, y: float
    ) -> None:
        room = page.bottom - 204 - y
        if self.signed and len(self.units) == 2 and room >= ROW_HIGH:
            other = self.units[1] if self.typed.unit == self.units[0] else self.units[0]
            rect = Rect(24, y, 150, ROW_HIGH)
            words = (self.typed.unit, other)
            paper.key("unit", rect, partial(self._press, page, f"unit:{other}"), *words, high=30)
        if self.skip is not None and room >= ROW_HIGH:
            x = 190.0 if self.signed and len(self.units) == 2 else 24.0
            paper.key("skip", Rect(x, y, wide + 24 - x, ROW_HIGH), self._skip(close), self.skip[0])

    def _skip(self, close: Callable[[], None]) -> Callable[[], None]:
        def fire() -> None:
            close()
            if self.skip is not None:
                self.skip[1]()

        return fire

    def _press(self, page: ParkedPage, key: str) -> None:
        self.fault = ""
        if key.startswith("unit:"):
            self.typed = Typed(
                self.typed.digits, self.typed.fraction, self.typed.minus, key.removeprefix("unit:")
            )
        else:
            self.typed = self.typed.press(key)
        page.again()

    def _enter(self, page: ParkedPage, close: Callable[[], None]) -> None:
        if self.typed.empty:
            return
        try:
            value = parse_number(self.typed.text)
        except UnitError as error:
            self.fault = str(error)
            page.again()
            return
        unit = UNITS.get(self.typed.unit)
        self.fault = self.enter(value * unit.si_per_unit if unit else value)
        if self.fault:
            page.again()
        else:
            close()


@dataclass
class AskPin:
    """Digits that are not shown; ``enter`` answers a fault, "" if they are taken."""

    title: str
    line: str
    enter: Callable[[str], str]
    digits: str = ""
    fault: str = ""

    def write(self, page: ParkedPage, paper: Paper, close: Callable[[], None]) -> None:
        left = 400.0 if paper.layout.small else 440.0
        page.head(self.title, "", "Back", close)
        r = Rect(24, HEAD_BOTTOM, left, 104)
        paper.fill(Role.WANTED, round_frame(r.x, r.y, r.w, r.h, 16, 7))
        for n in range(len(self.digits)):
            dot = round_box(r.x + 28 + 44 * n, r.y + 38, 28, 28, 13.9)
            paper.fill(Role.INK, dot)
        paper.lines(self.line, 24, 282, 24, left, 8, Role.SOFT, False)
        if self.fault:
            plate(paper, Rect(24, page.bottom - 130, left, 130), self.fault, "", True)
        pad = Rect(left + 48, HEAD_BOTTOM, page.right - left - 48, page.bottom - HEAD_BOTTOM)
        typed = Typed(self.digits, unit="-")
        keypad(paper, typed, partial(self._press, page), partial(self._enter, page, close), pad)

    def _press(self, page: ParkedPage, key: str) -> None:
        self.fault = ""
        if key == "back":
            self.digits = self.digits[:-1]
        elif key.isdigit() and len(self.digits) < 8:
            self.digits += key
        page.again()

    def _enter(self, page: ParkedPage, close: Callable[[], None]) -> None:
        self.fault = self.enter(self.digits)
        if self.fault:
            self.digits = ""
            page.again()
        else:
            close()


@dataclass
class AskName:
    """A name in letters and digits; ``enter`` answers a fault, "" if it is taken."""

    title: str
    line: str
    enter: Callable[[str], str]
    text: str = ""
    fault: str = ""
    part: int = 0  # of the letters, where a small panel shows them in two

    def write(self, page: ParkedPage, paper: Paper, close: Callable[[], None]) -> None:
        wide = page.right - 24
        if paper.layout.small:  # the letters need the height: what is typed stands in the head
            page.head(self.fault or self.title, "", "Back", close)
            shown = paper.say(self.text, 242, 128, 34, limit=page.right - 260)
            paper.fill(Role.WANTED, box(250 + shown, 88, 5, 46))
            top = 158.0
        else:
            page.head(self.title, self.fault or self.line, "Back", close)
            paper.fill(Role.WANTED, round_frame(24, HEAD_BOTTOM, wide, 92, 16, 7))
            shown = paper.say(self.text, 50, HEAD_BOTTOM + 64, 38, limit=wide - 60)
            paper.fill(Role.WANTED, box(56 + shown, HEAD_BOTTOM + 20, 5, 52))
            top = HEAD_BOTTOM + 110
        pad = Rect(24, top, wide, page.bottom - top)
        letters(
            paper,
            self.text,
            partial(self._press, page),
            partial(self._enter, page, close),
            pad,
            part=self.part,
        )

    def _press(self, page: ParkedPage, key: str) -> None:
        self.fault = ""
        self.part += key == "part"
        self.text = spelled(self.text, key)
        page.again()

    def _enter(self, page: ParkedPage, close: Callable[[], None]) -> None:
        self.fault = self.enter(self.text.strip())
        if self.fault:
            page.again()
        else:
            close()


@dataclass
class AskChoice:
    """Up to fifteen keys, one of which is taken; ``chosen`` is the one in force."""

    title: str
    line: str
    choices: tuple[tuple[str, str], ...]  # the word, and a smaller one below it
    pick: Callable[[int], None]
    chosen: int | None = None

    def write(self, page: ParkedPage, paper: Paper, close: Callable[[], None]) -> None:
        page.head(self.title, self.line, "Back", close)
        columns = 3 if len(self.choices) > 8 else 2 if len(self.choices) > 4 else 1
        rows = max(5, -(-len(self.choices) // columns))
        high = (page.bottom - HEAD_BOTTOM - (rows - 1) * GAP) / rows
        wide = (page.right - 24 - (columns - 1) * GAP) / columns
        for n, words in enumerate(self.choices):
            column, row = divmod(n, rows)
            rect = Rect(24 + column * (wide + GAP), HEAD_BOTTOM + row * (high + GAP), wide, high)
            look = CHOSEN if n == self.chosen else PLAIN
            shown = tuple(word for word in words if word)
            paper.key(f"choice_{n}", rect, partial(self._pick, n, close), *shown, look=look)

    def _pick(self, n: int, close: Callable[[], None]) -> None:
        close()
        self.pick(n)


@dataclass
class Notice:
    """Something that has to be read: faults of a file, a refusal, a caution before a step.

    ``go`` is the word of a key beside "Close" and what it does.
    """

    title: str
    lines: tuple[str, ...]
    go: tuple[str, Callable[[], None]] | None = None
    caution: bool = False
    warn: bool = True
    start: int = 0

    def write(self, page: ParkedPage, paper: Paper, close: Callable[[], None]) -> None:
        page.head(self.title, "", "Back", close)
        wide, y = page.right - 24, HEAD_BOTTOM + 44
        last = page.bottom - ROW_HIGH - 30
        following = len(self.lines)
        for n, text in enumerate(self.lines[self.start :], self.start):
            rows = len(paper.wrapped(text, wide - 40, 27))
            if n > self.start and y + (min(rows, 4) - 1) * 40 > last:
                following = n
                break
            if self.caution:
                y = page.caution(text, 24, y - 24, wide, 3) + 34
            else:
                paper.sign("bullet", 28, y - 20, 16)
                y = paper.lines(text, 62, y, 27, wide - 40, 4, bold=True) + 14
        if self.warn:
            paper.fill(Role.LOOK, box(24, HEAD_BOTTOM - 2, wide, 8))
        foot = page.bottom - ROW_HIGH
        paper.key("read", Rect(24, foot, 270, ROW_HIGH), close, "Close")
        if following < len(self.lines) or self.start:
            rest = len(self.lines) - following
            words = (f"{rest} more", "below") if rest else ("From the top",)
            turn = partial(self._turn, page, following if rest else 0)
            paper.key("more", Rect(310, foot, 270, ROW_HIGH), turn, *words)
        if self.go is not None:
            word, fire = self.go
            look = WARN if self.warn else GO
            rect = Rect(page.right - 480, foot, 480, ROW_HIGH)
            paper.key("go", rect, partial(self._go, fire, close), word, look=look)

    def _turn(self, page: ParkedPage, start: int) -> None:
        self.start = start
        page.again()

    def _go(self, fire: Callable[[], None], close: Callable[[], None]) -> None:
        close()
        fire()

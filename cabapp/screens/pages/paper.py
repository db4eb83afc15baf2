"""A sheet that a parked page writes anew whenever something changes.

Parts, signs and lines of text come from pools: the first writing makes them, later ones set only
what differs, and what is not used is emptied. Fills lie under signs, signs under text, so the order
of writing never hides a word.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from kivy.uix.widget import Widget

from cabapp.screens.ink import Part, Say, Sign, Tile
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.shapes import Shape, frame, round_box, round_frame
from cabapp.screens.theme import Palette, Role
from cabapp.screens.touch import Area, Target

FLOOR_LARGE = 19.0  # least letter height on a large panel, standing, at 500 to 700 mm
FLOOR_SMALL = 24.0  # the same angle in the units of a small panel
ROUND = 16.0
_BETWEEN_WORDS = re.compile(r"\s+(?!\d+/\d)")


@dataclass(frozen=True)
class Look:
    """How a key is drawn: the roles of its fill, frame and words, and its frame's thickness."""

    fill: Role | None
    edge: Role
    words: Role
    thick: float = 4.0


PLAIN = Look(None, Role.SOFT, Role.INK)
GO = Look(Role.WANTED, Role.WANTED, Role.GROUND)
CHOSEN = Look(Role.PRESSED, Role.WANTED, Role.INK, 7.0)
WARN = Look(Role.LOOK, Role.INK, Role.ON_LOOK, 6.0)
QUIET = Look(None, Role.HAIRLINE, Role.SOFT)


class Paper(Widget):
    """Three tiles over one another: fills, signs, text. ``targets`` are the keys last written."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(size_hint=(None, None))
        page = Rect(0, 0, layout.wide, layout.high)
        self.layout = layout
        self.size = (layout.panel.wide_px, layout.panel.high_px)
        self.under, self.middle, self.over = (Tile(layout, page) for _ in range(3))
        for tile in (self.under, self.middle, self.over):
            self.add_widget(tile)
        self.floor = FLOOR_SMALL if layout.small else FLOOR_LARGE
        self._ground = Part(self.under, Role.GROUND)
        self._ground.put(frame(0, 0, page.w, page.h, page.w))
        self._fills: list[Part] = []
        self._signs: list[Sign] = []
        self._says: dict[tuple[float, bool, bool, str], list[Say]] = {}
        self._used: dict[object, int] = {}
        self._pressed = Part(self.under, Role.PRESSED)
        self.targets: list[Target] = []

    @property
    def wide(self) -> float:
        """Width in design units: 1280 on a large panel, 1160 or more on a small one."""
        return self.layout.wide

    @property
    def high(self) -> float:
        """Height in design units: 800 on a large panel, 680 or more on a small one."""
        return self.layout.high

    def recolour(self, palette: Palette) -> None:
        """Show everything in another palette."""
        for tile in (self.under, self.middle, self.over):
            tile.recolour(palette)

    # -- writing -----------------------------------------------------------------------------------

    def start(self) -> None:
        """Begin a new writing."""
        self._used.clear()
        self.targets = []

    def done(self) -> None:
        """Empty what this writing did not use."""
        for part in self._fills[self._used.get("fill", 0) :]:
            part.put()
        for sign in self._signs[self._used.get("sign", 0) :]:
            sign.put("")
        for key, says in self._says.items():
            for say in says[self._used.get(key, 0) :]:
                say.put("")

    def _next(self, key: object) -> int:
        count = self._used.get(key, 0)
        self._used[key] = count + 1
        return count

    def fill(self, role: Role, *shapes: Shape) -> None:
        """Shapes of one role, over those written before."""
        n = self._next("fill")
        if n == len(self._fills):
            self._fills.append(Part(self.under, role))
        self._fills[n].put(*shapes, role=role)

    def sign(
        self,
        name: str,
        x: float,
        y: float,
        size: float,
        main: Role = Role.INK,
        second: Role = Role.WANTED,
        hole: Role = Role.GROUND,
    ) -> None:
        """A glyph with its square's top left at (x, y)."""
        n = self._next("sign")
        if n == len(self._signs):
            self._signs.append(Sign(self.middle))
        self._signs[n].put(name, x, y, size, main, second, hole)

    def say(
        self,
        text: str,
        x: float,
        y: float,
        high: float,
        role: Role = Role.INK,
        bold: bool = True,
        digits: bool = False,
        align: str = "left",
        limit: float | None = None,
    ) -> float:
        """One line standing on ``y``, cut with dots to ``limit``; returns its width.

        No line is ever smaller than the panel's floor, whatever ``high`` says.
        """
        high = max(high, self.floor)
        text = self.cut(text, limit, high, bold) if limit is not None else text
        key = (high, bold, digits, align)
        pool = self._says.setdefault(key, [])
        n = self._next(key)
        if n == len(pool):
            pool.append(Say(self.over, x, y, high, role, bold, digits, align))
        pool[n].limit = limit
        pool[n].put(text, x=x, y=y, role=role)
        return self.over.width_of(text, high, bold, digits)

    def cut(self, text: str, limit: float, high: float, bold: bool = True) -> str:
        """A text cut to a width: names and notes come from people and may be long."""
        high = max(high, self.floor)
        if self.over.width_of(text, high, bold) <= limit:
            return text
        while text and self.over.width_of(text + "…", high, bold) > limit:
            text = text[:-1]
        return text.rstrip() + "…"

    def fitting(self, choices: Sequence[str], limit: float, high: float, bold: bool = True) -> str:
        """The first of some wordings that fits, else the last one."""
        high = max(high, self.floor)
        fit = (text for text in choices if self.over.width_of(text, high, bold) <= limit)
        return next(fit, choices[-1])

    def wrapped(self, text: str, limit: float, high: float, bold: bool = True) -> list[str]:
        """A text in lines no wider than ``limit``; an inch and its fraction stay together."""
        high = max(high, self.floor)
        lines: list[str] = []
        for word in _BETWEEN_WORDS.split(text.strip()):
            trial = f"{lines[-1]} {word}" if lines else word
            if lines and self.over.width_of(trial, high, bold) <= limit:
                lines[-1] = trial
            else:
                lines.append(word)
        return lines

    def lines(
        self,
        text: str,
        x: float,
        y: float,
        high: float,
        limit: float,
        most: int = 9,
        role: Role = Role.INK,
        bold: bool = True,
        pitch: float = 1.5,
    ) -> float:
        """A wrapped text from a first foot ``y`` down; returns the foot after its last line."""
        high = max(high, self.floor)
        found = self.wrapped(text, limit, high, bold)
        if len(found) > most:
            found = [*found[: most - 1], " ".join(found[most - 1 :])]
        for text_line in found:
            self.say(text_line, x, y, high, role, bold, limit=limit)
            y += high * pitch
        return y

    def key(
        self,
        name: str,
        rect: Rect,
        fire: Callable[[], None],
        *words: str,
        look: Look = PLAIN,
        high: float = 28.0,
        sign: str = "",
        hold: bool = False,
    ) -> None:
        """A button with up to two lines of words, the second smaller, and a sign before them."""
        r = rect
        if look.fill is not None:
            self.fill(look.fill, round_box(r.x, r.y, r.w, r.h, ROUND))
        self.fill(look.edge, round_frame(r.x, r.y, r.w, r.h, ROUND, look.thick))
        self._key_words(r, words, look, max(high, self.floor), sign)
        self.targets.append(
            Target(
                name, self._area(r), fire, hold, lambda down: self._press(r, down), self._fill(r)
            )
        )

    def _key_words(
        self, r: Rect, words: tuple[str, ...], look: Look, high: float, sign: str
    ) -> None:
        centre, middle, room = r.y + r.h / 2, r.x + r.w / 2, r.w - 24
        if len(words) == 1 and self.over.width_of(words[0], high) > room:
            # A key says what it does, or it is not touched safely: two lines before any is cut.
            words = tuple(words[0].rsplit(" ", 1))
        size = 40.0 if words else min(r.h, r.w) * 0.5
        if sign and not words:
            self.sign(sign, middle - size / 2, centre - size / 2, size, look.words)
            return
        if sign:
            wide = min(self.over.width_of(words[0], high), room - size - 14)
            left = middle - (wide + size + 14) / 2
            self.sign(sign, left, centre - size / 2, size, look.words)
            middle, room = left + size + 14 + wide / 2, wide + 1
        if len(words) == 1:
            self.say(
                words[0], middle, centre + high / 2, high, look.words, align="middle", limit=room
            )
        elif words:
            small = max(self.floor, high * 0.72)
            foot = centre + (high + 10 + small) / 2
            first = foot - small - 10
            self.say(words[0], middle, first, high, look.words, align="middle", limit=room)
            self.say(words[1], middle, foot, small, look.words, False, align="middle", limit=room)

    def touch(self, name: str, rect: Rect, fire: Callable[[], None]) -> None:
        """A target without a frame of its own: a row or a card."""
        self.targets.append(
            Target(name, self._area(rect), fire, pressed=lambda down: self._press(rect, down))
        )

    def _area(self, r: Rect) -> Area:
        scale = self.layout.scale
        left, top = r.x * scale, self.layout.panel.high_px - r.y * scale
        return Area(left, top - r.h * scale, r.w * scale, r.h * scale)

    def _press(self, r: Rect, down: bool) -> None:
        self._pressed.put(*((round_box(r.x, r.y, r.w, r.h, ROUND),) if down else ()))

    def _fill(self, r: Rect) -> Callable[[float], None]:
        def fill(share: float) -> None:
            wide = r.w * share
            self._pressed.put(*((round_box(r.x, r.y, wide, r.h, 8),) if wide > 20 else ()))

        return fill

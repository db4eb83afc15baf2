"""Parts every tile has: its frame, and the plate that names what is out."""

from cabapp.outcome import TileState
from cabapp.screens.ink import Part, Say, Sign, Tile
from cabapp.screens.shapes import box, frame
from cabapp.screens.theme import Role

PULSE_S = 0.5
PULSES = 3
PLAIN_SIGN = 1.35  # a mark without a plate, in letter heights

MARKS: dict[TileState, str] = {
    TileState.IN_BAND: "in_band",
    TileState.ABOVE: "above",
    TileState.BELOW: "below",
    TileState.LIFTED: "lifted",
    TileState.ACT: "act",
    TileState.NO_READING: "no_reading",
    TileState.OUT_OF_USE: "no_reading",
    TileState.NOT_LIVE: "not_live",
    TileState.STARTING: "starting",
}

ON_PLATE = {**MARKS, TileState.IN_BAND: "look", TileState.FREE: "look"}
"""On a plate: an alert for a value that is itself in band carries the sign of its level."""

LOST = (TileState.NO_READING, TileState.OUT_OF_USE)


class Edge:
    """A tile's frame: a hairline, 6 px where nothing is read, 12 px where it is out.

    A new alert makes it step three times half a second, then it stands still.
    """

    def __init__(self, tile: Tile) -> None:
        self.tile = tile
        self.outer = Part(tile, Role.ACT_EDGE)
        self.line = Part(tile, Role.HAIRLINE)
        self.shown: tuple[float, Role] = (2.0, Role.HAIRLINE)
        self.began: float | None = None

    def show(self, state: TileState, framed: bool, now: float) -> None:
        """Draw the frame of a state; ``framed`` says that an alert is up for the tile."""
        if state is TileState.ACT:
            new = (12.0, Role.ACT)
        elif state in LOST:
            new = (6.0, Role.INK)
        else:
            new = (12.0, Role.INK) if framed else (2.0, Role.HAIRLINE)
        if new == (12.0, Role.INK) != self.shown:
            self.began = now
        elif new != (12.0, Role.INK):
            self.began = None
        self.shown = new
        self._draw(now)

    def tick(self, now: float) -> bool:
        """Step the frame of a fresh alert; True while it still steps."""
        if self.began is None:
            return False
        if now - self.began >= PULSES * PULSE_S:
            self.began = None
        self._draw(now)
        return self.began is not None

    def settle(self) -> None:
        """Stand still at once."""
        self.began = None
        self._draw(0.0)

    def _draw(self, now: float) -> None:
        thick, role = self.shown
        if self.began is not None and (now - self.began) % PULSE_S >= PULSE_S / 2:
            thick /= 2
        w, h = self.tile.rect.w, self.tile.rect.h
        if role is Role.ACT:  # a line sets the red off from a black ground
            self.outer.put(frame(0, 0, w, h, 3))
            self.line.put(frame(3, 3, w - 6, h - 6, thick - 3), role=role)
        else:
            self.outer.put()
            self.line.put(frame(0, 0, w, h, thick), role=role)


class Plate:
    """A mark and a word on amber (out) or red (act); or plain, in ink, with no ground."""

    def __init__(self, tile: Tile, word_high: float = 37.0) -> None:
        self.tile = tile
        self.edge = Part(tile, Role.INK)
        self.fill = Part(tile, Role.LOOK)
        self.sign = Sign(tile)
        self.word = Say(tile, 0, 0, word_high)
        self.high = word_high

    def width(self, word: str) -> float:
        """How wide a plate with this word is."""
        return 12 + 1.14 * self.high + 10 + self.tile.width_of(word, self.high) + 12

    def alert(self, mark: str, word: str, x: float, y: float, h: float, act: bool) -> None:
        """A plate with its top left at (x, y), ``h`` high."""
        wide, size = self.width(word), 1.14 * self.high
        if act:
            self.edge.put()
            self.fill.put(box(x, y, wide, h), role=Role.ACT)
        else:
            self.edge.put(box(x, y, wide, h))
            self.fill.put(box(x + 4, y + 4, wide - 8, h - 8), role=Role.LOOK)
        ink = Role.ON_ACT if act else Role.ON_LOOK
        ground = Role.ACT if act else Role.LOOK
        self.sign.put(mark, x + 12, y + (h - size) / 2, size, ink, ink, ground)
        foot = y + (h + self.high) / 2
        self.word.put(word, x + 12 + size + 10, foot, ink)

    def plain(self, mark: str, word: str, x: float, foot: float) -> None:
        """Mark and word in ink from ``x`` on, the word's foot on ``foot``."""
        self._bare()
        size = PLAIN_SIGN * self.high
        self.sign.put(mark, x, foot - self.high - (size - self.high) / 2, size)
        self.word.put(word, x + (size + 14 if mark else 0), foot, Role.INK)

    def plain_width(self, mark: str, word: str) -> float:
        """How wide ``plain`` draws."""
        return (PLAIN_SIGN * self.high + 14 if mark else 0) + self.tile.width_of(word, self.high)

    def mark_only(self, mark: str, x: float, y: float, size: float) -> None:
        """A mark alone."""
        self._bare()
        self.word.put("")
        self.sign.put(mark, x, y, size)

    def corner(self, state: TileState, right: float, top: float, alert: bool) -> None:
        """The mark of a value without an alert of its own, its square's top right at a point.

        What is out is larger and all in ink, so that it is not taken for what is wanted; during
        an ACT, or an alert about this very tile, nothing is said to be in band.
        """
        out = state in (TileState.ABOVE, TileState.BELOW)
        size = 54.0 if out else 42.0
        self._bare()
        self.word.put("")
        mark = "" if alert and state is TileState.IN_BAND else MARKS.get(state, "")
        second = Role.INK if out else Role.WANTED
        self.sign.put(mark, right - size, top + 42.0 - size, size, second=second)

    def hide(self) -> None:
        """Show nothing."""
        self._bare()
        self.word.put("")
        self.sign.put("")

    def _bare(self) -> None:
        self.edge.put()
        self.fill.put()

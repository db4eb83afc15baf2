"""Buttons: a round frame, a sign or words in it, and the touch target they are."""

from collections.abc import Callable

from cabapp.screens.ink import Part, Say, Sign, Tile
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, round_box, round_frame
from cabapp.screens.theme import Role
from cabapp.screens.touch import Area, Target

CUT_SIGN = "…"
PAD = 6.0  # least room between a word and its key's edge


class Key:
    """One button on a tile. ``rect`` is in the tile's units; a hold fills from the left."""

    def __init__(
        self, tile: Tile, name: str, rect: Rect, fire: Callable[[], None], hold: bool = False
    ) -> None:
        self.tile, self.name, self.rect = tile, name, rect
        self.shown = False
        self.fill_part = Part(tile, Role.PRESSED)
        self.frame = Part(tile, Role.SOFT)
        self.sign = Sign(tile)
        middle = rect.x + rect.w / 2
        self.words = tuple(
            Say(tile, middle, 0, 31, align="middle", limit=rect.w - 8) for _ in range(2)
        )
        self.hold = hold
        self.target = Target(name, self._area(), fire, hold, self._press, self._fill)

    def _area(self) -> Area:
        tile, r = self.tile, self.rect
        scale = tile.scale_px
        left, top = tile.left_px + r.x * scale, tile.top_px - r.y * scale
        return Area(left, top - r.h * scale, r.w * scale, r.h * scale)

    def show(self, *lines: str, sign: str = "", wanted: bool = False) -> None:
        """Show the key with one or two lines of words, with a sign above them or alone."""
        self.shown = True
        r = self.rect
        middle, centre = r.x + r.w / 2, r.y + r.h / 2
        self.frame.put(
            round_frame(r.x, r.y, r.w, r.h, 16, 4), role=Role.WANTED if wanted else Role.SOFT
        )
        size = 44.0 if lines else 60.0
        if sign and lines:
            self.sign.put(sign, middle - size / 2, centre - 43, size)
        elif sign:
            self.sign.put(sign, middle - size / 2, centre - size / 2, size)
        else:
            self.sign.put("")
        feet = self._feet(len(lines), bool(sign))
        for i, say in enumerate(self.words):
            text = self.fitted(lines[i]) if i < len(lines) else ""
            say.put(
                text,
                y=feet[i] if i < len(feet) else None,
                role=Role.SOFT if i == 1 and self.hold else Role.INK,
            )

    def _feet(self, count: int, sign: bool) -> tuple[float, ...]:
        centre = self.rect.y + self.rect.h / 2
        if sign:
            return (centre + 45,)
        return (centre + 15.5,) if count < 2 else (centre - 5, centre + 39)

    def fitted(self, text: str) -> str:
        """A text cut to the key's width: names come from people and may be long."""
        room = self.rect.w - 2 * PAD
        if self.tile.width_of(text, 31) <= room:
            return text
        while text and self.tile.width_of(text + CUT_SIGN, 31) > room:
            text = text[:-1]
        return text.rstrip() + CUT_SIGN

    def hide(self) -> None:
        """Take the key away."""
        self.shown = False
        self.frame.put()
        self.fill_part.put()
        self.sign.put("")
        for say in self.words:
            say.put("")

    def _press(self, down: bool) -> None:
        r = self.rect
        on = down and self.shown and not self.hold
        self.fill_part.put(*((round_box(r.x, r.y, r.w, r.h, 16),) if on else ()))

    def _fill(self, share: float) -> None:
        r = self.rect
        wide = (r.w - 8) * share
        self.fill_part.put(*((box(r.x + 4, r.y + 4, wide, r.h - 8),) if wide >= 2 else ()))


def spread(
    left: float, right: float, shares: tuple[float, ...], gap: float
) -> list[tuple[float, float]]:
    """Columns between two edges as (x, width), their widths in the given shares."""
    room = (right - left - gap * (len(shares) - 1)) / sum(shares)
    found, x = [], left
    for share in shares:
        found.append((x, share * room))
        x += share * room + gap
    return found

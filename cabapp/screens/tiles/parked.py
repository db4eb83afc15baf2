"""The parked hold: without a usable speed, a person says that the machine stands.

It takes everything under the band, so that it can't be pressed by chance and Quiet stays in
reach. The key fills in a second and a half, and letting go empties it.
"""

from collections.abc import Callable

from cabapp.screens.figures import US
from cabapp.screens.ink import Part, Say, Sign, Tile
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.shapes import box, round_frame
from cabapp.screens.theme import Role
from cabapp.screens.tiles.keys import Key
from cabapp.screens.touch import Area, Target
from cabapp.units import UnitSystem

CLOSERS = ("a position shows over {speed}", "the tool switch moves", "a wheel turns")


class ParkedTile(Tile):
    """Why it is asked, the key to hold, and what closes it again."""

    def __init__(
        self, layout: Layout, back: Callable[[], None], parked: Callable[[], None]
    ) -> None:
        super().__init__(layout, "page")
        small = layout.small
        margin = 30.0 if small else 24.0
        top = layout.slots["band"].bottom + (6 if small else 8)
        Part(self, Role.GROUND).put(box(0, top, layout.wide, layout.high - top))
        wide = layout.wide - 2 * margin
        self.line = Say(self, margin, top + (40 if small else 50), 31 if small else 37, limit=wide)
        b = self.box = Rect(margin, top + (58 if small else 76), wide, 176 if small else 236)
        self.fill_part = Part(self, Role.PRESSED)
        Part(self, Role.WANTED).put(round_frame(b.x, b.y, b.w, b.h, 22, 8))
        size = 140.0 if small else 190.0
        Sign(self).put("parked", b.x + 40, b.y + (b.h - size * 0.80) / 2, size)
        text_x = b.x + size + 90
        self.word = Say(self, text_x, b.y + b.h / 2 - 4, 62)
        self.hint = Say(self, text_x, b.y + b.h / 2 + 58, 31, limit=b.right - 20 - text_x)
        self.back = None if small else self._back_key(layout, back)
        left = margin if self.back is None else self.back.rect.right + 60
        pitch, foot = (48.0, b.bottom + 56) if small else (54.0, b.bottom + 70)
        self.until = Say(self, left, foot, 31, Role.SOFT, bold=False)
        self.bullets = Part(self, Role.INK)
        self.closers = tuple(
            Say(self, left + 46, foot + pitch * (i + 1), 31) for i in range(len(CLOSERS))
        )
        scale = self.scale_px
        area = Area(
            self.left_px + b.x * scale, self.top_px - b.bottom * scale, b.w * scale, b.h * scale
        )
        self.target = Target("parked", area, parked, hold=True, fill=self._fill)

    def _back_key(self, layout: Layout, back: Callable[[], None]) -> Key:
        menu = layout.slots["menu"]
        key = Key(self, "back", Rect(menu.x, menu.y, 190, menu.h), back)
        key.show("Drive", sign="back")
        return key

    def show(self, units: UnitSystem) -> None:
        """Show every word."""
        self.line.put("Without a speed the tablet can't see if you move.")
        self.word.put("Parked, brake on")
        self.hint.put("Hold 1 1/2 s: opens Set up, Fit-up, Shifts")
        self.until.put("It closes by itself when")
        speed = "1.6 mph" if units is US else "2.5 km/h"
        for say, text in zip(self.closers, CLOSERS, strict=True):
            say.put(text.format(speed=speed))
        self.bullets.put(*(box(say.x - 40, say.y - 24, 17, 17) for say in self.closers))

    def _fill(self, share: float) -> None:
        b = self.box
        wide = (b.w - 16) * share
        self.fill_part.put(*((box(b.x + 8, b.y + 8, wide, b.h - 16),) if wide >= 2 else ()))

    def targets(self) -> list[Target]:
        """The key to hold, and the way back."""
        return [self.target] if self.back is None else [self.back.target, self.target]

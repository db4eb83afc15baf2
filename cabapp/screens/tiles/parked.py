"""The parked hold: without a usable speed, a person says that the machine stands.

A full page, so that it can't be pressed by chance. The key fills in a second and a half, and
letting go empties it.
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
    """Title, the key to hold, and what closes it again."""

    def __init__(
        self, layout: Layout, back: Callable[[], None], parked: Callable[[], None]
    ) -> None:
        super().__init__(layout, "page")
        small = layout.small
        margin = 30.0 if small else 24.0
        ground = Part(self, Role.GROUND)
        ground.put(box(0, 0, layout.wide, layout.high))
        high = layout.target
        self.back = Key(self, "back", Rect(margin, margin, 190, high), back)
        self.back.show("Drive", sign="back")
        words_x = margin + 226
        self.title = Say(self, words_x, margin + 54, 54, limit=layout.wide - words_x - margin)
        self.line = Say(
            self,
            words_x,
            margin + 112,
            31 if small else 37,
            Role.SOFT,
            bold=False,
            limit=layout.wide - words_x - margin,
        )
        top = margin + high + (36 if small else 88)
        tall = 190.0 if small else 270.0
        self.box = Rect(margin, top, layout.wide - 2 * margin, tall)
        b = self.box
        self.fill_part = Part(self, Role.PRESSED)
        self.frame = Part(self, Role.WANTED)
        self.frame.put(round_frame(b.x, b.y, b.w, b.h, 22, 8))
        self.sign = Sign(self)
        size = 150.0 if small else 208.0
        self.sign.put("parked", b.x + 40, b.y + (b.h - size * 0.80) / 2, size)
        text_x = b.x + size + 98
        self.word = Say(self, text_x, b.y + b.h / 2 - 16, 62)
        self.hint = Say(self, text_x, b.y + b.h / 2 + 50, 31, limit=b.right - 20 - text_x)
        self.until = Say(self, margin, b.bottom + (56 if small else 92), 31, Role.SOFT, bold=False)
        pitch = 46.0 if small else 54.0
        self.bullets = Part(self, Role.INK)
        self.closers = tuple(
            Say(self, margin + 46, self.until.y + pitch * (i + 1), 31) for i in range(len(CLOSERS))
        )
        scale = self.scale_px
        area = Area(
            self.left_px + b.x * scale, self.top_px - b.bottom * scale, b.w * scale, b.h * scale
        )
        self.target = Target("parked", area, parked, hold=True, fill=self._fill)

    def show(self, units: UnitSystem) -> None:
        """Show every word."""
        self.title.put("NO POSITION YET")
        self.line.put("The tablet can't see if you stand or move.")
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
        """The way back, and the key to hold."""
        return [self.back.target, self.target]

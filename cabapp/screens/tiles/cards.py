"""Cards: things to read and answer while standing, over everything under the band."""

from cabapp.screens.ink import Part, Say, Sign
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import box
from cabapp.screens.theme import Role
from cabapp.screens.tiles.sheets import Fire, Sheet

PITCH = 54.0  # a line's height, tails included


class CardSheet(Sheet):
    """A title, lines to read, and one row of keys. Cautions carry the sign for injury."""

    def __init__(self, layout: Layout, fire: Fire, names: tuple[str, ...]) -> None:
        super().__init__(layout, fire)
        r, band = self.rows, layout.slots["band"]
        top = band.bottom + (4 if layout.small else 7)
        self.ground.put(box(0, top, layout.wide, layout.high - top))
        self.line.put()
        self.sign = Sign(self)
        self.bullets = Part(self, Role.INK)
        head = top + (52 if layout.small else 66)
        self.title.put("", y=head)
        self.head = Say(self, r.left, head, 44, limit=r.right - r.left)
        self.first = head + (50 if layout.small else 64)
        self.pitch = 43.0 if layout.small else PITCH
        lines = int((r.two - 16 - self.first) // self.pitch) + 1
        self.text = tuple(
            Say(self, r.left + 40, self.first + i * self.pitch, 31, limit=r.right - r.left - 40)
            for i in range(lines)
        )
        self.row(names, r.left, r.right, r.two)

    def tell(
        self, title: str, lines: tuple[str, ...], labels: tuple[str, ...], caution: bool = False
    ) -> None:
        """Show a card; ``labels`` name its keys in order."""
        r = self.rows
        self.sign.put(
            "injury" if caution else "",
            r.left,
            self.head.y - 54,
            62,
            main=Role.INK,
            hole=Role.GROUND,
        )
        self.head.put(title, x=r.left + (80 if caution else 0))
        shown = lines
        if len(lines) > len(self.text):
            kept = len(self.text) - 1
            shown = (*lines[:kept], f"and {len(lines) - kept} more in Shifts")
        for i, say in enumerate(self.text):
            say.put(self._fitted(shown[i]) if i < len(shown) else "")
        self.bullets.put(*(box(r.left + 6, say.y - 23, 15, 15) for say in self.text if say.text))
        for i, key in enumerate(self.keys):
            key.show(labels[i]) if i < len(labels) else key.hide()

    def _fitted(self, text: str) -> str:
        """A line cut to the card's width: names and notes come from people."""
        room = self.text[0].limit or 0.0
        while text and self.width_of(text, 31) > room:
            text = text[:-2].rstrip() + "…"
        return text

"""The number pad: digits, a point, halves and quarters, minus, back. Large enough for gloves.

Typed text stays text: reading it is the vocabulary's affair (units.parse_quantity), so that a
number with a fraction is read in one place only.
"""

from collections.abc import Callable

from cabapp.screens.ink import Tile
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.tiles.keys import Key
from cabapp.screens.touch import Target

MOST = 9  # letters: "-123 1/2" and one to spare
HALVES = ("1/4", "1/2", "3/4")
DIGITS = ("7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "−")


class Typed:
    """What has been typed so far; pure."""

    def __init__(self, text: str = "") -> None:
        self.text = text

    def press(self, key: str) -> None:
        """Take one key of the pad: a digit, ``.``, ``−``, a fraction, ``back`` or ``clear``."""
        if key == "clear":
            self.text = ""
        elif key == "back":
            self.text = self.text[:-4].rstrip() if "/" in self.text else self.text[:-1]
        elif key == "−":
            self.text = self.text[1:] if self.text.startswith("−") else "−" + self.text
        elif "/" in self.text:
            return  # nothing follows a fraction
        elif key in HALVES:
            self._fraction(key)
        elif key == ".":
            if "." not in self.text:
                self.text += "." if self.text[-1:].isdigit() else "0."
        elif len(self.text) < MOST:
            self.text = self.text.removesuffix("0") + key if self.text == "0" else self.text + key

    def _fraction(self, key: str) -> None:
        if "." in self.text:
            return
        whole = self.text if self.text not in ("", "−", "0") else self.text.removesuffix("0")
        self.text = f"{whole} {key}" if whole not in ("", "−") else f"{whole}{key}"


class Keypad:
    """Twelve keys, a column of fractions and back, in a rectangle of a tile.

    ``changed`` is called with the text after every key. Without ``fractions`` (centimetres) the
    fourth column holds back and clear alone.
    """

    def __init__(
        self,
        tile: Tile,
        layout: Layout,
        place: Rect,
        changed: Callable[[str], None],
        fractions: bool = True,
    ) -> None:
        self.typed = Typed()
        self.changed = changed
        gap = 3.0 * layout.panel.px_per_mm / layout.scale
        wide = (place.w - 3 * gap) / 4
        high = (place.h - 3 * gap) / 4
        last = (*HALVES, "back") if fractions else ("back", "clear")
        self.keys: list[Key] = []
        for i, name in enumerate(DIGITS):
            self._add(tile, name, place, i // 3, i % 3, wide, high, gap)
        for row, name in enumerate(last):
            self._add(tile, name, place, row, 3, wide, high, gap)

    def _add(
        self,
        tile: Tile,
        name: str,
        place: Rect,
        row: int,
        column: int,
        wide: float,
        high: float,
        gap: float,
    ) -> None:
        rect = Rect(place.x + column * (wide + gap), place.y + row * (high + gap), wide, high)
        key = Key(tile, f"pad {name}", rect, lambda: self.press(name))
        key.show(*(() if name == "back" else (name,)), sign="back" if name == "back" else "")
        self.keys.append(key)

    def press(self, name: str) -> None:
        """Take a key and tell the text."""
        self.typed.press(name)
        self.changed(self.typed.text)

    def start(self, text: str = "") -> None:
        """Begin another number."""
        self.typed = Typed(text)
        self.changed(self.typed.text)

    def targets(self) -> list[Target]:
        """What can be touched on it."""
        return [key.target for key in self.keys]

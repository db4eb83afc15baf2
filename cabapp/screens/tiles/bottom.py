"""The keys that are always there: Menu, Peg and, on a rig without a switch, the tool button."""

from collections.abc import Callable

from cabapp.outcome import ToolButton
from cabapp.screens.ink import Part, Say, Sign, Tile
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.shapes import box, round_box, round_frame, slanted
from cabapp.screens.theme import Role
from cabapp.screens.tiles.keys import Key
from cabapp.screens.touch import Area, Target


class KeyTile(Tile):
    """One key that fills its slot."""

    def __init__(self, layout: Layout, slot: str, fire: Callable[[], None]) -> None:
        super().__init__(layout, slot)
        self.key = Key(self, slot, Rect(0, 0, self.rect.w, self.rect.h), fire)


# down -> sign, words, what a tap says
TOOL_STATES: dict[bool | None, tuple[str, str, str, str]] = {
    True: ("lowered", "IT IS DOWN", "Tap if it is up", "up"),
    False: ("lifted", "IT IS UP", "Tap if it is down", "down"),
    None: ("unsure", "IN SOIL?", "Tap if yes", "down"),
}


class ToolTile(Tile):
    """The big button that corrects the guess whether the tool is down."""

    def __init__(self, layout: Layout, fire: Callable[[str], None]) -> None:
        super().__init__(layout, "tool")
        w, h = self.rect.w, self.rect.h
        self.view: ToolButton | None = None
        self.press = Part(self, Role.PRESSED)
        self.edge = Part(self, Role.SOFT)
        self.sign = Sign(self)
        self.word = Say(self, 196, h / 2 - 11, 44, limit=350)
        self.hint = Say(self, 196, h / 2 + 49, 31, Role.SOFT, bold=False, limit=350)
        scale = self.scale_px
        area = Area(self.left_px, self.top_px - h * scale, w * scale, h * scale)
        self.target = Target("tool", area, lambda: fire(self._says()), pressed=self._press)

    def _says(self) -> str:
        return TOOL_STATES[self.view.down if self.view else None][3]

    def show(self, view: ToolButton) -> None:
        """Take a new view."""
        self.view = view
        sign, word, hint, _ = TOOL_STATES[view.down]
        w, h = self.rect.w, self.rect.h
        self.edge.put(round_frame(0, 0, w, h, 18, 5))
        size = min(118.0, h - 44)
        self.sign.put(sign, 96 - size / 2, h / 2 - size / 2, size)
        self.word.put(word)
        self.hint.put(hint)

    def _press(self, down: bool) -> None:
        self.press.put(*((round_box(0, 0, self.rect.w, self.rect.h, 18),) if down else ()))


class FrameTile(Tile):
    """The frame in the margin, for ACT only: striped, swapping with solid twice a second."""

    WIDE = 18.0
    SWAP_S = 0.25

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout, "page")
        w, h, t = self.rect.w, self.rect.h, self.WIDE
        sides = ((0, 0, w, t), (0, h - t, w, t), (0, t, t, h - 2 * t), (w - t, t, t, h - 2 * t))
        self.solid = Part(self, Role.ACT)
        self.solid.put(*(box(*side) for side in sides))
        self.stripes = Part(self, Role.ACT_STRIPE)
        self.stripes.put(
            *(bar for x, y, sw, sh in sides for bar in slanted(x, y, sw, sh, 36, 12.7))
        )
        self.on, self.swaps, self.began = True, True, 0.0
        self.show(False, False, 0.0)

    def show(self, on: bool, swaps: bool, now: float) -> None:
        """Show the frame or not; ``swaps`` until the alert is quieted, then solid."""
        if (on, swaps) != (self.on, self.swaps):
            self.began = now
        self.on, self.swaps = on, swaps
        self.solid.light(on)
        self._stripe(now)

    def tick(self, now: float) -> bool:
        """Swap stripes and solid."""
        self._stripe(now)
        return self.on and self.swaps

    def _stripe(self, now: float) -> None:
        first = int((now - self.began) / self.SWAP_S) % 2 == 0
        self.stripes.light(self.on and self.swaps and first)

"""The palette, one table: a role, its colour by day and its colour by night.

Three hues help and none carries meaning alone: blue is what is wanted, amber what is out, red
what must be acted on. Black on white by day hides reflections; at night the backlight dims and
the contrast stays.
"""

from dataclasses import dataclass
from enum import Enum


class Role(Enum):
    """What a colour stands for; drawing code names roles and never colours."""

    GROUND = "ground"
    INK = "ink"  # what is
    SOFT = "soft"  # labels
    WANTED = "wanted"  # bracket, target, trip ring
    LOOK = "look"
    ON_LOOK = "on_look"
    ACT = "act"
    ON_ACT = "on_act"
    ACT_EDGE = "act_edge"  # sets red off from black at night; red itself by day
    ACT_STRIPE = "act_stripe"
    CORE = "core"
    HATCH = "hatch"
    SOIL = "soil"
    LAYER = "layer"
    HAIRLINE = "hairline"  # carries nothing
    PRESSED = "pressed"


@dataclass(frozen=True)
class Palette:
    """One look: every role's colour as ``#RRGGBB``."""

    name: str
    hexes: dict[Role, str]

    def hex(self, role: Role) -> str:
        """The colour of a role as ``#RRGGBB``."""
        return self.hexes[role]

    def rgb(self, role: Role) -> tuple[float, float, float]:
        """The colour of a role as three shares of one, gamma-encoded as screens want it."""
        text = self.hexes[role]
        return (int(text[1:3], 16) / 255, int(text[3:5], 16) / 255, int(text[5:7], 16) / 255)


_TABLE: dict[Role, tuple[str, str]] = {
    Role.GROUND: ("#FFFFFF", "#000000"),
    Role.INK: ("#000000", "#E8E8E8"),
    Role.SOFT: ("#3F3F3F", "#BDBDBD"),
    Role.WANTED: ("#005A9C", "#6DB6FF"),
    Role.LOOK: ("#FFC400", "#D89B00"),
    Role.ON_LOOK: ("#000000", "#000000"),
    Role.ACT: ("#A30000", "#A30000"),
    Role.ON_ACT: ("#FFFFFF", "#FFFFFF"),
    Role.ACT_EDGE: ("#A30000", "#FFFFFF"),
    Role.ACT_STRIPE: ("#FFFFFF", "#B4B4B4"),
    Role.CORE: ("#5A5A5A", "#9A9A9A"),
    Role.HATCH: ("#5A5A5A", "#8C8C8C"),
    Role.SOIL: ("#F1E7D6", "#231B12"),
    Role.LAYER: ("#5E4C36", "#A8936F"),
    Role.HAIRLINE: ("#B8B8B8", "#444444"),
    Role.PRESSED: ("#D9E6F2", "#1C2B3A"),
}

DAY = Palette("day", {role: pair[0] for role, pair in _TABLE.items()})
NIGHT = Palette("night", {role: pair[1] for role, pair in _TABLE.items()})

_PAPER = {Role.GROUND, Role.SOIL, Role.LOOK, Role.ON_ACT, Role.ACT_STRIPE, Role.PRESSED}
ONE_INK = Palette("one ink", {role: "#FFFFFF" if role in _PAPER else "#000000" for role in Role})
"""Black and white only: what must still tell every state apart when colour is gone."""

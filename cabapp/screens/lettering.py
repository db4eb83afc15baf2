"""The shipped font: how large a letter is, and where its foot stands.

Heights are of the capital or digit, never of the font. The figures are read off the files in
assets/fonts (head, hhea and OS/2 tables) and checked against them in tests/screens.
"""

from collections import OrderedDict
from dataclasses import dataclass
from math import ceil
from typing import Any

from kivy.core.text import Label as CoreLabel

from cabapp.paths import shipped

CAP_EM = 0.698
DIGIT_EM = 0.722
ASCENT_EM = 1.025
DESCENT_EM = 0.275  # deepest tail, below the foot
KEPT = 96  # pictures of words kept; a number on the move comes back to the same few

BOLD = str(shipped("assets", "fonts", "IBMPlexSansCondensed-Bold.ttf"))
SEMI = str(shipped("assets", "fonts", "IBMPlexSansCondensed-SemiBold.ttf"))


@dataclass(frozen=True)
class Face:
    """One size of one weight: letters ``high_px`` high, or digits where ``digits`` is set."""

    high_px: float
    bold: bool = True
    digits: bool = False

    @property
    def size_px(self) -> int:
        """The font size: whole pixels, never below the height asked for."""
        return ceil(self.high_px / (DIGIT_EM if self.digits else CAP_EM) - 1e-6)

    @property
    def ascent_px(self) -> int:
        """From the top of a word's picture down to its foot."""
        return ceil(ASCENT_EM * self.size_px)


_pictures: OrderedDict[tuple[str, Face], Any] = OrderedDict()


def picture(text: str, face: Face) -> Any:
    """The texture of a text, white, its size in pixels; drawn once while it is in use."""
    key = (text, face)
    found = _pictures.get(key)
    if found is None:
        label = CoreLabel(text=text, font_name=BOLD if face.bold else SEMI, font_size=face.size_px)
        label.refresh()
        found = _pictures[key] = label.texture
        if len(_pictures) > KEPT:
            _pictures.popitem(last=False)
    else:
        _pictures.move_to_end(key)
    return found


def width_px(text: str, face: Face) -> float:
    """How wide a text is, in pixels."""
    return float(picture(text, face).width) if text else 0.0

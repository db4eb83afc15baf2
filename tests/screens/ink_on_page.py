"""What stands on a page, read from its tiles once: texts, signs and targets with their boxes.

Boxes are left, bottom, right, top in pixels of the window.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from math import atan, degrees
from typing import Any

from cabapp.screens.glyphs import silhouette
from cabapp.screens.lettering import CAP_EM, DIGIT_EM
from cabapp.screens.ruler import Layout
from cabapp.screens.theme import Role
from cabapp.screens.touch import Area

TAILED = set("gjpqy,;/()")
TAIL_EM = 0.215
ROUND_EM = 0.015

Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Text:
    """A text that can be seen: its words, where it stands, how large it is and may be."""

    words: str
    name: str  # the tile's attribute it is, where it has one
    tile: str
    box: Box
    tile_box: Box
    high_px: float  # of its capitals or digits
    wide: float
    limit: float | None
    role: Role


@dataclass(frozen=True)
class Mark:
    """A sign that can be seen."""

    name: str
    tile: str
    box: Box


@dataclass(frozen=True)
class Seen:
    """One state on one panel."""

    layout: Layout
    texts: tuple[Text, ...]
    marks: tuple[Mark, ...]
    targets: dict[str, Area]
    fronted: bool

    def arcmin(self, text: Text) -> float:
        """The angle of a text's letters at the eye, in minutes of arc."""
        panel = self.layout.panel
        return degrees(atan(text.high_px / panel.px_per_mm / panel.eye_mm)) * 60


def look(page: Any) -> Seen:
    """Read a page as it is shown now."""
    tiles = visible_tiles(page)
    return Seen(
        page.layout,
        tuple(text for tile in tiles for text in _texts(tile)),
        tuple(mark for tile in tiles for mark in _marks(tile)),
        {target.name: target.area for target in page.targets()},
        page.in_front is not None,
    )


def visible_tiles(page: Any) -> list[Any]:
    """The tiles that are seen whole: with something in front, the band and the front only."""
    if page.in_front is None:
        return list(page.shown())
    return [page.band, page.in_front] + ([page.menu_key] if page.layout.small else [])


def _texts(tile: Any) -> Iterator[Text]:
    names = {id(value): name for name, value in vars(tile).items()}
    for say in tile.says:
        if say.text:
            face = say.face
            yield Text(
                say.text,
                names.get(id(say), ""),
                type(tile).__name__,
                say_box(say),
                (tile.x, tile.y, tile.right, tile.top),
                face.size_px * (DIGIT_EM if face.digits else CAP_EM),
                say.wide,
                say.limit,
                say.role,
            )


def say_box(say: Any) -> Box:
    """The box of a text's ink."""
    face = say.face
    left, bottom = say.paper.pos
    wide, high = say.paper.size
    foot = bottom + high - face.ascent_px
    tail = TAIL_EM if set(say.text) & TAILED else ROUND_EM
    top = foot + face.size_px * (DIGIT_EM if any(c.isdigit() for c in say.text) else CAP_EM)
    side = 0.03 * face.size_px  # letters stand a little inside their picture
    return left + side, foot - tail * face.size_px, left + wide - side, top


def _marks(tile: Any) -> Iterator[Mark]:
    for sign in tile.signs:
        if sign.name:
            yield Mark(sign.name, type(tile).__name__, sign_box(tile, sign))


def sign_box(tile: Any, sign: Any) -> Box:
    """The box of a sign's ink."""
    points = [point for outline in silhouette(sign.name) for point in outline]
    x, y, size = sign.place
    scale = tile.scale_px
    xs, ys = [x + px * size for px, _ in points], [y + py * size for _, py in points]
    left, top = tile.left_px, tile.top_px
    return (
        left + min(xs) * scale,
        top - max(ys) * scale,
        left + max(xs) * scale,
        top - min(ys) * scale,
    )


def overlap(a: Box, b: Box) -> bool:
    """Do two boxes share more than their edges?"""
    return a[0] < b[2] - 1 and b[0] < a[2] - 1 and a[1] < b[3] - 1 and b[1] < a[3] - 1

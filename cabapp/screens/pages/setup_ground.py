"""Cuts through the ground for Set up: slots, pits, a probe's profile, discs, ridges."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import Shape, box, line, poly, ring
from cabapp.screens.theme import Role
from cabapp.trade.cone import ROOTS_STOP_PA
from cabapp.trade.layer import LayerState
from cabapp.units import INCH_M, PSI_PA, UnitSystem
from cabapp.walk.findings import length_figure, length_words
from cabapp.walk.hard_layer import Place

SHOWN_M = 19 * INCH_M
LABELS = 166.0  # room beside a cut for the names of its lines
TOP = 38.0  # room above the surface for numbers
APART = 31.0  # least distance of two labels
PROFILE_PA = 700 * PSI_PA  # the widest reading drawn


@dataclass(frozen=True)
class Cut:
    """A cut's place and scale: the ground's rectangle and how much depth it shows."""

    ground: Rect
    shown_m: float

    def y(self, depth_m: float) -> float:
        """Where a depth is drawn."""
        share = min(depth_m / self.shown_m, 1.0)
        return self.ground.y + 6 + share * (self.ground.h - 8)


@dataclass(frozen=True)
class Line:
    """A line across a cut with its words: ``top 9``, ``set 14``."""

    depth_m: float
    words: str
    wanted: bool = False


def cut(paper: Paper, r: Rect, deepest_m: float, labelled: bool = True) -> Cut:
    """Soil and surface in a rectangle, deep enough for the deepest thing in it."""
    wide = r.w - (LABELS if labelled else 0)
    ground = Rect(r.x, r.y + TOP, wide, r.h - TOP)
    paper.fill(Role.SOIL, box(ground.x, ground.y, ground.w, ground.h))
    paper.fill(Role.INK, box(ground.x, ground.y - 4, ground.w, 8))
    return Cut(ground, max(SHOWN_M, deepest_m + 3 * INCH_M))


def layer(paper: Paper, at: Cut, top_m: float, bottom_m: float | None, x: float, w: float) -> None:
    """Level dashes between top and bottom over a part of the width; open below without a bottom."""
    top = at.y(top_m)
    low = at.y(bottom_m) if bottom_m is not None else at.ground.bottom
    shapes: list[Shape] = [box(x, top - 2, w, 4)]
    if bottom_m is not None:
        shapes.append(box(x, low - 2, w, 4))
    row, y = 0, top + 8
    while y + 8 <= low - 3:
        left = x + (10 if row % 2 else -17)
        while left < x + w:
            a, b = max(left, x), min(left + 36, x + w)
            if b - a > 3:
                shapes.append(box(a, y, b - a, 8))
            left += 54
        row, y = row + 1, y + 19
    paper.fill(Role.LAYER, *shapes)


def lines(paper: Paper, at: Cut, found: Sequence[Line]) -> None:
    """The named lines: dashed where wanted, their words beside the ground and never touching."""
    g = at.ground
    feet: list[float] = []
    for one in sorted(found, key=lambda each: each.depth_m):
        y = at.y(one.depth_m)
        role = Role.WANTED if one.wanted else Role.LAYER
        if one.wanted:
            dashes = [box(x, y - 2.5, 22, 5) for x in _steps(g.x, g.right - 22, 34)]
            paper.fill(role, *dashes)
        label = max(y, feet[-1] + APART if feet else y)
        label = min(label, g.bottom - 10)
        feet.append(label)
        paper.fill(role, line(g.right, y, g.right + 16, label, 3))
        colour = Role.WANTED if one.wanted else Role.INK
        room = LABELS - 24
        words, high = _fitted(paper, one.words, room)
        paper.say(words, g.right + 22, label + 11, high, colour, limit=room)


def _fitted(paper: Paper, words: str, room: float) -> tuple[str, float]:
    """Words for a label's room: a size smaller, and at last the figure without its name."""
    for high in (22.0, 19.0):
        if paper.over.width_of(words, max(high, paper.floor)) <= room:
            return words, high
    return words.partition(" ")[2] or words, 19.0


def _steps(start: float, end: float, step: float) -> list[float]:
    count = max(int((end - start) / step) + 1, 1)
    return [start + i * step for i in range(count)]


def slots(
    paper: Paper, r: Rect, depths: dict[int, float | None], now: int | None,
    named: Sequence[Line], layer_m: tuple[float | None, float | None],
) -> None:  # fmt: skip
    """What was dug at each shank, against layer and target; ``now`` is being measured."""
    deepest = [d for d in depths.values() if d is not None] + [one.depth_m for one in named]
    at = cut(paper, r, max(deepest, default=0.0))
    g, (top, bottom) = at.ground, layer_m
    if top is not None and bottom is not None:
        layer(paper, at, top, bottom, g.x, g.w)
    pitch = g.w / max(len(depths), 1)
    wanted = next((one.depth_m for one in named if one.wanted), None)
    for i, (number, depth) in enumerate(depths.items()):
        x = g.x + pitch * (i + 0.5)
        role = Role.WANTED if number == now else Role.INK
        paper.say(str(number), x, g.y - 12, 24, role if number == now else Role.SOFT,
                  align="middle")  # fmt: skip
        if depth is not None:
            y = at.y(depth)
            paper.fill(Role.SOIL, box(x - 9, g.y + 4, 18, y - g.y - 2))
            paper.fill(role, box(x - 3, g.y, 6, y - g.y), box(x - 20, y - 4, 40, 8))
        elif number == now and wanted is not None:
            dashes = [box(x - 3, y, 6, 18) for y in _steps(g.y + 8, at.y(wanted) - 20, 30)]
            paper.fill(role, *dashes)
    lines(paper, at, named)


def pits(paper: Paper, r: Rect, found: Sequence[Place], now: int, use_m: float | None,
         system: UnitSystem) -> None:  # fmt: skip
    """A column a pit with its layer; the one in hand in blue, the bottom worked to dashed."""
    shown = list(found)[-6:]
    bottoms = [p.layer.bottom_m for p in shown if p.layer.bottom_m is not None]
    named = [] if use_m is None else [Line(use_m, length_words(use_m, system), True)]
    at = cut(paper, r, max([*bottoms, use_m or 0.0]))
    g = at.ground
    numbers = [place.number for place in shown]
    columns = sorted({*numbers, *([now] if now else []), 1, 2, 3})[-6:]
    pitch = g.w / len(columns)
    for i, number in enumerate(columns):
        x = g.x + i * pitch
        place = next((p for p in shown if p.number == number), None)
        role = Role.WANTED if number == now else Role.SOFT
        paper.say(str(number), x + pitch / 2, g.y - 12, 24, role, align="middle")
        if i:
            paper.fill(Role.GROUND, box(x - 4, g.y + 4, 8, g.h - 4))
        if place is None:
            paper.say("?", x + pitch / 2, g.y + g.h / 2, 30, role, align="middle")
        elif place.layer.top_m is not None:
            layer(paper, at, place.layer.top_m, place.layer.bottom_m, x + 8, pitch - 16)
        elif place.layer.state is LayerState.NONE:
            paper.say("none", x + pitch / 2, g.y + g.h / 2, 22, Role.SOFT, align="middle",
                      limit=pitch - 8)  # fmt: skip
    lines(paper, at, named)


def profile(paper: Paper, r: Rect, place: Place | None, system: UnitSystem) -> None:
    """A probe's readings by depth, the limit for roots, and the layer between the crossings."""
    points = place.profile if place is not None else ()
    deepest = max([depth for depth, _ in points], default=0.0)
    at = cut(paper, r, deepest)
    g = at.ground
    named = []
    if place is not None and place.layer.top_m is not None:
        layer(paper, at, place.layer.top_m, place.layer.bottom_m, g.x, g.w)
        small = paper.layout.small
        for depth, word in ((place.layer.top_m, "top "), (place.layer.bottom_m, "bottom ")):
            if depth is not None:
                named.append(Line(depth, ("" if small else word) + length_figure(depth, system)))
    limit = g.x + g.w * ROOTS_STOP_PA / PROFILE_PA
    paper.fill(Role.WANTED, *(box(limit - 2, y, 4, 18) for y in _steps(g.y + 6, g.bottom - 20, 28)))
    words = "300 psi" if system is UnitSystem.US else "2 MPa"
    paper.say(words, limit, g.y - 12, 22, Role.WANTED, align="middle")
    spots = [(g.x + g.w * min(p / PROFILE_PA, 0.98), at.y(d)) for d, p in points]
    for (x0, y0), (x1, y1) in pairwise(spots):
        paper.fill(Role.INK, line(x0, y0, x1, y1, 5))
    for x, y in spots:
        paper.fill(Role.INK, box(x - 6, y - 6, 12, 12))
    lines(paper, at, named)


def discs(paper: Paper, r: Rect, left_m: float | None, right_m: float | None, now: str,
          band_m: tuple[float, float], system: UnitSystem) -> None:  # fmt: skip
    """Both ends of the gang at their depth, and the usual band as a bracket."""
    at = cut(paper, r, 0.0)
    at = Cut(at.ground, max(10 * INCH_M, (left_m or 0.0) + 2 * INCH_M, (right_m or 0) + 2 * INCH_M))
    g = at.ground
    lines(paper, at, [Line(band_m[0], length_words(band_m[0], system), True),
                      Line(band_m[1], length_words(band_m[1], system), True)])  # fmt: skip
    radius = g.w * 0.19
    for share, depth, key in ((0.27, left_m, "depth_left"), (0.73, right_m, "depth_right")):
        x = g.x + g.w * share
        role = Role.WANTED if key == now else Role.INK
        word = "left" if key == "depth_left" else "right"
        y = at.y(depth if depth is not None else 0.0) - radius
        paper.fill(role, ring(x, y, radius, 8 if depth is not None else 4),
                   box(x - 7, y - 7, 14, 14))  # fmt: skip
        paper.say(word, x, g.bottom - 12, 24, role if key == now else Role.SOFT, align="middle")


def ridges(paper: Paper, r: Rect, ridge_m: float | None, allowed_m: float | None,
           system: UnitSystem) -> None:  # fmt: skip
    """The finished ground across the run: its highest ridge against what may stay."""
    g = Rect(r.x, r.y + r.h * 0.52, r.w - LABELS, r.h * 0.48)
    scale = r.h * 0.42 / max(8 * INCH_M, (ridge_m or 0.0) * 1.1)
    high = (ridge_m or 0.0) * scale
    tops = []
    for i in range(4):
        x = g.x + g.w * (i + 0.5) / 4
        tops += [(x - g.w * 0.11, g.y), (x, g.y - high * (1.0, 0.6, 0.8, 0.5)[i]),
                 (x + g.w * 0.11, g.y)]  # fmt: skip
    outline = [(g.x, g.bottom), (g.x, g.y), *tops, (g.right, g.y), (g.right, g.bottom)]
    paper.fill(Role.SOIL, poly(*outline))
    edge = [(g.x, g.y), *tops, (g.right, g.y)]
    for (x0, y0), (x1, y1) in pairwise(edge):
        paper.fill(Role.INK, line(x0, y0, x1, y1, 6))
    if ridge_m is None:
        paper.say("?", g.x + g.w / 2, g.y - 40, 40, Role.SOFT, align="middle")
    if allowed_m is not None:
        y = g.y - allowed_m * scale
        paper.fill(Role.WANTED, *(box(x, y - 2.5, 22, 5) for x in _steps(g.x, g.right - 22, 34)))
        words, high = _fitted(paper, f"most {length_words(allowed_m, system)}", LABELS - 12)
        paper.say(words, g.right + 10, y + 10, high, Role.WANTED, limit=LABELS - 12)  # fmt: skip

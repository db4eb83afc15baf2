"""The five states as patterns: the same on bars, map, strips and in the legend."""

from collections.abc import Callable, Iterable
from itertools import pairwise
from math import hypot

from cabapp.review.pieces import Piece
from cabapp.review.sums import STATES, Share
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import (
    Shape,
    box,
    clip,
    cross_hatch,
    disc,
    frame,
    line,
    poly,
    ring,
    slanted,
)
from cabapp.screens.theme import Role

Place = tuple[float, float]
BASES = {
    "in": Role.WANTED,
    "out": Role.LOOK,
    "raised": Role.GROUND,
    "hard": Role.SOIL,
    "unknown": Role.GROUND,
    "idle": Role.HAIRLINE,
}
MARKS = {"out": Role.ON_LOOK, "raised": Role.INK, "hard": Role.LAYER, "unknown": Role.HATCH}
LEAST_MARK = 5.0
STEP = 11.0  # between strokes across a swath on the map


def block(paper: Paper, state: str, r: Rect, edge: float = 2.0) -> None:
    """A rectangle in the pattern of a state, with an ink edge where there is room for it."""
    paper.fill(BASES[state], box(r.x, r.y, r.w, r.h))
    marks = _marks(state, r)
    if marks:
        paper.fill(MARKS[state], *marks)
    if edge and r.w > 4 * edge:
        paper.fill(Role.INK, frame(r.x, r.y, r.w, r.h, edge))


def _marks(state: str, r: Rect) -> tuple[Shape, ...]:
    if state == "out":
        return slanted(r.x, r.y, r.w, r.h, 18, 7)
    if state == "unknown":
        return cross_hatch(r.x, r.y, r.w, r.h, 16, 1.6)
    if state == "raised":
        return tuple(box(r.x, y, r.w, 3) for y in _steps(r.y + 4, r.y + r.h - 2, 9))
    if state == "hard":
        return tuple(_dashes(r))
    return ()


def _dashes(r: Rect) -> Iterable[Shape]:
    for n, y in enumerate(_steps(r.y + 4, r.y + r.h - 4, 10)):
        for x in _steps(r.x - (n % 2) * 11, r.x + r.w, 22):
            dash = clip(poly((x, y), (x + 14, y), (x + 14, y + 4), (x, y + 4)), r.x, r.y, r.w, r.h)
            if dash:
                yield dash


def _steps(first: float, end: float, step: float) -> list[float]:
    count = max(0, int((end - first) / step) + 1)
    return [first + n * step for n in range(count)]


def bar(paper: Paper, share: Share, r: Rect) -> None:
    """The judged ground of one thing as one bar; nothing judged is an empty frame."""
    x = r.x
    for state in STATES:
        wide = r.w * (share.ratio(state) or 0.0)
        if wide > 0.3:
            block(paper, state, Rect(x, r.y, wide, r.h), 0)
            if x > r.x + 2:
                paper.fill(Role.INK, box(x - 1, r.y, 2, r.h))
        x += wide
    paper.fill(Role.INK, frame(r.x, r.y, r.w, r.h, 3))


# -- on the map -----------------------------------------------------------------------------------


def swaths(
    paper: Paper, pieces: list[Piece], to_page: Callable[[float, float], Place], wide: float
) -> None:
    """Every piece as a band ``wide`` across in its pattern; what was in band lies undermost."""
    order = ("idle", "in", "hard", "raised", "out", "unknown")
    for state in order:
        lines = [_places(piece, to_page) for piece in pieces if piece.state == state]
        if not lines:
            continue
        gap = 1.2 if wide > 5 else 0.0
        if state not in ("in", "idle"):
            edge = [s for places in lines for s in _band(places, wide + 2.4)]
            _fill(paper, Role.INK, edge)
        _fill(paper, BASES[state], [s for places in lines for s in _band(places, wide - gap)])
        if state in MARKS:
            _fill(paper, MARKS[state], [s for p in lines for s in _strokes(state, p, wide - gap)])


MOST_IN_ONE = 4_000  # shapes in one mesh: its indices have sixteen bits


def _fill(paper: Paper, role: Role, shapes: list[Shape]) -> None:
    for first in range(0, len(shapes), MOST_IN_ONE):
        paper.fill(role, *shapes[first : first + MOST_IN_ONE])


def _places(piece: Piece, to_page: Callable[[float, float], Place]) -> list[Place]:
    found = [to_page(x, y) for x, y in zip(piece.x_m.tolist(), piece.y_m.tolist(), strict=True)]
    places = [found[0]]
    for place in found[1:]:
        if hypot(place[0] - places[-1][0], place[1] - places[-1][1]) > 0.5:
            places.append(place)
    if len(places) == 1:  # less than a pixel long: still there
        places.append((places[0][0] + 0.6, places[0][1]))
    return places


def _band(places: list[Place], wide: float) -> list[Shape]:
    """Straight strokes from place to place, each a little long so that no seam shows."""
    found: list[Shape] = []
    for (x0, y0), (x1, y1) in pairwise(places):
        far = hypot(x1 - x0, y1 - y0)
        over = 0.5 / far
        dx, dy = (x1 - x0) * over, (y1 - y0) * over
        found.append(line(x0 - dx, y0 - dy, x1 + dx, y1 + dy, max(wide, 1.0)))
    return found


def _strokes(state: str, places: list[Place], wide: float) -> list[Shape]:
    if state == "raised":
        return _band(places, wide * 0.34)
    wide = max(wide, LEAST_MARK)  # on a thin swath the marks stand out over its edges
    found: list[Shape] = []
    left = STEP / 2
    for (x0, y0), (x1, y1) in pairwise(places):
        far = hypot(x1 - x0, y1 - y0)
        ex, ey = (x1 - x0) / far, (y1 - y0) / far
        while left < far:
            found += _stroke(state, x0 + ex * left, y0 + ey * left, ex, ey, wide / 2)
            left += STEP
        left -= far
    return found


def _stroke(state: str, x: float, y: float, ex: float, ey: float, half: float) -> list[Shape]:
    """What lies across the swath at one place: ``ex, ey`` is the way along it."""

    def at(along: float, across: float) -> Place:
        return x + ex * along - ey * across, y + ey * along + ex * across

    lean = min(half, STEP / 3)
    if state == "hard":
        return [line(*at(-3.5, 0), *at(3.5, 0), max(half * 0.5, 1.5))]
    if state == "unknown":
        return [
            line(*at(-lean, -half), *at(lean, half), 1.4),
            line(*at(-lean, half), *at(lean, -half), 1.4),
        ]
    return [line(*at(-lean, -half), *at(lean, half), 4.0)]


def letter(paper: Paper, x: float, y: float, text: str, high: float) -> None:
    """A letter in a ring, over everything."""
    r = high * 0.98
    paper.fill(Role.GROUND, disc(x, y, r))
    paper.fill(Role.INK, ring(x, y, r, 3))
    paper.say(text, x, y + high / 2, high, align="middle")

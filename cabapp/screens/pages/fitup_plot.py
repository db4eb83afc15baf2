"""The plot of a calibration, and the bars of what each point is off."""

from collections.abc import Iterable
from itertools import pairwise

from cabapp.fitup.calibrate_view import Plot
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import Shape, box, disc, frame, line, poly, ring
from cabapp.screens.theme import Role

EDGE = 26.0
DOTS = 5  # squares drawn past the last point

Point = tuple[float, float]


def draw_plot(paper: Paper, r: Rect, plot: Plot, up_unit: str, across_unit: str) -> None:
    """Points as rings, the curve in blue, dotted past the last point; what is odd as a wedge."""
    paper.fill(Role.HAIRLINE, frame(r.x, r.y, r.w, r.h, 2))
    paper.say(up_unit, r.x + 10, r.y + 32, 19, Role.SOFT, False)
    paper.say(
        "volts" if across_unit == "V" else f"node, {across_unit}",
        r.right - 10,
        r.bottom - 10,
        19,
        Role.SOFT,
        False,
        align="right",
    )
    known = [*plot.points, *plot.line]
    if not known:
        return
    place = _placer(r, known, plot.beyond)
    zero = place((known[0][0], 0.0))[1]
    if r.y + 8 < zero < r.bottom - 8:
        paper.fill(Role.HAIRLINE, box(r.x, zero - 1, r.w, 2))
    at = [place(point) for point in plot.line]
    strokes: list[Shape] = [line(*a, *b, 5) for a, b in pairwise(at)]
    if strokes:
        paper.fill(Role.WANTED, *strokes)
    _dotted(paper, [place(point) for point in plot.beyond], r)
    dots = [place(point) for point in plot.points]
    if dots:
        paper.fill(Role.GROUND, *(disc(x, y, 7) for x, y in dots))
        paper.fill(Role.INK, *(ring(x, y, 9, 4) for x, y in dots))
    for point in plot.odd:
        _odd(paper, place(point), point[1], r)


def _placer(r: Rect, known: list[Point], beyond: Iterable[Point]) -> "_Placer":
    points = [*known, *beyond]
    return _Placer(r, [x for x, _ in points], [y for _, y in points])


class _Placer:
    """From the wire's and the person's units to the page, with an edge all round."""

    def __init__(self, r: Rect, xs: list[float], ys: list[float]) -> None:
        self.r = r
        self.x0, self.y0 = min(xs), min(ys)
        self.wide, self.high = (max(xs) - self.x0) or 1.0, (max(ys) - self.y0) or 1.0

    def __call__(self, point: Point) -> Point:
        r = self.r
        return (
            r.x + EDGE + (point[0] - self.x0) / self.wide * (r.w - 2 * EDGE),
            r.bottom - EDGE - (point[1] - self.y0) / self.high * (r.h - 2 * EDGE),
        )


def _dotted(paper: Paper, at: list[Point], r: Rect) -> None:
    if len(at) < 2:
        return
    (x0, y0), (x1, y1) = at[0], at[-1]
    shares = [(n + 1) / DOTS for n in range(DOTS)]
    places = [(x0 + (x1 - x0) * s, y0 + (y1 - y0) * s) for s in shares]
    inside = [(x, y) for x, y in places if r.x + 6 < x < r.right - 6 and r.y + 6 < y < r.bottom - 6]
    if inside:
        paper.fill(Role.WANTED, *(box(x - 4, y - 3, 7, 6) for x, y in inside))


def _odd(paper: Paper, at: Point, value: float, r: Rect) -> None:
    """A wedge at the point, or at the edge that it lies beyond, with its value and a question."""
    x = min(max(at[0], r.x + 16), r.right - 16)
    y = min(max(at[1], r.y + 14), r.bottom - 4)
    tip = 20.0 if at[1] > r.y + r.h / 2 else -20.0
    y = max(y, r.y + 26) if tip < 0 else y
    paper.fill(Role.INK, poly((x - 12, y - tip), (x + 12, y - tip), (x, y)))
    text = f"{value:g} ?".replace("-", "−")
    right = x > r.x + r.w / 2
    foot = min(max(y - (2 if tip > 0 else -22), r.y + 30), r.bottom - 10)
    paper.say(text, x + (-18 if right else 18), foot, 22, align="right" if right else "left")


def draw_off(paper: Paper, r: Rect, off: tuple[tuple[int, float], ...]) -> None:
    """One bar a take about the middle line; the blue lines are what is allowed."""
    paper.fill(Role.HAIRLINE, frame(r.x, r.y, r.w, r.h, 2))
    middle, reach = r.y + r.h / 2, r.h * 0.36
    paper.fill(Role.WANTED, box(r.x, middle - reach, r.w, 2), box(r.x, middle + reach, r.w, 2))
    paper.fill(Role.INK, box(r.x, middle - 1, r.w, 3))
    pitch = (r.w - 24) / max(1, len(off))
    wide = min(20.0, pitch * 0.6)
    bars: list[Shape] = []
    for n, (_, share) in enumerate(off):
        x = r.x + 12 + pitch * (n + 0.5) - wide / 2
        tall = min(abs(share), 1.25) * reach
        if tall >= 1:
            bars.append(box(x, middle - tall if share > 0 else middle, wide, tall))
    if bars:
        paper.fill(Role.INK, *bars)

"""The plan drawing: the tool from above, front up, growing as it is typed."""

from collections.abc import Callable
from itertools import pairwise

from cabapp.fitup.geometry import Drawing, Mark, Thing
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, disc, frame, line, poly, ring
from cabapp.screens.theme import Role

EDGE = 34.0
LETTER = 19.0

Place = Callable[[Mark], tuple[float, float]]
Area = tuple[float, float, float, float]
Taken = list[Area]

_STEPS = range(-120, 121, 6)
ASIDE = sorted(
    ((dx, dy) for dx in _STEPS for dy in _STEPS), key=lambda d: (d[0] ** 2 + d[1] ** 2, abs(d[0]))
)  # how far a square may stand from its place, the nearest first and rather behind than beside


def draw_plan(paper: Paper, r: Rect, plan: Drawing, width: str) -> None:
    """Every mark at its true place; the working width as two side lines with its figure."""
    paper.fill(Role.HAIRLINE, frame(r.x, r.y, r.w, r.h, 2))
    inner = Rect(r.x + EDGE, r.y + EDGE, r.w - 2 * EDGE, r.h - 2 * EDGE - 30)
    (x0, x1), (y0, y1) = plan.across_m, plan.back_m
    scale = min(inner.w / max(x1 - x0, 1.0), inner.h / max(y1 - y0, 1.0))
    middle = r.x + r.w / 2 - (x0 + x1) / 2 * scale

    def place(mark: Mark) -> tuple[float, float]:
        return middle + mark.across_m * scale, inner.y + (mark.back_m - y0) * scale

    half, foot = plan.width_m / 2 * scale, r.bottom - 16
    paper.fill(
        Role.HAIRLINE,
        box(middle - half, inner.y, 2, inner.h + 24),
        box(middle + half - 2, inner.y, 2, inner.h + 24),
    )
    paper.say(width, r.x + 14, foot, 22, limit=r.w - 20)
    said = paper.over.width_of(width, max(22.0, paper.floor))
    taken: Taken = [(r.x, foot - 30, r.x + 20 + said, r.bottom)]
    _frame(paper, plan, place)
    shanks = [mark for mark in plan.marks if mark.thing is Thing.SHANK]
    _shanks(paper, plan, shanks, place, taken)
    for mark in plan.marks:
        if mark.thing in (Thing.ANTENNA, Thing.HITCH, Thing.MIDDLE):
            _thing(paper, mark, place(mark), taken, r)
    for mark in plan.marks:
        if mark.thing is Thing.DEPTH:
            _depth(paper, mark, place(mark), taken, r)


def _frame(paper: Paper, plan: Drawing, place: Place) -> None:
    """The drawbar: receiver to pin to the middle of the shanks."""
    spots = [place(m) for m in plan.marks if m.thing in (Thing.ANTENNA, Thing.HITCH, Thing.MIDDLE)]
    for (xa, ya), (xb, yb) in pairwise(spots):
        paper.fill(Role.HAIRLINE, line(xa, ya, xb, yb, 4))


def _shanks(paper: Paper, plan: Drawing, shanks: list[Mark], place: Place, taken: Taken) -> None:
    spots = [place(mark) for mark in shanks]
    apart = [
        max(abs(xa - xb), abs(ya - yb))
        for n, (xa, ya) in enumerate(spots)
        for xb, yb in spots[n + 1 :]
    ]
    r = max(6.0, min(17.0, 0.46 * min(apart, default=40.0)))
    springs = {(m.across_m, m.back_m) for m in plan.marks if m.thing is Thing.SPRING}
    for mark, (x, y) in zip(shanks, spots, strict=True):
        fitted = (mark.across_m, mark.back_m) in springs
        paper.fill(Role.GROUND, disc(x, y, r))
        paper.fill(Role.WANTED if fitted else Role.INK, ring(x, y, r, 5 if fitted else 3))
        taken.append((x - r, y - r, x + r, y + r))
        if r >= 13.5:
            paper.say(mark.label, x, y + LETTER / 2, LETTER, align="middle", digits=True)


def _thing(paper: Paper, mark: Mark, at: tuple[float, float], taken: Taken, r: Rect) -> None:
    x, y = at
    if mark.thing is Thing.ANTENNA:
        paper.fill(Role.INK, poly((x, y - 14), (x + 13, y + 9), (x - 13, y + 9)))
    elif mark.thing is Thing.HITCH:
        paper.fill(Role.INK, disc(x, y, 8))
    else:
        paper.fill(Role.WANTED, box(x - 11, y - 2, 22, 4), box(x - 2, y - 11, 4, 22))
        taken.append((x - 11, y - 11, x + 11, y + 11))
        return
    wide = paper.over.width_of(mark.label, max(LETTER, paper.floor))
    spot = (x + 20, y - 12, x + 20 + wide, y + 14)
    if spot[2] < r.right - 6 and not any(_meet(spot, other) for other in taken):
        paper.say(mark.label, x + 20, y + 9, LETTER, Role.SOFT, False)
        taken.append(spot)


def _depth(paper: Paper, mark: Mark, at: tuple[float, float], taken: Taken, r: Rect) -> None:
    """A blue square with its number; one that would lie on another stands as near as it can."""
    half = max(15.0, paper.floor * 0.72)
    x, y = next(
        (
            (at[0] + dx, at[1] + dy)
            for dx, dy in ASIDE
            if _inside((spot := _square(at[0] + dx, at[1] + dy, half)), r)
            and not any(_meet(spot, other) for other in taken)
        ),
        at,
    )
    spot = _square(x, y, half)
    taken.append(spot)
    paper.fill(Role.WANTED, box(x - half, y - half, 2 * half, 2 * half))
    paper.say(
        mark.label,
        x,
        y + max(LETTER, paper.floor) / 2,
        LETTER,
        Role.GROUND,
        digits=True,
        align="middle",
    )


def _square(x: float, y: float, half: float) -> Area:
    return (x - half, y - half, x + half, y + half)


def _inside(a: Area, r: Rect) -> bool:
    return a[0] > r.x + 4 and a[1] > r.y + 4 and a[2] < r.right - 4 and a[3] < r.bottom - 4


def _meet(a: Area, b: Area) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]

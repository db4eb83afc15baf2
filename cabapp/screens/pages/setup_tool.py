"""Pictures of the tool for Set up: from above with what is looked at, the frame's corners, bars."""

from collections.abc import Sequence

from cabapp.rig import AdjusterKind, FinishKind, Rig
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import (
    Shape,
    arc,
    box,
    cross_hatch,
    disc,
    frame,
    line,
    poly,
    ring,
    round_frame,
)
from cabapp.screens.theme import Role
from cabapp.trade.adjuster import Advice, Direction
from cabapp.units import UnitSystem
from cabapp.walk.findings import length_words

# What a group of the checks looks at: x, y, w, h as shares of the picture.
LOOKED: dict[str, tuple[float, float, float, float]] = {
    "Hitch": (0.40, 0.0, 0.20, 0.16),
    "Hoses": (0.36, 0.10, 0.28, 0.20),
    "Lights": (0.02, 0.86, 0.96, 0.14),
    "Tyres": (0.20, 0.60, 0.60, 0.16),
    "Wear": (0.02, 0.28, 0.96, 0.50),
    "Unfold": (0.0, 0.28, 1.0, 0.62),
    "Front discs": (0.02, 0.26, 0.96, 0.14),
    "Rear finish": (0.02, 0.76, 0.96, 0.18),
}


def from_above(paper: Paper, r: Rect, rig: Rig, group: str) -> None:
    """The whole tool from above, front up, with a blue frame round what a group looks at."""
    x, w = r.x + r.w * 0.06, r.w * 0.88
    middle, bar = r.x + r.w / 2, 10.0
    beam = r.y + r.h * 0.46
    paper.fill(Role.CORE, box(x, beam, w, bar), box(x, beam + r.h * 0.20, w, bar),
               *(box(x + w * part - 5, beam, 10, r.h * 0.22) for part in (0.02, 0.33, 0.67, 0.98)),
               poly((middle - 9, r.y + 12), (middle + 9, r.y + 12), (middle + 60, beam),
                    (middle + 42, beam), (middle, r.y + 70), (middle - 42, beam),
                    (middle - 60, beam)))  # fmt: skip
    paper.fill(Role.INK, ring(middle, r.y + 14, 13, 6))
    if rig.tool.front_gangs:
        paper.fill(Role.INK, *_gang(r, 0.29, 0.37, 15))
    shanks = rig.tool.shanks
    most = max((abs(shank.across_m) for shank in shanks), default=1.0) or 1.0
    backs = [shank.back_m for shank in shanks] or [0.0]
    deep = max(max(backs) - min(backs), 0.5)
    for shank in shanks:
        sx = middle + shank.across_m / most * w * 0.47
        sy = beam + 8 + (shank.back_m - min(backs)) / deep * r.h * 0.18
        paper.fill(Role.INK, disc(sx, sy, 10))
    wheel = (box(middle + side * w * 0.24 - 9, r.y + r.h * 0.61, 18, 50) for side in (-1, 1))
    paper.fill(Role.CORE, *wheel)
    if rig.tool.rear_gangs:
        paper.fill(Role.INK, *_gang(r, 0.81, 0.78, 13))
    if rig.tool.finish is not FinishKind.NONE:
        y = r.y + r.h * 0.88
        bars: list[Shape] = [frame(x, y, w, 34, 5)]
        bars += [box(x + w * i / 12, y, 3, 34) for i in range(1, 12)]
        paper.fill(Role.INK, *bars)
    if group in LOOKED:
        a, b, c, d = LOOKED[group]
        place = (r.x + a * r.w, r.y + b * r.h, c * r.w, d * r.h)
        paper.fill(Role.WANTED, round_frame(*place, 14, 6))


def _gang(r: Rect, inner: float, outer: float, count: int) -> list[Shape]:
    """Discs along two gangs that meet in the middle, at ``inner`` there and ``outer`` outside."""
    found: list[Shape] = []
    for i in range(count):
        side = 2 * i / (count - 1) - 1
        x = r.x + r.w * (0.5 + 0.44 * side)
        y = r.y + r.h * (inner + (outer - inner) * abs(side))
        lean = 5 * (1 if side < 0 else -1)
        found.append(line(x - lean, y - 12, x + lean, y + 12, 6))
    return found


def lines_overhead(paper: Paper, r: Rect) -> None:
    """A pole with wires above the ground, and a pipe below it."""
    ground = r.y + r.h * 0.60
    paper.fill(Role.SOIL, box(r.x, ground, r.w, r.bottom - ground))
    paper.fill(Role.INK, box(r.x, ground - 4, r.w, 8), box(r.x + r.w * 0.2, r.y + 10, 12,
               ground - r.y - 10), box(r.x + r.w * 0.2 - 54, r.y + 40, 120, 10))  # fmt: skip
    wires = [line(r.x + r.w * 0.2 + dx, r.y + 40, r.right, r.y + 80, 3) for dx in (-46, 6, 58)]
    paper.fill(Role.INK, *wires)
    pipe = ground + (r.bottom - ground) * 0.5
    paper.fill(Role.LOOK, box(r.x, pipe - 12, r.w, 24))
    paper.fill(Role.INK, box(r.x, pipe - 14, r.w, 4), box(r.x, pipe + 10, r.w, 4))


def corners(paper: Paper, r: Rect, heights: dict[str, float | None], now: str,
            system: UnitSystem) -> None:  # fmt: skip
    """The frame from above with the height at each corner; the one in hand in blue."""
    inner = Rect(r.x + 60, r.y + 80, r.w - 120, r.h - 150)
    middle = inner.x + inner.w / 2
    paper.fill(Role.CORE, frame(inner.x, inner.y, inner.w, inner.h, 12),
               box(inner.x, inner.y + inner.h / 2 - 5, inner.w, 10),
               poly((middle - 50, inner.y), (middle, r.y + 12), (middle + 50, inner.y),
                    (middle + 36, inner.y), (middle, r.y + 44),
                    (middle - 36, inner.y)))  # fmt: skip
    places = {
        "front_left": (inner.x, inner.y), "front_right": (inner.right, inner.y),
        "rear_left": (inner.x, inner.bottom), "rear_right": (inner.right, inner.bottom),
    }  # fmt: skip
    for key, (x, y) in places.items():
        height = heights.get(key)
        role = Role.WANTED if key == now else Role.INK
        paper.fill(role, disc(x, y, 17) if height is not None else ring(x, y, 17, 5))
        left = "left" in key
        word = length_words(height, system) if height is not None else "?"
        foot = y + 58 if "rear" in key else y - 30
        paper.say(word, x - 40 if left else x + 40, foot, 24, role,
                  align="left" if left else "right")  # fmt: skip
    if r.h < 300:
        return
    paper.say("front", middle, r.y + r.h * 0.36, 22, Role.SOFT, False, align="middle")


def power(paper: Paper, r: Rect, need: tuple[float, float, float] | None, rated: float | None,
          words: Sequence[str]) -> None:  # fmt: skip
    """What the pull asks for, with its range, against what the tractor has."""
    bar = Rect(r.x, r.y + 70, r.w, 62)
    if need is None:
        paper.fill(Role.HATCH, *cross_hatch(bar.x, bar.y, bar.w, bar.h, 44, 7))
        paper.say("Power needed: not known yet", r.x, r.y + 44, 24, Role.SOFT, limit=r.w)
    else:
        least, mean, most = need
        full = max(most, rated or 0.0) * 1.05
        scale = bar.w / full
        paper.fill(Role.SOIL, box(bar.x, bar.y, bar.w, bar.h))
        paper.fill(Role.CORE, box(bar.x + least * scale, bar.y + 18, (most - least) * scale, 26))
        paper.fill(Role.INK, box(bar.x + mean * scale - 4, bar.y, 8, bar.h))
        paper.say("Asked of the tractor", r.x, r.y + 44, 24, limit=r.w)
        if rated:
            x = bar.x + rated * scale
            paper.fill(Role.WANTED, box(x - 4, bar.y - 14, 8, bar.h + 28))
            at_right = x > r.x + r.w / 2
            paper.say("rated", x - 10 if at_right else x + 10, bar.bottom + 34, 22, Role.WANTED,
                      align="right" if at_right else "left")  # fmt: skip
    y = r.y + 196
    for text in words:
        if y > r.bottom - 4:
            break
        y = paper.lines(text, r.x, y, 19, r.w, 2, bold=False, pitch=1.42) + 4


def frames(paper: Paper, r: Rect, counted: Sequence[tuple[float | None, float, float]],
           now: int, limit_m: float, system: UnitSystem) -> None:  # fmt: skip
    """Three frames across the width: the largest clod of each against the limit's circle."""
    side = min((r.w - 36) / 3, r.h * 0.5)
    for i, (largest, over, total) in enumerate(counted):
        x = r.x + i * (side + 18)
        role = Role.WANTED if i + 1 == now else Role.INK
        paper.fill(role, frame(x, r.y + 44, side, side, 6))
        centre = x + side / 2, r.y + 44 + side / 2
        scale = side * 0.5 / max(limit_m * 1.9, (largest or 0.0) * 1.1)
        if largest:
            paper.fill(Role.CORE, disc(*centre, max(largest * scale, 4)))
        paper.fill(Role.WANTED, ring(*centre, limit_m * scale + 2, 4))
        paper.say(f"{i + 1}", x + side / 2, r.y + 30, 24, role, align="middle")
        words = "?" if largest is None else length_words(largest, system)
        paper.say(words, x + side / 2, r.y + 44 + side + 36, 22, role, align="middle",
                  limit=side + 12)  # fmt: skip
        if total:
            paper.say(f"{over:.0f} of {total:.0f}", x + side / 2, r.y + 44 + side + 70, 22,
                      Role.SOFT, align="middle", limit=side + 12)  # fmt: skip
    if r.h < 300:
        return
    text = f"Blue ring: {length_words(limit_m, system)}. Number over it, of all counted."
    paper.lines(text, r.x, r.y + 44 + side + 108, 19, r.w, 2, Role.SOFT, bold=False)


def from_behind(paper: Paper, r: Rect, width_m: float | None, height_m: float | None,
                system: UnitSystem) -> None:  # fmt: skip
    """The folded tool from behind on the road, with its width and height."""
    road = r.bottom - 70
    middle, wide, high = r.x + r.w / 2, r.w * 0.52, r.h * 0.56
    paper.fill(Role.INK, box(r.x, road, r.w, 8))
    paper.fill(Role.CORE, poly((middle - wide / 2, road - high), (middle - wide / 2 + 26, road
               - high), (middle - 50, road - 60), (middle + 50, road - 60),
               (middle + wide / 2 - 26, road - high), (middle + wide / 2, road - high),
               (middle + 74, road - 36), (middle - 74, road - 36)))  # fmt: skip
    paper.fill(Role.INK, *(box(middle + s * 60 - 16, road - 52, 32, 52) for s in (-1, 1)))
    paper.fill(Role.LOOK, poly((middle, road - 128), (middle + 34, road - 72),
                               (middle - 34, road - 72)))  # fmt: skip
    left, top = middle - wide / 2, road - high
    paper.fill(Role.WANTED, box(left, top - 30, wide, 4), box(left, top - 40, 4, 24),
               box(left + wide - 4, top - 40, 4, 24), box(left - 40, top, 4, high),
               box(left - 50, top, 24, 4), box(left - 50, road - 4, 24, 4))  # fmt: skip
    wide_words = "width ?" if width_m is None else _feet(width_m, system)
    high_words = "height ?" if height_m is None else _feet(height_m, system)
    paper.say(wide_words, middle, top - 46, 24, Role.WANTED, align="middle")
    paper.say(high_words, r.x, r.bottom - 22, 24, Role.WANTED)


def _feet(length_m: float, system: UnitSystem) -> str:
    return f"{length_m / 0.3048:.1f} ft" if system is UnitSystem.US else f"{length_m:.2f} m"


def adjuster(paper: Paper, r: Rect, advice: Advice) -> None:
    """What the hand moves: a crank with its turn, collars on a rod, pin holes, or the lever."""
    kind = advice.adjuster.kind
    draw = {
        AdjusterKind.CRANK: _crank, AdjusterKind.COLLARS: _collars,
        AdjusterKind.PINS: _pins, AdjusterKind.SEAT: _lever,
    }[kind]  # fmt: skip
    draw(paper, r, advice)


def _crank(paper: Paper, r: Rect, advice: Advice) -> None:
    y = r.y + r.h * 0.52
    threads = [line(r.x + 16 + i * 18, y - 14, r.x + 24 + i * 18, y + 20, 5) for i in range(4)]
    paper.fill(Role.INK, box(r.x, y - 5, 110, 13), *threads, box(r.x + 98, y - 5, 14, 34),
               box(r.x + 98, y + 18, 52, 13))  # fmt: skip
    turn = arc(r.x + 116, y - 4, 42, 11, 190, 330)
    tip_x, tip_y = r.x + 153, y - 26
    head = poly((tip_x - 24, tip_y + 2), (tip_x + 14, tip_y - 10), (tip_x + 6, tip_y + 26))
    paper.fill(Role.WANTED, turn, head)


def _collars(paper: Paper, r: Rect, advice: Advice) -> None:
    y = r.y + r.h * 0.46
    adding = advice.direction is advice.adjuster.adding_goes
    paper.fill(Role.INK, frame(r.x, y - 22, 76, 44, 6), box(r.x + 76, y - 4, 90, 8),
               ring(r.x + 180, y, 15, 6))  # fmt: skip
    paper.fill(Role.CORE, *(box(r.x + 84 + i * 21, y - 26, 17, 52) for i in range(3)))
    x = r.x + 147
    if adding:
        paper.fill(Role.WANTED, box(x, y - 26, 17, 52))
    arrow = poly((x - 4, y - 42), (x + 21, y - 42), (x + 8, y - 28))
    if not adding:
        arrow = poly((x - 25, y - 30), (x, y - 30), (x - 12, y - 46))
    paper.fill(Role.WANTED, arrow)


def _pins(paper: Paper, r: Rect, advice: Advice) -> None:
    y = r.y + r.h * 0.5
    paper.fill(Role.CORE, box(r.x, y - 20, 180, 40))
    paper.fill(Role.GROUND, *(disc(r.x + 22 + i * 34, y, 9) for i in range(5)))
    paper.fill(Role.INK, disc(r.x + 90, y, 9))
    way = 1 if advice.direction is Direction.DEEPER else -1
    goal = r.x + 90 + way * min(advice.steps, 2) * 34
    paper.fill(Role.WANTED, ring(goal, y, 14, 5))


def _lever(paper: Paper, r: Rect, advice: Advice) -> None:
    y = r.y + r.h * 0.86
    paper.fill(Role.INK, box(r.x + 40, y - 10, 100, 12), line(r.x + 90, y, r.x + 110, r.y + 12, 11),
               disc(r.x + 112, r.y + 12, 13))  # fmt: skip
    down = advice.direction is Direction.DEEPER
    base, tip = (r.y + 14, r.y + 62) if down else (r.y + 62, r.y + 14)
    head = 22 if down else -22
    paper.fill(Role.WANTED, box(r.x + 160, min(base, tip), 10, 48),
               poly((r.x + 146, tip - head), (r.x + 184, tip - head),
                    (r.x + 165, tip + head / 2)))  # fmt: skip

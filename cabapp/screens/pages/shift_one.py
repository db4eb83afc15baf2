"""One shift: the map, the shares, the facts, the strips; and what a person does with it."""

import math
from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from cabapp.review.digits import NONE, area_text, day_text, hours_text, percent_text, rate_text
from cabapp.review.happened import clock_text
from cabapp.review.pegs import pegs_of
from cabapp.review.phrases import STATE_WORDS, WORDS, headline, overlap_text, span_text
from cabapp.review.pieces import Piece
from cabapp.review.shift import Shift
from cabapp.review.strips import Strip
from cabapp.review.summary import Summary
from cabapp.review.sums import ALL, STATES, THINGS, Sums
from cabapp.review.worst import apart
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.shifts_draw import bar, block, letter, swaths
from cabapp.screens.pages.shifts_work import Opened
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, frame, line, poly
from cabapp.screens.theme import Role
from cabapp.units import from_unit, shown_unit

if TYPE_CHECKING:
    from cabapp.screens.pages.shifts import ShiftsPage

Place = tuple[float, float]
HEADS = ("in", "out", "raised", "slow", "?")
STRIP_HIGH = 74.0
PEG_WIDE, PEG_HIGH = 70.0, 40.0


def write_one(page: "ShiftsPage", paper: Paper, one: Opened) -> None:
    """The whole page of a shift."""
    shift = one.shift
    driver = f"{shift.page.driver}, " if shift.page.driver else ""
    title = paper.fitting(titles(shift), page.right - 416 - 242 - 18, 38)
    begun, field = shift.brief.begun, titles(shift)[-1]
    date = f"{begun:%-d %b %Y}, " if begun and title == field else ""
    times = span_text(shift).partition(", UTC")[0] + ("" if shift.page.ended else ", so far")
    lines = (f"{date}{driver}{times}", f"{date}{times}", times)
    line = paper.fitting(lines, page.right - 676, 24, False)
    page.head(title, line, "Shifts", page.to_list, page.right - 416)
    page.side_key(0, "report", page.to_report, "Report")
    page.side_key(1, "more", page.to_more, "More")
    small = page.layout.small
    strip_high = 54.0 if small else STRIP_HIGH
    strips_y = paper.high - 36 - 2 * strip_high - (8 if small else 12) - (4 if small else 0)
    map_rect = Rect(24, 134, 448 if not small else 360, strips_y - 134 - 16)
    draw_map(page, paper, one, map_rect)
    left = map_rect.right + 24
    _shares(page, paper, one.summary, left)
    _facts(page, paper, one.summary, left, strips_y)
    _strips(page, paper, one, strips_y, strip_high)


def titles(shift: Shift) -> tuple[str, ...]:
    """Field and day, from the longest wording to the shortest."""
    field, begun = shift.page.field or "No field named", shift.brief.begun
    if begun is None:
        return (f"{field}, no date", field)
    return f"{field}, {day_text(begun)}", f"{field}, {begun:%-d %b %Y}", field


# -- map ------------------------------------------------------------------------------------------


def draw_map(page: "ShiftsPage", paper: Paper, one: Opened, r: Rect) -> None:
    """The passes north up, letters on the worst stretches, a scale."""
    paper.fill(Role.HAIRLINE, frame(r.x, r.y, r.w, r.h, 2))
    if not one.pieces:
        paper.say("No ground was worked", r.x + r.w / 2, r.y + r.h / 2, 24, Role.SOFT, False,
                  align="middle", limit=r.w - 20)  # fmt: skip
        return
    width_m = one.shift.page.rig.tool.width_m
    row = 32.0 if page.layout.small and pegs_of(one.shift) else 0.0
    to_page, scale = _fit(one.pieces, width_m, Rect(r.x, r.y, r.w, r.h - 40 - row))
    swaths(paper, one.pieces, to_page, width_m * scale)
    pegs = _pegs(paper, one, to_page, r)
    _letters(page, paper, one, to_page, pegs, r)
    foot = r.bottom - 14
    size = _scale_text(page, paper, scale, r.x + 16, foot)
    paper.say(size, r.right - 14, foot, 20, Role.SOFT, False, align="right")
    if pegs:
        x, y = (r.x + 16, foot - 32) if page.layout.small else (r.x + 206, foot)
        paper.sign("peg", x, y - 20, 24, Role.SOFT)
        paper.say("peg", x + 28, y, 20, Role.SOFT, False)
    paper.say("N", r.x + 16, foot, 22, Role.SOFT)
    paper.fill(Role.SOFT, poly((r.x + 56, foot - 22), (r.x + 66, foot), (r.x + 46, foot)))


def _pegs(
    paper: Paper, one: Opened, to_page: Callable[[float, float], Place], r: Rect
) -> list[Place]:
    """Each peg of the map with its number on a plate; answers the plates' middles."""
    found = []
    for peg in pegs_of(one.shift):
        x, y = to_page(peg.x_m, peg.y_m)
        if not (r.x < x < r.right and r.y < y < r.bottom):
            continue  # set on the way here: off the worked ground
        left = min(max(x - 18, r.x + 3), r.right - PEG_WIDE - 3)
        top = min(max(y - PEG_HIGH, r.y + 3), r.bottom - PEG_HIGH - 3)
        paper.fill(Role.GROUND, box(left, top, PEG_WIDE, PEG_HIGH))
        paper.fill(Role.INK, frame(left, top, PEG_WIDE, PEG_HIGH, 2))
        paper.sign("peg", left + 2, top + 4, 32)
        paper.say(str(peg.number), left + PEG_WIDE - 6, top + 30, 24, align="right",
                  limit=PEG_WIDE - 38)  # fmt: skip
        found.append((left + PEG_WIDE / 2, top + PEG_HIGH / 2))
    return found


def _letters(
    page: "ShiftsPage",
    paper: Paper,
    one: Opened,
    to_page: Callable[[float, float], Place],
    pegs: list[Place],
    r: Rect,
) -> None:
    """A letter at each worst stretch; where it would meet another or a peg, it steps aside."""
    floor = page.paper.floor
    named = [(s.letter, place) for s in one.summary.worst
             if (place := _place(one, s.first, s.last)) is not None]  # fmt: skip
    places = [to_page(*place) for _, place in named]
    moved = apart([*pegs, *places], (2.8 if pegs else 2.1) * floor)[len(pegs) :]
    put = [(min(max(x, r.x + floor + 4), r.right - floor - 4),
            min(max(y, r.y + floor + 4), r.bottom - floor - 4)) for x, y in moved]  # fmt: skip
    for (x, y), (at_x, at_y) in zip(places, put, strict=True):
        if (x, y) != (at_x, at_y):
            paper.fill(Role.INK, line(x, y, at_x, at_y, 3))
    for (name, _), (x, y) in zip(named, put, strict=True):
        letter(paper, x, y, name, floor)


def _scale_text(page: "ShiftsPage", paper: Paper, scale: float, x: float, y: float) -> str:
    """A bar of a round length beside the north arrow; returns its words."""
    unit = shown_unit("length", page.units)
    one = from_unit(1.0, unit) * scale
    power: float = 10.0 ** math.floor(math.log10(110 / one))
    size = max(step * power for step in (1, 2, 5) if step * power * one <= 110)
    paper.fill(Role.SOFT, box(x + 70, y - 6, size * one, 5))
    return f"{size:g} {unit}"


def _fit(
    pieces: list[Piece], width_m: float, r: Rect
) -> tuple[Callable[[float, float], tuple[float, float]], float]:
    x = np.concatenate([piece.x_m for piece in pieces])
    y = np.concatenate([piece.y_m for piece in pieces])
    west, east = float(x.min()) - width_m, float(x.max()) + width_m
    south, north = float(y.min()) - width_m, float(y.max()) + width_m
    room = 16.0
    scale = min((r.w - 2 * room) / (east - west), (r.h - 2 * room) / (north - south))
    left = r.x + (r.w - scale * (east - west)) / 2
    top = r.y + (r.h - scale * (north - south)) / 2
    return lambda px, py: (left + scale * (px - west), top + scale * (north - py)), scale


def _place(one: Opened, first: int, last: int) -> tuple[float, float] | None:
    track = one.shift.track
    rows = np.arange(first, last + 1)
    rows = rows[np.isfinite(track.x_m[rows])]
    if not len(rows):
        return None
    row = int(rows[len(rows) // 2])
    return float(track.x_m[row]), float(track.y_m[row])


# -- shares and facts -----------------------------------------------------------------------------


def _shares(page: "ShiftsPage", paper: Paper, summary: Summary, left: float) -> None:
    sums, small = summary.shift.sums, page.layout.small
    inside, unknown = headline(sums)
    wide = paper.say(unknown, page.right, 172, 26, align="right")
    inside = inside.replace(" of the area", "") if small else inside
    paper.say(inside, left, 172, 34, limit=page.right - left - wide - 20)
    step = 38.0 if small else 47.0
    top = 212.0 if small else 222.0
    columns = _columns(page, left)
    for x, words in zip(columns, HEADS, strict=True):
        paper.say(words, x, top - 8, 20, Role.SOFT, False, align="right")
    names = left + (138 if small else 120)
    for n, thing in enumerate(THINGS):
        _share_row(paper, sums, thing, Rect(left, top + step * n, names - left, step),
                   Rect(names, top + step * n + 2, columns[0] - 62 - names, step - 10),
                   columns)  # fmt: skip
    _legend(page, paper, left, top + step * len(THINGS) + (28 if small else 27))


def _columns(page: "ShiftsPage", left: float) -> tuple[float, ...]:
    end = page.right
    steps = (0, 64, 132, 222, 286) if not page.layout.small else (0, 50, 130, 236, 300)
    return tuple(end - step for step in reversed(steps))


def _share_row(
    paper: Paper, sums: Sums, thing: str, name: Rect, place: Rect, columns: tuple[float, ...]
) -> None:
    share, foot = sums.shares[thing], place.y + place.h / 2 + 12
    paper.say(WORDS[thing], name.x, foot, 24, Role.INK if thing == ALL else Role.SOFT, thing == ALL)
    bar(paper, share, place)
    if share.percents() is None:
        paper.say("not judged", columns[-1], foot, 20, Role.SOFT, False, align="right")
        return
    for x, state in zip(columns, STATES, strict=True):
        strong = state == "in"
        paper.say(percent_text(share, state), x, foot, 25, Role.INK if strong else Role.SOFT,
                  strong, align="right")  # fmt: skip


def _legend(page: "ShiftsPage", paper: Paper, left: float, y: float) -> None:
    x = left
    for state, words in STATE_WORDS.items():
        if page.layout.small and state == "raised":
            words = "raised"
        block(paper, state, Rect(x, y - 19, 26, 22))
        x += 32 + paper.say(words, x + 32, y, 20, Role.SOFT, False) + 14


def _facts(
    page: "ShiftsPage", paper: Paper, summary: Summary, left: float, strips_y: float
) -> None:
    sums, hours = summary.shift.sums, summary.hours
    trips = sum(sums.trips.values())
    worst = max(sums.trips, key=lambda shank: sums.trips[shank]) if sums.trips else None
    stopped = sum(hours.by_reason.values())
    over, fitted = overlap_text(sums), bool(summary.shift.page.rig.fitted("spring"))
    facts = [
        (area_text(sums.gross_m2, page.units), f"{over} over" if "%" in over else "gross"),
        (rate_text(hours.rate_m2_s, page.units), "in the field"),
        (f"{trips or 'no'} trip{'s' if trips != 1 else ''}" if fitted else NONE,
         f"shank {worst}: {sums.trips[worst]}" if worst is not None else
         "on any shank" if fitted else "no spring sensors"),
        (hours_text(stopped) if stopped else "none",
         "stops: " + ", ".join(hours.by_reason) if stopped else "long stops"),
    ]  # fmt: skip
    wide = (page.right - left) / 4
    y = strips_y - (46 if page.layout.small else 52)
    for n, (figure, words) in enumerate(facts):
        x = left + n * wide
        paper.say(figure, x, y, 28, limit=wide - 12)
        paper.say(words, x, y + (30 if page.layout.small else 32), 20, Role.SOFT, False,
                  limit=wide - 12)  # fmt: skip


# -- strips ---------------------------------------------------------------------------------------


def _strips(page: "ShiftsPage", paper: Paper, one: Opened, y: float, high: float) -> None:
    gap = 8.0 if page.layout.small else 12.0
    place = Rect(150, y, page.right - 150, high)
    for strip in one.strips:
        paper.say(WORDS[strip.thing], 24, place.y + high / 2 + 12, 24, Role.SOFT, False)
        _strip(paper, strip, place)
        for stretch in one.summary.worst:
            if stretch.thing == strip.thing:
                middle = strip.at((stretch.start_s + stretch.end_s) / 2) / len(strip.least)
                letter(paper, place.x + place.w * middle, place.y + 20, stretch.letter,
                       page.paper.floor)  # fmt: skip
        place = Rect(place.x, place.bottom + gap, place.w, high)
    _hours(paper, one, Rect(150, y, page.right - 150, 0), paper.high - 12)


def _strip(paper: Paper, strip: Strip, r: Rect) -> None:
    bottom, top = strip.scale()

    def up(value: float) -> float:
        share = (min(max(value, bottom), top) - bottom) / (top - bottom)
        return r.y + 3 + (r.h - 6) * (1 - share)

    each = r.w / len(strip.least)
    _band(paper, strip, r, up)
    for state, first, last in strip.blocks:
        block(paper, state, Rect(r.x + first * each, r.y, max((last - first) * each, 1.5), r.h))
    strokes = []
    before: tuple[float, float, float] | None = None
    for n, (least, most) in enumerate(zip(strip.least, strip.most, strict=True)):
        if math.isnan(least):
            before = None
            continue
        x, low, high = r.x + (n + 0.5) * each, up(least), up(most)
        strokes.append(line(x, high - 1, x, low + 1, 2))
        if before is not None:
            strokes.append(line(before[0], before[1], x, (low + high) / 2, 2))
        before = (x, (low + high) / 2, low)
    paper.fill(Role.INK, *strokes)
    paper.fill(Role.HAIRLINE, frame(r.x, r.y, r.w, r.h, 2))


def _band(paper: Paper, strip: Strip, r: Rect, up: Callable[[float], float]) -> None:
    """The band in force, in steps where it was changed."""
    if not (np.isfinite(strip.low).all() and np.isfinite(strip.high).all()):
        return
    each = r.w / len(strip.low)
    changes = np.nonzero((np.diff(strip.low) != 0) | (np.diff(strip.high) != 0))[0] + 1
    edges = [0, *changes.tolist()[:200], len(strip.low)]
    for first, last in pairwise(edges):
        x, wide = r.x + first * each, (last - first) * each
        top, bottom = up(float(strip.high[first])), up(float(strip.low[first]))
        paper.fill(Role.PRESSED, box(x, top, wide, bottom - top))
        paper.fill(Role.WANTED, box(x, top - 1, wide, 3), box(x, bottom - 2, wide, 3))


def _hours(paper: Paper, one: Opened, r: Rect, y: float) -> None:
    """Clock times at the ends and in the middle of the strips."""
    track, strip = one.shift.track, one.strips[0]
    rows = [n for n, utc in enumerate(track.utc) if utc]
    if not rows:
        return
    for n, share in enumerate((0.0, 0.25, 0.5, 0.75, 1.0)):
        row = rows[min(int(share * len(rows)), len(rows) - 1)]
        x = r.x + r.w * strip.at(float(track.t_s[row])) / len(strip.least)
        align = {0: "left", 4: "right"}.get(n, "middle")
        paper.say(clock_text(track.utc[row], one.shift), x, y, 20, Role.SOFT, False, align=align)

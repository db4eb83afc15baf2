"""The report's pictures as SVG: drawn by hand, so that every pattern is the one on the screen.

Each has a title and a description that say in words what it shows. Patterns carry the states and
colour only helps: the page is read the same in grey. Written to SVG 1.1.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from html import escape
from itertools import pairwise

import numpy as np

from cabapp.review.digits import (
    area_text,
    fine_depth_text,
    length_text,
    percent_text,
    share_text,
    speed_text,
)
from cabapp.review.happened import stretch_text
from cabapp.review.pegs import pegs_of, pegs_words
from cabapp.review.phrases import STATE_WORDS, WORDS
from cabapp.review.pieces import Piece, pieces_of, swath_of, thinned
from cabapp.review.shift import Floats, Shift, local
from cabapp.review.strips import Strip, strip_of
from cabapp.review.summary import Distribution, Summary, distribution
from cabapp.review.sums import STATES, THINGS, Share
from cabapp.review.worst import Stretch, apart
from cabapp.units import UnitSystem, shown_unit, to_unit

INK, SOFT, WANTED, LOOK, SOIL, LAYER, HAIR = (
    "#000000", "#3F3F3F", "#005A9C", "#FFC400", "#F1E7D6", "#5E4C36", "#B8B8B8",
)  # fmt: skip
OWN = "own-"  # stands for the picture's own name until it is put together
FILLS = {"in": WANTED, "idle": "#D5D5D5"} | {
    state: f"url(#{OWN}{state})" for state in ("out", "raised", "hard", "unknown")
}
COLUMNS = 700  # of a strip
HIGH = 60  # of a strip
PITCH = 70
MARK_APART = 24.0  # figures along a scale nearer than this would run into one another
Place = tuple[float, float]

PATTERNS = {
    "out": f'width="7" height="7" patternTransform="rotate(45)"><rect width="7" height="7" '
    f'fill="{LOOK}"/><rect width="3.5" height="7" fill="{INK}"/>',
    "raised": f'width="6" height="5"><rect width="6" height="5" fill="#FFFFFF"/>'
    f'<rect width="6" height="2" fill="{INK}"/>',
    "hard": f'width="10" height="8"><rect width="10" height="8" fill="{SOIL}"/>'
    f'<path d="M1 1h5.5v2h-5.5zM6 5h4v2h-4zM0 5h1.5v2h-1.5z" fill="{LAYER}"/>',
    "unknown": 'width="6" height="6"><rect width="6" height="6" fill="#FFFFFF"/>'
    '<path d="M0 0L6 6M6 0L0 6" stroke="#5A5A5A" stroke-width="1"/>',
}


def _patterns(name: str) -> str:
    """The patterns of one picture, under names of its own: each stands by itself."""
    return "".join(
        f'<pattern id="{name}-{state}" patternUnits="userSpaceOnUse" {body}</pattern>'
        for state, body in PATTERNS.items()
    )


def svg(wide: float, high: float, title: str, words: str, body: Iterable[str]) -> str:
    """One picture with its title and its description."""
    name = title.split(",")[0].lower().replace(" ", "-")
    drawn = "".join(body).replace(f"#{OWN}", f"#{name}-")
    return (
        f'<svg viewBox="0 0 {wide:g} {high:g}" role="img" aria-label="{escape(title)}. '
        f'{escape(words)}"><title>{escape(title)}</title><desc>{escape(words)}</desc>'
        f"<defs>{_patterns(name)}</defs>{drawn}</svg>"
    )


def _rect(x: float, y: float, w: float, h: float, fill: str, edge: bool = True) -> str:
    line = f' stroke="{INK}" stroke-width="0.8"' if edge else ""
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" fill="{fill}"{line}/>'


def _text(x: float, y: float, text: str, size: float = 11, anchor: str = "start",
          bold: bool = False) -> str:  # fmt: skip
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"{weight}>'
        f"{escape(text)}</text>"
    )


def _line(x0: float, y0: float, x1: float, y1: float, colour: str = INK, wide: float = 1) -> str:
    return (
        f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" stroke="{colour}" '
        f'stroke-width="{wide:g}" fill="none"/>'
    )


# -- shares ---------------------------------------------------------------------------------------


def shares_svg(shares: Mapping[str, Share]) -> str:
    """A bar and its five figures for each judged thing."""
    body = [_text(x, 12, words, 10, "end") for x, words in _share_heads()]
    words = []
    for n, thing in enumerate(THINGS):
        share, y = shares[thing], 20 + 26 * n
        bold = thing == "all"
        body.append(_text(0, y + 14, WORDS[thing], 12, bold=bold))
        percents = share.percents()
        if percents is None:
            body += [
                _rect(62, y, 168, 18, "#FFFFFF"), _text(72, y + 13, "not judged in this shift", 10),
            ]  # fmt: skip
            words.append(f"{WORDS[thing]} not judged")
            continue
        x = 62.0
        for state in STATES:
            wide = 168 * (share.ratio(state) or 0.0)
            if wide > 0:
                body.append(_rect(x, y, wide, 18, FILLS[state]))
            x += wide
        for (at, _), state in zip(_share_heads(), STATES, strict=True):
            body.append(_text(at, y + 14, percent_text(share, state), 12, "end", state == "in"))
        told = ", ".join(f"{percents[state]} {STATE_WORDS[state]}" for state in STATES)
        words.append(f"{WORDS[thing]}: {told}")
    return svg(420, 152, "Shares of the judged area, per cent", "; ".join(words), body)


def _share_heads() -> tuple[tuple[float, str], ...]:
    return ((264, "in"), (300, "out"), (346, "raised"), (384, "hard"), (420, "?"))


def legend_svg() -> str:
    """What each pattern means."""
    body, x = [], 0.0
    for state, words in (*STATE_WORDS.items(), ("idle", "worked, not judged")):
        body += [_rect(x + 0.5, 1, 22, 11, FILLS[state]), _text(x + 27, 11, words, 10.5)]
        x += 27 + 5.6 * len(words) + 16
    return svg(x, 14, "Key to the patterns", ", ".join(STATE_WORDS.values()), body)


# -- map ------------------------------------------------------------------------------------------


def map_svg(summary: Summary, units: UnitSystem, side: float = 340) -> str:
    """The worked ground, north up: each piece in the pattern of its state, letters on the worst."""
    shift = summary.shift
    pieces = thinned(pieces_of(shift))
    if not pieces:
        return svg(side, 40, "Map", "No ground was worked.", [_text(4, 24, "No ground worked")])
    to_page, high = _fit(pieces, shift.page.rig.tool.width_m, side)
    body = [_swath(piece, shift, to_page) for piece in pieces if piece.state in ("in", "idle")]
    body += [_swath(piece, shift, to_page) for piece in pieces if piece.state not in ("in", "idle")]
    pegs = pegs_of(shift)
    body += _letters(summary, to_page, [to_page(peg.x_m, peg.y_m) for peg in pegs])
    body += [_peg(*to_page(peg.x_m, peg.y_m), peg.number, side) for peg in pegs]
    body += _scale_and_north(to_page, side, high, units)
    words = (
        f"{area_text(shift.sums.gross_m2, units)} in {len(shift.sums.passes)} passes, north up. "
        + " ".join([*(_told(stretch, units) for stretch in summary.worst), pegs_words(pegs)])
    )
    return svg(side, high, "Map of the passes", words, body)


def _peg(x: float, y: float, number: int, side: float) -> str:
    """A peg's point on its place, its head and number on a white plate beside it."""
    text, wide = str(number), 20 + 7 * len(str(number))
    left, top = min(max(x - 8, 1.0), side - wide - 1), max(y - 18, 1.0)
    return (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{wide}" height="18" fill="#FFFFFF" '
        f'stroke="{INK}" stroke-width="0.8"/>'
        f'<path d="M{left + 4:.1f} {top + 3:.1f}h8v3h-1.5v4l-2.5 6l-2.5 -6v-4h-1.5z" '
        f'fill="{INK}"/>' + _text(left + 15, top + 14, text, 12, bold=True)
    )


def _letters(
    summary: Summary, to_page: Callable[[float, float], Place], pegs: list[Place]
) -> list[str]:
    """A letter at each worst stretch; where it would meet another or a peg, it steps aside."""
    shift = summary.shift
    named = [one for one in summary.worst if _placed(shift, one)]
    places = [to_page(*_place(shift, one)) for one in named]
    put = apart([*pegs, *places], 24 if pegs else 19)[len(pegs) :]
    lines = [_line(*place, *at, INK, 1.4) for place, at in zip(places, put, strict=True)
             if place != at]  # fmt: skip
    return lines + [_letter(*at, one.letter) for one, at in zip(named, put, strict=True)]


def _told(stretch: Stretch, units: UnitSystem) -> str:
    return f"{stretch.letter}: {stretch_text(stretch, units)}, " + (
        f"{length_text(stretch.length_m, units)}."
    )


def _fit(
    pieces: list[Piece], width_m: float, side: float
) -> tuple[Callable[[float, float], Place], float]:
    x = np.concatenate([piece.x_m for piece in pieces])
    y = np.concatenate([piece.y_m for piece in pieces])
    left, right = float(x.min()) - width_m, float(x.max()) + width_m
    low, top = float(y.min()) - width_m, float(y.max()) + width_m
    high = side
    room = 10.0
    scale = min((side - 2 * room) / (right - left), (high - 2 * room - 22) / (top - low))
    east = room + ((side - 2 * room) - scale * (right - left)) / 2
    north = room + ((high - 2 * room - 22) - scale * (top - low)) / 2
    return lambda px, py: (east + scale * (px - left), north + scale * (top - py)), high


def _swath(piece: Piece, shift: Shift, to_page: Callable[[float, float], Place]) -> str:
    ring = swath_of(piece, shift.page.rig.tool.width_m)
    points = " ".join(f"{px:.1f},{py:.1f}" for px, py in (to_page(*place) for place in ring[:-1]))
    edge = "" if piece.state in ("in", "idle") else f' stroke="{INK}" stroke-width="0.5"'
    gap = ' stroke="#FFFFFF" stroke-width="0.4"' if piece.state in ("in", "idle") else ""
    return f'<polygon points="{points}" fill="{FILLS[piece.state]}"{edge}{gap}/>'


def _placed(shift: Shift, stretch: Stretch) -> bool:
    return bool(np.isfinite(shift.track.x_m[stretch.first : stretch.last + 1]).any())


def _place(shift: Shift, stretch: Stretch) -> Place:
    rows = np.arange(stretch.first, stretch.last + 1)
    rows = rows[np.isfinite(shift.track.x_m[rows])]
    row = int(rows[len(rows) // 2])
    return float(shift.track.x_m[row]), float(shift.track.y_m[row])


def _letter(x: float, y: float, letter: str) -> str:
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8.5" fill="#FFFFFF" stroke="{INK}" '
        f'stroke-width="1.6"/>' + _text(x, y + 4.2, letter, 12, "middle", True)
    )


def _scale_and_north(
    to_page: Callable[[float, float], Place], side: float, high: float, units: UnitSystem
) -> list[str]:
    per_m = to_page(1.0, 0.0)[0] - to_page(0.0, 0.0)[0]
    unit = shown_unit("length", units)
    one = per_m / to_unit(1.0, unit)  # page units for one foot or metre
    size = _round_number(90 / one)
    y = high - 8
    return [
        _line(8, y, 8 + size * one, y, INK, 2),
        _text(14 + size * one, y + 4, f"{size:g} {unit}", 10.5),
        f'<path d="M{side - 12:.1f} {high - 22:.1f}l5 14l-10 0z" fill="{INK}"/>',
        _text(side - 26, high - 8, "N", 12, "end", True),
    ]


def _round_number(value: float) -> float:
    """The largest of 1, 2 or 5 times a power of ten under a value."""
    power: float = 10.0 ** math.floor(math.log10(max(value, 1e-3)))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= value)


# -- strips ---------------------------------------------------------------------------------------


def strips_svg(summary: Summary, units: UnitSystem) -> str:
    """Speed, depth and springs over the shift, each with its band; a gap is a gap."""
    shift, rig = summary.shift, summary.shift.page.rig
    things = ["speed"] + (["depth"] if rig.fitted("depth") else [])
    things += ["springs"] if rig.fitted("spring") else []
    body: list[str] = []
    for n, thing in enumerate(things):
        strip = strip_of(shift, thing, min(COLUMNS, max(len(shift.track) // 2, 2)))
        body += _strip(strip, 6 + PITCH * n, units)
        body += _strip_letters(summary, strip, 6 + PITCH * n)
    high = 6 + PITCH * len(things) + 14
    body += _hours(shift, high - 4)
    words = "; ".join(_strip_words(shift, thing) for thing in things)
    return svg(780, high, "Over the shift", words, body)


def _strip(strip: Strip, y: float, units: UnitSystem) -> list[str]:
    bottom, top = strip.scale()

    def up(value: float) -> float:
        return y + HIGH * (1 - (min(max(value, bottom), top) - bottom) / (top - bottom))

    body = [
        _text(0, y + 11, WORDS[strip.thing], 12, bold=True),
        _rect(78, y, COLUMNS, HIGH, "#FFFFFF", False),
    ]
    low, high = strip.low[-1], strip.high[-1]
    body += _band(strip, up)
    for state, first, last in strip.blocks:
        left, wide = _across(strip, first), max(_across(strip, last) - _across(strip, first), 1.0)
        body.append(_rect(left, y, wide, HIGH, FILLS[state], wide > 3))
    body.append(f'<path d="{_envelope(strip, up)}" stroke="{INK}" stroke-width="1.1" fill="none"/>')
    body.append(
        f'<rect x="78" y="{y}" width="{COLUMNS}" height="{HIGH}" fill="none" stroke="{HAIR}"/>'
    )
    for value in (low, high):
        if math.isfinite(value):
            body.append(_text(74, up(value) + 4, _tick(strip.thing, value, units), 10, "end"))
    return body


def _across(strip: Strip, column: float) -> float:
    """Where a column of a strip lies on the picture."""
    return 78 + COLUMNS * column / len(strip.least)


def _band(strip: Strip, up: Callable[[float], float]) -> list[str]:
    """The band as it was in force, in steps."""
    if not np.isfinite(strip.low).all() or not np.isfinite(strip.high).all():
        return []
    changes = np.nonzero((np.diff(strip.low) != 0) | (np.diff(strip.high) != 0))[0] + 1
    edges = [0, *changes.tolist(), len(strip.low)]
    body = []
    for first, last in pairwise(edges):
        top, bottom = up(float(strip.high[first])), up(float(strip.low[first]))
        left, end = _across(strip, first), _across(strip, last)
        body.append(_rect(left, top, end - left, bottom - top, "#D9E6F2", False))
        body += [_line(left, edge, end, edge, WANTED, 1.2) for edge in (top, bottom)]
    return body


def _envelope(strip: Strip, up: Callable[[float], float]) -> str:
    """From least to most in each column, joined to the next where that is known too."""
    path, joined = [], False
    for column, (least, most) in enumerate(zip(strip.least, strip.most, strict=True)):
        if math.isnan(least):
            joined = False
            continue
        x = _across(strip, column + 0.5)
        path.append(f"{'L' if joined else 'M'}{x:.1f} {up(most):.1f}L{x:.1f} {up(least):.1f}")
        joined = True
    return "".join(path)


def _tick(thing: str, value: float, units: UnitSystem) -> str:
    """An end of a band as it is printed everywhere."""
    if thing == "springs":
        return f"{100 * value:.0f} %"
    return speed_text(value, units) if thing == "speed" else fine_depth_text(value, units)


def _strip_letters(summary: Summary, strip: Strip, y: float) -> list[str]:
    return [
        _letter(_across(strip, strip.at((one.start_s + one.end_s) / 2)), y + 10, one.letter)
        for one in summary.worst
        if one.thing == strip.thing
    ]


def _strip_words(shift: Shift, thing: str) -> str:
    share = shift.sums.shares[thing]
    return f"{WORDS[thing]}: {percent_text(share, 'in')} per cent of its ground in band"


def _hours(shift: Shift, y: float) -> list[str]:
    """Local clock times along the foot, each at its true place; none where no time was known."""
    strip = strip_of(shift, "speed", COLUMNS)
    dated = [(t, utc) for t, utc in zip(shift.track.t_s.tolist(), shift.track.utc, strict=True)
             if utc]  # fmt: skip
    if not dated:
        return [_text(78, y, "no time known: seconds from the start", 10)]
    first, last = local(dated[0][1] or "", shift.page), local(dated[-1][1] or "", shift.page)
    if first is None or last is None:
        return []
    seconds = (last - first).total_seconds()
    step = next((s for s in (60, 300, 600, 1800, 3600, 7200) if seconds / s <= 9), 14400)
    midnight = first.replace(hour=0, minute=0, second=0)
    at = math.ceil((first - midnight).total_seconds() / step) * step
    body = []
    while at <= (last - midnight).total_seconds():
        t_s = dated[0][0] + at - (first - midnight).total_seconds()
        x = _across(strip, strip.at(t_s))
        body.append(_text(x, y, f"{at // 3600 % 24:02d}:{at // 60 % 60:02d}", 10.5, "middle"))
        at += step
    return body


# -- distributions --------------------------------------------------------------------------------


def distributions_svg(shift: Shift, units: UnitSystem) -> str:
    """How the worked ground is spread over speed, depth, level and spring load."""
    found = [
        one
        for thing in ("speed", "depth", "level", "springs")
        if (one := distribution(shift, thing, units)) is not None
    ]
    if not found:
        return svg(780, 20, "Distributions", "Nothing was read.", [_text(0, 14, "Nothing read")])
    wide = 780 / max(len(found), 2)
    body = []
    for n, one in enumerate(found):
        unknown = share_text(shift.sums.shares[one.thing], "unknown")
        body += _histogram(one, n * wide, wide - 22, unknown)
    return svg(780, 132, "Worked ground by value", "; ".join(map(_spread_words, found)), body)


def _histogram(one: Distribution, x: float, wide: float, unknown: str) -> list[str]:
    edges, shares = _trimmed(one)
    band = one.band
    span = float(edges[-1] - edges[0])
    tallest = max(float(shares.max()), 1e-9)

    def right(value: float) -> float:
        return x + wide * min(max((value - float(edges[0])) / span, 0.0), 1.0)

    head = f"{WORDS[one.thing]}, {one.unit}"
    body = [_text(x, 11, head, 11.5, bold=True),
            _text(x + wide, 11, f"unknown {unknown}", 10.5, "end")]  # fmt: skip
    if band:
        body.append(
            _rect(right(band[0]), 18, right(band[1]) - right(band[0]), 90, "#D9E6F2", False)
        )
    for n, part in enumerate(shares.tolist()):
        high = 88 * part / tallest
        left, end = right(float(edges[n])), right(float(edges[n + 1]))
        inside = band is None or (edges[n] >= band[0] - 1e-9 and edges[n + 1] <= band[1] + 1e-9)
        if high > 0.2:
            body.append(_rect(left + 0.5, 108 - high, max(end - left - 1, 0.6), high,
                              WANTED if inside else FILLS["out"]))  # fmt: skip
    body.append(_line(x, 108, x + wide, 108))
    marks = {round(v, 2) for v in (float(edges[0]), float(edges[-1]), *(band or ()))}
    written = -math.inf
    for value in sorted(marks):
        if float(edges[0]) <= value <= float(edges[-1]) and right(value) - written > MARK_APART:
            written = right(value)
            ends = {float(edges[0]): "start", float(edges[-1]): "end"}
            anchor = ends.get(value, "middle")
            body.append(_text(right(value), 121, _mark(value, one.unit), 10, anchor))
    return body


def _mark(value: float, unit: str) -> str:
    """A value of the scale, rounded as the same value is in words: depths in halves of a cm."""
    if unit == "cm":
        return f"{round(2 * value) / 2:g}"
    return f"{value:g}" if unit == "in" else f"{round(value, 1):g}"


def _trimmed(one: Distribution) -> tuple[Floats, Floats]:
    """Without the empty tails: what holds under a thousandth of the ground on either side."""
    summed = np.cumsum(one.shares) / one.shares.sum()
    first = int(np.searchsorted(summed, 0.001))
    last = int(np.searchsorted(summed, 0.999)) + 1
    return one.edges[first : last + 1], one.shares[first:last]


def _spread_words(one: Distribution) -> str:
    tallest = int(one.shares.argmax())
    return (
        f"{WORDS[one.thing]} most often {one.edges[tallest]:g} to {one.edges[tallest + 1]:g} "
        f"{one.unit}, {100 * one.unknown:.0f} per cent unknown"
    )

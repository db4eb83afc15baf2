"""The map of the passes: the worked ground, letters on the worst of it, and the pegs."""

import math
from collections.abc import Callable

import numpy as np

from cabapp.review import pen
from cabapp.review.digits import area_text, length_text
from cabapp.review.happened import stretch_text
from cabapp.review.pegs import pegs_of, pegs_words
from cabapp.review.pieces import Piece, pieces_of, swath_of, thinned
from cabapp.review.shift import Shift
from cabapp.review.summary import Summary
from cabapp.review.worst import Stretch, apart
from cabapp.units import UnitSystem, shown_unit, to_unit

Place = tuple[float, float]


def map_svg(summary: Summary, units: UnitSystem, side: float = 340) -> str:
    """The worked ground, north up: each piece in the pattern of its state, letters on the worst."""
    shift = summary.shift
    pieces = thinned(pieces_of(shift))
    if not pieces:
        return pen.svg(
            side, 40, "Map", "No ground was worked.", [pen.text(4, 24, "No ground worked")]
        )
    to_page, high = _fit(pieces, shift.page.rig.tool.width_m, side)
    body = [_swath(piece, shift, to_page) for piece in pieces if piece.state in ("in", "idle")]
    body += [_swath(piece, shift, to_page) for piece in pieces if piece.state not in ("in", "idle")]
    pegs = pegs_of(shift)
    body += _letters(summary, to_page, [to_page(peg.x_m, peg.y_m) for peg in pegs])
    body += [_peg(*to_page(peg.x_m, peg.y_m), peg.number, side) for peg in pegs]
    body += _scale_and_north(to_page, side, high, units)
    count = len(shift.sums.passes)
    passes = f"{count} pass{'' if count == 1 else 'es'}"
    words = f"{area_text(shift.sums.gross_m2, units)} in {passes}, north up. " + " ".join(
        [*(_told(stretch, units) for stretch in summary.worst), pegs_words(pegs)]
    )
    return pen.svg(side, high, "Map of the passes", words, body)


def _peg(x: float, y: float, number: int, side: float) -> str:
    """A peg's point on its place, its head and number on a white plate beside it."""
    text, wide = str(number), 20 + 7 * len(str(number))
    left, top = min(max(x - 8, 1.0), side - wide - 1), max(y - 18, 1.0)
    return (
        f'<rect x="{left:.1f}" y="{top:.1f}" width="{wide}" height="18" fill="#FFFFFF" '
        f'stroke="{pen.INK}" stroke-width="0.8"/>'
        f'<path d="M{left + 4:.1f} {top + 3:.1f}h8v3h-1.5v4l-2.5 6l-2.5 -6v-4h-1.5z" '
        f'fill="{pen.INK}"/>' + pen.text(left + 15, top + 14, text, 12, bold=True)
    )


def _letters(
    summary: Summary, to_page: Callable[[float, float], Place], pegs: list[Place]
) -> list[str]:
    """A letter at each worst stretch; where it would meet another or a peg, it steps aside."""
    shift = summary.shift
    named = [one for one in summary.worst if _placed(shift, one)]
    places = [to_page(*_place(shift, one)) for one in named]
    put = apart([*pegs, *places], 24 if pegs else 19)[len(pegs) :]
    lines = [pen.line(*place, *at, pen.INK, 1.4) for place, at in zip(places, put, strict=True)
             if place != at]  # fmt: skip
    return lines + [pen.letter(*at, one.letter) for one, at in zip(named, put, strict=True)]


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
    edge = "" if piece.state in ("in", "idle") else f' stroke="{pen.INK}" stroke-width="0.5"'
    gap = ' stroke="#FFFFFF" stroke-width="0.4"' if piece.state in ("in", "idle") else ""
    return f'<polygon points="{points}" fill="{pen.FILLS[piece.state]}"{edge}{gap}/>'


def _placed(shift: Shift, stretch: Stretch) -> bool:
    return bool(np.isfinite(shift.track.x_m[stretch.first : stretch.last + 1]).any())


def _place(shift: Shift, stretch: Stretch) -> Place:
    rows = np.arange(stretch.first, stretch.last + 1)
    rows = rows[np.isfinite(shift.track.x_m[rows])]
    row = int(rows[len(rows) // 2])
    return float(shift.track.x_m[row]), float(shift.track.y_m[row])


def _scale_and_north(
    to_page: Callable[[float, float], Place], side: float, high: float, units: UnitSystem
) -> list[str]:
    per_m = to_page(1.0, 0.0)[0] - to_page(0.0, 0.0)[0]
    unit = shown_unit("length", units)
    one = per_m / to_unit(1.0, unit)  # page units for one foot or metre
    size = _round_number(90 / one)
    y = high - 8
    return [
        pen.line(8, y, 8 + size * one, y, pen.INK, 2),
        pen.text(14 + size * one, y + 4, f"{size:g} {unit}", 10.5),
        f'<path d="M{side - 12:.1f} {high - 22:.1f}l5 14l-10 0z" fill="{pen.INK}"/>',
        pen.text(side - 26, high - 8, "N", 12, "end", True),
    ]


def _round_number(value: float) -> float:
    """The largest of 1, 2 or 5 times a power of ten under a value."""
    power: float = 10.0 ** math.floor(math.log10(max(value, 1e-3)))
    return max(step * power for step in (1.0, 2.0, 5.0) if step * power <= value)

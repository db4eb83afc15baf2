"""How the worked ground is spread over the values of each thing."""

import math

import numpy as np

from cabapp.review import pen
from cabapp.review.digits import share_text
from cabapp.review.phrases import WORDS
from cabapp.review.shift import Floats, Shift
from cabapp.review.summary import Distribution, distribution
from cabapp.units import UnitSystem

MARK_APART = 24.0  # figures along a scale nearer than this would run into one another


def distributions_svg(shift: Shift, units: UnitSystem) -> str:
    """How the worked ground is spread over speed, depth, level and spring load."""
    found = [
        one
        for thing in ("speed", "depth", "level", "springs")
        if (one := distribution(shift, thing, units)) is not None
    ]
    if not found:
        return pen.svg(
            780, 20, "Distributions", "Nothing was read.", [pen.text(0, 14, "Nothing read")]
        )
    wide = 780 / max(len(found), 2)
    body = []
    for n, one in enumerate(found):
        unknown = share_text(shift.sums.shares[one.thing], "unknown")
        body += _histogram(one, n * wide, wide - 22, unknown)
    return pen.svg(780, 132, "Worked ground by value", "; ".join(map(_spread_words, found)), body)


def _histogram(one: Distribution, x: float, wide: float, unknown: str) -> list[str]:
    edges, shares = _trimmed(one)
    band = one.band
    span = float(edges[-1] - edges[0])
    tallest = max(float(shares.max()), 1e-9)

    def right(value: float) -> float:
        return x + wide * min(max((value - float(edges[0])) / span, 0.0), 1.0)

    head = f"{WORDS[one.thing]}, {one.unit}"
    body = [pen.text(x, 11, head, 11.5, bold=True),
            pen.text(x + wide, 11, f"unknown {unknown}", 10.5, "end")]  # fmt: skip
    if band:
        body.append(
            pen.rect(right(band[0]), 18, right(band[1]) - right(band[0]), 90, "#D9E6F2", False)
        )
    for n, part in enumerate(shares.tolist()):
        high = 88 * part / tallest
        left, end = right(float(edges[n])), right(float(edges[n + 1]))
        inside = band is None or (edges[n] >= band[0] - 1e-9 and edges[n + 1] <= band[1] + 1e-9)
        if high > 0.2:
            body.append(pen.rect(left + 0.5, 108 - high, max(end - left - 1, 0.6), high,
                              pen.WANTED if inside else pen.FILLS["out"]))  # fmt: skip
    body.append(pen.line(x, 108, x + wide, 108))
    marks = {round(v, 2) for v in (float(edges[0]), float(edges[-1]), *(band or ()))}
    written = -math.inf
    for value in sorted(marks):
        if float(edges[0]) <= value <= float(edges[-1]) and right(value) - written > MARK_APART:
            written = right(value)
            ends = {float(edges[0]): "start", float(edges[-1]): "end"}
            anchor = ends.get(value, "middle")
            body.append(pen.text(right(value), 121, _mark(value, one.unit), 10, anchor))
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

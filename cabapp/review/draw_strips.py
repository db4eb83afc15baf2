"""Speed, depth and springs over the shift, each a strip with its band; a gap is a gap."""

import math
from collections.abc import Callable
from itertools import pairwise

import numpy as np

from cabapp.review import pen
from cabapp.review.digits import fine_depth_text, percent_text, speed_text
from cabapp.review.phrases import WORDS
from cabapp.review.shift import Shift, local
from cabapp.review.strips import Strip, strip_of
from cabapp.review.summary import Summary
from cabapp.units import UnitSystem

COLUMNS = 700  # of a strip
HIGH = 60  # of a strip
PITCH = 70


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
    return pen.svg(780, high, "Over the shift", words, body)


def _strip(strip: Strip, y: float, units: UnitSystem) -> list[str]:
    bottom, top = strip.scale()

    def up(value: float) -> float:
        return y + HIGH * (1 - (min(max(value, bottom), top) - bottom) / (top - bottom))

    body = [
        pen.text(0, y + 11, WORDS[strip.thing], 12, bold=True),
        pen.rect(78, y, COLUMNS, HIGH, "#FFFFFF", False),
    ]
    low, high = strip.low[-1], strip.high[-1]
    body += _band(strip, up)
    for state, first, last in strip.blocks:
        left, wide = _across(strip, first), max(_across(strip, last) - _across(strip, first), 1.0)
        body.append(pen.rect(left, y, wide, HIGH, pen.FILLS[state], wide > 3))
    body.append(
        f'<path d="{_envelope(strip, up)}" stroke="{pen.INK}" stroke-width="1.1" fill="none"/>'
    )
    body.append(
        f'<rect x="78" y="{y}" width="{COLUMNS}" height="{HIGH}" fill="none" stroke="{pen.HAIR}"/>'
    )
    for value in (low, high):
        if math.isfinite(value):
            body.append(pen.text(74, up(value) + 4, _tick(strip.thing, value, units), 10, "end"))
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
        body.append(pen.rect(left, top, end - left, bottom - top, "#D9E6F2", False))
        body += [pen.line(left, edge, end, edge, pen.WANTED, 1.2) for edge in (top, bottom)]
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
        pen.letter(_across(strip, strip.at((one.start_s + one.end_s) / 2)), y + 10, one.letter)
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
        return [pen.text(78, y, "no time known: seconds from the start", 10)]
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
        body.append(pen.text(x, y, f"{at // 3600 % 24:02d}:{at // 60 % 60:02d}", 10.5, "middle"))
        at += step
    return body

"""Two shifts side by side, like with like: the same figures in the same places."""

from typing import TYPE_CHECKING

from cabapp.review.digits import day_text, share_text
from cabapp.review.figures import Figure, figures
from cabapp.review.phrases import WORDS, band_lines, headline
from cabapp.review.sums import THINGS
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.shifts_draw import bar
from cabapp.screens.pages.shifts_work import Opened
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box
from cabapp.screens.theme import Role

if TYPE_CHECKING:
    from cabapp.screens.pages.shifts import ShiftsPage

FIGURES = ("area_gross", "rate", "efficiency", "speed", "trips")


def write_two(page: "ShiftsPage", paper: Paper, one: Opened, other: Opened) -> None:
    """One on the left, the other on the right; what is unlike about them is said on top."""
    page.head("Side by side", unlike(one, other), "Shift", page.to_one)
    half = (page.right - 24 - 40) / 2
    middle = 24 + half + 20
    paper.fill(Role.HAIRLINE, box(middle - 1, 134, 2, page.bottom - 134))
    for n, found in enumerate((one, other)):
        _side(page, paper, found, 24 + n * (half + 40), half)


def unlike(one: Opened, other: Opened) -> str:
    """What makes the two hard to compare, in words."""
    mine, theirs = one.shift.page, other.shift.page
    pairs = (
        ("field", mine.field, theirs.field),
        ("rig", mine.rig.id, theirs.rig.id),
        ("speed band", _band(one, "speed"), _band(other, "speed")),
        ("depth band", _band(one, "depth"), _band(other, "depth")),
    )
    found = [name for name, a, b in pairs if a != b]
    return f"Not alike: {', '.join(found)}" if found else "Same field, rig and bands"


def _band(found: Opened, name: str) -> tuple[float | None, float | None]:
    plan = found.shift.page.plan
    if name == "speed":
        return plan.speed_low_mps, plan.speed_high_mps
    return plan.depth_low_m, plan.depth_high_m


def _side(page: "ShiftsPage", paper: Paper, found: Opened, x: float, wide: float) -> None:
    shift, end = found.shift, x + wide
    paper.say(f"{shift.page.field or 'No field named'}, {day_text(shift.brief.begun, False)}",
              x, 162, 28, limit=wide)  # fmt: skip
    inside, unknown = headline(shift.sums)
    told = f"{inside.replace(' of the area', '')}, {unknown}"
    paper.say(told, x, 200, 24, Role.SOFT, limit=wide)
    small = page.layout.small
    step, y = (44.0, 220.0) if small else (56.0, 232.0)
    for thing in THINGS:
        share = shift.sums.shares[thing]
        paper.say(WORDS[thing], x, y + step / 2 + 8, 22, Role.SOFT, False)
        bar(paper, share, Rect(x + 120, y, wide - 120 - 216, step - 14))
        paper.say(share_text(share, "in"), end - 112, y + step / 2 + 8, 24, align="right")
        paper.say(f"? {share_text(share, 'unknown')}", end, y + step / 2 + 8, 22, Role.SOFT, False,
                  align="right")  # fmt: skip
        y += step
    by_key = {figure.key: figure for figure in figures(found.summary, page.units)}
    bands = [
        Figure("", words.partition(" ")[0], words.partition(" ")[2])
        for words in band_lines(shift, page.units)
        if words.startswith(("Speed", "Depth"))
    ]
    y += 34
    for figure in [*(by_key[key] for key in FIGURES), *bands]:
        if y > page.bottom:
            break
        width = paper.say(figure.words.partition(" (")[0], x, y, 20, Role.SOFT, False)
        paper.say(figure.text, end, y, 22, align="right", limit=wide - width - 16)
        y += 38

"""What else one shift has: its places and alerts, judging again, the report, the copy."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.review.digits import (
    NONE,
    area_text,
    fine_depth_text,
    hours_text,
    length_text,
    place_text,
    share_text,
    speed_text,
)
from cabapp.review.figures import Figure, figures
from cabapp.review.happened import clock_text, stretch_text
from cabapp.review.phrases import WORDS, edge_text, headline, not_judged
from cabapp.review.sums import ALL
from cabapp.review.told import LEVEL_WORDS
from cabapp.review.tomorrow import tomorrow_of
from cabapp.screens.pages.paper import GO, Paper
from cabapp.screens.pages.shifts_draw import bar, letter
from cabapp.screens.pages.shifts_work import Opened
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, frame
from cabapp.screens.theme import Role

if TYPE_CHECKING:
    from cabapp.screens.pages.shifts import ShiftsPage

FIGURES = ("area_gross", "area_net", "overlap", "passes", "rate", "rate_plan", "efficiency",
           "speed", "field_time", "trips", "record", "ends", "tool", "unseen", "unrecorded",
           "draft", "fuel", "fuel_per_area")  # fmt: skip
FIGURE_STEP = 42.0  # from foot to foot


def write_more(page: "ShiftsPage", paper: Paper) -> None:
    """Six cards."""
    page.head("This shift", "What else to see or do", "Shift", page.to_one, page.right - 208)
    page.side_key(0, "notes", page.to_notes, "Notes")
    cards = (
        ("places", "Places and alerts", "where it went wrong", page.to_places),
        ("figures", "Figures", "areas, hours, stops, fuel", page.to_figures),
        ("beside", "Beside another", "two side by side", page.to_beside),
        ("again", "Judge again", "another speed or depth", page.to_again),
        ("tomorrow", "For tomorrow", "what to change, and why", page.to_tomorrow),
        ("copy_one", "Copy to a stick", "run, capture, reports", page.copy_one),
    )
    wide = (page.right - 24 - 18) / 2
    high = min(147.0, (page.bottom - 134 - 36) / 3)
    for n, (name, word, line, fire) in enumerate(cards):
        rect = Rect(24 + (n % 2) * (wide + 18), 134 + (n // 2) * (high + 18), wide, high)
        paper.key(name, rect, fire, word, line, high=30)


def write_places(page: "ShiftsPage", paper: Paper, one: Opened) -> None:
    """The worst stretches, and under them what was told and done."""
    shift, summary = one.shift, one.summary
    page.head("Where it went wrong", "Letters as on map and strips", "Shift", page.to_one)
    y, end = 166.0, page.right
    under, step = (33.0, 72.0) if page.layout.small else (30.0, 72.0)
    for stretch in summary.worst:
        letter(paper, 48, y + 2, stretch.letter, paper.floor)
        size = length_text(stretch.length_m, page.units)
        area = area_text(stretch.area_m2, page.units)
        right = paper.say(f"{size}, {area}", end, y, 24, align="right")
        room = end - 92 - right - 20
        words = stretch_text(stretch, page.units)
        short = words.removesuffix(f", {stretch.passes} passes")
        paper.say(paper.fitting((words, short), room, 24), 92, y, 24, limit=room)
        when = clock_text(shift.track.utc[stretch.first], shift)
        place = place_text(stretch.lat_deg, stretch.lon_deg)
        paper.say(f"{when}, {place}", 92, y + under, 19, Role.SOFT, False)
        y += step
    if not summary.worst:
        paper.say("Nothing was out, slow, raised or unknown", 24, y, 26)
        y += 46
    paper.fill(Role.HAIRLINE, box(24, y - 16, end - 24, 2))
    _alerts(page, paper, one, y + 20)


def _alerts(page: "ShiftsPage", paper: Paper, one: Opened, y: float) -> None:
    """Each alert with what was done about it, the most serious first."""
    alerts = sorted(one.summary.alerts, key=lambda told: list(LEVEL_WORDS).index(told.level))
    step = 38.0
    room = max(int((page.bottom - y) // step) + 1, 1)
    if not alerts:
        paper.say("No alerts", 24, y, 22)
    done_x = page.right - (390 if page.layout.small else 400)
    for told in alerts[: room if len(alerts) <= room else room - 1]:
        lasted = hours_text(told.lasted_s) if told.lasted_s is not None else NONE
        words = f"{LEVEL_WORDS[told.level]}: {told.headline.capitalize()}. {told.action}"
        words += f" ({told.count} channels)" if told.count > 1 else ""
        paper.say(clock_text(told.utc, one.shift), 24, y, 20, Role.SOFT, False)
        paper.say(words, 124, y, 20, limit=done_x - 140)
        paper.say(f"{lasted}, {told.done}", done_x, y, 20, Role.SOFT, False,
                  limit=page.right - done_x)  # fmt: skip
        y += step
    if len(alerts) > room:
        paper.say(f"and {len(alerts) - room + 1} more in the report", 124, y, 20, Role.SOFT, False)


def write_figures(page: "ShiftsPage", paper: Paper, one: Opened) -> None:
    """Areas, hours, stops, trips and estimates in two columns, as in the report."""
    page.head("Figures", edge_text(one.shift.sums, page.units), "Shift", page.to_one)
    by_key = {figure.key: figure for figure in figures(one.summary, page.units)}
    told = [by_key[key] for key in FIGURES if key in by_key]
    told += [f for key, f in by_key.items() if key.startswith(("time_", "stopped_"))]
    told += [Figure("", "Not judged", words) for words in not_judged(one.shift)]
    told += [f for key, f in by_key.items() if key.startswith("lapse_")]
    told = [figure for figure in told if figure.text not in (NONE, "0 s", "none")]
    wide = (page.right - 24 - 40) / 2
    high = [_figure_lines(paper, figure, wide) for figure in told]
    room = int((page.bottom - 160) // FIGURE_STEP) + 1  # lines in a column
    column, cut = min(room, -(-sum(high) // 2) + 1), sum(high) > 2 * room
    x, line, right = 24.0, 0, False
    for n, (figure, lines) in enumerate(zip(told, high, strict=True)):
        if line + lines > column - (cut and right):
            if right:
                foot = 168 + line * FIGURE_STEP
                more = f"and {len(told) - n} more in the report"
                paper.say(more, x, foot, 22, Role.SOFT, False)
                break
            x, line, right = 24.0 + wide + 40, 0, True
        foot = 168 + line * FIGURE_STEP
        paper.say(_figure_words(figure), x, foot, 22, Role.SOFT, False, limit=wide)
        foot += (lines - 1) * FIGURE_STEP
        paper.say(figure.text, x + wide, foot, 22, align="right", limit=wide)
        line += lines


def _figure_words(figure: Figure) -> str:
    return figure.words.partition(" (")[0]


def _figure_lines(paper: Paper, figure: Figure, wide: float) -> int:
    """One line for a figure beside its name, two where they do not fit."""
    size = max(22.0, paper.floor)
    name = paper.over.width_of(_figure_words(figure), size, False)
    return 1 if name + 16 + paper.over.width_of(figure.text, size) <= wide else 2


def write_tomorrow(page: "ShiftsPage", paper: Paper, one: Opened) -> None:
    """What stands out, each with what to do first."""
    page.head("For tomorrow", "The weightiest first; as in the report", "Shift", page.to_one)
    y, limit = 176.0, page.right - 84
    for n, words in enumerate(tomorrow_of(one.summary, page.units), start=1):
        paper.say(str(n), 24, y, 34, Role.SOFT)
        y = paper.lines(words, 84, y, 26, limit, 3) + 22
    if y == 176.0:
        paper.say("No ground was worked", 24, y, 26)
    paper.lines("The operator's manuals and licensed practice come first; engine off and key out "
                "before anything is adjusted.", 24, page.bottom - 32, 19, page.right - 24, 2,
                Role.SOFT, False)  # fmt: skip


def write_again(page: "ShiftsPage", paper: Paper, one: Opened) -> None:
    """The shares as recorded and against other bands, with keys to move their ends."""
    assert page.one is not None
    judging = page.judging
    page.head("Judge again", "Against another band; the record stays", "Shift", page.to_one,
              page.right - 208)  # fmt: skip
    page.side_key(0, "recorded", page.as_recorded, "As it was")
    y = 140.0
    for thing in judging.movable():
        _band_keys(page, paper, thing, y)
        y += 98
    things = (*judging.movable(), ALL)
    step = min((page.bottom - y - 66) / (2 * len(things)), 60.0)
    y += 12
    for words, found in (("As recorded", page.one), ("Judged again", one)):
        for thing in things:
            share, foot = found.shift.sums.shares[thing], y + step / 2 + 8
            name = WORDS[thing].lower()
            paper.say(f"{words}, {name}", 24, foot, 24, bold=thing == ALL)
            bar(paper, share, Rect(340, y, page.right - 340 - 456, step - 10))
            paper.say(f"{share_text(share, 'in')} in band", page.right - 220, foot, 26,
                      align="right")  # fmt: skip
            paper.say(f"{share_text(share, 'unknown')} unknown", page.right, foot, 24, Role.SOFT,
                      False, align="right")  # fmt: skip
            y += step
        y += 18
    paper.say(judging.refused, 24, page.bottom, 23, limit=page.right - 24)


def _band_keys(page: "ShiftsPage", paper: Paper, thing: str, y: float) -> None:
    """One band in a row: its name, then each end between a minus and a plus."""
    paper.say(WORDS[thing], 24, y + 56, 26)
    wide = (page.right - 150 - 24) / 2
    for end, value in enumerate(page.judging.band(thing)):
        x = 150 + end * (wide + 24)
        less, more = (partial(page.step_band, thing, end, step) for step in (-1, 1))
        name = f"{thing}_{'high' if end else 'low'}"
        paper.key(f"{name}_less", Rect(x, y, 90, 90), less, sign="minus")
        paper.key(f"{name}_more", Rect(x + wide - 90, y, 90, 90), more, sign="plus")
        text = speed_text if thing == "speed" else fine_depth_text
        words = f"{'to' if end else 'from'} {text(value, page.units)}"
        paper.say(words, x + wide / 2, y + 56, 30, align="middle", limit=wide - 190)


def write_report(page: "ShiftsPage", paper: Paper, one: Opened) -> None:
    """Which report to make, and how far it is."""
    inside, unknown = headline((page.one or one).shift.sums)
    page.head("Report", f"{inside}, {unknown}", "Shift", page.to_one)
    if page.desk.making is not None:
        paper.say("Making the report", 24, 220, 30)
        wide = page.right - 24
        paper.fill(Role.WANTED, box(24, 250, max(wide * page.desk.making.share, 2), 40))
        paper.fill(Role.INK, frame(24, 250, wide, 40, 4))
        return
    wide = (page.right - 24 - 18) / 2
    paper.key("owner", Rect(24, 150, wide, 130), lambda: page.make_report(False), "For the owner",
              "with alerts, changes, estimates", look=GO, high=32)  # fmt: skip
    paper.key("customer", Rect(42 + wide, 150, wide, 130), lambda: page.make_report(True),
              "For a customer", "without the driver's alerts", high=32)  # fmt: skip
    paper.key("copy_one", Rect(24, 300, wide, 110), page.copy_one, "Copy to a stick",
              "run, capture and reports", high=28)  # fmt: skip
    paper.lines("One page that any browser opens and prints on two sheets. It stands beside the "
                "run; a copy takes it along.", 24, 470, 24, page.right - 24, 3, Role.SOFT,
                False)  # fmt: skip

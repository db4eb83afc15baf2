"""The list of shifts, and a range of dates as a season: areas, shares, what was unknown."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.review.figures import MONTHS, NONE, WORDS, area_text, share_text
from cabapp.review.season import Line, Season, trips_words
from cabapp.review.sums import ALL, THINGS
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.shifts_draw import bar
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role

if TYPE_CHECKING:
    from cabapp.screens.pages.shifts import ShiftsPage

MUCH_UNKNOWN = 0.15  # from here on the unknown share stands out
ROW, PITCH = 92.0, 106.0


def rows_on(page: "ShiftsPage") -> int:
    """How many shifts stand on one page."""
    return max(1, int((page.paper.high - 98 - first_y(page) + 14) // pitch(page)))


def first_y(page: "ShiftsPage") -> float:
    return 164.0 if page.layout.small else 172.0


def pitch(page: "ShiftsPage") -> float:
    return 102.0 if page.layout.small else PITCH


def write_list(page: "ShiftsPage", paper: Paper) -> None:
    """A row each, by date, field or driver; under them the sum of all."""
    listing = page.listing
    beside = page.beside is not None
    title, line = ("Beside which?", "Tap the other shift") if beside else ("Shifts", _line(page))
    back = ("Shift", page.to_one) if beside else ("Drive", page.back)
    page.head(title, line, *back, right=page.right - (208 if beside else 624))
    page.side_key(0 if beside else 2, "order", page.reorder, "Sorted by", listing.order)
    if not beside:
        page.side_key(0, "copy", page.copy_all, "Copy")
        page.side_key(1, "dates", page.to_season, "Dates")
    _heads(page, paper)
    for n, one in enumerate(listing.on_page(rows_on(page))):
        _row(page, paper, one, first_y(page) + pitch(page) * n)
    _foot(page, paper)


def _line(page: "ShiftsPage") -> str:
    """The days listed, or that they are being read."""
    return span(page.listing.season) if page.listing.read else "Reading the shifts"


def span(season: Season) -> str:
    """``1 to 14 October``, or what to do where there is none."""
    days = [line.day for line in season.lines if line.day]
    if not days:
        return "A shift comes here when it was ended" if not season.lines else "no dates known"
    first, last = min(days), max(days)
    if first == last:
        return day(last, True)
    same = first[:7] == last[:7]
    return f"{int(first[8:]) if same else day(first)} to {day(last, True)}"


def day(iso: str, year: bool = False) -> str:
    """``14 October``."""
    words = f"{int(iso[8:])} {MONTHS[int(iso[5:7]) - 1]}"
    return f"{words} {iso[:4]}" if year else words


def short_day(iso: str) -> str:
    """``14 Oct``."""
    return f"{int(iso[8:])} {MONTHS[int(iso[5:7]) - 1][:3]}" if iso else "no date"


def across(page: "ShiftsPage", x: float) -> float:
    """A column's place, for wider and narrower panels."""
    return 24 + (x - 24) * (page.right - 24) / 1232


def _heads(page: "ShiftsPage", paper: Paper) -> None:
    y = first_y(page) - 14
    for x, words, align in (
        (40, "Day", "left"), (210, "Field", "left"), (470, "Driver", "left"),
        (774, "Area", "right"), (800, "In band", "left"), (1238, "Unknown", "right"),
    ):  # fmt: skip
        paper.say(words, across(page, x), y, 23, Role.SOFT, bold=False, align=align)


def _row(page: "ShiftsPage", paper: Paper, one: Line, y: float) -> None:
    wide = page.right - 24
    paper.fill(Role.SOFT, round_frame(24, y, wide, ROW, 14, 3))
    paper.touch(f"shift_{one.path.stem}", Rect(24, y, wide, ROW), partial(page.choose, one.path))
    foot = y + ROW / 2 + 14
    at = partial(across, page)
    paper.say(short_day(one.day), at(40), foot, 28, limit=at(200) - at(40))
    under = _under(page, one)
    name = one.field or "no field named"
    room = at(460) - at(210)
    paper.say(name, at(210), foot - (16 if under else 0), 28, limit=room)
    if under:
        paper.say(under, at(210), y + ROW - 12, 19, Role.SOFT, limit=room)
    paper.say(one.driver or NONE, at(470), foot - 1, 25, Role.SOFT, False,
              limit=at(624) - at(470))  # fmt: skip
    paper.say(area_text(one.gross_m2, page.units), at(774), foot, 28, align="right")
    _share(page, paper, one, y, foot)


def _under(page: "ShiftsPage", one: Line) -> str:
    """What to know of a shift besides its figures: that it goes on, lacks a part, or how bad."""
    if page.listing.is_live(one):
        return f"being driven, to {one.until}" if one.until else "being driven"
    if one.files.missing:
        return "first part missing"
    return one.worst if one.ended else "not ended"


def _share(page: "ShiftsPage", paper: Paper, one: Line, y: float, foot: float) -> None:
    share, at = one.shares[ALL], partial(across, page)
    bar(paper, share, Rect(at(800), y + ROW / 2 - 18, at(1020) - at(800), 36))
    paper.say(share_text(share, "in"), at(1122), foot, 28, align="right")
    unknown = share.ratio("unknown") or 0.0
    much = unknown >= MUCH_UNKNOWN
    paper.say(share_text(share, "unknown"), at(1238), foot, 28 if much else 24,
              Role.INK if much else Role.SOFT, much, align="right")  # fmt: skip


def _foot(page: "ShiftsPage", paper: Paper) -> None:
    listing, season, y = page.listing, page.listing.season, paper.high - 98
    end, pages = page.right, page.listing.pages(rows_on(page))
    if pages > 1:
        pair = (("later", "Later", -1, listing.leaf > 0),
                ("earlier", "Earlier", 1, listing.leaf + 1 < pages))  # fmt: skip
        for n, (name, word, step, on) in enumerate(pair):
            if on:
                paper.key(name, Rect(end - 190 - 208 * (1 - n), y, 190, 88),
                          partial(page.turn, step), word)  # fmt: skip
        end -= 416
    if not season.lines:
        return
    share = season.whole.share()
    words = f"{area_text(season.whole.gross_m2, page.units)} in {_shifts(season.whole.shifts)}"
    if share.percents() is not None:
        words += f", {share_text(share, 'in')} in band, {share_text(share, 'unknown')} unknown"
    paper.say(words, 24, y + 40, 28, limit=end - 24)
    faults = len(season.faults)
    files = f"{faults} file{'s' if faults != 1 else ''}"
    small = f"{files} could not be read" if faults else "Shares are of area, by pattern"
    small = listing.live.fault or small
    paper.say(small, 24, y + 76, 20, Role.SOFT, bold=False, limit=end - 24)


def _shifts(count: int) -> str:
    return f"{count} shift{'s' if count != 1 else ''}"


def write_season(page: "ShiftsPage", paper: Paper) -> None:
    """From a first to a last day: shares of each thing over all shifts, and a line for each rig."""
    chosen = page.listing.chosen()
    page.head("Season", span(chosen), "Shifts", page.to_list)
    _range_keys(page, paper)
    y = 284.0
    whole = chosen.whole
    for thing in THINGS:
        share = whole.share(thing)
        paper.say(WORDS[thing], 24, y + 30, 26, bold=thing == ALL)
        bar(paper, share, Rect(170, y, page.right - 170 - 320, 40))
        paper.say(share_text(share, "in"), page.right - 220, y + 31, 28, align="right")
        unknown = f"{share_text(share, 'unknown')} unknown"
        paper.say(unknown, page.right, y + 31, 24, Role.SOFT, False, align="right")
        y += 54
    y += 34
    paper.say(f"{area_text(whole.gross_m2, page.units)} in {_shifts(whole.shifts)}, "
              f"{trips_words(whole.trips)}", 24, y, 28, limit=page.right - 24)  # fmt: skip
    for rig in chosen.rigs[: int((page.bottom - y) // 42)]:
        y += 42
        share = rig.share()
        words = (
            f"{rig.name}: {area_text(rig.gross_m2, page.units)}, {share_text(share, 'in')} in "
            f"band, {share_text(share, 'unknown')} unknown, {trips_words(rig.trips)}"
        )
        paper.say(words, 24, y, 22, Role.SOFT, False, limit=page.right - 24)


def _range_keys(page: "ShiftsPage", paper: Paper) -> None:
    half = (page.right - 24 - 18) / 2
    for n, (name, words, iso) in enumerate(
        (("first", "From", page.listing.first_day), ("last", "To", page.listing.last_day))
    ):
        x = 24 + n * (half + 18)
        paper.say(words, x, 204, 26, Role.SOFT, False)
        paper.key(f"{name}_less", Rect(x + 84, 146, 94, 94), partial(page.step_day, name, -1),
                  sign="minus")  # fmt: skip
        paper.say(short_day(iso), x + 84 + 94 + (half - 272) / 2, 204, 30, align="middle")
        paper.key(f"{name}_more", Rect(x + half - 94, 146, 94, 94), partial(page.step_day, name, 1),
                  sign="plus")  # fmt: skip

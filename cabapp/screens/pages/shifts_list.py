"""The list of shifts, and a range of dates as a season: areas, shares, what was unknown."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.review.digits import MONTHS, NONE, area_text, hours_text, share_text
from cabapp.review.phrases import WORDS
from cabapp.review.season import Group, Line, Season
from cabapp.review.sums import ALL, LEVELS, THINGS
from cabapp.review.told import LEVEL_WORDS
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.shifts_draw import bar
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role
from cabapp.words import Level

if TYPE_CHECKING:
    from cabapp.screens.pages.shifts import ShiftsPage

MUCH_UNKNOWN = 0.15  # from here on the unknown share stands out
ROW, PITCH = 92.0, 106.0


def rows_on(page: "ShiftsPage") -> int:
    """How many shifts stand on one page."""
    return max(1, int((page.paper.high - 98 - first_y(page) + 14) // pitch(page)))


def first_y(page: "ShiftsPage") -> float:
    return 168.0 if page.layout.small else 172.0


def pitch(page: "ShiftsPage") -> float:
    return 102.0 if page.layout.small else PITCH


def write_list(page: "ShiftsPage", paper: Paper) -> None:
    """A row each, by date, field or driver; under them the sum of all."""
    listing = page.listing
    beside = page.beside is not None
    title, line = ("Beside which?", "Tap the other shift") if beside else ("Shifts", "")
    back = ("Shift", page.to_one) if beside else ("Drive", page.back)
    end = page.right - (208 if beside else 624)
    page.head(title, line or _line(page, end - 242 - 18), *back, right=end)
    page.side_key(0 if beside else 2, "order", page.reorder, f"By {listing.order}", "sorted")
    if not beside:
        page.side_key(0, "copy", page.copy_all, "Copy")
        page.side_key(1, "dates", page.to_season, "Dates")
    _heads(page, paper)
    for n, one in enumerate(listing.on_page(rows_on(page))):
        _row(page, paper, one, first_y(page) + pitch(page) * n)
    _foot(page, paper)


def _line(page: "ShiftsPage", room: float) -> str:
    """The days listed, or that they are being read."""
    if not page.listing.read:
        return "Reading the shifts"
    return page.paper.fitting(spans(page.listing.season), room, 24, False)


def spans(season: Season) -> tuple[str, ...]:
    """``1 to 14 October 2031``, then shorter; or what to do where there is none."""
    days = season.days
    if not days:
        none = "A shift comes here when it was ended"
        return (none, "None was ended yet") if not season.lines else ("no dates known",)
    first, last = days[0], days[-1]
    if first == last:
        return day(last), short_day(last, True)
    if first[:7] == last[:7]:
        return f"{int(first[8:])} to {day(last)}", f"{int(first[8:])} to {short_day(last, True)}"
    other = first[:4] != last[:4]
    begin = day(first) if other else day(first).rpartition(" ")[0]
    from_, to = short_day(first, other), short_day(last, True)
    months = f"{from_.partition(' ')[2]} to {to.partition(' ')[2]}"
    years = f"{first[:4]} to {last[:4]}" if other else months
    return f"{begin} to {day(last)}", f"{from_} to {to}", months, years


def day(iso: str) -> str:
    """``14 October 2031``."""
    return f"{int(iso[8:])} {MONTHS[int(iso[5:7]) - 1]} {iso[:4]}"


def short_day(iso: str, year: bool = False) -> str:
    """``14 Oct``, with its year ``14 Oct 2031``."""
    if not iso:
        return "no date"
    words = f"{int(iso[8:])} {MONTHS[int(iso[5:7]) - 1][:3]}"
    return f"{words} {iso[:4]}" if year else words


def across(page: "ShiftsPage", x: float) -> float:
    """A column's place, for wider and narrower panels."""
    return 24 + (x - 24) * (page.right - 24) / 1232


def _heads(page: "ShiftsPage", paper: Paper) -> None:
    y = first_y(page) - (8 if page.layout.small else 14)
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
    under = _under(page, one, at(460) - at(210))
    room = at(460) - at(210)
    name = one.field or paper.fitting(("No field named", "No field"), room, 28)
    paper.say(name, at(210), foot - (16 if under else 0), 28, limit=room)
    if under:
        paper.say(under, at(210), y + ROW - 12, 19, Role.SOFT, limit=room)
    paper.say(one.driver or NONE, at(470), foot - 1, 25, Role.SOFT, False,
              limit=at(624) - at(470))  # fmt: skip
    paper.say(area_text(one.gross_m2, page.units), at(774), foot, 28, align="right")
    _share(page, paper, one, y, foot)


def _under(page: "ShiftsPage", one: Line, room: float) -> str:
    """What to know of a shift besides its figures: that it goes on, lacks a part, or how bad."""
    if page.listing.is_live(one):
        until = f", to {one.until}" if one.until else ""
        return page.paper.fitting((f"being driven{until}", "being driven"), room, 19)
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
    area = f"{area_text(season.whole.gross_m2, page.units)} in {_shifts(season.whole.shifts)}"
    shares, trouble = _shares_words(season), _trouble(page)
    whole = f"{area}, {shares}" if shares else area
    if paper.fitting((whole, area), end - 24, 28) == whole:
        paper.say(whole, 24, y + 40, 28)
        small = trouble or "Shares are of area, by pattern"
        paper.say(small, 24, y + 76, 20, Role.SOFT, bold=False, limit=end - 24)
        return
    paper.say(f"{area}, {trouble}" if trouble else area, 24, y + 36, 26, limit=end - 24)
    paper.say(shares, 24, y + 76, 26, limit=end - 24)


def _shares_words(season: Season) -> str:
    share = season.whole.share()
    if share.percents() is None:
        return ""
    return f"{share_text(share, 'in')} in band, {share_text(share, 'unknown')} unknown"


def _trouble(page: "ShiftsPage") -> str:
    """Why something of the folder is not listed; "" where all is."""
    faults = len(page.listing.season.faults)
    files = f"{faults} file{'s' if faults != 1 else ''} could not be read"
    return page.listing.live.fault or (files if faults else "")


def _shifts(count: int) -> str:
    return f"{count} shift{'s' if count != 1 else ''}"


def write_season(page: "ShiftsPage", paper: Paper) -> None:
    """From a first to a last day: shares of each thing over all shifts, and a line for each rig."""
    chosen = page.listing.chosen()
    page.head("Season", paper.fitting(spans(chosen), page.right - 242, 24, False), "Shifts",
              page.to_list)  # fmt: skip
    _range_keys(page, paper)
    y, step = 268.0, 46.0 if page.layout.small else 54.0
    whole = chosen.whole
    for thing in THINGS:
        share = whole.share(thing)
        paper.say(WORDS[thing], 24, y + 30, 26, bold=thing == ALL)
        bar(paper, share, Rect(170, y, page.right - 170 - 320, step - 12))
        paper.say(share_text(share, "in"), page.right - 220, y + 31, 28, align="right")
        unknown = f"{share_text(share, 'unknown')} unknown"
        paper.say(unknown, page.right, y + 31, 24, Role.SOFT, False, align="right")
        y += step
    y += 38
    words = (f"{area_text(whole.gross_m2, page.units)} in {_shifts(whole.shifts)}, "
             f"{hours_text(whole.working_s)} in work")  # fmt: skip
    paper.say(words, 24, y, 28, limit=page.right - 24)
    y = paper.lines(". ".join(_told(whole)), 24, y + 36, 24, page.right - 24, 2, Role.SOFT, False)
    rigs = chosen.rigs if len(chosen.rigs) > 1 else ()
    room = max(int((page.bottom - y + 36) // 40), 1)
    for rig in rigs[: room if len(rigs) <= room else room - 1]:
        _rig(page, paper, rig, y)
        y += 40
    if len(rigs) > room:
        paper.say(f"and {len(rigs) - room + 1} more rigs", 24, y, 22, Role.SOFT, False)


def _told(whole: Group) -> tuple[str, str]:
    """Alerts by level, and trips by shank."""
    counts: dict[Level, int] = {}
    for rule, count in whole.alerts.items():
        if rule in LEVELS:
            counts[LEVELS[rule]] = counts.get(LEVELS[rule], 0) + count
    alerts = [f"{counts[level]} {word}" for level, word in LEVEL_WORDS.items() if level in counts]
    trips = [f"shank {shank}: {count}" for shank, count in sorted(whole.trips.items())]
    tripped = ", ".join(trips) or ("none" if whole.counted else "no spring sensors")
    return (f"Alerts: {', '.join(alerts) or 'none'}", f"Trips: {tripped}")


def _rig(page: "ShiftsPage", paper: Paper, rig: Group, y: float) -> None:
    """A rig and its tractor, with its own figures lined up under the shares."""
    share = rig.share()
    paper.say(rig.name, 24, y, 22, Role.SOFT, False, limit=page.right - 24 - 560)
    paper.say(area_text(rig.gross_m2, page.units), page.right - 380, y, 24, align="right")
    paper.say(share_text(share, "in"), page.right - 220, y, 24, align="right")
    unknown = f"{share_text(share, 'unknown')} unknown"
    paper.say(unknown, page.right, y, 24, Role.SOFT, False, align="right")


def _range_keys(page: "ShiftsPage", paper: Paper) -> None:
    half = (page.right - 24 - 36) / 2
    for n, (name, words, iso) in enumerate(
        (("first", "From", page.listing.first_day), ("last", "To", page.listing.last_day))
    ):
        x = 24 + n * (half + 36)
        keys = x + 104 if n == 0 else x + 64
        paper.say(words, x, 204, 26, Role.SOFT, False)
        less, more = (partial(page.step_day, name, step) for step in (-1, 1))
        paper.key(f"{name}_less", Rect(keys, 146, 94, 94), less, sign="minus")
        paper.key(f"{name}_more", Rect(x + half - 94, 146, 94, 94), more, sign="plus")
        middle = (keys + 94 + x + half - 94) / 2
        paper.say(short_day(iso, True), middle, 204, 28, align="middle",
                  limit=x + half - keys - 200)  # fmt: skip

"""Digs during the day, shown against the sensor at once; and the wear book."""

from dataclasses import dataclass, replace
from functools import partial
from typing import TYPE_CHECKING

from cabapp.engine.wire import RigWritten
from cabapp.events import TapKind
from cabapp.record.rigfile import RigFile
from cabapp.record.safewrite import FileFault
from cabapp.rig import Rig
from cabapp.rigfault import RigError
from cabapp.screens.pages.keypad import keypad
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN
from cabapp.screens.pages.setup_ground import Line, slots
from cabapp.screens.pages.setup_list import boxed, where_and_when
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role
from cabapp.screens.typing import Typed
from cabapp.units import ACRE_M2, HECTARE_M2, INCH_M, UnitSystem
from cabapp.walk.dug import Pair, agreement, off_words
from cabapp.walk.entries import EntryFault, doubt_of, read_value
from cabapp.walk.findings import length_figure
from cabapp.walk.wear import PARTS, WearLine, wear_of, wear_words

if TYPE_CHECKING:
    from cabapp.screens.pages.setup import SetupPage

LONGEST_M = {"points": 24 * INCH_M, "discs": 40 * INCH_M}


@dataclass
class Bench:
    """What is being entered outside the steps."""

    part: str = "points"
    what: str = "length_m"  # of a wear line: its length, area or hours
    line: WearLine | None = None
    said: str = ""


def _length_unit(page: "SetupPage") -> str:
    return "in" if page.units is UnitSystem.US else "cm"


def _sides(page: "SetupPage") -> tuple[Rect, Rect]:
    """Left part and keypad."""
    right, bottom = page.right, page.bottom
    if page.layout.small:
        return Rect(24, 156, right - 546 - 48, bottom - 156), Rect(right - 546, 24, 546,
                                                                  bottom - 24)  # fmt: skip
    return Rect(24, 134, 760, bottom - 134), Rect(826, 134, right - 826, bottom - 264)


def write_dug(page: "SetupPage") -> None:
    """One depth typed; what the sensor says there; and the offset once three digs agree."""
    left, side = _sides(page)
    _head(page, "Dug", "At a shank, from the untouched surface to the bottom of the slot")
    _typing(page, _length_unit(page))
    pairs, paper = page.book.pairs(), page.paper
    sensor = page.snapshot.depth.value_m if page.snapshot else None
    small = page.layout.small
    cautions = page.opened.walk.short if small else page.opened.walk.cautions
    caution = cautions["leave_seat"]
    y = page.caution(caution, left.x, left.y + 4, left.w, 3)
    if not small:
        named = []
        if sensor is not None and sensor > 0.0:  # lifted, it reads what is above the ground
            named = [Line(sensor, f"live {length_figure(sensor, page.units)}", True)]
        shown: dict[int, float | None] = {1: None}
        shown |= {i + 1: pair.dug_m for i, pair in enumerate(pairs[-3:])}
        slots(paper, Rect(left.x, y + 4, left.w - 300, left.bottom - 150 - y), shown, None,
              named, (None, None))  # fmt: skip
    _value(page, Rect(left.x + (0 if small else 480), y + 14, left.w - (0 if small else 480), 100))
    words = page.bench.said or (off_words(pairs[-1], page.units) if pairs else "Nothing dug yet")
    found = agreement(pairs, page.units)
    foot = left.bottom - 112
    box = Rect(left.x, foot - (24 if small else 0), left.w if small else page.right - 24 - 320, 112)
    if small:
        box = Rect(left.x, y + 122, left.w, left.bottom - y - 122 - 122)
    boxed(page, box, bool(page.asking.refused))
    text = page.asking.refused or words
    ink = Role.ON_LOOK if page.asking.refused else Role.INK
    below = paper.lines(text, box.x + 20, box.y + 36, 24, box.w - 40, 3, ink, pitch=1.42)
    if not page.asking.refused:
        paper.lines(found.words, box.x + 20, below + 4, 24 if small else 20, box.w - 40, 2,
                    Role.SOFT, False, 1.42)  # fmt: skip
    if page.asking.doubt is not None:
        _doubt_keys(page, side)
    else:
        keypad(paper, page.asking.typed, page.press, lambda: _dug(page), side, ("in", "cm"))
    if found.offset_m is not None and page.rig.fitted("depth"):
        key = Rect(page.right - 300, page.bottom - 104, 300, 104)
        if small:
            key = Rect(left.x, left.bottom - 108, left.w, 108)
        paper.key("offset", key, lambda: _use_offset(page, found.offset_m or 0.0),
                  "Use as", "field offset", look=GO, high=28)  # fmt: skip


def _head(page: "SetupPage", title: str, line: str) -> None:
    small = page.layout.small
    end = page.right - 546 - 18 if small else page.right
    page.head(title, "" if small else line, "Steps", lambda: _leave(page), end)


def _leave(page: "SetupPage") -> None:
    page.bench = Bench()
    page.asking.typed = Typed()
    page.go(Room.LIST)


def _typing(page: "SetupPage", unit: str) -> None:
    if not page.asking.typed.unit:
        page.asking.typed = replace(page.asking.typed, unit=unit)


def _value(page: "SetupPage", r: Rect) -> None:
    paper, typed = page.paper, page.asking.typed
    boxed(page, r)
    wide = paper.say(typed.unit, r.right - 20, r.y + r.h / 2 + 18, 26, Role.SOFT, False,
                     align="right")  # fmt: skip
    paper.say(typed.text, r.right - 34 - wide, r.y + r.h / 2 + 20, 40, align="right",
              limit=r.w - wide - 60)  # fmt: skip


def _doubt_keys(page: "SetupPage", r: Rect) -> None:
    doubt = page.asking.doubt
    assert doubt is not None
    y = page.paper.lines(doubt.words, r.x, r.y + 40, 30, r.w, 4, pitch=1.4)
    for i, (name, words) in enumerate((("instead", doubt.instead), ("keep", doubt.keep))):
        rect = Rect(r.x, y + 8 + i * 124, r.w, 106)
        page.paper.key(name, rect, partial(_settle, page, name == "keep"), words, high=30)


def _settle(page: "SetupPage", keep: bool) -> None:
    doubt, typed = page.asking.doubt, page.asking.typed
    page.asking.doubt = None
    if doubt is not None and not keep:
        page.asking.typed = replace(typed, unit=doubt.instead_unit)
    _dug(page, sure=True)


def _dug(page: "SetupPage", sure: bool = False) -> None:
    """A dig is taken: into the book with what the sensor said, and to the engine in metres."""
    ask = page.opened.walk.step("shank_depth").ask("dug")
    typed = page.asking.typed
    if typed.empty:
        return
    try:
        value = read_value(ask, typed.text, typed.unit)
    except EntryFault as error:
        page.refuse(str(error))
        return
    page.asking.doubt = None if sure else doubt_of(ask, typed.text, typed.unit)
    if page.asking.doubt is not None:
        page.again()
        return
    assert isinstance(value, float)
    sensor = page.snapshot.depth.value_m if page.snapshot else None
    if page.keep(lambda: page.book.dig(Pair(value, sensor))):
        page.way.send(TapKind.DUG, value)
        page.bench.said = ""
        page.asking.typed = Typed(unit=typed.unit)
    page.again()


def with_offset(rig: Rig, offset_m: float) -> Rig:
    """The rig with every calibrated depth sensor moved by an offset, metres, deeper positive."""
    return replace(
        rig,
        sensors=tuple(
            replace(one, curve=replace(one.curve, offset=one.curve.offset + offset_m))
            if one.curve is not None and one.channel.startswith("depth")
            else one
            for one in rig.sensors
        ),
    )


def _use_offset(page: "SetupPage", offset_m: float) -> None:
    try:
        RigFile(page.home.rig).write(with_offset(page.rig, offset_m))
    except (FileFault, RigError, OSError) as error:
        page.refuse(str(error))
        return
    page.rig = RigFile(page.home.rig).open().rig
    if page.keep(lambda: page.book.offset_used(offset_m)):
        page.way.tell(RigWritten())
        page.bench.said = "Field offset set; the old rig file is kept"
    page.again()


# -- wear ----------


def write_wear(page: "SetupPage") -> None:
    """Points and discs: fitted new, or measured after so much ground and so many hours."""
    left, side = _sides(page)
    _head(page, "Wear", where_and_when(page))
    paper, lines, bench = page.paper, page.book.wear(), page.bench
    half = (left.w - 18) / 2
    y = left.y
    for i, part in enumerate(PARTS):
        look = CHOSEN if part == bench.part else PLAIN
        rect = Rect(left.x + i * (half + 18), y, half, 106)
        paper.key(f"part_{part}", rect, partial(_part, page, part), part.capitalize(), look=look)
    wear = wear_of(bench.part, lines)
    words = wear_words(wear, page.units) if wear else "Not fitted new in this book yet"
    since = f"{bench.part.capitalize()} since {wear.since}: " if wear else ""
    small = page.layout.small
    paper.lines(since + words, left.x, y + 138, 24, left.w, 2, pitch=1.42)
    _wear_rows(page, Rect(left.x, y + 196, left.w, 114 if small else 292))
    for i, (name, label, fitted) in enumerate(
        (("fitted", "Fitted new", True), ("measured", "Measured now", False))
    ):
        rect = Rect(left.x + i * (half + 18), page.bottom - 106, half, 106)
        paper.key(name, rect, partial(_put_wear, page, fitted), label, high=24 if small else 28)
    if page.asking.refused:
        box = Rect(side.x, page.bottom - 104, side.w, 104)
        if page.layout.small:
            box = Rect(left.x, left.y + 112, left.w, 80)
        boxed(page, box, True)
        paper.lines(page.asking.refused, box.x + 20, box.y + 34, 20, box.w - 40, 3, Role.ON_LOOK,
                    pitch=1.42)  # fmt: skip
    _typing(page, _wear_unit(page))
    keypad(paper, page.asking.typed, page.press, lambda: _wear_value(page), side)


ROWS = (("length_m", "Length now"), ("area_m2", "Ground since fitted"), ("hours", "Hours since"))


def _wear_unit(page: "SetupPage") -> str:
    us = page.units is UnitSystem.US
    units = {"length_m": "in" if us else "cm", "area_m2": "ac" if us else "ha", "hours": "h"}
    return units[page.bench.what]


def _wear_rows(page: "SetupPage", r: Rect) -> None:
    """The line in hand: its three figures, or on a small panel the one in hand."""
    bench, small = page.bench, page.layout.small
    shown = [row for row in ROWS if not small or row[0] == bench.what]
    high = (r.h - 14 * (len(shown) - 1)) / len(shown)
    for i, (key, label) in enumerate(shown):
        rect = Rect(r.x, r.y + i * (high + 14), r.w, high)
        words = "Diameter now" if key == "length_m" and bench.part == "discs" else label
        _wear_row(page, rect, key, words)


def _wear_row(page: "SetupPage", rect: Rect, key: str, words: str) -> None:
    paper, bench = page.paper, page.bench
    now, unit = key == bench.what, _unit_of(page, key)
    text = page.asking.typed.text if now else ""
    value = getattr(bench.line, key) if bench.line is not None else None
    if not text and value is not None:
        text = f"{value / _size(unit):g}"
    names = [name for name, _ in ROWS]
    following = names[(names.index(key) + 1) % 3] if now else key
    paper.touch(f"wear_{key}", rect, partial(_what, page, following))
    paper.fill(Role.WANTED if now else Role.HAIRLINE,
               round_frame(rect.x, rect.y, rect.w, rect.h, 14, 7 if now else 3))  # fmt: skip
    middle = rect.y + rect.h / 2
    role = Role.WANTED if now else Role.SOFT
    wide = paper.say(words, rect.x + 20, middle + 11, 24, role, False, limit=rect.w * 0.6)
    paper.say(f"{text} {unit}".strip(), rect.right - 20, middle + 13, 28, align="right",
              limit=rect.w - wide - 60)  # fmt: skip


def _unit_of(page: "SetupPage", key: str) -> str:
    us = page.units is UnitSystem.US
    return {"length_m": "in" if us else "cm", "area_m2": "ac" if us else "ha", "hours": "h"}[key]


def _size(unit: str) -> float:
    return {"in": INCH_M, "cm": 0.01, "ac": ACRE_M2, "ha": HECTARE_M2, "h": 1.0}[unit]


def _part(page: "SetupPage", part: str) -> None:
    page.bench = Bench(part)
    page.asking.typed = Typed()
    page.again()


def _what(page: "SetupPage", key: str) -> None:
    page.bench.what = key
    page.asking.typed = Typed(unit=_unit_of(page, key))
    page.again()


def _wear_value(page: "SetupPage") -> None:
    """A figure is taken into the line in hand; then the next one is asked."""
    bench = page.bench
    if page.asking.typed.empty:
        return
    number = page.typed_number()
    if number is None:
        return
    value = number * _size(page.asking.typed.unit)
    if bench.what == "length_m" and not 0 < value <= LONGEST_M[bench.part]:
        page.refuse("This length does not fit a point or a disc; look at the unit, measure again")
        return
    line = bench.line or WearLine(bench.part, False, None, None, None, "")
    changed = {bench.what: value}
    bench.line = replace(line, **changed)  # type: ignore[arg-type]
    names = [key for key, _ in ROWS]
    _what(page, names[min(names.index(bench.what) + 1, 2)])


def _put_wear(page: "SetupPage", fitted: bool) -> None:
    line = page.bench.line
    if line is None or line.length_m is None:
        page.refuse("Measure the length first, and enter it")
        return
    if page.keep(lambda: page.book.worn(replace(line, part=page.bench.part, fitted=fitted))):
        page.bench = Bench(page.bench.part)
        page.asking.typed = Typed()
    page.again()

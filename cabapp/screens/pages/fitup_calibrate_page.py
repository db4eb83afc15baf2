"""The page of one sensor's calibration: stages, points, plot, what it says now, the verdict."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.fitup.calibrate_view import Act, Button, CalibrateView, Drawn, Stage, TableRow
from cabapp.fitup.pages import UNDER, WEIGHTS
from cabapp.fitup.points import Approach
from cabapp.fitup.sensors import sensor_words
from cabapp.fitup.session import CalibrationSession
from cabapp.fitup.stillness import Standing
from cabapp.screens.pages.fitup_asks import plate
from cabapp.screens.pages.fitup_plot import draw_off, draw_plot
from cabapp.screens.pages.paper import GO, PLAIN, QUIET, Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, round_frame
from cabapp.screens.theme import Role

if TYPE_CHECKING:
    from cabapp.screens.pages.fitup_calibrate import CalibrateLeaf

KEY = 88.0  # a key's height


def write_session(leaf: "CalibrateLeaf", paper: Paper, session: CalibrationSession) -> None:
    """Draw it whole; what its keys do is the leaf's."""
    view = leaf.view()
    sensor = leaf.sensor
    if view is None or sensor is None:
        return
    small = paper.layout.small
    line = f"{sensor.wire_name}, serial {view.serial or 'none'}"
    if small:
        line = f"{sensor.wire_name}: {view.taken}"
    stages = 5 * 52.0 if small else 4 * 104 + 106.0
    leaf.shell.head(
        sensor_words(sensor), line, "Back", leaf.to_choice, right=leaf.shell.right - stages
    )
    _stages(leaf, paper, view, leaf.shell.right - stages + 14)
    foot = leaf.shell.bottom - 104 - 14 - (50 if small else 60)
    table = 430.0 if small else 476.0
    card = 330.0 if small else 290.0
    plot_x = 24 + table + (30 if small else 40)
    plot_wide = leaf.shell.right - card - (24 if small else 26) - plot_x
    _table(leaf, paper, view, session.task.measure.unit, table, foot)
    _middle(leaf, paper, view, Rect(plot_x, 134, plot_wide, foot - 134))
    _now(leaf, paper, view, Rect(leaf.shell.right - card, 134, card, foot - 134))
    _foot(leaf, paper, view, foot)


def _stages(leaf: "CalibrateLeaf", paper: Paper, view: CalibrateView, x: float) -> None:
    small = paper.layout.small
    lift = 10.0 if small else 0.0
    for n, stage in enumerate(Stage):
        place = x + (52 if small else 104) * n
        here = stage is view.stage
        if here:
            paper.fill(Role.WANTED, round_frame(place - 8, 42 - lift, 50, 50, 4, 6))
        paper.sign("done" if stage in view.done else "to_do", place, 50 - lift, 34)
        if here and small:
            paper.say(stage.value, leaf.shell.right, 122, 22, align="right")
        elif not small:
            ink = Role.INK if here else Role.SOFT
            paper.say(stage.value, place, 117, 22, ink, here, limit=96)


def _table(
    leaf: "CalibrateLeaf", paper: Paper, view: CalibrateView, unit: str, wide: float, foot: float
) -> None:
    shares = (0.215, 0.47, 0.735) if paper.layout.small else (0.24, 0.50, 0.75)
    x = (*(24 + share * wide for share in shares), 24 + wide - 8)
    small = paper.layout.small
    known = unit if small else f"Known, {unit}"
    end = x[0] if small else 24 + paper.over.width_of(known, 22, False)
    for place, word in zip((end, *x[1:]), (known, "Up", "Down", "Off by"), strict=True):
        paper.say(word, place, 156, 22, Role.SOFT, False, align="right")
    pitch = 58.0
    fits = int((foot - 166) // pitch)
    current = leaf.row or len(view.rows)
    first = max(0, min(current - fits + 1, len(view.rows) - fits))
    for n, row in enumerate(view.rows[first : first + fits]):
        _row(leaf, paper, row, Rect(24, 168 + pitch * n, wide, pitch - 6), x)
    if not view.rows:
        paper.lines("Touch Add and type the first value you know.", 34, 210, 26, wide - 20, 3)


def _row(leaf: "CalibrateLeaf", paper: Paper, row: TableRow, r: Rect, x: tuple[float, ...]) -> None:
    ink = Role.INK
    if row.drawn is Drawn.ODD:
        paper.fill(Role.LOOK, box(r.x, r.y, r.w, r.h))
        paper.fill(Role.INK, round_frame(r.x, r.y, r.w, r.h, 3, 5))
        ink = Role.ON_LOOK
    elif row.drawn is Drawn.NOW:
        paper.fill(Role.WANTED, round_frame(r.x, r.y, r.w, r.h, 3, 5))
    else:
        paper.fill(Role.HAIRLINE, box(r.x, r.bottom + 2, r.w, 2))
    if row.drawn is Drawn.LEFT_OUT:
        ink = Role.SOFT
    foot = r.y + r.h / 2 + 13
    small = paper.layout.small
    paper.say(row.known, x[0], foot, 26, ink, align="right")
    if row.note:
        note = "take now" if small else row.note
        paper.say(note, x[0] + 22, foot, 24, Role.WANTED, limit=r.right - x[0] - 32)
    else:
        paper.say(row.up, x[1], foot, 26, ink, align="right")
        paper.say(row.down, x[2], foot, 26, ink, align="right")
        left = row.drawn is Drawn.LEFT_OUT
        room = x[3] - x[2] - 6
        off = paper.fitting(("left out", "out"), room, 20) if left else row.off
        paper.say(off, x[3], foot, 20 if left else 26, ink, align="right", limit=room)
    paper.touch(f"row_{row.number}", r, partial(leaf.choose_row, row.number))


def _middle(leaf: "CalibrateLeaf", paper: Paper, view: CalibrateView, r: Rect) -> None:
    keys = r.bottom - KEY
    off_high = 0.0 if paper.layout.small else 128.0
    plot = Rect(r.x, r.y + 16, r.w, keys - 14 - r.y - 16 - off_high)
    draw_plot(paper, plot, view.plot, view.unit, view.now.unit)
    if off_high:
        paper.say(view.allowed, r.x, plot.bottom + 32, 20, Role.SOFT, False, limit=r.w)
        draw_off(paper, Rect(r.x, plot.bottom + 42, r.w, 78), view.off)
    half = (r.w - 14) / 2
    undo = PLAIN if leaf.session and leaf.session.steps else QUIET
    paper.key("undo", Rect(r.x, keys, half, KEY), leaf.undo, "Undo", look=undo)
    paper.key("add", Rect(r.x + half + 14, keys, half, KEY), leaf.add, "Add", "a value")


def _now(leaf: "CalibrateLeaf", paper: Paper, view: CalibrateView, r: Rect) -> None:
    now, small = view.now, paper.layout.small
    paper.fill(Role.HAIRLINE, round_frame(r.x, r.y, r.w, r.h, 12, 3))
    x, wide = r.x + 22, r.w - 44
    value_foot = r.y + (54 if small else 108)
    if not small:
        paper.say("Now", x, r.y + 40, 22, Role.SOFT, False)
    unit = paper.say(now.unit, r.right - 22, value_foot, 26, Role.SOFT, False, align="right")
    high = 42 if small or len(now.value) > 6 else 52
    paper.say(now.value or "–", x, value_foot, high, digits=True, limit=wide - unit - 8)
    fit = now.by_fit
    if paper.over.width_of(fit, max(20.0, paper.floor), False) > wide:
        fit = fit.replace(" past points", ", past")
    paper.say(fit, x, value_foot + 34, 20, Role.SOFT, False, limit=wide)
    word = value_foot + (68 if small else 88)
    paper.say(now.word, x, word, 26, limit=wide - 46)
    steady = leaf.look().standing is Standing.STEADY
    paper.sign("done" if steady else "to_do", r.right - 56, word - 30, 34)
    paper.fill(Role.HAIRLINE, box(x, word + 10, wide, 10))
    if now.filled > 0:
        paper.fill(Role.INK, box(x, word + 10, wide * now.filled, 10))
    if not small:
        paper.say(now.bounds, x, word + 58, 20, Role.SOFT, False, limit=wide)
    _take_keys(leaf, paper, view, r)


def _take_keys(leaf: "CalibrateLeaf", paper: Paper, view: CalibrateView, r: Rect) -> None:
    take = view.now.take.rpartition(",")[0] or "Take"
    for n, approach in enumerate(Approach):
        rect = Rect(r.x + 12, r.bottom - 12 - (2 - n) * KEY - (1 - n) * 12, r.w - 24, KEY)
        likely = leaf.session is not None and leaf.approach(leaf.session) is approach
        look = (GO if likely else PLAIN) if view.now.may_take else QUIET
        paper.key(
            f"take_{approach.value}",
            rect,
            partial(leaf.take, approach),
            take,
            f"going {approach.value}",
            look=look,
        )


def _foot(
    leaf: "CalibrateLeaf",
    paper: Paper,
    view: CalibrateView,
    foot: float,
) -> None:
    right = leaf.shell.right
    caution = WEIGHTS if leaf.by_loads else UNDER
    count = 0.0
    if not paper.layout.small:  # there it stands under the title
        count = paper.say(view.taken, right, foot + 44, 22, Role.SOFT, False, align="right") + 20
    leaf.shell.caution(caution, 24, foot + 11, right - 24 - count, 1)
    gap = 204.0 if paper.layout.small else 222.0
    y = leaf.shell.bottom - 104
    headline, line, buttons, refused = _verdict(leaf, view)
    wide = right - 24 - gap * len(buttons)
    plate(paper, Rect(24, y, wide, 104), headline, line, refused)
    for n, button in enumerate(buttons):
        rect = Rect(right - gap * (len(buttons) - n) + 16, y + 8, gap - 16, KEY)
        look = GO if button.act is Act.ACCEPT else PLAIN
        paper.key(
            f"verdict_{n}",
            rect,
            partial(leaf.act, button),
            button.text,
            look=look,
            high=24 if paper.layout.small else 27,
        )


def _verdict(
    leaf: "CalibrateLeaf", view: CalibrateView
) -> tuple[str, str, tuple[Button, ...], bool]:
    """The signal's own trouble comes before what is said of the points."""
    assert leaf.session is not None
    signal = leaf.still.finding(leaf.work.now, leaf.session.task.signal)
    if signal is None and leaf.look().standing is Standing.SILENT:
        return "Nothing is heard of it", "Check plug, cable and page Plugs.", (), True
    if signal is not None:
        return signal.what, signal.mend, (), True
    if not view.rows and leaf.session.safe:
        line = "Clearances under a point are below 0."
        if leaf.by_loads:
            line = "0 hanging free first, then loads well apart."
        return "Type a value you know", line, (), False
    return view.headline, view.line, view.buttons, view.refused and bool(view.rows)

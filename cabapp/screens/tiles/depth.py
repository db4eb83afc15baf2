"""Depth at the shanks: a large number, the target, how level it sits, and the cut beside them."""

from cabapp.outcome import DepthView, TileState
from cabapp.screens.figures import (
    area_unit,
    depth_in,
    depth_step,
    lost_text,
    round_area,
    span_text,
    target_text,
    whole_and_half,
)
from cabapp.screens.ink import Part, Say, Tile
from cabapp.screens.motion import Glide, Numeral
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import box, line, poly
from cabapp.screens.theme import Role
from cabapp.screens.tiles.cut import Cut
from cabapp.screens.tiles.plate import LOST, MARKS, ON_PLATE, Edge, Plate
from cabapp.units import UnitSystem, shown_unit

REST = DepthView(TileState.STARTING)
JUDGED = (TileState.IN_BAND, TileState.ABOVE, TileState.BELOW, TileState.ACT)
FOOT = 226.0  # of the digits
UNITS_RIGHT = 228.0  # right end of the whole number
TARGET_FOOT = 351.0
LOST_FOOT = 208.0
LEVEL_Y = 397.0
LEVEL_END = 1.0  # side: the ends of the picture
LEVEL_LIMIT = 1 / 2.8  # of the end: where the bracket stops


class DepthTile(Tile):
    """Shows a DepthView; knows no rule."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout, "depth")
        self.view, self.units, self.act = REST, UnitSystem.US, False
        self.numeral, self.side = Numeral(), Glide(least=0.03)
        cut_x = 350.0 if layout.small else 356.0
        self.edge = Edge(self)
        self.cut = Cut(self, cut_x, self.rect.w - 18 - cut_x, layout.small)
        self.bars = Part(self, Role.INK)
        self.level_band = Part(self, Role.WANTED)
        self.level_bar = Part(self, Role.INK)
        self.label = Say(self, 26, 60, 31, Role.SOFT, bold=False)
        self.large = Say(self, UNITS_RIGHT, FOOT, 139, bold=False, digits=True, align="right")
        self.small = Say(self, 26, FOOT, 62, digits=True)
        self.over = Part(self, Role.INK)
        self.half = tuple(
            Say(self, 266, y, 62, digits=True, align="middle") for y in (FOOT - 79, FOOT)
        )
        self.small_half = tuple(Say(self, 0, y, 31, align="middle") for y in (0.0, 0.0))
        self.dug_word = Say(self, 26, 202, 31, Role.SOFT, bold=False)
        self.dug_number = Say(self, 26, 202, 62, digits=True)
        self.lines = tuple(
            Say(self, 26, y, 31, Role.SOFT, bold=False, limit=cut_x - 30) for y in (250, 291)
        )
        self.lost_word = Say(self, 26, LOST_FOOT, 37, limit=cut_x - 28)
        self.lost_lines = tuple(Say(self, 26, y, 31, limit=cut_x - 30) for y in (252, 294))
        self.target = Say(self, 26, TARGET_FOOT, 31, Role.WANTED, limit=cut_x - 30)
        self.ends = tuple(
            Say(self, x, LEVEL_Y + 15.5, 31, Role.SOFT, bold=False, align="middle")
            for x in (36.0, 298.0)
        )
        self.plate = Plate(self)
        self.pair = Plate(self, 31)  # two words: which end is low

    def show(self, view: DepthView, units: UnitSystem, now: float, act: bool = False) -> None:
        """Take a new view; only what differs is drawn again. ``act`` while an ACT is up."""
        self.view, self.units, self.act = view, units, act
        self.edge.show(view.state, view.framed, now)
        self.label.put(f"Depth, {shown_unit('depth', units)}")
        aim = view.target_m
        self.target.put("" if aim is None else f"Target {target_text(aim, units)}")
        self._mark()
        self._lost()
        self._dug()
        self._number(now)
        self._level(now)
        self.cut.show(view, now)

    def tick(self, now: float) -> bool:
        """Move the tool, the level and the fresh frame."""
        steps = self.edge.tick(now)
        if self.numeral.due is not None and now >= self.numeral.due:
            self._number(now)
        self._draw_level(now)
        waits = self.numeral.due is not None
        return self.cut.tick(now) or self.side.moving(now) or steps or waits

    def settle(self) -> None:
        """Stand still at once."""
        self.edge.settle()
        self.side.settle()
        self._draw_level(0.0)
        self.cut.settle()

    def _mark(self) -> None:
        view, state = self.view, self.view.state
        mark = MARKS.get(state, "")
        self.pair.hide()
        if state is TileState.ACT or (view.framed and view.word and state not in LOST):
            self.plate.hide()
            plate = self.pair if " " in view.word else self.plate
            plate.alert(ON_PLATE.get(state, "look"), view.word, 26, 243, 55, state is TileState.ACT)
        elif state is TileState.LIFTED:
            self.plate.plain(mark, view.word or "LIFTED", 27, 290)
        elif state is TileState.NOT_LIVE:
            self.plate.plain(mark, "NOT LIVE", 27, 119)
        elif state is TileState.STARTING:
            self.plate.mark_only(mark, 26, 82, 116)
        elif state is TileState.FREE:
            self.plate.plain("", view.word, 27, 290)
        else:
            self.plate.corner(state, 331, 26, self.act or view.framed)

    def _lost(self) -> None:
        state = self.view.state
        lost, starting = state in LOST, state is TileState.STARTING
        self.bars.put(*((box(26, 114, 92, 22), box(144, 114, 92, 22)) if lost else ()))
        one, two = self.lost_lines
        self.lost_word.put("NO READING" if lost else "STARTING" if starting else "")
        if state is TileState.OUT_OF_USE:
            one.put("out of use")
            two.put("this shift")
        else:
            one.put(lost_text(self.view.lost_s) if lost else "")
            two.put("")

    def _dug(self) -> None:
        view, (one, two) = self.view, self.lines
        if view.state is not TileState.NOT_LIVE:
            for say in (self.dug_word, self.dug_number, one, two):
                say.put("")
            self._fraction(False, 0, 0, large=False)
            return
        if view.dug is None:
            self.dug_word.put("not dug yet")
            for say in (self.dug_number, one, two):
                say.put("")
            self._fraction(False, 0, 0, large=False)
            return
        whole, half = self._split(depth_in(view.dug.depth_m, self.units))
        self.dug_word.put("dug")
        x = 26 + self.dug_word.wide + 18
        self.dug_number.put(whole, x=x)
        self._fraction(half, x + self.dug_number.wide + 30, 202, large=False)
        one.put(f"{span_text(view.dug.age_s)} and")
        two.put(f"{round_area(view.dug.area_m2, self.units)} {area_unit(self.units)} ago")

    def _split(self, depth: float) -> tuple[str, bool]:
        if self.units is UnitSystem.US:
            return whole_and_half(depth)
        return f"{depth:.0f}".replace("-", "−"), False

    def _number(self, now: float) -> None:
        view = self.view
        if view.value_m is None or view.state is TileState.NOT_LIVE:
            self.numeral = Numeral()
            self.large.put("")
            self.small.put("")
            if view.state is not TileState.NOT_LIVE:
                self._fraction(False, 0, 0, large=True)
            return
        judged = view.state in JUDGED
        depth = self.numeral.read(
            depth_in(view.value_m, self.units), depth_step(self.units), (judged, self.units), now
        )
        whole, half = self._split(depth)
        self.large.put(whole if judged else "")
        self.small.put("" if judged else whole)
        x = UNITS_RIGHT + 38 if judged else 26 + self.small.wide + 30
        self._fraction(half, x, FOOT, large=judged)

    def _fraction(self, half: bool, x: float, foot: float, large: bool) -> None:
        big, little = (self.half, self.small_half) if large else (self.small_half, self.half)
        for say in little:
            say.put("")
        if not half:
            for say in big:
                say.put("")
            self.over.put()
            return
        top, low = big
        top.put("1", x=x, y=foot - (79 if large else 38))
        low.put("2", x=x, y=foot if large else foot + 7)
        bar, y, thick = (23, foot - 73, 8) if large else (13, foot - 34, 5)
        self.over.put(box(x - bar, y, 2 * bar, thick))

    # -- how level it sits, seen from behind: a beam between two brackets -------------------------

    def _level(self, now: float) -> None:
        side = self.view.side
        known = side is not None and not self.layout.small and self.view.state in JUDGED
        if side is None or not known:
            self.side.forget()
        else:
            self.side.aim(max(-LEVEL_END, min(LEVEL_END, side)), now)
        for say, word in zip(self.ends, ("L", "R"), strict=True):
            say.put(word if known else "")
        self._draw_level(now)

    def _draw_level(self, now: float) -> None:
        if not self.side.placed or not self.ends[0].text:
            self.level_band.put()
            self.level_bar.put()
            return
        left, right, reach = 66.0, 268.0, 6 + LEVEL_LIMIT * 24.0
        lean = self.side.at(now) / LEVEL_END * 24.0 if self.side.placed else 0.0
        y = LEVEL_Y
        self.level_band.put(
            *(
                part
                for x, way in ((left, 1), (right, -1))
                for part in (
                    box(x - (0 if way > 0 else 8), y - reach - 7, 8, 2 * reach + 14),
                    box(x - (0 if way > 0 else 22), y - reach - 7, 22, 7),
                    box(x - (0 if way > 0 else 22), y + reach, 22, 7),
                )
            )
        )
        self.level_bar.put(
            line(left + 14, y + lean, right - 14, y - lean, 12),
            poly((167, y + 7), (181, y + 31), (153, y + 31)),
        )

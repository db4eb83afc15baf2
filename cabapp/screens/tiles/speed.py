"""Speed over ground: a large number, and a pointer on a spine with the band as a bracket."""

from math import ceil, floor

from cabapp.outcome import SpeedView, TileState
from cabapp.screens.figures import band_end, lost_text, speed_in, speed_unit
from cabapp.screens.ink import Part, Say, Tile
from cabapp.screens.motion import Glide, Numeral
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import Shape, box, cross_hatch, poly
from cabapp.screens.theme import Role
from cabapp.screens.tiles.plate import LOST, MARKS, ON_PLATE, Edge, Plate
from cabapp.units import MPH_MPS, UnitSystem

RIGHT = 384.0  # right end of the digits
SPINE = 458.0
ROOM_MPS = 2.0 * MPH_MPS  # shown above and below the band
REST = SpeedView(TileState.STARTING)
JUDGED = (TileState.IN_BAND, TileState.ABOVE, TileState.BELOW, TileState.ACT)


class SpeedTile(Tile):
    """Shows a SpeedView; knows no rule."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout, "speed")
        self.view, self.units, self.act = REST, UnitSystem.US, False
        self.numeral, self.pointer_at = Numeral(), Glide(least=0.004)
        high = self.rect.h
        self.upper, self.lower = 34.0, high - 34.0
        self.foot = high - 23.0
        self.edge = Edge(self)
        self.spine = Part(self, Role.HAIRLINE)
        self.bracket = Part(self, Role.WANTED)
        self.hatch = Part(self, Role.HATCH)
        self.pointer = Part(self, Role.INK)
        self.bars = Part(self, Role.INK)
        self.unit = Say(self, 26, 60, 31, Role.SOFT, bold=False)
        self.large = Say(self, RIGHT, self.foot, 139, bold=False, digits=True, align="right")
        self.small = Say(self, RIGHT, self.foot, 62, digits=True, align="right")
        self.ends = tuple(Say(self, SPINE + 22, 0, 31, Role.WANTED, limit=60) for _ in range(2))
        self.lost_word = Say(self, RIGHT, self.foot - 54, 37, align="right")
        self.lost_for = Say(self, RIGHT, self.foot - 4, 31, align="right")
        self.plate = Plate(self)

    def show(self, view: SpeedView, units: UnitSystem, now: float, act: bool = False) -> None:
        """Take a new view; only what differs is drawn again. ``act`` while an ACT is up."""
        self.view, self.units, self.act = view, units, act
        known = view.value_mps is not None
        self.edge.show(view.state, view.framed, now)
        self.unit.put(speed_unit(units))
        self._mark()
        self._lost()
        self._spine()
        if known:
            self.pointer_at.aim(self._share(view.value_mps or 0.0), now)
        else:
            self.pointer_at.forget()
        self._number(now)
        self._pointer(now)

    def tick(self, now: float) -> bool:
        """Move the pointer and the fresh frame."""
        self._pointer(now)
        steps = self.edge.tick(now)
        if self.numeral.due is not None and now >= self.numeral.due:
            self._number(now)
        return self.pointer_at.moving(now) or steps or self.numeral.due is not None

    def settle(self) -> None:
        """Stand still at once."""
        self.edge.settle()
        self.pointer_at.settle()
        self._pointer(0.0)

    def _number(self, now: float) -> None:
        value = self.view.value_mps
        if value is None:
            self.numeral = Numeral()
            self.large.put("")
            self.small.put("")
            return
        judged = self.view.state in JUDGED
        key = (judged, self.units)
        text = f"{self.numeral.read(speed_in(value, self.units), 0.1, key, now):.1f}"
        self.large.put(text if judged else "")
        self.small.put("" if judged else text)

    def _mark(self) -> None:
        view = self.view
        state, word = view.state, view.word
        mark = MARKS.get(state, "")
        if state is TileState.ACT or (view.framed and word and state not in LOST):
            x = RIGHT + 10 - self.plate.width(word)
            self.plate.alert(ON_PLATE.get(state, "look"), word, x, 19, 55, state is TileState.ACT)
        elif state in (TileState.LIFTED, TileState.FREE):
            name = word or ("LIFTED" if state is TileState.LIFTED else "")
            self.plate.plain(mark, name, RIGHT - self.plate.plain_width(mark, name), 66)
            if not name:
                self.plate.hide()
        elif state is TileState.STARTING:
            self.plate.mark_only(mark, RIGHT - 240, 36, 116)
        else:
            self.plate.corner(state, 383, 26, self.act or view.framed)

    def _lost(self) -> None:
        state = self.view.state
        lost = state in LOST
        middle = (74 + self.foot - 95) / 2
        bars = (box(RIGHT - 210, middle - 11, 92, 22), box(RIGHT - 92, middle - 11, 92, 22))
        self.bars.put(*(bars if lost else ()))
        high = self.lower - self.upper
        self.hatch.put(*(cross_hatch(SPINE - 56, self.upper, 132, high, 80, 13) if lost else ()))
        words = {TileState.STARTING: ("STARTING", ""), TileState.OUT_OF_USE: ("NO READING", "")}
        word, note = words.get(state, ("NO READING" if lost else "", ""))
        if lost:
            note = lost_text(self.view.lost_s)
        if state is TileState.OUT_OF_USE:
            note = "out of use this shift"
        self.lost_word.put(word)
        self.lost_for.put(note)

    def _range(self) -> tuple[float, float]:
        low, high = self.view.low_mps, self.view.high_mps
        if low is None or high is None:
            return 0.0, 10 * MPH_MPS
        return max(0.0, low - ROOM_MPS), high + ROOM_MPS

    def _share(self, speed_mps: float) -> float:
        least, most = self._range()
        return min(1.0, max(0.0, (speed_mps - least) / (most - least)))

    def _y(self, speed_mps: float) -> float:
        return self.lower - self._share(speed_mps) * (self.lower - self.upper)

    def _spine(self) -> None:
        view = self.view
        if view.state in LOST:
            self.spine.put()
        else:
            bar = box(SPINE - 2, self.upper, 4, self.lower - self.upper)
            self.spine.put(bar, *(self._ticks() if view.state is not TileState.STARTING else ()))
        banded = view.low_mps is not None and view.high_mps is not None
        if not banded or view.state not in JUDGED:
            self.bracket.put()
            for end in self.ends:
                end.put("")
            return
        self._band(view.low_mps or 0.0, view.high_mps or 0.0)

    def _ticks(self) -> tuple[Shape, ...]:
        least, most = (speed_in(v, self.units) for v in self._range())
        span = most - least
        marks = range(ceil(least - 1e-6), floor(most + 1e-6) + 1)
        ys = (self.lower - (mark - least) / span * (self.lower - self.upper) for mark in marks)
        return tuple(box(SPINE - 9, y - 1.5, 9, 3) for y in ys)

    def _band(self, low_mps: float, high_mps: float) -> None:
        high, low = self._y(high_mps), self._y(low_mps)
        back = SPINE + 8
        self.bracket.put(
            box(back, high - 4, 10, low - high + 8),
            box(back - 18, high - 4, 18, 9),
            box(back - 18, low - 5, 18, 9),
        )
        spread = max(0.0, 46 - (low - high)) / 2
        for end, y, value in zip(
            self.ends, (high - spread, low + spread), (high_mps, low_mps), strict=True
        ):
            end.put(band_end(value, self.units), y=y + 15.5)

    def _pointer(self, now: float) -> None:
        if self.view.value_mps is None:
            self.pointer.put()
            return
        y = self.lower - self.pointer_at.at(now) * (self.lower - self.upper)
        self.pointer.put(poly((SPINE - 4, y), (SPINE - 56, y + 24), (SPINE - 56, y - 24)))

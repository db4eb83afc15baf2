"""The cut through the ground: surface, hard layer, target, and the tool at its live depth.

Front is left. "Under the layer, and level" is seen here and not read. Where the sensors do not tell
front from rear one shank stands in the middle: two at one depth would say that it is level.
"""

from cabapp.outcome import DepthView, TileState
from cabapp.screens.ink import Part, Say, Tile
from cabapp.screens.motion import LIFT_S, Glide
from cabapp.screens.shapes import Point, Shape, Solid, box, cross_hatch, outset, poly, ring
from cabapp.screens.theme import Role
from cabapp.screens.tiles.plate import LOST
from cabapp.units import INCH_M

SURFACE = 96.0  # y of the surface in the depth tile
SHOWN_M = 19 * INCH_M  # drawn below the surface at least
UNDER_TARGET_M = 5 * INCH_M
BEAM_Y, BEAM_LIFTED_Y, BEAM = 63.0, 18.0, 14.0
TILT = 3.2  # how far the beam leans at most at a stem: its ends keep clear of words and soil
STEM = 16.0
LIVE = (TileState.IN_BAND, TileState.ABOVE, TileState.BELOW, TileState.ACT, TileState.FREE)


class Cut:
    """The right half of the depth tile, drawn into it."""

    def __init__(self, tile: Tile, x: float, w: float, small: bool) -> None:
        self.tile, self.x, self.w, self.small = tile, x, w, small
        self.bottom = tile.rect.h - 18.0
        self.view = DepthView(TileState.STARTING)
        self.tips = (Glide(least=0.7), Glide(least=0.7))
        self.lifted = Glide()
        self.on_the_way = False
        self.soil = Part(tile, Role.SOIL)
        self.layer = Part(tile, Role.LAYER)
        self.target = Part(tile, Role.WANTED)
        self.halo = Part(tile, Role.SOIL)
        self.bracket = Part(tile, Role.WANTED)
        self.hatch = Part(tile, Role.HATCH)
        self.surface = Part(tile, Role.INK)
        self.tool = Part(tile, Role.INK)
        names = ("F", "R") if small else ("front", "rear")
        self.names = tuple(
            Say(tile, middle, 48, 31, Role.SOFT, bold=False, align="middle")
            for middle in self._stems()
        )
        self.words = names

    def _stems(self) -> tuple[float, float]:
        """The middles of the two shanks' stems."""
        return self.x + 0.38 * self.w, self.x + 0.782 * self.w

    def y(self, depth_m: float) -> float:
        """Where a depth is drawn."""
        shown = max(SHOWN_M, (self.view.target_m or 0.0) + UNDER_TARGET_M)
        full = self.bottom - SURFACE - 8
        return SURFACE + 4 + min(1.02, depth_m / shown) * full

    def show(self, view: DepthView, now: float) -> None:
        """Take a new view."""
        self.view = view
        lost, starting = view.state in LOST, view.state is TileState.STARTING
        self.surface.put(box(self.x, SURFACE - 4, self.w, 8))
        ground = (self.x, SURFACE + 4, self.w, self.bottom - SURFACE - 4)
        self.soil.put(*(() if lost else (box(*ground),)))
        self.hatch.put(*(cross_hatch(*ground, 80, 13) if lost else ()))
        self._layer(bare=lost or starting)
        self._target(bare=lost or starting)
        self._aim(now)
        self._tool(now)
        self.on_the_way = True

    def tick(self, now: float) -> bool:
        """Ease the tool to its depth; True while it moves."""
        glides = (*self.tips, self.lifted)
        moving = any(glide.moving(now) for glide in glides)
        if moving or self.on_the_way:
            self._tool(now)
        self.on_the_way = moving
        return moving

    def settle(self) -> None:
        """Be where it should be, at once."""
        for glide in (*self.tips, self.lifted):
            glide.settle()
        self._tool(0.0)

    def _layer(self, bare: bool) -> None:
        top_m, low_m = self.view.layer_top_m, self.view.layer_bottom_m
        if bare or top_m is None or low_m is None:
            self.layer.put()
            return
        top, low = self.y(top_m), self.y(low_m)
        lines: list[Shape] = [box(self.x, top - 2, self.w, 4), box(self.x, low - 2, self.w, 4)]
        row, y = 0, top + 7.0
        while y + 8 <= low - 3:
            lines += self._dashes(y, row)
            row, y = row + 1, y + 18
        self.layer.put(*lines)

    def _dashes(self, y: float, row: int) -> list[Shape]:
        start = self.x + 14 - (27 if row % 2 else 0)
        found: list[Shape] = []
        while start < self.x + self.w:
            left, right = max(start, self.x), min(start + 36, self.x + self.w)
            if right - left > 4:
                found.append(box(left, y, right - left, 8))
            start += 54
        return found

    def _target(self, bare: bool) -> None:
        view = self.view
        if bare or view.target_m is None:
            self.target.put()
            self.bracket.put()
            return
        y, right = self.y(view.target_m), self.x + self.w
        starts = range(0, int(self.w) - 20, 40)
        self.target.put(*(box(self.x + s, y - 3, min(26, self.w - s), 6) for s in starts))
        low_m, high_m = view.low_m, view.high_m
        if low_m is None or high_m is None:
            self.bracket.put()
            return
        top, low = self.y(low_m), self.y(high_m)
        self.bracket.put(
            box(right - 10, top - 4, 10, low - top + 8),
            box(right - 30, top - 4, 30, 9),
            box(right - 30, low - 5, 30, 9),
        )

    # -- the tool --------------------------------------------------------------------------------

    @property
    def _told_apart(self) -> bool:
        """Whether front and rear are known; lifted, both are up."""
        known = self.view.front_m is not None and self.view.rear_m is not None
        return known or self.view.state is TileState.LIFTED

    def _aim(self, now: float) -> None:
        view = self.view
        if view.state is TileState.LIFTED:
            self.lifted.aim(1.0, now, LIFT_S)
            return
        if view.state not in LIVE or view.value_m is None:
            for glide in (*self.tips, self.lifted):
                glide.forget()
            return
        self.lifted.aim(0.0, now, LIFT_S)
        for glide, end in zip(self.tips, (view.front_m, view.rear_m), strict=True):
            deep_m = end if end is not None and self._told_apart else view.value_m
            glide.aim(self.y(max(0.0, deep_m)), now)

    def _tool(self, now: float) -> None:
        view = self.view
        live = view.state in LIVE and view.value_m is not None
        for say, word in zip(self.names, self.words, strict=True):
            say.put(word if live and self._told_apart else "")
        if view.state is TileState.NOT_LIVE:
            self._tape()
        elif live or view.state is TileState.LIFTED:
            self._shanks(now)
        else:
            self.tool.put()
            self.halo.put()

    def _shanks(self, now: float) -> None:
        up = self.lifted.at(now) if self.lifted.placed else 0.0
        rest = SURFACE - 16.0
        tips = [
            (glide.at(now) if glide.placed else rest) * (1 - up) + rest * up for glide in self.tips
        ]
        middle = sum(tips) / 2
        beam = BEAM_Y * (1 - up) + BEAM_LIFTED_Y * up
        tops = [beam + max(-TILT, min(TILT, (tip - middle) / 2)) * (1 - up) for tip in tips]
        stems = self._stems()
        drawn = list(zip(stems, tops, tips, strict=True))
        if not self._told_apart:
            drawn = [(sum(stems) / 2, beam, middle)]
        shanks = [self._shank(x, top + BEAM / 2, tip) for x, top, tip in drawn]
        lean = (tops[1] - tops[0]) / (stems[1] - stems[0])
        left, right = self.x + 0.085 * self.w, min(self.x + self.w - 2, stems[1] + 30)
        ends = (tops[0] + (left - stems[0]) * lean, tops[0] + (right - stems[0]) * lean)
        bar = poly(
            (left, ends[0]), (right, ends[1]), (right, ends[1] + BEAM), (left, ends[0] + BEAM)
        )
        self.tool.put(bar, *shanks)
        deep = [s for s, (_, _, tip) in zip(shanks, drawn, strict=True) if tip > SURFACE + 12]
        self.halo.put(*(self._clear(s) for s in deep))

    def _clear(self, shank: Solid) -> Shape:
        """Bare soil around a shank, so that the dashes of the layer don't touch it."""
        below = SURFACE + 4
        wide = outset(shank.contour, 7)
        return Solid(tuple((x, max(below, y)) for x, y in wide), ladder=True)

    def _shank(self, x: float, top: float, tip: float) -> Solid:
        """A shank from the beam down, curving forward to its point at ``tip``."""
        reach = min(48.0, 0.17 * self.w) if self.w < 250 else 48.0
        bend = min(100.0, (tip - top) * 0.72)
        knee = tip - bend
        half = STEM / 2
        back: list[Point] = [(x + half, top), (x + half, knee)]
        front: list[Point] = [(x - half, top), (x - half, knee)]
        heel, point = (x - reach * 0.40, tip), (x - half - reach, tip)
        for i in range(1, 8):
            back.append(_bend((x + half, knee), (x + half, tip - bend * 0.38), heel, i / 8))
        for i in range(1, 7):
            t = i / 7
            front.append(
                _bend(
                    (x - half, knee),
                    (x - half, tip - bend * 0.40),
                    (x - half - reach * 0.42, tip - bend * 0.13),
                    t,
                )
            )
        front.append((x - half - reach * 0.42, tip - bend * 0.13))
        return Solid((*back, heel, point, *reversed(front)), ladder=True)

    def _tape(self) -> None:
        """What a person measured: a tape from the surface to the foot of the slot."""
        self.halo.put()
        middle = self.x + 0.465 * self.w
        dug = self.view.dug
        if dug is None:
            self.tool.put()
            return
        foot = self.y(dug.depth_m)
        dashes: list[Shape] = [ring(middle, SURFACE - 26, 18, 6)]
        y = SURFACE + 8.0
        while y < foot - 10:
            dashes.append(box(middle - 4, y, 8, min(15.0, foot - 8 - y)))
            y += 26
        half = min(44.0, 0.24 * self.w)
        self.tool.put(*dashes, box(middle - half, foot - 5, 2 * half, 10))
        self.halo.put(box(middle - 12, SURFACE + 4, 24, foot - SURFACE - 9))


def _bend(a: Point, b: Point, c: Point, t: float) -> Point:
    """A point of a quadratic curve from a to c, drawn towards b."""
    u = 1 - t
    return (
        u * u * a[0] + 2 * u * t * b[0] + t * t * c[0],
        u * u * a[1] + 2 * u * t * b[1] + t * t * c[1],
    )

"""The tool from above: each shank a ring at its true place, its load a core that grows.

The ring is the trip point and the core touches it at the trip. Only the worst has a number.
"""

from itertools import pairwise
from math import hypot

from cabapp.outcome import ShankState, ShankView, SpringsView, TileState
from cabapp.screens.figures import lost_text
from cabapp.screens.glyphs import GLYPHS, Coat
from cabapp.screens.ink import Part, Say, Tile
from cabapp.screens.motion import Glide, Numeral
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import Shape, box, cross_hatch, disc, frame, line, moved, poly, ring
from cabapp.screens.theme import Role
from cabapp.screens.tiles.plate import LOST, MARKS, ON_PLATE, Edge, Plate

Place = tuple[float, float]
REST = SpringsView(TileState.STARTING)
LEFT, TOP, WIDE = 234.0, 16.0, 308.0
HATCH_LEFT = 302.0  # what is not read leaves room for saying so

# What a shank that stands out is drawn with, from the bottom up.
ODD_LAYERS = {
    "halo": Role.GROUND,
    "dark": Role.ON_LOOK,
    "rim": Role.INK,
    "amber": Role.LOOK,
    "red": Role.ACT,
    "inside": Role.GROUND,
    "bar": Role.ON_ACT,
    "heart": Role.INK,
}


class SpringsTile(Tile):
    """Shows a SpringsView; knows no rule."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout, "springs")
        self.view = REST
        self.numeral = Numeral()
        self.cores: dict[int, Glide] = {}
        self.on_the_way = False
        tall = self.rect.h
        self.tight = tall < 160
        self.edge = Edge(self)
        self.hatch = Part(self, Role.HATCH)
        self.beam = Part(self, Role.HAIRLINE)
        self.hollow = Part(self, Role.GROUND)
        self.rings = Part(self, Role.WANTED)
        self.bare = Part(self, Role.CORE)
        self.core = Part(self, Role.CORE)
        self.worst = Part(self, Role.INK)
        self.odd = {name: Part(self, role) for name, role in ODD_LAYERS.items()}
        self.label = Say(self, 26, 50 if not self.tight else 47, 31, Role.SOFT, bold=False)
        number_foot = 147 if not self.tight else 121
        self.number = Say(
            self, 26, number_foot + (tall - (190 if not self.tight else 140)) / 2, 62, digits=True
        )
        self.lost_words = tuple(Say(self, 26, 0, 31) for _ in range(2))
        self.alert_foot = 96.0 if not self.tight else 68.0
        number_high = 62.0 if not self.tight else 44.0  # clear of the thick frame
        self.shank_word = Say(self, 26, self.alert_foot, 31, Role.SOFT, bold=False)
        self.alert_number = Say(self, 26, self.alert_foot, number_high, digits=True)
        self.percent = Say(self, 26, self.alert_foot, 31, Role.SOFT, bold=False)
        self.plate = Plate(self, 31)
        self.plain = Plate(self, 31)

    def show(self, view: SpringsView, now: float) -> None:
        """Take a new view; only what differs is drawn again."""
        self.view = view
        self.edge.show(view.state, view.framed, now)
        for shank in view.shanks:
            glide = self.cores.setdefault(shank.number, Glide(least=0.01))
            if shank.share is None:
                glide.forget()
            else:
                glide.aim(min(1.0, max(0.0, shank.share)), now)
        self._words(now)
        self._picture(now)
        self.on_the_way = True

    def tick(self, now: float) -> bool:
        """Move the cores and the fresh frame."""
        steps = self.edge.tick(now)
        if self.numeral.due is not None and now >= self.numeral.due:
            self._words(now)
        moving = any(glide.moving(now) for glide in self.cores.values())
        if moving or self.on_the_way:
            self._picture(now)
        self.on_the_way = moving
        return moving or steps or self.numeral.due is not None

    def settle(self) -> None:
        """Stand still at once."""
        self.edge.settle()
        for glide in self.cores.values():
            glide.settle()
        self._picture(0.0)

    # -- words left of the picture ---------------------------------------------------------------

    def _words(self, now: float) -> None:
        view = self.view
        lost = view.state in LOST
        alert = not lost and (view.state is TileState.ACT or (view.framed and bool(view.word)))
        calm = not alert
        self.label.put("Springs %" if calm else "")
        text = self._worst_text(now)
        reading = view.state in (
            TileState.IN_BAND,
            TileState.FREE,
            TileState.ABOVE,
            TileState.BELOW,
        )
        self.number.put(text if calm and reading else "")
        self._lost_or_plain()
        self._alert(alert, text)

    def _worst_text(self, now: float) -> str:
        share = self.view.worst_share
        if share is None:
            self.numeral = Numeral()
            return ""
        return f"{self.numeral.read(share * 100, 1.0, self.view.state, now):.0f}"

    def _lost_or_plain(self) -> None:
        state = self.view.state
        feet = (106.0, 153.0) if not self.tight else (88.0, 129.0)
        one, two = self.lost_words
        if state in LOST:
            aside = state is TileState.OUT_OF_USE
            one.put("NO READING", y=feet[0])
            two.put("out of use" if aside else lost_text(self.view.lost_s), y=feet[1])
            self.plain.mark_only("no_reading", 26 + self.label.wide + 22, self.label.y - 33, 36)
            return
        one.put("")
        word = {
            TileState.LIFTED: "LIFTED",
            TileState.STARTING: "STARTING",
            TileState.NOT_LIVE: "NOT FITTED",
        }.get(state, "")
        if not word:
            two.put("")
            self.plain.hide()
        elif self.tight:
            two.put(word, y=100.0)
            gap = 34 + two.wide
            self.plain.mark_only(MARKS[state] if gap < 180 else "", gap, 67, 36)
        else:
            two.put(word, y=feet[1])
            self.plain.mark_only(MARKS[state], 27, 70, 44)

    def _alert(self, alert: bool, worst: str) -> None:
        view = self.view
        if not alert:
            for say in (self.shank_word, self.alert_number, self.percent):
                say.put("")
            self.plate.hide()
            return
        if view.number is not None:
            self.shank_word.put("Shank")
            self.alert_number.put(str(view.number), x=26 + self.shank_word.wide + 14)
            self.percent.put("")
        else:
            self.shank_word.put("")
            self.alert_number.put(worst, x=26)
            self.percent.put("%", x=26 + self.alert_number.wide + 12)
        y, h = (116.0, 50.0) if not self.tight else (78.0, 40.0)
        act = view.state is TileState.ACT
        self.plate.alert(ON_PLATE.get(view.state, "look"), view.word, 24, y, h, act)

    # -- the picture -----------------------------------------------------------------------------

    def _radius(self) -> float:
        count = max(1, len(self.view.shanks))
        return min(WIDE / (1.96 * count), 0.175 * (self.rect.h - 32), 24.0)

    def _places(self) -> list[Place]:
        shanks, r = self.view.shanks, self._radius()
        across = [s.across_m for s in shanks] or [0.0]
        back = [s.back_m for s in shanks] or [0.0]
        left, right = LEFT + r + 6, LEFT + WIDE - r - 6
        top, low = TOP + r + 10, TOP + self.rect.h - 32 - r - 6

        def spread(value: float, values: list[float], start: float, end: float) -> float:
            span = max(values) - min(values)
            return (
                (start + end) / 2
                if span < 1e-6
                else (start + (value - min(values)) / span * (end - start))
            )

        return [
            (spread(s.across_m, across, left, right), spread(s.back_m, back, top, low))
            for s in shanks
        ]

    def _picture(self, now: float) -> None:
        view, places, r = self.view, self._places(), self._radius()
        if view.state in LOST:
            self.hatch.put(
                *cross_hatch(HATCH_LEFT, TOP, LEFT + WIDE - HATCH_LEFT, self.rect.h - 32, 80, 13)
            )
            for part in (self.beam, self.hollow, self.rings, self.bare, self.core, self.worst):
                part.put()
            self._odd([], r, now)
            return
        self.hatch.put()
        self.beam.put(*self._beam(places))
        pairs = list(zip(view.shanks, places, strict=True))
        if view.state is TileState.STARTING:
            self.core.put(*(disc(x, y, 7.5) for x, y in places))
            for part in (self.hollow, self.rings, self.bare, self.worst):
                part.put()
            self._odd([], r, now)
            return
        self.hollow.put(*(disc(x, y, r - 1) for x, y in places))
        plain = [p for p in pairs if p[0].state in (ShankState.NORMAL, ShankState.WORST)]
        self.rings.put(*(ring(x, y, r, 4) for _, (x, y) in plain))
        bare = [p for p in pairs if p[0].state is ShankState.BARE]
        self.bare.put(*(ring(x, y, r, 2.5) for _, (x, y) in bare))
        self.core.put(*self._cores(plain, ShankState.NORMAL, r, now))
        self.worst.put(*self._cores(plain, ShankState.WORST, r, now))
        odd = [p for p in pairs if p not in plain and p not in bare]
        self._odd(odd, r, now)

    def _beam(self, places: list[Place]) -> tuple[Shape, ...]:
        if not places:
            return ()
        row = sorted(places)
        bars = tuple(line(*a, *b, 8) for a, b in pairwise(row))
        middle = min(places, key=lambda p: (abs(p[0] - LEFT - WIDE / 2), p[1]))
        return (*bars, box(middle[0] - 4, TOP, 8, middle[1] - TOP))

    def _cores(
        self, pairs: list[tuple[ShankView, Place]], state: ShankState, r: float, now: float
    ) -> tuple[Shape, ...]:
        return tuple(
            disc(x, y, max(2.0, (r - 4) * self.cores[shank.number].at(now)))
            for shank, (x, y) in pairs
            if shank.state is state and shank.share is not None
        )

    def _odd(self, odd: list[tuple[ShankView, Place]], r: float, now: float) -> None:
        """All shanks that stand out, drawn over the others, the most urgent last."""
        order = (
            ShankState.NO_READING,
            ShankState.NOT_PULLING,
            ShankState.HIGH,
            ShankState.HELD,
            ShankState.STAYED_UP,
        )
        layers: dict[str, list[Shape]] = {name: [] for name in ODD_LAYERS}
        for shank, (x, y) in sorted(odd, key=lambda pair: order.index(pair[0].state)):
            for name, shapes in self._one(shank, x, y, r, now).items():
                layers[name] += shapes
        for name, part in self.odd.items():
            part.put(*layers[name])

    def _one(
        self, shank: ShankView, x: float, y: float, r: float, now: float
    ) -> dict[str, list[Shape]]:
        if shank.state is ShankState.NO_READING:
            size = 2 * r - 6
            cross = moved(GLYPHS["no_reading"][Coat.MAIN][0], x - size / 2, y - size / 2, size)
            return {"halo": [disc(x, y, r + 2)], "heart": [cross]}
        if shank.state is ShankState.HIGH:
            share = self.cores[shank.number].at(now)
            return {
                "halo": [disc(x, y, r + 9)],
                "dark": [ring(x, y, r + 6, 4)],
                "amber": [ring(x, y, r + 3, 6)],
                "heart": [disc(x, y, (r - 4) * share)],
            }
        if shank.state in (ShankState.NOT_PULLING, ShankState.HELD):
            return self._square(shank, x, y, r, now)
        reach, bar = r + 12, 0.62 * (r + 2)
        return {
            "halo": [self._diamond(x, y, reach + 6)],
            "rim": [self._diamond(x, y, reach)],
            "red": [self._diamond(x, y, reach - 4.5)],
            "bar": [box(x - bar, y - 5, 2 * bar, 10)],
        }

    def _square(
        self, shank: ShankView, x: float, y: float, r: float, now: float
    ) -> dict[str, list[Shape]]:
        """A square in place of the ring: amber and empty, or red with the load in it."""
        side = self._side(x, y, r)
        hole = side - 6
        held = shank.state is ShankState.HELD
        core = (hole - 3) * self.cores[shank.number].at(now)
        return {
            "halo": [box(x - side - 2, y - side - 2, 2 * side + 4, 2 * side + 4)],
            "rim": [frame(x - side, y - side, 2 * side, 2 * side, 4)],
            "red" if held else "amber": [
                box(x - side + 3, y - side + 3, 2 * side - 6, 2 * side - 6)
            ],
            "inside": [disc(x, y, hole)],
            "heart": [disc(x, y, core)] if held else [ring(x, y, hole, 3)],
        }

    def _side(self, x: float, y: float, r: float) -> float:
        """Half the side of a square that keeps clear of the rings beside it."""
        others = [p for p in self._places() if p != (x, y)]

        def clear(side: float) -> bool:
            gaps = (
                hypot(max(0.0, abs(px - x) - side), max(0.0, abs(py - y) - side))
                for px, py in others
            )
            return all(gap >= r + 3 for gap in gaps)

        sides = (r + 6 - step for step in range(int(0.4 * r) + 7))
        return next((side for side in sides if clear(side)), 0.6 * r)

    @staticmethod
    def _diamond(x: float, y: float, reach: float) -> Shape:
        return poly((x, y - reach), (x + reach, y), (x, y + reach), (x - reach, y))

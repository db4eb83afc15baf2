"""Sheets: keys that come up over the lower left and the bottom row, and go again.

On a small panel a sheet takes everything under the band and carries the two live numbers itself.
No sheet ever covers the band, and while moving none covers speed or depth on a large panel.
"""

from collections.abc import Callable
from dataclasses import dataclass

from cabapp.outcome import Snapshot
from cabapp.screens.figures import band_end, speed_in, speed_unit, target_text
from cabapp.screens.ink import Part, Say, Tile
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.shapes import box
from cabapp.screens.theme import Role
from cabapp.screens.tiles.keys import Key, spread
from cabapp.screens.touch import Target
from cabapp.units import UnitSystem, shown_unit

Fire = Callable[[str], None]


@dataclass(frozen=True)
class Rows:
    """Where a sheet's keys stand: the tops of its two rows, its left column, its right part."""

    one: float
    two: float
    left: float
    middle: float
    right_from: float
    right: float


def rows_of(layout: Layout) -> Rows:
    """The two rows of keys above the lower edge."""
    margin = 30.0 if layout.small else 24.0
    two = layout.high - margin - layout.target
    one = two - layout.gap - layout.target
    middle = 584.0
    return Rows(one, two, margin, middle, middle + layout.gap, layout.wide - margin)


class Sheet(Tile):
    """The ground of a sheet and its keys. Subclasses place keys once and show what applies."""

    def __init__(self, layout: Layout, fire: Fire) -> None:
        super().__init__(layout, "page")
        self.fire = fire
        self.rows = rows_of(layout)
        self.keys: list[Key] = []
        self.ground = Part(self, Role.GROUND)
        self.line = Part(self, Role.INK)
        top = layout.slots["sheet"].y
        if layout.small:
            self.ground.put(box(0, top, layout.wide, layout.high - top))
            self.line.put(box(30, top + 2, layout.wide - 60, 4))
        else:
            low = layout.slots["menu"].y - 12
            self.ground.put(
                box(0, top, 592, layout.high - top), box(0, low, layout.wide, layout.high - low)
            )
            self.line.put(box(24, top + 4, 560, 4))
        self.title_y = self.rows.one - (40 if layout.small else 18)
        self.title = Say(self, self.rows.left, self.title_y, 31, limit=555)
        self.live = (
            Say(self, self.rows.left, self.title_y, 62, digits=True),
            Say(self, self.rows.left + 560, self.title_y, 62, digits=True),
        )
        self.unread = tuple(
            Say(self, say.x, self.title_y, 31, Role.SOFT, bold=False) for say in self.live
        )
        self.live_units = tuple(
            Say(self, 0, self.title_y, 31, Role.SOFT, bold=False) for _ in range(2)
        )

    def key(self, name: str, x: float, y: float, w: float, hold: bool = False) -> Key:
        """Place a key of target height; its name is what the sheet reports when it fires."""
        rect = Rect(x, y, w, self.layout.target)
        made = Key(self, name, rect, lambda: self.fire(name), hold)
        self.keys.append(made)
        return made

    def row(
        self,
        names: tuple[str, ...],
        left: float,
        right: float,
        y: float,
        shares: tuple[float, ...] = (),
    ) -> None:
        """Keys side by side, equally wide or in ``shares``."""
        places = spread(left, right, shares or (1.0,) * len(names), self.layout.gap)
        for name, (x, w) in zip(names, places, strict=True):
            self.key(name, x, y, w)

    def named(self, name: str) -> Key:
        """The key of a name; KeyError if there is none."""
        for key in self.keys:
            if key.name == name:
                return key
        raise KeyError(name)

    def targets(self) -> list[Target]:
        """What can be touched on it now."""
        return [key.target for key in self.keys if key.shown]

    def show(self, snapshot: Snapshot) -> None:
        """Take a new snapshot."""

    def live_numbers(self, snapshot: Snapshot) -> None:
        """Speed and depth in the head of a small panel's sheet; bars where nothing is read."""
        if not self.layout.small:
            return
        units = snapshot.units
        speed, depth = snapshot.speed.value_mps, snapshot.depth.value_m
        self.live[0].put("" if speed is None else f"{speed_in(speed, units):.1f}")
        self.live[1].put("" if depth is None else target_text(depth, units))
        names = (speed_unit(units), shown_unit("depth", units))
        for say, unit, number in zip(self.live_units, names, self.live, strict=True):
            say.put(unit if number.text else "", x=number.left + number.wide + 12)
        for say, number, what in zip(self.unread, self.live, ("speed", "depth"), strict=True):
            say.put(f"no {what}" if snapshot.moving and not number.text else "")


class MovingMenu(Sheet):
    """The menu while moving: targets, raised on purpose, the tool, night."""

    def __init__(self, layout: Layout, fire: Fire) -> None:
        super().__init__(layout, fire)
        r, gap, side = self.rows, layout.gap, layout.target
        if layout.small:
            label_w = (r.right - r.left - 4 * side - 3 * gap) / 2
            self.label_at = ((r.left, r.one), (r.left + label_w + 2 * side + 2 * gap, r.one))
            for i, what in enumerate(("speed", "depth")):
                x = self.label_at[i][0] + label_w
                self.key(f"{what}_less", x, r.one, side)
                self.key(f"{what}_more", x + side + gap, r.one, side)
            self.row(("raised", "peg", "tool", "night"), r.left, r.right, r.two)
        else:
            self.label_at = ((r.left, r.one), (r.left, r.two))
            for what, y in (("speed", r.one), ("depth", r.two)):
                self.key(f"{what}_less", r.middle - 2 * side - gap, y, side)
                self.key(f"{what}_more", r.middle - side, y, side)
            self.row(
                ("raised", "tool", "night", "close"),
                r.right_from,
                r.right,
                r.two,
                (156, 136, 119, 121),
            )
        self.labels = tuple(
            Say(self, x, y + 44, 31, Role.SOFT, bold=False) for x, y in self.label_at
        )
        self.values = tuple(
            Say(self, x, y + 104, 44, Role.WANTED, limit=178) for x, y in self.label_at
        )

    def show(self, snapshot: Snapshot) -> None:
        """Show the keys that apply now."""
        self.live_numbers(snapshot)
        units, speed, depth = snapshot.units, snapshot.speed, snapshot.depth
        low, high = speed.low_mps, speed.high_mps
        banded = low is not None and high is not None
        ends = f"{band_end(low or 0, units)} to {band_end(high or 0, units)}" if banded else ""
        aim = "" if depth.target_m is None else target_text(depth.target_m, units)
        for what, value, label, say in zip(
            ("speed", "depth"), (ends, aim), self.labels, self.values, strict=True
        ):
            label.put(what.capitalize())
            say.put(value or "not set")
            for way, sign in (("less", "minus"), ("more", "plus")):
                key = self.named(f"{what}_{way}")
                key.show(sign=sign) if value else key.hide()
        if snapshot.parked_hold:
            self.named("raised").show("Parked")
        else:
            self.named("raised").show("Raised")
        self._tool(snapshot)
        self.named("night").show("Day" if snapshot.night else "Night")
        if self.layout.small:
            self.named("peg").show(f"Peg {snapshot.peg_next}")
        else:
            self.named("close").show("Close")

    def _tool(self, snapshot: Snapshot) -> None:
        key = self.named("tool")
        if not snapshot.tool_tap:
            key.hide()
            return
        down = snapshot.tool_button.down if snapshot.tool_button else None
        key.show("Tool", "up" if down else "down")


class ParkedMenu(Sheet):
    """The menu while standing: the other pages, ending the shift, and the rest under More."""

    def __init__(self, layout: Layout, fire: Fire, pages: tuple[str, ...]) -> None:
        super().__init__(layout, fire)
        self.pages = pages
        r, gap = self.rows, layout.gap
        if layout.small:
            places = spread(r.left, r.right, (1.0,) * 4, gap)
            self.row(("setup", "shifts", "fitup"), r.left, places[2][0] + places[2][1], r.one)
            self.key("end", places[3][0], r.one, places[3][1], hold=True)
            self.row(("stop", "more", "night", "peg"), r.left, r.right, r.two, (1.35, 1, 1, 1))
        else:
            self.row(("setup", "shifts", "fitup"), r.left, r.middle, r.one)
            places = spread(r.left, r.middle, (5.0, 6.0), gap)
            self.key("end", places[0][0], r.two, places[0][1], hold=True)
            self.key("stop", places[1][0], r.two, places[1][1])
            self.row(("more", "night", "close"), r.right_from, r.right, r.two)

    def show(self, snapshot: Snapshot) -> None:
        """Show the keys that apply now."""
        self.live_numbers(snapshot)
        for name, word in (("setup", "Set up"), ("shifts", "Shifts"), ("fitup", "Fit-up")):
            key = self.named(name)
            key.show(word) if name in self.pages else key.hide()
        self.named("end").show("End shift", "hold 1.5 s")
        self.named("stop").show("Why stopped")
        self.named("more").show("More")
        self.named("night").show("Day" if snapshot.night else "Night")
        if self.layout.small:
            self.named("peg").show(f"Peg {snapshot.peg_next}")
        else:
            self.named("close").show("Close")


class MoreMenu(Sheet):
    """What is rarely wanted, while standing: who, where, rain, units, look sounds."""

    def __init__(self, layout: Layout, fire: Fire) -> None:
        super().__init__(layout, fire)
        r, gap = self.rows, layout.gap
        if layout.small:
            self.row(("driver", "field", "rain"), r.left, r.right, r.one)
            self.row(("units", "looks"), r.left, r.right, r.two)
        else:
            self.row(("driver", "field", "rain"), r.left, r.middle, r.one)
            self.row(("units", "looks"), r.left, r.middle, r.two)
            close = spread(r.right_from, r.right, (1.0,) * 3, gap)[2]
            self.key("close", close[0], r.two, close[1])

    def show(self, snapshot: Snapshot) -> None:
        """Show the keys that apply now."""
        self.live_numbers(snapshot)
        self.named("driver").show("Driver", sign="driver")
        self.named("field").show("Field", sign="field")
        self.named("rain").show("Rain")
        other = "cm, km/h" if snapshot.units is UnitSystem.US else "in, mph"
        self.named("units").show("Show", other)
        self.named("looks").show("Look sounds", "turn on" if snapshot.looks_off else "turn off")
        if not self.layout.small:
            self.named("close").show("Close")


class ChoiceSheet(Sheet):
    """A question and its answers, one tap each; "Close" leaves it unanswered.

    ``shares`` are the widths of the answers in the left column's upper and lower row and to the
    right of the lower one, where "Close" stands last.
    """

    def __init__(self, layout: Layout, fire: Fire, shares: tuple[tuple[float, ...], ...]) -> None:
        super().__init__(layout, fire)
        r = self.rows
        upper, lower, right = (len(row) for row in shares)
        names = tuple(str(i) for i in range(upper + lower + right))
        if layout.small:
            half = (len(names) + 1) // 2
            self.row(names[:half], r.left, r.right, r.one)
            self.row((*names[half:], *("",) * (2 * half - len(names))), r.left, r.right, r.two)
            return
        both = upper + lower
        self.row(names[:upper], r.left, r.middle, r.one, shares[0])
        self.row(names[upper:both], r.left, r.middle, r.two, shares[1])
        self.row((*names[both:], "close"), r.right_from, r.right, r.two, (*shares[2], 1.0))

    def ask(self, question: str, answers: tuple[str, ...], signs: tuple[str, ...] = ()) -> None:
        """Show a question and its answers; a sign may stand above each."""
        self.title.put(question)
        for i, key in enumerate(key for key in self.keys if key.name.isdigit()):
            if i < len(answers):
                key.show(answers[i], sign=signs[i] if i < len(signs) else "")
            else:
                key.hide()
        if not self.layout.small:
            self.named("close").show("Close")

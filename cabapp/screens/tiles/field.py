"""The bottom tile: area done, area left and until when, rate, the next dig, notes.

A note takes the place of what is left; the row angle of the first passes takes the rate's.
"""

from math import cos, pi, sin

from cabapp.outcome import FieldView
from cabapp.screens.figures import area_text, area_unit, rate_text, round_area, span_text
from cabapp.screens.ink import Part, Say, Sign, Tile
from cabapp.screens.ruler import Layout
from cabapp.screens.shapes import Shape, box, clip, frame, line
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem

REST = FieldView(0.0)
NOTE_LIMIT = 500.0
NOTE_SIGN, NOTE_GAP = 44.0, 54.0


class FieldTile(Tile):
    """Shows a FieldView; knows no rule."""

    def __init__(self, layout: Layout) -> None:
        super().__init__(layout, "field")
        self.units = UnitSystem.US
        small = layout.small
        wide, middle = self.rect.w, self.rect.h / 2
        row1, row2 = (middle + 27, middle + 27) if small else (middle - 10, middle + 41)
        right = wide if small else wide - 24
        self.edge = Part(self, Role.HAIRLINE)
        if not small:
            self.edge.put(frame(0, 0, wide, self.rect.h, 2))
        foot, high = (row1, 44) if small else (middle + 30, 62)  # small: clear of the springs
        self.area = Say(self, 0 if small else 24, foot, high, digits=True)
        self.area_unit = Say(self, 0, foot, 31, Role.SOFT, bold=False)
        self.rate = Say(self, 275 if small else 292, row2, 31, Role.SOFT, bold=False)
        self.left = Say(self, 482 if small else 292, row1, 31, Role.SOFT, bold=False)
        self.clock = Say(self, right, row1, 31, Role.SOFT, bold=False, align="right")
        self.dig = Say(self, right, row2, 31, Role.SOFT, bold=False, align="right")
        self.dig_sign = Sign(self)
        self.angle_at = (self.rate.x, row2 - 40)
        self.angle = Say(self, self.angle_at[0] + 62, row2, 31)
        self.rows = Part(self, Role.SOFT)
        self.clear = Part(self, Role.GROUND)
        self.travel = Part(self, Role.INK)
        self.note_sign = Sign(self)
        self.note = Say(self, (275 if small else 292) + NOTE_GAP, row1, 31, limit=NOTE_LIMIT)

    def show(self, view: FieldView, units: UnitSystem, now: float) -> None:
        """Take a new view; only what differs is drawn again."""
        self.units = units
        self.area.put(area_text(view.area_m2, units))
        self.area_unit.put(area_unit(units), x=self.area.left + self.area.wide + 14)
        noted = bool(view.note)
        small = self.layout.small
        angle = None if noted and small else view.row_angle_deg
        rate = "" if view.rate_m2_s is None else rate_text(view.rate_m2_s, units)
        self.rate.put("" if angle is not None or (noted and small) else rate)
        self.left.put("" if noted else self._left(view))
        self.clock.put(view.clock if small or not noted else "")
        self.note.put(view.note)
        at = (self.note.x - NOTE_GAP, self.note.y - 37.5, NOTE_SIGN)
        self.note_sign.put("note" if noted else "", *at, main=Role.WANTED)
        self._angle(angle)
        self._dig(view)

    def blank(self) -> None:
        """Show no figure at all: nothing is known any more."""
        for say in self.says:
            say.put("")
        for sign in self.signs:
            sign.put("")
        for part in (self.rows, self.clear, self.travel):
            part.put()

    def _left(self, view: FieldView) -> str:
        if view.left_m2 is None:
            return ""
        left = f"{round_area(view.left_m2, self.units)} {area_unit(self.units)} left"
        return f"{left}, till {view.finish}" if view.finish else left

    def _dig(self, view: FieldView) -> None:
        text = "" if self.layout.small else self._dig_text(view)
        self.dig.put(text, role=Role.INK if view.dig_now else Role.SOFT)
        if text:
            self.dig_sign.put("dig", self.dig.left - 42, self.dig.y - 31, 29)
        else:
            self.dig_sign.put("")

    def _dig_text(self, view: FieldView) -> str:
        if view.dig_now:
            return "Dig now"
        area, seconds = view.dig_in_m2, view.dig_in_s
        if area is not None and seconds is not None and view.rate_m2_s:
            area = area if area / view.rate_m2_s <= seconds else None
        if area is not None:
            return f"Dig due in {round_area(area, self.units)} {area_unit(self.units)}"
        return "" if seconds is None else f"Dig due in {span_text(seconds)}"

    def _angle(self, angle_deg: float | None) -> None:
        if angle_deg is None:
            self.angle.put("")
            for part in (self.rows, self.clear, self.travel):
                part.put()
            return
        x, y = self.angle_at
        self.angle.put(f"{angle_deg:.0f}°")
        self.rows.put(*(box(x + 1 + 10.75 * i, y, 3, 48) for i in range(5)))
        self.clear.put(*self._stroke(x, y, angle_deg, 17))
        self.travel.put(*self._stroke(x, y, angle_deg, 10))

    @staticmethod
    def _stroke(x: float, y: float, angle_deg: float, wide: float) -> tuple[Shape, ...]:
        lean = angle_deg * pi / 180
        dx, dy = 60 * sin(lean), 60 * cos(lean)
        stroke = line(x + 24 - dx, y + 24 + dy, x + 24 + dx, y + 24 - dy, wide)
        cut = clip(stroke, x, y, 48, 48)
        return (cut,) if cut else ()

"""The field as it is worked: area, rate, what is left, edges, pegs, rows, digs. Once a second."""

from collections.abc import Iterable

from cabapp.events import Peg
from cabapp.ground.outline import Outline
from cabapp.ground.pegs import LINES, pegs_ahead
from cabapp.ground.worked import Worked
from cabapp.outcome import DugView, Row
from cabapp.plan import Plan
from cabapp.readings import Fix, FixKind, Quality
from cabapp.rig import Rig
from cabapp.trade.rows import row_angle_deg
from cabapp.watch.now import Now
from cabapp.watch.reminders import LONG_STOP_S, Digging, Trends, WorkRate
from cabapp.words import Phase

EDGE_WIDTHS = 2.0
MOST_PEGS = 5_000
MOST_LATITUDE_DEG = 85.0  # no field lies beyond, and no local plane can be laid there
NEAR_DEG = 1.0


class FieldWork:
    """Everything about the place. ``second`` is fed each closed row, with the fix behind it."""

    def __init__(self, rig: Rig, plan: Plan) -> None:
        self._rig = rig
        self.worked = Worked(rig.tool, rig.receiver)
        self.rate = WorkRate()
        self.digging = Digging()
        self.trends = Trends()
        self.pegs: list[Peg] = []
        self.dug: tuple[float, float, float] | None = None  # depth, when, gross area then
        self._plan = plan
        self._outline = _outline(plan)
        self._gross_m2 = 0.0
        self._last_s: float | None = None
        self._stood_s = 0.0

    @property
    def area_m2(self) -> float:
        """Area of this field today: ground worked, overlap counted once where it can be told."""
        worked = self.worked
        return worked.net_m2 if worked.overlap_measurable else worked.gross_m2

    @property
    def left_m2(self) -> float | None:
        """What is left of the typed area, or of the outline where none was typed."""
        whole = self._plan.area_m2
        if whole is None and self._outline is not None:
            whole = self._outline.area_m2
        return None if whole is None else max(0.0, whole - self.area_m2)

    def plan(self, plan: Plan) -> None:
        """A plan in force; another field begins anew."""
        if plan.field != self._plan.field and self._plan.field and self.worked.gross_m2 > 0.0:
            self.new_field()
        if plan.outline != self._plan.outline:
            self._outline = _outline(plan)
        self._plan = plan

    def new_field(self) -> None:
        """Area, rate and digs of another field."""
        self.worked = Worked(self._rig.tool, self._rig.receiver)
        self._gross_m2 = 0.0
        self.rate = WorkRate()
        self.digging.again()
        self.trends.reset()

    def take_over(self, worked: Worked) -> None:
        """Ground on record from before an interruption."""
        self.worked = worked
        self._gross_m2 = worked.gross_m2

    def set_pegs(self, pegs: Iterable[Peg]) -> None:
        """Pegs of earlier passes and seasons."""
        known = {peg.number for peg in self.pegs}
        self.pegs += [peg for peg in pegs if peg.number not in known]
        self.pegs = self.pegs[-MOST_PEGS:]

    def add_peg(self, lat_deg: float, lon_deg: float) -> Peg:
        """A peg here; its kind may follow."""
        number = self.peg_next
        peg = Peg(number, "other", lat_deg, lon_deg, self._plan.field)
        self.pegs = [*self.pegs, peg][-MOST_PEGS:]
        return peg

    @property
    def peg_next(self) -> int:
        """The number the next peg will carry."""
        return max((peg.number for peg in self.pegs), default=0) + 1

    def name_peg(self, number: int, kind: str) -> None:
        """What the peg is."""
        self.pegs = [
            Peg(p.number, kind, p.lat_deg, p.lon_deg, p.field) if p.number == number else p
            for p in self.pegs
        ]

    def take_dug(self, depth_m: float, at: float) -> None:
        """A hand check of depth."""
        self.dug = depth_m, at, self.worked.gross_m2
        self.digging.dug()

    def dug_view(self, at: float) -> DugView | None:
        """The last dug depth with its age."""
        if self.dug is None:
            return None
        depth, then, area = self.dug
        return DugView(depth, max(0.0, at - then), max(0.0, self.worked.gross_m2 - area))

    def second(self, row: Row, fix: Fix | None, now: Now) -> None:
        """A closed row: area grows, reminders count."""
        step_s = 1.0 if self._last_s is None else min(5.0, max(0.0, row.t_s - self._last_s))
        self._last_s = row.t_s
        working = now.phase is Phase.WORKING
        kind = FixKind(str(row.values["fix"]))
        course = row.values["course_deg"]
        self.worked.fix(
            row.t_s,
            row.lat_deg,
            row.lon_deg,
            course if isinstance(course, float) else None,
            working,
            kind,
            now.phase is Phase.BACKING,
        )
        grown = max(0.0, self.worked.gross_m2 - self._gross_m2)
        self._gross_m2 = self.worked.gross_m2
        standing = now.phase is Phase.STANDING
        self._stand(standing, step_s)
        self.rate.step(standing, grown, step_s)
        self.digging.step(working, grown / self._rig.tool.width_m, grown, step_s)
        if working and now.armed:
            self.trends.step(now.depth_m, _sides(self._rig, now), now.slip, step_s)
        self._places(fix, now)

    def _stand(self, standing: bool, step_s: float) -> None:
        if standing:
            self._stood_s += step_s
            return
        if self._stood_s > LONG_STOP_S and self._gross_m2 > 0.0:
            self.digging.again()
        self._stood_s = 0.0

    def _is_near(self, lat_deg: float, lon_deg: float) -> bool:
        """Whether the outline in force is that of a field hereabouts."""
        lat, lon = self._plan.outline[0]
        return abs(lat - lat_deg) < NEAR_DEG and abs(lon - lon_deg) < NEAR_DEG

    def _places(self, fix: Fix | None, now: Now) -> None:
        """What lies ahead and around; nothing of it is known without a place."""
        now.in_block = now.near_edge = False
        now.pipe_ahead_m = now.peg_ahead_m = None
        now.dig_due = self.digging.due
        now.creeping, now.rising = self.trends.creeping, self.trends.rising
        now.first_passes = self.worked.gross_m2 < self._plan.first_passes_m2
        now.row_angle_deg = None
        if now.course_deg is not None and self._plan.row_bearing_deg is not None:
            now.row_angle_deg = row_angle_deg(now.course_deg, self._plan.row_bearing_deg)
        if fix is None or fix.lat_deg is None or fix.lon_deg is None:
            return
        if fix.position_quality is not Quality.GOOD or abs(fix.lat_deg) > MOST_LATITUDE_DEG:
            return
        now.in_block = self.worked.inside_block(fix.lat_deg, fix.lon_deg)
        if self._outline is not None and self._is_near(fix.lat_deg, fix.lon_deg):
            edge = self._outline.edge_distance_m(fix.lat_deg, fix.lon_deg)
            now.near_edge = edge < EDGE_WIDTHS * self._rig.tool.width_m
        if now.course_deg is None or not self.pegs or now.phase is Phase.STANDING:
            return
        width, pegs = self._rig.tool.width_m, self.pegs
        for found in pegs_ahead(pegs, fix.lat_deg, fix.lon_deg, now.course_deg, width):
            if found.peg.kind in LINES:
                now.pipe_ahead_m = now.pipe_ahead_m or found.ahead_m
            elif now.peg_ahead_m is None:
                now.peg_ahead_m, now.peg_kind = found.ahead_m, found.peg.kind


def _outline(plan: Plan) -> Outline | None:
    """The field's outline, where a sound one was loaded."""
    sound = all(abs(lat) <= MOST_LATITUDE_DEG and abs(lon) <= 180.0 for lat, lon in plan.outline)
    return Outline(plan.outline) if sound and len(plan.outline) >= 3 else None


def _sides(rig: Rig, now: Now) -> dict[str, float | None]:
    """Mean share of the shanks left and right of the centre line."""
    sums: dict[str, list[float]] = {"left": [], "right": []}
    for shank, place in zip(now.shanks, rig.tool.shanks, strict=True):
        if shank.share is not None and abs(place.across_m) > 0.05:
            sums["left" if place.across_m < 0 else "right"].append(shank.share)
    return {side: sum(v) / len(v) if v else None for side, v in sums.items()}

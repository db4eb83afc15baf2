"""The ground worked in a shift, as it grows: gross and net area, passes, today's block.

How to use it (the cab feeds it, review feeds it again from the stored rows and gets the same)::

    worked = Worked(rig.tool, rig.receiver)
    worked.fix(t_s, lat, lon, course, working, kind, backing)   # each closed row, or each fix
    worked.gross_m2, worked.net_m2, worked.overlap_m2, worked.passes, worked.by_kind
    worked.inside_block(lat, lon), worked.place, worked.misses_m2()
    worked.provisional, worked.came_back, worked.keep(), worked.withdraw(since_s)
    Worked.rebuild(rig.tool, rig.receiver, rows)                # after power loss, for a report

What counts, so that figures can be checked:

- A *swath* is laid between fixes. Its ends lie square across the tool's own heading at each fix
  (follow.py), and the next piece begins on the end of the last one: there are no wedges and no
  doubles at the joints, whatever the jitter.
- A fix's state holds until the next fix. A piece shorter than STEP_M waits for more travel.
- *Gross* is the working width times the way the tool's middle went, joint to joint, in work.
- *Net* is ground worked at least once (raster.py); *overlap* is gross less net.
- More than GAP_S between fixes, or a step no machine makes, is a gap: neither counted nor filled.
- A *pass* goes on from tool in to tool out; a gap over PASS_GAP_S ends it too.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import islice
from typing import Any

import numpy as np

from cabapp.ground.accuracy import edge_error_m, overlap_measurable
from cabapp.ground.block import Block
from cabapp.ground.follow import Follower, ToolPlace
from cabapp.ground.misses import misses_m2
from cabapp.ground.passes import Pass, Passes
from cabapp.ground.raster import CELL_M2, Floats, Fresh, Raster
from cabapp.readings import FixKind
from cabapp.rig import Receiver, Tool
from cabapp.trade.geodesy import LocalPlane

STEP_M = 1.0  # shortest piece of a swath: at 10 Hz jitter would add way that nobody drove
LEAST_M = 0.2  # but in a turn of more than TURN_RAD a piece may be this short
TURN_RAD = 0.1
GAP_S = 2.5  # longer than one lost epoch of a 1 Hz receiver
PASS_GAP_S = 20.0
FASTEST_MPS = 80.0 / 3.6  # a faster step is a jump of the fix (fastest plausible speed)
JUMP_M = 3.0  # and a jump up to this much may ride on any step
FARTHEST_DEG = 0.5  # a shift's ground lies on one plane; a fix farther off is no place of it
BESIDE_M = 20.0  # this much way beside earlier work shows that it is a field and no lane
ROW_S = 1.0  # a row's state may have begun up to so long after the row's own time
BATCH_LIVE = 4  # pieces painted at once: net area lags by that much, at a quarter of the cost
BATCH_REBUILT = 512


@dataclass(frozen=True, slots=True)
class _Joint:
    """Where one piece of swath ends and the next begins: the tool, and its two ends."""

    tool: ToolPlace
    edge: tuple[float, float, float, float]
    kind: FixKind


@dataclass(frozen=True, slots=True)
class _Laid:
    """One piece of swath: its corners, and what it added to the gross area."""

    end_s: float
    corners: tuple[float, ...]
    kind: FixKind
    gross_m2: float


@dataclass(frozen=True, slots=True)
class _Painted:
    """Pieces painted together, kept while they may still be withdrawn."""

    laid: tuple[_Laid, ...]
    fresh: tuple[Fresh, ...]


class Worked:
    """Worked ground of one shift; see the module's head for how it is fed and what it counts."""

    def __init__(self, tool: Tool, receiver: Receiver) -> None:
        self._width_m = tool.width_m
        self._lag_m = tool.lag_m
        self._follower = Follower(tool.hitch_back_m, tool.lag_m, receiver.antenna_right_m)
        self._plane: LocalPlane | None = None
        self._raster: Raster | None = None
        self._block = Block(tool.width_m)
        self._antenna: tuple[float, float, float] | None = None  # time, x, y of the last fix
        self._tool: ToolPlace | None = None
        self._joint: _Joint | None = None  # where the next piece begins
        self._pending: list[_Laid] = []
        self._batch = BATCH_LIVE
        self._passes = Passes()
        self._painted: list[_Painted] = []
        self._beside_m = 0.0
        self.provisional = True
        self.by_kind: dict[FixKind, float] = {}

    @classmethod
    def rebuild(
        cls,
        tool: Tool,
        receiver: Receiver,
        rows: Iterable[Mapping[str, Any]],
        withdrawn: tuple[tuple[float, float], ...] = (),
    ) -> "Worked":
        """The same ground from stored rows, kept and not provisional.

        A row has ``t_s``, ``lat_deg``, ``lon_deg``, ``course_deg``, ``phase`` ("working",
        "backing", ...) and ``fix`` (FixKind's value); missing or None is unknown. ``withdrawn``
        are stretches (from, to) in ``t_s`` whose work was taken back as a lane.
        """
        worked = cls(tool, receiver)
        worked.keep()
        worked._batch = BATCH_REBUILT
        rows = iter(rows)
        while chunk := list(islice(rows, BATCH_REBUILT)):
            for row, place in zip(chunk, worked._places(chunk), strict=True):
                t_s, phase = float(row["t_s"]), row.get("phase")
                taken_back = any(start - ROW_S < t_s <= end for start, end in withdrawn)
                worked._take(
                    t_s,
                    place,
                    row.get("course_deg"),
                    phase == "working" and not taken_back,
                    FixKind(row.get("fix") or "plain"),
                    phase == "backing",
                )
        worked._paint()
        worked._batch = BATCH_LIVE
        return worked

    def fix(
        self,
        t_s: float,
        lat_deg: float | None,
        lon_deg: float | None,
        course_deg: float | None,
        working: bool,
        kind: FixKind = FixKind.PLAIN,
        backing: bool = False,
    ) -> None:
        """Take one good fix; None for place (or a kind that area may not use) is a gap.

        ``working`` is whether the tool works from this fix on. Never raises on a finite place.
        """
        self._take(t_s, self._on_plane(lat_deg, lon_deg), course_deg, working, kind, backing)

    def gap(self) -> None:
        """Break the swath here: what follows does not join what went before."""
        self._joint = None

    # -- figures ------------------------------------------------------------------------------

    @property
    def gross_m2(self) -> float:
        """Working width times way in work."""
        return sum(self.by_kind.values())

    @property
    def net_m2(self) -> float:
        """Ground worked at least once, up to the last paint (a pass end paints)."""
        return self._raster.area_m2 if self._raster else 0.0

    @property
    def overlap_m2(self) -> float:
        """Gross less net; not to be stated unless ``overlap_measurable``."""
        return max(0.0, self.gross_m2 - self.net_m2)

    @property
    def overlap_measurable(self) -> bool:
        """Whether the fixes were good enough to speak of overlap."""
        return overlap_measurable(self.by_kind)

    @property
    def edge_error_m(self) -> float | None:
        """How well the edges are known, metres either way; None before any work."""
        return edge_error_m(self.by_kind)

    @property
    def passes(self) -> tuple[Pass, ...]:
        """Every pass so far, the open one last."""
        return self._passes.all()

    @property
    def place(self) -> tuple[float, float] | None:
        """Latitude and longitude of the tool (middle of the shanks); None while not known."""
        if self._tool is None or self._plane is None:
            return None
        return self._plane.to_lat_lon(self._tool.x_m, self._tool.y_m)

    @property
    def raster(self) -> Raster | None:
        """The cells themselves, for pictures and for the stored summary; None before any work."""
        return self._raster

    @property
    def plane(self) -> LocalPlane | None:
        """The plane under the cells; None before the first fix."""
        return self._plane

    def misses_m2(self) -> float:
        """Unworked ground too narrow for half the tool; see misses.py. Up to a second's work."""
        return misses_m2(self._raster, self._width_m / 4.0) if self._raster else 0.0

    def inside_block(self, lat_deg: float, lon_deg: float) -> bool:
        """Whether a place lies in today's worked block, away from pass ends (block.py)."""
        if self._raster is None or self._plane is None:
            return False
        place = self._on_plane(lat_deg, lon_deg)
        return place is not None and self._block.holds(self._raster, *place)

    # -- a lane is not a field ------------------------------------------------------------------

    @property
    def came_back(self) -> bool:
        """Whether the tool has worked BESIDE_M beside earlier work of this provisional stretch."""
        return self._beside_m >= BESIDE_M

    def keep(self) -> None:
        """What was worked so far counts for good."""
        self._paint()
        self.provisional = False
        self._painted.clear()
        self._beside_m = 0.0

    def begin_provisional(self) -> None:
        """What is worked from here on may be withdrawn."""
        self.keep()
        self.provisional = True

    def withdraw(self, since_s: float) -> float:
        """Take back provisional passes that went on after ``since_s``; gross m2 taken back."""
        self._paint()
        taken = [paint for paint in self._painted if paint.laid[-1].end_s > since_s]
        self._painted = [paint for paint in self._painted if paint.laid[-1].end_s <= since_s]
        for paint in taken:
            assert self._raster is not None
            self._raster.unpaint(list(paint.fresh))
        for laid in (laid for paint in taken for laid in paint.laid):
            self.by_kind[laid.kind] -= laid.gross_m2
        self._block.keep_ends_until(self._passes.keep_until(since_s))
        self._beside_m = 0.0
        self.gap()
        return sum(laid.gross_m2 for paint in taken for laid in paint.laid)

    # -- inside -------------------------------------------------------------------------------

    def _take(
        self,
        t_s: float,
        place: tuple[float, float] | None,
        course_deg: float | None,
        working: bool,
        kind: FixKind,
        backing: bool,
    ) -> None:
        """One fix, already on the plane."""
        if place is None or kind not in _USABLE:
            self.gap()
            return
        self._mind_gap(t_s, *place)
        self._antenna = (t_s, *place)
        self._tool = self._follower.to(*place, course_deg, backing)
        if self._tool is not None:
            self._lay(t_s, self._tool, working, kind)

    def _places(self, rows: list[Mapping[str, Any]]) -> Iterator[tuple[float, float] | None]:
        """Each row on the plane, projected all at once; one by one where there is no plane yet."""
        lat = np.array([row.get("lat_deg") for row in rows], np.float64)
        lon = np.array([row.get("lon_deg") for row in rows], np.float64)
        plane = self._plane
        if plane is None or not _near(plane, lat, lon):
            for row in rows:
                yield self._on_plane(row.get("lat_deg"), row.get("lon_deg"))
            return
        x, y = plane.to_xy(lat, lon)
        for there, place in zip(np.isfinite(x).tolist(), zip(x.tolist(), y.tolist(), strict=True),
                                strict=True):  # fmt: skip
            yield place if there else None

    def _on_plane(self, lat_deg: float | None, lon_deg: float | None) -> tuple[float, float] | None:
        if lat_deg is None or lon_deg is None or abs(lat_deg) > 85.0 or abs(lon_deg) > 180.0:
            return None
        if self._plane is None:
            self._plane = LocalPlane.at(lat_deg, lon_deg)
        away_lat = abs(lat_deg - self._plane.lat_deg)
        away_lon = abs((lon_deg - self._plane.lon_deg + 180.0) % 360.0 - 180.0)
        if max(away_lat, away_lon) > FARTHEST_DEG:
            if self._raster is not None:
                return None
            self._plane = LocalPlane.at(lat_deg, lon_deg)  # nothing lies on the old one
            self._follower.lift()
            self._antenna = None
        return self._plane.to_xy(lat_deg, lon_deg)

    def _mind_gap(self, t_s: float, x_m: float, y_m: float) -> None:
        """Break swath, pass and trailing where the way from the last fix to here is not known."""
        if self._antenna is None:
            return
        then_s, then_x, then_y = self._antenna
        step, dt_s = math.hypot(x_m - then_x, y_m - then_y), t_s - then_s
        if dt_s <= GAP_S and step <= FASTEST_MPS * dt_s + JUMP_M:
            return
        self.gap()
        if dt_s > PASS_GAP_S:
            self._end_pass()
        if step > self._lag_m:
            self._follower.lift()

    def _lay(self, t_s: float, tool: ToolPlace, working: bool, kind: FixKind) -> None:
        edge: tuple[float, float, float, float] | None = None
        if self._joint is not None:
            start = self._joint.tool
            way = math.hypot(tool.x_m - start.x_m, tool.y_m - start.y_m)
            turned = abs(start.east * tool.north - start.north * tool.east)
            if way >= STEP_M or (turned > TURN_RAD and way >= LEAST_M) or not working:
                edge = tool.edge(self._width_m / 2)
                self._piece(t_s, self._joint, edge, way)
                self._joint = None
                if self.provisional:
                    self._look_beside(tool, way)
        if working and self._joint is None:
            self._joint = _Joint(tool, edge or tool.edge(self._width_m / 2), kind)
            self._begin_pass(t_s, tool)
        if not working:
            self._end_pass()

    def _piece(
        self, t_s: float, joint: _Joint, edge: tuple[float, float, float, float], way_m: float
    ) -> None:
        """Lay the swath from the joint to here."""
        gross = way_m * self._width_m
        corners = (*joint.edge, edge[2], edge[3], edge[0], edge[1])
        self._pending.append(_Laid(t_s, corners, joint.kind, gross))
        self.by_kind[joint.kind] = self.by_kind.get(joint.kind, 0.0) + gross
        self._passes.lay(t_s, way_m, gross)
        if len(self._pending) >= self._batch:
            self._paint()

    def _paint(self) -> None:
        """Put the waiting pieces on the raster."""
        if not self._pending:
            return
        assert self._raster is not None
        corners = np.array([laid.corners for laid in self._pending]).reshape(-1, 4, 2)
        fresh: list[Fresh] | None = [] if self.provisional else None
        self._passes.painted(self._raster.paint(corners, fresh) * CELL_M2)
        if fresh is not None:
            self._painted.append(_Painted(tuple(self._pending), tuple(fresh)))
        self._pending.clear()

    def _begin_pass(self, t_s: float, tool: ToolPlace) -> None:
        if self._passes.open:
            return
        if self._raster is None:
            self._raster = Raster.for_first_pass(tool.east, tool.north)
        self._passes.begin(t_s)
        self._block.end_at(t_s, tool.x_m, tool.y_m)

    def _end_pass(self) -> None:
        if not self._passes.open:
            return
        self._paint()
        end_s = self._passes.end()
        if self._tool is not None:
            self._block.end_at(end_s, self._tool.x_m, self._tool.y_m)

    def _look_beside(self, tool: ToolPlace, way_m: float) -> None:
        """Count way with earlier work one width to the left or right of the tool's middle."""
        assert self._raster is not None
        across = (tool.north * self._width_m, -tool.east * self._width_m)
        if any(
            self._raster.covered(tool.x_m + side * across[0], tool.y_m + side * across[1])
            for side in (-1.0, 1.0)
        ):
            self._beside_m += way_m


def _near(plane: LocalPlane, lat: Floats, lon: Floats) -> bool:
    """Whether all places (NaN is none) lie on the plane as ``_on_plane`` would have it."""
    away = np.maximum(np.abs(lat - plane.lat_deg), np.abs(lon - plane.lon_deg))
    return not bool(np.any(away > FARTHEST_DEG))


_USABLE = frozenset(FixKind) - {FixKind.NONE, FixKind.ESTIMATED}

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
- A state holds until the next fix. A piece shorter than STEP_M (swath.py) waits for more travel.
- *Gross* is the working width times the way the tool's middle went, joint to joint, in work.
- *Net* is ground worked at least once (raster.py); *overlap* is gross less net.
- More than GAP_S between fixes, or a step no machine makes, is a gap: neither counted nor filled.
- A *pass* goes on from tool in to tool out; a gap over PASS_GAP_S ends it too.
"""

import math
from collections.abc import Callable, Iterable, Iterator, Mapping
from itertools import islice
from typing import Any

import numpy as np

from cabapp.ground.accuracy import edge_error_m, overlap_measurable
from cabapp.ground.follow import Follower, ToolPlace
from cabapp.ground.misses import misses_m2
from cabapp.ground.passes import Pass
from cabapp.ground.raster import Floats, Raster
from cabapp.ground.swath import BATCH_LIVE, BATCH_REBUILT, Swath
from cabapp.readings import FixKind
from cabapp.rig import Receiver, Tool
from cabapp.trade.geodesy import LocalPlane

GAP_S = 2.5  # longer than one lost epoch of a 1 Hz receiver
PASS_GAP_S = 20.0
FASTEST_MPS = 80.0 / 3.6  # a faster step is a jump of the fix (fastest plausible speed)
JUMP_M = 3.0  # and a jump up to this much may ride on any step
FARTHEST_DEG = 0.5  # a shift's ground lies on one plane; a fix farther off is no place of it
BESIDE_M = 20.0  # this much way beside earlier work shows that it is a field and no lane
ROW_S = 1.0  # a row's state may have begun up to so long after the row's own time


class Worked:
    """Worked ground of one shift; see the module's head for how it is fed and what it counts."""

    def __init__(self, tool: Tool, receiver: Receiver) -> None:
        self._width_m = tool.width_m
        self._lag_m = tool.lag_m
        self._follower = Follower(tool.hitch_back_m, tool.lag_m, receiver.antenna_right_m)
        self._plane: LocalPlane | None = None
        self._antenna: tuple[float, float, float] | None = None  # time, x, y of the last fix
        self._tool: ToolPlace | None = None
        self._swath = Swath(tool.width_m)

    @classmethod
    def rebuild(
        cls,
        tool: Tool,
        receiver: Receiver,
        rows: Iterable[Mapping[str, Any]],
        withdrawn: tuple[tuple[float, float], ...] = (),
        each: Callable[[float, ToolPlace | None], None] | None = None,
    ) -> "Worked":
        """The same ground from stored rows, kept and not provisional.

        A row has ``t_s``, ``lat_deg``, ``lon_deg``, ``course_deg``, ``phase`` ("working",
        "backing", ...) and ``fix`` (FixKind's value); missing or None is unknown. ``withdrawn``
        are stretches (from, to) in ``t_s`` whose work was taken back as a lane. ``each`` is told
        after every row the gross area that it closed, m2, and where the tool was.
        """
        worked = cls(tool, receiver)
        worked.keep()
        worked._swath.batch = BATCH_REBUILT
        rows = iter(rows)
        while chunk := list(islice(rows, BATCH_REBUILT)):
            for row, place in zip(chunk, worked._places(chunk), strict=True):
                t_s, phase = float(row["t_s"]), row.get("phase")
                taken_back = any(start - ROW_S < t_s <= end for start, end in withdrawn)
                before = worked.gross_m2 if each else 0.0
                worked._take(
                    t_s,
                    place,
                    row.get("course_deg"),
                    phase == "working" and not taken_back,
                    FixKind(row.get("fix") or "plain"),
                    phase == "backing",
                )
                if each:
                    each(worked.gross_m2 - before, worked._tool if place is not None else None)
        worked._swath.paint()
        worked._swath.batch = BATCH_LIVE
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

    def take_up(
        self,
        plane: LocalPlane,
        raster: Raster,
        by_kind: dict[FixKind, float],
        passes: Iterable[Pass],
        ends: Iterable[tuple[int, float, float]],
    ) -> None:
        """Begin with ground from before an interruption (kept.py)."""
        self._plane = plane
        self._swath.take_up(raster, by_kind, passes, ends)

    def gap(self) -> None:
        """Break the swath here: what follows does not join what went before."""
        self._swath.gap()

    # -- figures ------------------------------------------------------------------------------

    @property
    def by_kind(self) -> dict[FixKind, float]:
        """Gross area by the kind of fix it was worked with."""
        return self._swath.by_kind

    @property
    def gross_m2(self) -> float:
        """Working width times way in work."""
        return sum(self.by_kind.values())

    @property
    def net_m2(self) -> float:
        """Ground worked at least once, up to the last paint (a pass end paints)."""
        return self._swath.raster.area_m2 if self._swath.raster else 0.0

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
        return self._swath.passes.all()

    @property
    def pass_ends(self) -> tuple[tuple[int, float, float], ...]:
        """Where passes began and ended: number of the pass, and metres on the plane."""
        return self._swath.block.ends()

    @property
    def place(self) -> tuple[float, float] | None:
        """Latitude and longitude of the tool (middle of the shanks); None while not known."""
        if self._tool is None or self._plane is None:
            return None
        return self._plane.to_lat_lon(self._tool.x_m, self._tool.y_m)

    @property
    def raster(self) -> Raster | None:
        """The cells themselves, for pictures and for the stored summary; None before any work."""
        return self._swath.raster

    @property
    def plane(self) -> LocalPlane | None:
        """The plane under the cells; None before the first fix."""
        return self._plane

    def misses_m2(self) -> float:
        """Unworked ground too narrow for half the tool; see misses.py. Up to a second's work."""
        return misses_m2(self._swath.raster, self._width_m / 4.0) if self._swath.raster else 0.0

    def inside_block(self, lat_deg: float, lon_deg: float) -> bool:
        """Whether a place lies in today's worked block, away from pass ends (block.py)."""
        if self._swath.raster is None or self._plane is None:
            return False
        place = self._on_plane(lat_deg, lon_deg)
        return place is not None and self._swath.block.holds(self._swath.raster, *place)

    # -- a lane is not a field ------------------------------------------------------------------

    @property
    def came_back(self) -> bool:
        """Whether the tool has worked BESIDE_M beside earlier work of this provisional stretch."""
        return self._swath.beside_m >= BESIDE_M

    @property
    def provisional(self) -> bool:
        """Whether what is worked may still be withdrawn."""
        return self._swath.provisional

    def keep(self) -> None:
        """What was worked so far counts for good."""
        self._swath.keep()

    def begin_provisional(self) -> None:
        """What is worked from here on may be withdrawn."""
        self._swath.keep()
        self._swath.provisional = True

    def withdraw(self, since_s: float) -> float:
        """Take back provisional passes that went on after ``since_s``; gross m2 taken back."""
        return self._swath.withdraw(since_s)

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
            self._swath.lay(t_s, self._tool, working, kind)

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
            if self._swath.raster is not None:
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
        if dt_s > PASS_GAP_S and self._tool is not None:
            self._swath.end_pass(self._tool)
        if step > self._lag_m:
            self._follower.lift()


def _near(plane: LocalPlane, lat: Floats, lon: Floats) -> bool:
    """Whether all places (NaN is none) lie on the plane as ``_on_plane`` would have it."""
    away = np.maximum(np.abs(lat - plane.lat_deg), np.abs(lon - plane.lon_deg))
    return not bool(np.any(away > FARTHEST_DEG))


_USABLE = frozenset(FixKind) - {FixKind.NONE, FixKind.ESTIMATED}

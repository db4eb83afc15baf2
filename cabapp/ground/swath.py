"""The swath as it is laid, piece by piece, onto the raster; and taken back where it was a lane.

Joints: a piece ends square across the tool's heading, and the next one begins on that very line.
"""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from cabapp.ground.block import Block
from cabapp.ground.follow import ToolPlace
from cabapp.ground.passes import Pass, Passes
from cabapp.ground.raster import CELL_M2, Fresh, Raster
from cabapp.readings import FixKind

STEP_M = 1.0  # shortest piece of a swath: at 10 Hz jitter would add way that nobody drove
LEAST_M = 0.2  # but in a turn of more than TURN_RAD a piece may be this short
TURN_RAD = 0.1
BATCH_LIVE = 4  # pieces painted at once: net area lags by that much, at a quarter of the cost
BATCH_REBUILT = 512

Edge = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class _Joint:
    """Where one piece of swath ends and the next begins: the tool, and its two ends."""

    tool: ToolPlace
    edge: Edge
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


class Swath:
    """Everything laid in a shift. While ``provisional``, what is laid may be withdrawn."""

    def __init__(self, width_m: float) -> None:
        self._width_m = width_m
        self._joint: _Joint | None = None  # where the next piece begins
        self._pending: list[_Laid] = []
        self._painted: list[_Painted] = []
        self.batch = BATCH_LIVE
        self.raster: Raster | None = None  # made with the first work
        self.block = Block(width_m)
        self.passes = Passes()
        self.provisional = True
        self.beside_m = 0.0  # way beside earlier work, while provisional
        self.by_kind: dict[FixKind, float] = {}

    def take_up(
        self,
        raster: Raster,
        by_kind: dict[FixKind, float],
        passes: Iterable[Pass],
        ends: Iterable[tuple[int, float, float]],
    ) -> None:
        """Begin with what was laid before, kept for good."""
        self.raster, self.by_kind = raster, by_kind
        self.passes.take_up(passes)
        for number, x_m, y_m in ends:
            self.block.end_at(number, x_m, y_m)
        self.keep()

    def gap(self) -> None:
        """Break the swath here."""
        self._joint = None

    def lay(self, t_s: float, tool: ToolPlace, working: bool, kind: FixKind) -> None:
        """The tool is here now, and works from here on or not."""
        edge: Edge | None = None
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
            self.end_pass(tool)

    def _piece(self, t_s: float, joint: _Joint, edge: Edge, way_m: float) -> None:
        """Lay the swath from the joint to here."""
        gross = way_m * self._width_m
        corners = (*joint.edge, edge[2], edge[3], edge[0], edge[1])
        self._pending.append(_Laid(t_s, corners, joint.kind, gross))
        self.by_kind[joint.kind] = self.by_kind.get(joint.kind, 0.0) + gross
        self.passes.lay(t_s, way_m, gross)
        if len(self._pending) >= self.batch:
            self.paint()

    def paint(self) -> None:
        """Put the waiting pieces on the raster."""
        if not self._pending:
            return
        assert self.raster is not None
        corners = np.array([laid.corners for laid in self._pending]).reshape(-1, 4, 2)
        fresh: list[Fresh] | None = [] if self.provisional else None
        self.passes.painted(self.raster.paint(corners, fresh) * CELL_M2)
        if fresh is not None:
            self._painted.append(_Painted(tuple(self._pending), tuple(fresh)))
        self._pending.clear()

    def _begin_pass(self, t_s: float, tool: ToolPlace) -> None:
        if self.passes.open:
            return
        if self.raster is None:
            self.raster = Raster.for_first_pass(tool.east, tool.north)
        self.passes.begin(t_s)
        self.block.end_at(len(self.passes), tool.x_m, tool.y_m)

    def end_pass(self, tool: ToolPlace) -> None:
        """The tool came out here, or so long ago that nobody knows."""
        if not self.passes.open:
            return
        self.paint()
        self.passes.end()
        self.block.end_at(len(self.passes), tool.x_m, tool.y_m)

    def keep(self) -> None:
        """What was laid so far counts for good."""
        self.paint()
        self.passes.keep()
        self.provisional = False
        self._painted.clear()
        self.beside_m = 0.0

    def withdraw(self, since_s: float) -> float:
        """Take back provisional passes that went on after ``since_s``; gross m2 taken back."""
        self.paint()
        taken = [paint for paint in self._painted if paint.laid[-1].end_s > since_s]
        self._painted = [paint for paint in self._painted if paint.laid[-1].end_s <= since_s]
        for paint in taken:
            assert self.raster is not None
            self.raster.unpaint(list(paint.fresh))
        for laid in (laid for paint in taken for laid in paint.laid):
            self.by_kind[laid.kind] -= laid.gross_m2
        self.passes.withdraw(since_s)
        self.block.keep_first(len(self.passes))
        self.beside_m = 0.0
        self.gap()
        return sum(laid.gross_m2 for paint in taken for laid in paint.laid)

    def _look_beside(self, tool: ToolPlace, way_m: float) -> None:
        """Count way with earlier work one width to the left or right of the tool's middle."""
        assert self.raster is not None
        across = (tool.north * self._width_m, -tool.east * self._width_m)
        if any(
            self.raster.covered(tool.x_m + side * across[0], tool.y_m + side * across[1])
            for side in (-1.0, 1.0)
        ):
            self.beside_m += way_m

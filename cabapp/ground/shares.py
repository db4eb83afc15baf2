"""Ground by state: how much of what was worked was in band, out, unknown, raised or hard.

A second's state holds for the ground from its place to the next one's, as the swath does. Ground
that passed while the place was unknown is not on the swath: it is counted as unknown, at the rate
of the ground that was seen, so that a loss of the receiver never makes a shift look better.
"""

import math
import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from cabapp.ground.follow import ToolPlace

Floats = npt.NDArray[np.float64]
TRACE_FIELDS = 4


@dataclass(slots=True)
class Trace:
    """What each row of a rebuild laid: area m2, the tool's place on the plane, its heading."""

    areas: list[float] = field(default_factory=list)
    places: list[tuple[float, float, float]] = field(default_factory=list)

    def each(self, area_m2: float, tool: ToolPlace | None) -> None:
        """One row, in order; a row closes the ground that the row before it began."""
        self.areas.append(area_m2)
        if tool is None:
            self.places.append((math.nan, math.nan, math.nan))
        else:
            self.places.append((tool.x_m, tool.y_m, math.atan2(tool.east, tool.north)))

    def by_row(self) -> Floats:
        """The area that each row's state holds for, m2."""
        return np.array([*self.areas[1:], 0.0] if self.areas else [], np.float64)


def areas_by_state(areas: Floats, states: Sequence[str | None]) -> dict[str, float]:
    """Area of each state, m2, for rows with these areas; a row without a state is unknown."""
    sums: dict[str, float] = {}
    for area, state in zip(areas.tolist(), states, strict=True):
        if area > 0.0:
            key = state or "unknown"
            sums[key] = sums.get(key, 0.0) + area
    return dict(sorted(sums.items()))


def unseen_rows(phases: Sequence[str | None], speeds: Sequence[str | None]) -> int:
    """Rows in which work was going on when the phase was last known, and is not known now."""
    pairs = zip(phases, speeds, strict=True)
    return sum(phase == "unknown" and speed == "unknown" for phase, speed in pairs)


def pack_trace(trace: Trace) -> bytes:
    """Area, x, y and heading of each row as bytes: little-endian 32-bit floats, deflated."""
    table = np.empty((len(trace.areas), TRACE_FIELDS), "<f4")
    table[:, 0] = trace.by_row()
    table[:, 1:] = np.array(trace.places, np.float64).reshape(len(trace.places), 3)
    return zlib.compress(table.T.tobytes(), 1)


def unpack_trace(data: bytes, rows: int) -> Floats:
    """The four fields of each row again, shape (4, rows); ValueError for other bytes."""
    wanted = rows * TRACE_FIELDS * 4
    try:
        found = zlib.decompressobj().decompress(data, wanted + 1)
    except zlib.error as error:
        raise ValueError(f"the traced swath cannot be read: {error}") from None
    if len(found) != wanted:
        raise ValueError(f"the traced swath holds {len(found)} bytes, expected {wanted}")
    return np.frombuffer(found, "<f4").reshape(TRACE_FIELDS, rows).astype(np.float64)

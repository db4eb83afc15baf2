"""The invented tractor as a source of bytes, with the truth of each tenth of a second beside it."""

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from cabapp.rig import Rig
from cabapp.world.constants import FIRST, Constants
from cabapp.world.drive import STEP_S, drive
from cabapp.world.happening import Kind, Window, windows
from cabapp.world.node import Node, Signals
from cabapp.world.noise import Floats, Rough, stream
from cabapp.world.place import to_degrees
from cabapp.world.receiver import Listener
from cabapp.world.scenarios import Scenario
from cabapp.world.shanks import Frame, Loads, Shanks

BLOCK_TICKS = 6_000  # ten minutes at a time: memory stays flat, numpy stays busy
NODE_DELAY_S = 0.02
DOWN_DEPTH_M = 0.05  # the switch sits on the lift and closes about here

Table = NDArray[np.void]


class PortEvent(Enum):
    """What reaches a port: bytes, the cable coming out, the cable back in."""

    BYTES = "bytes"
    PULLED = "pulled"
    BACK = "back"


@dataclass(frozen=True, slots=True, order=True)
class Chunk:
    """Bytes (or a cable's coming and going) at a port, ``t_s`` seconds from the start."""

    t_s: float
    port: str
    event: PortEvent = PortEvent.BYTES
    data: bytes = b""


class Phase(Enum):
    """What the machine truly does; the words are the app's own phases."""

    STANDING = "standing"
    LIFTED = "lifted"
    WORKING = "working"
    TURNING = "turning"
    BACKING = "backing"
    ROAD = "road"


PHASES = tuple(Phase)


class World:
    """One scenario on one rig. ``chunks`` are its bytes, ``truth`` its rows; both repeatable."""

    def __init__(
        self, scenario: Scenario, rig: Rig, seed: int = 1, constants: Constants = FIRST
    ) -> None:
        self.scenario, self.rig, self.seed, self.constants = scenario, rig, seed, constants
        self.legs = scenario.layout(rig, constants)
        self.motion = drive(self.legs, scenario.soil, rig, constants, seed)
        self._mat = Rough(stream(seed, "mat"), constants.mat_every_m)
        self.windows = windows(scenario.happenings, self.legs, self.motion)

    @property
    def duration_s(self) -> float:
        """Length of the scenario in seconds."""
        return len(self.motion) * STEP_S

    def chunks(self) -> Iterator[Chunk]:
        """All bytes in order of time, and each cable's coming and going."""
        streams = [self._with_cable(port, chunks) for port, chunks in self._streams().items()]
        yield from heapq.merge(*streams, key=lambda chunk: chunk.t_s)

    def truth(self) -> Table:
        """One row each STEP_S: see ``truth_type`` for the columns."""
        return np.concatenate([block.truth for block in self._blocks()])

    def _streams(self) -> dict[str, Iterator[Chunk]]:
        """One stream of chunks a port, before cables are pulled."""
        ports = {self.rig.receiver.port: self._receiver_chunks()}
        for port in self.rig.ports:
            if any(sensor.port == port.name for sensor in self.rig.sensors):
                node = self._node_chunks(port.name)
                known = ports.get(port.name)
                ports[port.name] = (
                    heapq.merge(known, node, key=lambda chunk: chunk.t_s) if known else node
                )
        return ports

    def _receiver_chunks(self) -> Iterator[Chunk]:
        kind, port = self.scenario.receiver, self.rig.receiver.port
        listener = Listener(
            self.motion,
            self.rig,
            kind,
            self.constants,
            self.seed,
            self.windows,
            self.scenario.starts,
        )
        size = max(1, int(BLOCK_TICKS * STEP_S * kind.hz))
        total = int(self.duration_s * kind.hz)
        for first in range(0, total, size):
            times, rows = listener.epochs(first, min(size, total - first))
            for at, data in zip(times.tolist(), rows, strict=True):
                yield Chunk(at, port, PortEvent.BYTES, data)

    def _node_chunks(self, port: str) -> Iterator[Chunk]:
        node = Node(self.rig, port, self.constants, self.seed, self.windows)
        for block in self._blocks():
            rows = node.lines(block.first, block.signals)
            times = (block.signals.t_s + NODE_DELAY_S).tolist()
            for at, data in zip(times, rows, strict=True):
                yield Chunk(at, port, PortEvent.BYTES, data)

    def _with_cable(self, port: str, chunks: Iterator[Chunk]) -> Iterator[Chunk]:
        """Drops what a pulled cable or a silent port keeps back, and says when a cable moves."""
        mine = [w for w in self.windows if w.target == port]
        quiet = [w for w in mine if w.kind in (Kind.CABLE_PULLED, Kind.PORT_SILENT)]
        moves: list[Chunk] = []
        for window in mine:
            if window.kind is Kind.CABLE_PULLED:
                moves.append(Chunk(window.start_s, port, PortEvent.PULLED))
                if window.end_s < self.duration_s:
                    moves.append(Chunk(window.end_s, port, PortEvent.BACK))
        heard = (c for c in chunks if not any(w.start_s <= c.t_s < w.end_s for w in quiet))
        return heapq.merge(heard, sorted(moves), key=lambda chunk: chunk.t_s)

    def _blocks(self) -> Iterator["_Block"]:
        frame = Frame(
            self.motion,
            self.scenario.soil,
            self.rig,
            self.constants,
            self.seed,
            self.windows,
        )
        shanks = Shanks(frame, self.seed)
        for first in range(0, len(self.motion), BLOCK_TICKS):
            part = slice(first, min(first + BLOCK_TICKS, len(self.motion)))
            yield self._block(first, part, frame, shanks)

    def _block(self, first: int, part: slice, frame: Frame, shanks: Shanks) -> "_Block":
        m, rig = self.motion, self.rig
        middle = frame.middle(part)
        tool = rig.tool.shanks
        depths = np.empty((len(middle), len(tool)))
        for n, shank in enumerate(tool):
            depths[:, n] = frame.at(middle, part, shank.across_m, shank.back_m)
            depths[:, n] = _kept_up(depths[:, n], shank.number, m.t_s[part], self.windows)
        loads = shanks.loads(part, depths)
        slip = m.slip[part].copy()
        for window in self.windows:
            if window.kind is Kind.SLIPPING:
                slip = slip + window.size * window.mask(m.t_s[part])
        wheel = np.abs(m.speed_mps[part]) / (1.0 - np.minimum(slip, 0.9))
        wheel = wheel * self.constants.wheel_scale
        values, most, least = self._signals(part, middle, frame, loads, shanks, wheel)
        truth = self._truth(part, middle, depths, loads, slip, wheel)
        return _Block(first, Signals(m.t_s[part], values, most, least), truth)

    def _signals(
        self,
        part: slice,
        middle: Floats,
        frame: Frame,
        loads: Loads,
        shanks: Shanks,
        wheel: Floats,
    ) -> tuple[dict[str, Floats], dict[str, Floats], dict[str, Floats]]:
        """True values for each fitted channel; arms see the mat and sink a little themselves."""
        m, c, rig = self.motion, self.constants, self.rig
        values: dict[str, Floats] = {}
        most: dict[str, Floats] = {}
        least: dict[str, Floats] = {}
        mat = c.mat_m * np.maximum(0.0, 1.0 + 0.6 * self._mat.at(m.travel_m[part]))
        arm = mat - 0.3 * c.softness_m * frame.soft(part)
        for sensor in rig.fitted("depth"):
            values[sensor.channel] = arm + frame.at(middle, part, sensor.across_m, sensor.back_m)
        numbers = [shank.number for shank in rig.tool.shanks]
        for sensor in rig.fitted("spring"):
            n = numbers.index(sensor.shank or 0)
            scale = shanks.trip_n[n]
            values[sensor.channel] = scale * loads.mean[:, n]
            most[sensor.channel] = scale * loads.most[:, n]
            least[sensor.channel] = scale * loads.least[:, n]
        tractor = {
            "tool_down": (middle > -DOWN_DEPTH_M).astype(np.float64),
            "wheel_speed": wheel,
            "radar_speed": np.abs(m.speed_mps[part]) * c.radar_scale,
            "hitch": 1.0 - m.down[part],
            "reverse": (m.speed_mps[part] < -0.02).astype(np.float64),
            "key": np.ones(len(middle)),
        }
        fitted = {sensor.channel for sensor in rig.sensors}
        values.update({name: value for name, value in tractor.items() if name in fitted})
        return values, most, least

    def _truth(
        self,
        part: slice,
        middle: Floats,
        depths: Floats,
        loads: Loads,
        slip: Floats,
        wheel: Floats,
    ) -> Table:
        m, soil = self.motion, self.scenario.soil
        lat, lon = to_degrees(m.x_m[part], m.y_m[part])
        layer = soil.over("layer_m", soil.layer_bottom_m, m.tool_x_m[part], m.tool_y_m[part])
        rows = np.zeros(len(middle), dtype=truth_type(len(self.rig.tool.shanks)))
        columns = {
            "t_s": m.t_s[part],
            "x_m": m.x_m[part],
            "y_m": m.y_m[part],
            "lat_deg": lat,
            "lon_deg": lon,
            "tool_x_m": m.tool_x_m[part],
            "tool_y_m": m.tool_y_m[part],
            "tool_heading_deg": m.tool_heading_deg[part],
            "speed_mps": m.speed_mps[part],
            "heading_deg": m.heading_deg[part],
            "tool_down": middle > 0.0,
            "depth_m": middle,
            "shank_depth_m": depths,
            "spring": loads.mean,
            "spring_most": loads.most,
            "trips": loads.trips,
            "slip": slip,
            "wheel_mps": wheel,
            "layer_bottom_m": layer,
            "phase": self._phases(part, middle),
            "leg": m.leg[part],
        }
        for name, column in columns.items():
            rows[name] = column
        return rows

    def _phases(self, part: slice, middle: Floats) -> NDArray[np.uint8]:
        m = self.motion
        bends = np.array([leg.bend != 0.0 or leg.name.startswith("turn") for leg in self.legs])
        roads = np.array([leg.road for leg in self.legs])
        speed, down, leg = m.speed_mps[part], middle > 0.0, m.leg[part]
        road, bend = roads[leg], bends[leg]
        chosen = np.select(
            [np.abs(speed) < 0.05, speed < 0.0, road & ~down, bend, down],
            [PHASES.index(phase) for phase in _PHASE_ORDER],
            PHASES.index(Phase.LIFTED),
        )
        return chosen.astype(np.uint8)


_PHASE_ORDER = (Phase.STANDING, Phase.BACKING, Phase.ROAD, Phase.TURNING, Phase.WORKING)


@dataclass(frozen=True)
class _Block:
    first: int
    signals: Signals
    truth: Table


def _kept_up(depth: Floats, number: int, t: Floats, found: tuple[Window, ...]) -> Floats:
    """A shank that stays up scratches the surface at most."""
    for window in found:
        if window.kind is Kind.STAYS_UP and window.target in ("", str(number)):
            depth = np.where(window.mask(t), np.minimum(depth, 0.03), depth)
    return depth


def truth_type(shanks: int) -> np.dtype[np.void]:
    """Columns of the truth. ``spring`` is a share of the trip; ``phase`` an index of PHASES."""
    plain: tuple[str, ...] = ("t_s", "x_m", "y_m", "lat_deg", "lon_deg", "tool_x_m", "tool_y_m")
    plain += ("tool_heading_deg", "speed_mps", "heading_deg", "depth_m", "slip", "wheel_mps")
    return np.dtype(
        [(name, np.float64) for name in (*plain, "layer_bottom_m")]
        + [("tool_down", np.bool_), ("phase", np.uint8), ("leg", np.int32)]
        + [(name, np.float64, (shanks,)) for name in ("shank_depth_m", "spring", "spring_most")]
        + [("trips", np.int16, (shanks,))]
    )

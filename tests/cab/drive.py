"""A small invented machine for stories: says what it does, in real NMEA and XDR bytes."""

import math
from copy import deepcopy
from dataclasses import dataclass, field
from functools import cache

from cabapp.cab import Cab
from cabapp.events import Bytes, Event, Tap, TapKind, Tick
from cabapp.outcome import Moment, Outcome, Row, Snapshot, Sound, What
from cabapp.plan import Plan, default_plan
from cabapp.rig import (
    Limits,
    Port,
    Rig,
    Sensor,
    Shank,
    Tool,
)
from cabapp.units import INCH_M, KMH_MPS, KNOT_MPS, MPH_MPS, UnitSystem
from cabapp.words import Level
from tests.sentences import sentence

TRIP_N = 20_000.0


def _angle(value: float, digits: int) -> str:
    degrees = int(abs(value))
    return f"{degrees:0{digits}d}{(abs(value) - degrees) * 60:09.6f}"


def seven_shanks() -> tuple[Shank, ...]:
    """A V of seven."""
    return tuple(Shank(n + 1, (n - 3) * 0.76, 4.0 + 0.45 * abs(n - 3)) for n in range(7))


def receiver_rig(units: UnitSystem = UnitSystem.US) -> Rig:
    """A receiver and nothing else."""
    return Rig(units=units, tool=Tool(shanks=seven_shanks()), limits=Limits(depth_target_m=None))


def full_rig(
    depth: bool = True,
    springs: bool = True,
    switch: bool = True,
    wheel: bool = True,
    units: UnitSystem = UnitSystem.US,
) -> Rig:
    """Four depth sensors at the corners, seven springs, a switch and a wheel signal."""
    sensors: list[Sensor] = []
    if depth:
        places = (
            (-1.9, 3.8, "left"),
            (1.9, 3.8, "right"),
            (-1.9, 5.4, "left"),
            (1.9, 5.4, "right"),
        )
        sensors += [
            Sensor(
                f"depth{n}", f"DEPTH{n}", "node", cable=n, side=side, across_m=a, back_m=b,
                trusted=True,
            )
            for n, (a, b, side) in enumerate(places, start=1)
        ]  # fmt: skip
    if springs:
        sensors += [
            Sensor(
                f"spring{n}", f"SPRING{n}", "node", cable=4 + n, shank=n, trip_n=TRIP_N,
                trusted=True,
            )
            for n in range(1, 8)
        ]  # fmt: skip
    if switch:
        sensors.append(Sensor("tool_down", "TOOLDOWN", "node", input="switch", cable=12))
    if wheel:
        sensors.append(Sensor("wheel_speed", "WHEELSPEED", "node", trusted=True, cable=13))
    return Rig(
        units=units,
        tool=Tool(shanks=seven_shanks()),
        ports=(Port("gnss"), Port("node", role="node")),
        sensors=tuple(sensors),
        limits=Limits(depth_target_m=14 * INCH_M),
    )


@dataclass
class Machine:
    """Drives a cab: set what is so, then ``go`` for some seconds."""

    rig: Rig = field(default_factory=receiver_rig)
    plan: Plan | None = None
    gnss_hz: int = 10
    node_hz: int = 10
    chunk: int = 0  # 0: a sentence's bytes at once
    start_s: float = 1000.0
    tow_s: float = 8 * 3600.0

    def __post_init__(self) -> None:
        self.cab = Cab(self.rig, self.plan or default_plan(self.rig))
        self.ticks = round(self.start_s * 10)
        self.mph = self.real_mph = 0.0
        self.course = 90.0
        self.turn_dps = 0.0
        self.fix = True
        self.receiver_on = True
        self.sends_speed = True
        self.down = False
        self.depth_in: float | dict[int, float | None] = 0.0
        self.share: float | dict[int, float | None] = 0.0
        self.most: dict[int, float] = {}
        self.slip = 0.0
        self.node_on = True
        self.muted: set[str] = set()
        self.freeze: set[int] = set()  # depth sensors that repeat themselves
        self.lat, self.lon = 44.0, 10.0
        self.moments: list[Moment] = []
        self.sounds: list[Sound] = []
        self.rows: list[Row] = []
        self.snapshot: Snapshot | None = None
        self.events: list[Event] = []
        self.keep_events = False

    # -- what is so -------------------------------------------------------------------------------

    @property
    def now(self) -> float:
        return round(self.ticks * 0.1, 3)

    def work(self, mph: float = 6.0) -> "Machine":
        """In the ground, all in band."""
        self.mph, self.down, self.depth_in, self.share = mph, True, 14.0, 0.55
        self.turn_dps = 0.0
        return self

    def lift(self) -> "Machine":
        """Tool up."""
        self.down, self.depth_in, self.share = False, -4.0, 0.0
        return self

    def stop(self) -> "Machine":
        self.mph = 0.0
        return self

    def go(self, seconds: float) -> "Machine":
        """Let time pass on the grid of ticks."""
        for _ in range(round(seconds * 10)):
            self.ticks += 1
            self._move(0.1)
            if self.receiver_on and self.ticks % (10 // self.gnss_hz) == 0:
                self.send("gnss", self._receiver())
            if self.rig.sensors and self.node_on and self.ticks % (10 // self.node_hz) == 0:
                self.send("node", self._node())
            self.step(Tick(self.now))
        return self

    def tap(self, kind: TapKind, value: str | float | None = None) -> Outcome:
        return self.step(Tap(self.now, kind, value))

    def send(self, port: str, data: bytes) -> None:
        size = self.chunk or max(1, len(data))
        for at in range(0, len(data), size):
            self.step(Bytes(self.now, port, data[at : at + size]))

    def step(self, event: Event) -> Outcome:
        if self.keep_events:
            self.events.append(event)
        out = self.cab.step(event)
        self.moments += out.moments
        self.sounds += out.sounds
        self.rows += out.rows
        self.snapshot = out.snapshot or self.snapshot
        return out

    # -- what is asked ----------------------------------------------------------------------------

    @property
    def picture(self) -> Snapshot:
        return self.cab.picture()

    def onsets(self, rule: str = "") -> list[Moment]:
        return [m for m in self.moments if m.what is What.ONSET and rule in ("", m.rule)]

    def ends(self, rule: str = "") -> list[Moment]:
        return [m for m in self.moments if m.what is What.END and rule in ("", m.rule)]

    def rules(self) -> list[str]:
        return [m.rule for m in self.onsets()]

    def active(self) -> set[str]:
        """The alerts in the band; notes stand in their own line."""
        active = self.cab.judge.active
        return {alert.rule.value for alert in active if alert.level is not Level.NOTE}

    def notes(self) -> set[str]:
        active = self.cab.judge.active
        return {alert.rule.value for alert in active if alert.level is Level.NOTE}

    # -- bytes ------------------------------------------------------------------------------------

    def _move(self, dt: float) -> None:
        self.course = (self.course + self.turn_dps * dt) % 360.0
        change = max(-2.0, min(2.0, (self.mph - self.real_mph) / dt))  # a tractor's 0.9 m/s2
        self.real_mph += change * dt
        way = self.real_mph * MPH_MPS * dt
        self.lat += way * math.cos(math.radians(self.course)) / 111_320.0
        self.lon += (
            way * math.sin(math.radians(self.course))
            / (111_320.0 * math.cos(math.radians(self.lat)))
        )  # fmt: skip

    def _receiver(self) -> bytes:
        tod = self.tow_s + self.now
        hms = f"{int(tod // 3600) % 24:02d}{int(tod // 60) % 60:02d}{tod % 60:05.2f}"
        if not self.fix:
            return sentence(f"GNRMC,{hms},V,,,,,,,210526,,,N")
        lat, lon = _angle(self.lat, 2), _angle(self.lon, 3)
        speed = self.real_mph * MPH_MPS
        if not self.sends_speed:
            return sentence(f"GNGGA,{hms},{lat},N,{lon},E,2,12,0.8,250.0,M,45.0,M,,")
        course = f"{self.course:.1f}" if speed * 3.6 > 0.5 else ""
        return sentence(
            f"GNRMC,{hms},A,{lat},N,{lon},E,{speed / KNOT_MPS:.3f},{course},210526,,,D"
        ) + sentence(f"GNGGA,{hms},{lat},N,{lon},E,2,12,0.8,250.0,M,45.0,M,,")

    def _node(self) -> bytes:
        groups: list[str] = []
        for sensor in self.rig.sensors:
            name = sensor.wire_name
            if name in self.muted:
                continue
            if name.startswith("DEPTH"):
                value = self._of(self.depth_in, int(name[5:]))
                wobble = 0.001 * ((self.ticks * 7 + int(name[5:])) % 3 - 1)
                if int(name[5:]) in self.freeze:
                    wobble = 0.0
                text = "" if value is None else f"{value * INCH_M + wobble:.4f}"
                groups.append(f"D,{text},M,{name}")
            elif name.startswith("SPRING"):
                number = int(name[6:])
                value = self._of(self.share, number)
                text = "" if value is None else f"{value * TRIP_N:.0f}"
                groups.append(f"N,{text},N,{name}")
                if value is not None and number in self.most:
                    groups.append(f"N,{self.most[number] * TRIP_N:.0f},N,{name}MAX")
            elif name == "TOOLDOWN":
                groups.append(f"G,{int(self.down)},,{name}")
            elif name == "WHEELSPEED":
                wheel = self.real_mph * MPH_MPS / max(0.01, 1.0 - self.slip)
                groups.append(f"G,{wheel:.3f},,{name}")
        lines = [groups[i : i + 3] for i in range(0, len(groups), 3)]
        return b"".join(sentence("YXXDR," + ",".join(line)) for line in lines)

    @staticmethod
    def _of(value: float | dict[int, float | None], number: int) -> float | None:
        return value.get(number) if isinstance(value, dict) else value


def working(rig: Rig | None = None, mph: float = 6.0, **how: object) -> Machine:
    """A machine that has worked long enough to be armed and settled, all in band."""
    return deepcopy(_settled(rig or receiver_rig(), mph, tuple(how.items())))


@cache
def _settled(rig: Rig, mph: float, how: tuple[tuple[str, object], ...]) -> Machine:
    """The first minute of a drive is the same each time: driven once, then copied."""
    machine = Machine(rig, **dict(how))  # type: ignore[arg-type]
    machine.go(5)
    machine.work(mph).go(60)
    return machine


__all__ = ["KMH_MPS", "Machine", "full_rig", "receiver_rig", "sentence", "working"]

"""The sensor node: what each sensor makes of the truth, and the XDR lines that carry it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cabapp.channels import family_of
from cabapp.rig import Rig, Sensor
from cabapp.world.constants import Constants
from cabapp.world.happening import Kind, Window
from cabapp.world.noise import Floats, stream
from cabapp.world.sentences import Columns, number, only, rows_of, sentence, text

GROUP_LIMIT = 3  # groups a sentence: keeps every line within the 82 characters of NMEA 0183
SLOW_TICKS = 5  # a switch repeats its state each half second
SCALE_M = 0.40  # full scale of an arm, for bend and hysteresis


@dataclass(frozen=True)
class Signals:
    """True values at each tick, in SI, by channel; springs in newtons, with most and least."""

    t_s: Floats
    values: dict[str, Floats]
    most: dict[str, Floats]
    least: dict[str, Floats]


@dataclass(frozen=True)
class Group:
    """One XDR group over many ticks: its column of figures and where it is sent at all."""

    head: str
    figures: Columns
    tail: str
    sent: NDArray[np.bool_]

    def column(self) -> Columns:
        rows = len(self.sent)
        return only(
            np.hstack([text(self.head, rows), self.figures, text(self.tail, rows)]), self.sent
        )


class Node:
    """Turns truth into lines, slice by slice; keeps what a frozen sensor last said."""

    def __init__(
        self, rig: Rig, port: str, c: Constants, seed: int, found: tuple[Window, ...]
    ) -> None:
        self.c, self.port, self.seed = c, port, seed
        self.sensors = tuple(s for s in rig.sensors if s.port == port)
        self.found = found
        self._held: dict[Window, tuple[float, float, float]] = {}
        self._wires = {s.channel: Wire.of(s) for s in self.sensors}

    def lines(self, first: int, signals: Signals) -> list[bytes]:
        """The bytes of each tick; ``first`` is the number of the first tick of this slice."""
        ticks = np.arange(first, first + len(signals.t_s))
        rng = stream(self.seed, "node", self.port, first)
        sequence = number((ticks % 10_000).astype(np.float64))
        every = np.ones(len(ticks), dtype=bool)
        fast = [Group(",G,", sequence, ",,SEQ", every)]
        slow: list[Group] = []
        loads: list[list[Group]] = []
        depths: list[Group] = []
        for sensor in self.sensors:
            groups = self._groups(sensor, signals, rng)
            family = family_of(sensor.channel).name
            if family == "spring":
                loads.append(groups)
            elif family == "depth":
                depths += groups
            elif family in ("wheel_speed", "radar_speed"):
                fast += groups
            else:
                slow += groups
        now_and_then = ticks % SLOW_TICKS == 0
        slow = [Group(g.head, g.figures, g.tail, g.sent & now_and_then) for g in slow]
        sentences = [_split(depths), loads, _split(fast), _split(slow)]
        return rows_of([_line(groups) for part in sentences for groups in part])

    def _groups(self, sensor: Sensor, signals: Signals, rng: np.random.Generator) -> list[Group]:
        """A sensor's groups: its mean, and for a spring its most and least."""
        wire = self._wires[sensor.channel]
        family = family_of(sensor.channel)
        t = signals.t_s
        parts = [("", signals.values[sensor.channel])]
        if sensor.channel in signals.most:
            parts += [
                ("MAX", signals.most[sensor.channel]),
                ("MIN", signals.least[sensor.channel]),
            ]
        troubles = [w for w in self.found if w.target == sensor.channel]
        noise = rng.standard_normal(len(t))  # one for all three: they come from the same samples
        trend = _trend(parts[0][1] / (sensor.trip_n or SCALE_M))
        parts = [(part, self._believed(sensor, true, t, noise, trend)) for part, true in parts]
        figures = [wire.out(value, self.c) for _, value in parts]
        sent = np.ones(len(t), dtype=bool)
        for window in troubles:
            figures, sent = self._faulty(window, wire, figures, sent, t, rng)
        kind, unit = ("U", "V") if wire.volts else (family.xdr_kind, family.xdr_unit)
        return [
            Group(
                f",{kind},",
                number(value, wire.decimals),
                f",{unit},{sensor.wire_name}{suffix}",
                sent,
            )
            for (suffix, _), value in zip(parts, figures, strict=True)
        ]

    def _believed(
        self, sensor: Sensor, true: Floats, t: Floats, noise: Floats, trend: Floats
    ) -> Floats:
        """The sensor's own idea of the value in SI: bent, late, warm and noisy."""
        c = self.c
        family = family_of(sensor.channel).name
        heat = c.heat_swing_k * np.sin(np.pi * t / (14 * 3600.0))
        for window in self.found:
            if window.target == sensor.channel and window.kind is Kind.DRIFT:
                hours = np.maximum(0.0, t - window.start_s) / 3600.0
                true = true + window.size * hours
            elif window.target == sensor.channel and window.kind is Kind.JUMP:
                true = true + window.size * window.mask(t)
        if family == "depth":
            bend = c.depth_bend_m * 4.0 * (true / SCALE_M) * (1.0 - true / SCALE_M)
            true = true + bend - c.depth_hysteresis_m * trend + c.depth_heat_m_k * heat
            true = true + c.depth_noise_m * noise
            return np.asarray(np.maximum(c.arm_stop_m, true))
        if family == "spring":
            scale = sensor.trip_n or 1.0
            share = true / scale
            share = np.maximum(0.0, share - c.dead_zone) / (1.0 - c.dead_zone)
            share = share + c.load_bend * 4.0 * share * (1.0 - share) - c.load_hysteresis * trend
            share = share + c.load_heat_k * heat + c.load_noise * noise
            return np.asarray(scale * share)
        if family in ("wheel_speed", "radar_speed"):
            return np.asarray(np.maximum(0.0, true + 0.01 * noise * (true > 0)))
        return true

    def _faulty(
        self,
        window: Window,
        wire: "Wire",
        figures: list[Floats],
        sent: NDArray[np.bool_],
        t: Floats,
        rng: np.random.Generator,
    ) -> tuple[list[Floats], NDArray[np.bool_]]:
        """What one fault makes of what is sent."""
        inside = window.mask(t)
        if not inside.any():
            return figures, sent
        if window.kind is Kind.DEAD:
            return figures, sent & ~inside
        if window.kind is Kind.EMPTY:
            return [np.where(inside, np.nan, f) for f in figures], sent
        if window.kind is Kind.WIRE:
            broken = wire.broken(window.size, self.c)
            return [np.where(inside, broken, f) for f in figures], sent
        if window.kind in (Kind.FROZEN, Kind.STUCK):
            at = int(np.argmax(inside))
            held = self._held.setdefault(window, _three([float(f[at]) for f in figures]))
            shiver = wire.step(self.c) * rng.integers(-1, 2, len(t))
            shiver = shiver * (window.kind is Kind.STUCK)
            return [
                np.where(inside, value + shiver, f) for value, f in zip(held, figures, strict=False)
            ], sent
        return figures, sent


@dataclass(frozen=True)
class Wire:
    """From the sensor's idea of a value to the figure on the wire: the rig's curve, backwards."""

    volts: bool
    decimals: int
    si: Floats
    wire: Floats

    @classmethod
    def of(cls, sensor: Sensor) -> "Wire":
        """The way back through a sensor's curve; a plain line where it was never calibrated."""
        volts = sensor.input == "V"
        decimals = 3 if volts or family_of(sensor.channel).name != "spring" else 0
        if sensor.input == "switch" or family_of(sensor.channel).quantity == "switch":
            decimals = 0
        curve = sensor.curve
        if curve is None:
            span = _PLAIN_V if volts else ((0.0, 0.0), (1.0, 1.0))
            (x0, y0), (x1, y1) = span
            return cls(volts, decimals, np.array([y0, y1]), np.array([x0, x1]))
        margin = 0.3 * (curve.x_most - curve.x_least)
        x = np.linspace(curve.x_least - margin, curve.x_most + margin, 1001)
        y = np.array([curve.value(float(value)) for value in x])
        order = np.argsort(y)
        return cls(volts, decimals, y[order], x[order])

    def out(self, value: Floats, c: Constants) -> Floats:
        """Figures on the wire; volts pass the converter and cannot leave its range."""
        slope = (self.wire[-1] - self.wire[0]) / (self.si[-1] - self.si[0])
        beyond = np.clip(value, self.si[0], self.si[-1])
        figure = np.interp(value, self.si, self.wire) + slope * (value - beyond)
        if not self.volts:
            return np.asarray(figure)
        counts = np.clip(np.rint(figure / c.adc_v * c.adc_counts), 0, c.adc_counts - 1)
        return np.asarray(counts * c.adc_v / c.adc_counts)

    def step(self, c: Constants) -> float:
        """The smallest change the wire can show."""
        return c.adc_v / c.adc_counts if self.volts else 10.0**-self.decimals

    def broken(self, high: float, c: Constants) -> float:
        """A broken wire: nothing or all of the supply; a node that knows newtons sends none."""
        if not self.volts:
            return float("nan")
        return c.adc_v * (0.995 if high else 0.002)


_PLAIN_V = ((0.5, -0.20), (4.5, 0.40))  # volts and metres of an arm nobody has calibrated


def _trend(share: Floats) -> Floats:
    """Which way the value is moving, -1 to 1: what hysteresis hangs on."""
    return np.asarray(np.tanh(np.gradient(share) / 0.002)) if len(share) > 1 else np.zeros(1)


def _three(values: list[float]) -> tuple[float, float, float]:
    return (values[0], values[min(1, len(values) - 1)], values[-1])


def _split(groups: list[Group]) -> list[list[Group]]:
    return [groups[n : n + GROUP_LIMIT] for n in range(0, len(groups), GROUP_LIMIT)]


def _line(groups: list[Group]) -> Columns:
    """One sentence a tick; none where not one of its groups is sent."""
    rows = len(groups[0].sent)
    line = sentence([text("YXXDR", rows), *(group.column() for group in groups)])
    return only(line, np.logical_or.reduce([group.sent for group in groups]))

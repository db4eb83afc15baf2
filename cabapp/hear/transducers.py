"""XDR sentences of sensor nodes to samples, and samples to the readings of the rig's sensors.

A sentence is groups of type, value, unit, name (NMEA 0183 XDR). An empty value is the sender's way
to say "this sensor is broken". A node that samples faster than it speaks sends NAME (the mean),
NAMEMAX and NAMEMIN; ``G,1234,,SEQ`` counts its lines, so that lost ones are known.
"""

from dataclasses import replace

from cabapp.channels import Family, family_of
from cabapp.hear.lines import Line
from cabapp.hear.plausible import TwoSided
from cabapp.hear.tracks import LONGEST_SILENCE_S, Pace
from cabapp.readings import Quality, Reading, Sample
from cabapp.rig import Sensor

# A ratiometric 0.5 to 4.5 V sensor on a broken wire or a short reads below or above these.
# Common practice, no single source.
LEAST_V = 0.25
MOST_V = 4.75
SEQUENCE_NAME = "SEQ"
# A step back, or forward by more than this, is a node that started again.
LONGEST_LOSS = 1000
# Two lines of a node may reach us together: their steps are judged over no less than this.
LEAST_STEP_S = 0.05


Group = tuple[str, float | None, str, str]  # type, value, unit, name


def read_groups(text: str) -> list[Group]:
    """The groups of an XDR sentence, in order; missing unit or name are empty."""
    fields = text.split(",")
    if len(fields) % 4 != 1:
        fields += [""] * (4 - (len(fields) - 1) % 4)
    groups = []
    for at in range(1, len(fields), 4):
        kind, value, unit, name = fields[at : at + 4]
        if kind or value or name:
            groups.append((kind, signed(value), unit, name))
    return groups


def read_samples(port: str, line: Line) -> list[Sample]:
    """The groups of an XDR line as samples, for who wants to see what a wire says."""
    return [
        Sample(port, name, kind, value, unit, line.at)
        for kind, value, unit, name in read_groups(line.text)
    ]


def signed(text: str) -> float | None:
    """A plain decimal with or without minus, or None."""
    digits = text[1:] if text[:1] == "-" else text
    return float(text) if digits.replace(".", "", 1).isdigit() and text.isascii() else None


class _Fitted:
    """One fitted sensor: how its wire value becomes SI, and what was last heard of it."""

    __slots__ = (
        "_curve",
        "_family",
        "_heard_at",
        "_is_spring",
        "_is_switch",
        "_jump_per_s",
        "_kinds",
        "_raw",
        "_sensor",
        "_steps",
        "_units",
        "_volts",
        "least_name",
        "most_name",
        "pace",
        "reading",
        "unheard",
    )

    def __init__(self, sensor: Sensor) -> None:
        self._sensor = sensor
        self._family: Family = family_of(sensor.channel)
        self._volts = volts = sensor.input == "V"
        self._is_switch = sensor.input == "switch"
        self._is_spring = self._family.name == "spring"
        self._curve = sensor.curve
        self._raw = sensor.curve is None and (volts or not sensor.trusted)
        self._jump_per_s = self._family.jump_per_s or 0.0
        self.most_name, self.least_name = sensor.wire_name + "MAX", sensor.wire_name + "MIN"
        # A node may call a value generic, and may leave type or unit empty.
        self._kinds = ("U" if volts else self._family.xdr_kind, "G", "")
        self._units = ("V" if volts else self._family.xdr_unit, "")
        self._heard_at: float | None = None
        self._steps: TwoSided[float] | None = None
        if self._family.jump_per_s is not None:
            self._steps = TwoSided(self._can_step)
        self.pace = Pace()
        self.reading: Reading | None = None
        self.unheard: Reading | None = None

    def hear(self, at: float, mean: Group, most: Group | None, least: Group | None) -> Reading:
        """A new value, with the bounds inside the sender's averaging window if it sent them."""
        step_s = 0.0 if self._heard_at is None else at - self._heard_at
        self.pace.beat(step_s)
        self._heard_at = at
        value, quality, cause = self._judge(mean)
        if value is not None and self._steps and not self._steps.take(value, step_s):
            value, quality, cause = None, Quality.IMPLAUSIBLE, "cable"
        highest = lowest = None
        if value is not None:
            highest = None if most is None else self._judge(most)[0]
            lowest = None if least is None else self._judge(least)[0]
        self.reading = Reading(self._sensor.channel, value, at, quality, cause, lowest, highest)
        return self.reading

    def bound(self, most: Group | None, least: Group | None) -> Reading | None:
        """Bounds of the value heard last, sent in a sentence of their own."""
        if self.reading is not None and self.reading.value is not None:
            highest = self.reading.most if most is None else self._judge(most)[0]
            lowest = self.reading.least if least is None else self._judge(least)[0]
            self.reading = replace(self.reading, most=highest, least=lowest)
        return self.reading

    def _judge(self, group: Group) -> tuple[float | None, Quality, str]:
        """Wire value to SI, or why not."""
        kind, value, unit, _ = group
        if value is None:
            return None, Quality.WIRE_FAULT, "cable"
        if self._is_switch:
            known = value in (0.0, 1.0)
            return (value, Quality.GOOD, "") if known else (None, Quality.IMPLAUSIBLE, "cable")
        if kind not in self._kinds or unit not in self._units:
            return None, Quality.WIRE_FAULT, "wrong_unit"
        if self._volts and not LEAST_V <= value <= MOST_V:
            return None, Quality.WIRE_FAULT, "cable"
        family = self._family
        if self._raw:
            return None, Quality.NOT_CALIBRATED, "not_calibrated"
        if self._curve is not None:
            value = self._curve.value(value)
        elif family.xdr_unit == "P":
            value /= 100.0
        if self._is_spring:
            sensor = self._sensor
            # Without a trip in newtons a curve gives shares itself: lifted 0, a witnessed trip 1.
            if sensor.trip_n is None and sensor.curve is None:
                return None, Quality.NOT_CALIBRATED, "not_calibrated"
            value /= sensor.trip_n or 1.0
        if not family.least <= value <= family.most:
            return None, Quality.WIRE_FAULT, "cable"
        return value, Quality.GOOD, ""

    def _can_step(self, before: float, after: float, dt_s: float) -> bool:
        return abs(after - before) <= self._jump_per_s * max(dt_s, LEAST_STEP_S)


_NONE: dict[str, _Fitted] = {}


class Transducers:
    """All sensors of the rig, by the lines of their nodes. Never raises.

    ``hear`` takes an XDR line and gives the fresh readings; ``readings`` gives one reading a fitted
    sensor, in the rig's order: SI (a spring in shares of its trip), or None and why not.
    """

    def __init__(self, sensors: tuple[Sensor, ...]) -> None:
        self._fitted = {sensor.channel: _Fitted(sensor) for sensor in sensors}
        self._by_name: dict[str, dict[str, _Fitted]] = {sensor.port: {} for sensor in sensors}
        for sensor in sensors:
            self._by_name[sensor.port][sensor.wire_name] = self._fitted[sensor.channel]
        self._most = {(s.port, s.wire_name + "MAX"): self._fitted[s.channel] for s in sensors}
        self._least = {(s.port, s.wire_name + "MIN"): self._fitted[s.channel] for s in sensors}
        self._sequence: dict[str, int] = {}
        self._lost: dict[str, int] = {}
        self._first_at: float | None = None

    def hear(self, port: str, line: Line) -> list[Reading]:
        """Take in an XDR line; the fresh readings of the sensors it speaks of, in its order."""
        if self._first_at is None:
            self._first_at = line.at
        groups = {group[3]: group for group in read_groups(line.text)}
        mine, at = self._by_name.get(port, _NONE), line.at
        fresh = []
        for name, group in groups.items():
            fitted = mine.get(name)
            if fitted is not None:
                most, least = groups.get(fitted.most_name), groups.get(fitted.least_name)
                fresh.append(fitted.hear(at, group, most, least))
            elif name == SEQUENCE_NAME:
                self._count(port, group[1])
            elif name[:-3] not in groups:  # bounds in a sentence of their own, after the mean
                reading = self._bound_alone(port, name, group)
                if reading is not None:
                    fresh.append(reading)
        return fresh

    def lost(self, port: str) -> int:
        """Lines of a node that never came, by its own count."""
        return self._lost.get(port, 0)

    def readings(self, now: float) -> tuple[Reading, ...]:
        """One reading a fitted sensor as known at ``now``."""
        if self._first_at is None:
            self._first_at = now
        return tuple(
            [
                last
                if (last := fitted.reading) and now - last.at <= fitted.pace.silent_after_s
                else self._unheard(channel, fitted, now)
                for channel, fitted in self._fitted.items()
            ]
        )

    def reading(self, channel: str, now: float) -> Reading:
        """One channel as known at ``now``; NOT_FITTED if the rig has no sensor for it."""
        fitted = self._fitted.get(channel)
        if fitted is None:
            return Reading(channel, None, now, Quality.NOT_FITTED)
        last = fitted.reading
        if last is not None and now - last.at <= fitted.pace.silent_after_s:
            return last
        return self._unheard(channel, fitted, now)

    def _unheard(self, channel: str, fitted: _Fitted, now: float) -> Reading:
        """Why a sensor tells nothing: made once, then handed out until it speaks again."""
        last = fitted.reading
        first = now if self._first_at is None else self._first_at
        starting = last is None and now - first <= LONGEST_SILENCE_S
        at = first if last is None else last.at
        told = fitted.unheard
        quality = Quality.STARTING if starting else Quality.SILENT
        if told is None or told.quality is not quality or told.at != at:
            told = Reading(channel, None, at, quality, "" if starting else "cable")
            fitted.unheard = told
        return told

    def _bound_alone(self, port: str, name: str, group: Group) -> Reading | None:
        if (port, name) in self._most:
            return self._most[port, name].bound(group, None)
        if (port, name) in self._least:
            return self._least[port, name].bound(None, group)
        return None

    def _count(self, port: str, value: float | None) -> None:
        if value is None:
            return
        before, self._sequence[port] = self._sequence.get(port), int(value)
        missed = 0 if before is None else int(value) - before - 1
        if 0 < missed <= LONGEST_LOSS:
            self._lost[port] = self._lost.get(port, 0) + missed

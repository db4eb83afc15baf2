"""XDR sentences of sensor nodes to samples, and samples to the readings of the rig's sensors.

A sentence is groups of type, value, unit, name (NMEA 0183 XDR). An empty value is the sender's way
to say "this sensor is broken". A node that samples faster than it speaks sends NAME (the mean),
NAMEMAX and NAMEMIN; ``G,1234,,SEQ`` counts its lines, so that lost ones are known.
"""

from dataclasses import dataclass, replace

from cabapp.channels import Family, family_of
from cabapp.hear.lines import Line
from cabapp.hear.plausible import TwoSided
from cabapp.hear.sentences import number
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


def read_samples(port: str, line: Line) -> list[Sample]:
    """The samples of an XDR sentence, in order; a group cut off before its value is dropped."""
    fields = line.text.split(",")[1:]
    if len(fields) % 4:
        fields += [""] * (4 - len(fields) % 4)
    samples = []
    for start in range(0, len(fields), 4):
        kind, value, unit, name = fields[start : start + 4]
        if kind or value or name:
            samples.append(Sample(port, name, kind, signed(value), unit, line.at))
    return samples


def signed(text: str) -> float | None:
    """A plain decimal with or without minus, or None."""
    if text.startswith("-"):
        value = number(text[1:])
        return None if value is None else -value
    return number(text)


@dataclass(frozen=True, slots=True)
class _Judged:
    value: float | None
    quality: Quality
    cause: str = ""


class _Fitted:
    """One fitted sensor: how its wire value becomes SI, and what was last heard of it."""

    __slots__ = ("_family", "_heard_at", "_sensor", "_steps", "pace", "reading")

    def __init__(self, sensor: Sensor) -> None:
        self._sensor = sensor
        self._family: Family = family_of(sensor.channel)
        self._heard_at: float | None = None
        self._steps: TwoSided[float] | None = None
        if self._family.jump_per_s is not None:
            self._steps = TwoSided(self._can_step)
        self.pace = Pace()
        self.reading: Reading | None = None

    def hear(self, mean: Sample, most: Sample | None, least: Sample | None) -> None:
        """A new value, with the bounds inside the sender's averaging window if it sent them."""
        step_s = 0.0 if self._heard_at is None else mean.at - self._heard_at
        self.pace.beat(step_s)
        self._heard_at = mean.at
        judged = self._judge(mean)
        if judged.value is not None and self._steps and not self._steps.take(judged.value, step_s):
            judged = _Judged(None, Quality.IMPLAUSIBLE, "cable")
        self.reading = Reading(
            self._sensor.channel, judged.value, mean.at, judged.quality, judged.cause
        )
        if judged.value is not None:
            self.bound(most, least)

    def bound(self, most: Sample | None, least: Sample | None) -> None:
        """Bounds of the value heard last, where they make sense."""
        if self.reading is None or self.reading.value is None:
            return
        highest, lowest = self._bound(most), self._bound(least)
        if highest is not None or lowest is not None:
            self.reading = replace(
                self.reading,
                most=self.reading.most if highest is None else highest,
                least=self.reading.least if lowest is None else lowest,
            )

    def _bound(self, sample: Sample | None) -> float | None:
        return None if sample is None else self._judge(sample).value

    def _judge(self, sample: Sample) -> _Judged:
        """Wire value to SI, or why not."""
        sensor, family, value = self._sensor, self._family, sample.value
        if value is None:
            return _Judged(None, Quality.WIRE_FAULT, "cable")
        if sensor.input == "switch":
            known = value in (0.0, 1.0)
            return _Judged(value, Quality.GOOD) if known else _Judged(None, Quality.IMPLAUSIBLE)
        if not self._is_expected(sample):
            return _Judged(None, Quality.WIRE_FAULT, "wrong_unit")
        if sensor.input == "V" and not LEAST_V <= value <= MOST_V:
            return _Judged(None, Quality.WIRE_FAULT, "cable")
        if sensor.curve is not None:
            value = sensor.curve.value(value)
        elif sensor.input == "V" or not sensor.trusted:
            return _Judged(None, Quality.NOT_CALIBRATED, "not_calibrated")
        elif family.xdr_unit == "P":
            value /= 100.0
        if family.name == "spring":
            # Without a trip in newtons a curve gives shares itself: lifted 0, a witnessed trip 1.
            if sensor.trip_n is None and sensor.curve is None:
                return _Judged(None, Quality.NOT_CALIBRATED, "not_calibrated")
            value /= sensor.trip_n or 1.0
        if not family.least <= value <= family.most:
            return _Judged(None, Quality.WIRE_FAULT, "cable")
        return _Judged(value, Quality.GOOD)

    def _is_expected(self, sample: Sample) -> bool:
        """Whether type and unit are those of this input; a node may leave either empty."""
        kind, unit = self._family.xdr_kind, self._family.xdr_unit
        if self._sensor.input == "V":
            kind, unit = "U", "V"
        return sample.kind in (kind, "G", "") and sample.unit in (unit, "")

    def _can_step(self, before: float, after: float, dt_s: float) -> bool:
        assert self._family.jump_per_s is not None
        return abs(after - before) <= self._family.jump_per_s * max(dt_s, LEAST_STEP_S)


class Transducers:
    """All sensors of the rig, by the lines of their nodes. Never raises.

    ``hear`` takes an XDR line and gives its samples; ``readings`` gives one reading a fitted
    sensor, in the rig's order: SI (a spring in shares of its trip), or None and why not.
    """

    def __init__(self, sensors: tuple[Sensor, ...]) -> None:
        self._fitted = {sensor.channel: _Fitted(sensor) for sensor in sensors}
        self._by_name = {(s.port, s.wire_name): self._fitted[s.channel] for s in sensors}
        self._most = {(s.port, s.wire_name + "MAX"): self._fitted[s.channel] for s in sensors}
        self._least = {(s.port, s.wire_name + "MIN"): self._fitted[s.channel] for s in sensors}
        self._sequence: dict[str, int] = {}
        self._lost: dict[str, int] = {}
        self._first_at: float | None = None

    def hear(self, port: str, line: Line) -> list[Sample]:
        """Take in an XDR line; its samples, whether or not the rig has a sensor for them."""
        samples = read_samples(port, line)
        by_name = {sample.name: sample for sample in samples}
        if self._first_at is None:
            self._first_at = line.at
        for name, sample in by_name.items():
            fitted = self._by_name.get((port, name))
            if fitted is not None:
                fitted.hear(sample, by_name.get(name + "MAX"), by_name.get(name + "MIN"))
            elif name == SEQUENCE_NAME:
                self._count(port, sample.value)
            elif name[:-3] not in by_name:  # bounds in a line of their own, after the mean
                self._bound_alone(port, name, sample)
        return samples

    def lost(self, port: str) -> int:
        """Lines of a node that never came, by its own count."""
        return self._lost.get(port, 0)

    def readings(self, now: float) -> tuple[Reading, ...]:
        """One reading a fitted sensor as known at ``now``."""
        if self._first_at is None:
            self._first_at = now
        return tuple(self.reading(channel, now) for channel in self._fitted)

    def reading(self, channel: str, now: float) -> Reading:
        """One channel as known at ``now``; NOT_FITTED if the rig has no sensor for it."""
        fitted = self._fitted.get(channel)
        if fitted is None:
            return Reading(channel, None, now, Quality.NOT_FITTED)
        last = fitted.reading
        if last is not None and now - last.at <= fitted.pace.silent_after_s:
            return last
        first = now if self._first_at is None else self._first_at
        if last is None and now - first <= LONGEST_SILENCE_S:
            return Reading(channel, None, now, Quality.STARTING)
        return Reading(channel, None, last.at if last else now, Quality.SILENT, "cable")

    def _bound_alone(self, port: str, name: str, sample: Sample) -> None:
        if (port, name) in self._most:
            self._most[port, name].bound(sample, None)
        elif (port, name) in self._least:
            self._least[port, name].bound(None, sample)

    def _count(self, port: str, value: float | None) -> None:
        if value is None:
            return
        before, self._sequence[port] = self._sequence.get(port), int(value)
        missed = 0 if before is None else int(value) - before - 1
        if 0 < missed <= LONGEST_LOSS:
            self._lost[port] = self._lost.get(port, 0) + missed

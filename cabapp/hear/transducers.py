"""XDR sentences of sensor nodes to samples, and samples to the readings of the rig's sensors.

A sentence is groups of type, value, unit, name (NMEA 0183 XDR). An empty value is the sender's way
to say "this sensor is broken". A node that samples faster than it speaks sends NAME (the mean),
NAMEMAX and NAMEMIN; ``G,1234,,SEQ`` counts its lines, so that lost ones are known.
"""

import math
from typing import NamedTuple

from cabapp.channels import Family, family_of
from cabapp.hear.lines import Line
from cabapp.hear.plausible import TwoSided
from cabapp.hear.tracks import LONGEST_SILENCE_S, SHORTEST_SILENCE_S, Pace
from cabapp.readings import Quality, Reading, Sample
from cabapp.rig import Sensor

# A ratiometric 0.5 to 4.5 V sensor on a broken wire or a short reads below or above these.
# Common practice, no single source.
LEAST_V = 0.25
MOST_V = 4.75
SEQUENCE_NAME = "SEQ"
BOUNDS = MOST, LEAST = "MAX", "MIN"
# A step back, or forward by more than this, is a node that started again.
LONGEST_LOSS = 1000
# Two lines of a node may reach us together: their steps are judged over no less than this.
LEAST_STEP_S = 0.05


_SIGNED = "-.0123456789"

Group = tuple[str, float | None, str, str]  # type, value, unit, name


def read_groups(text: str) -> list[Group]:
    """The groups of an XDR sentence, in order; missing unit or name are empty."""
    fields, values = split_values(text)
    return [
        (fields[at], signed(value), fields[at + 1], fields[at + 2])
        for at, value in zip(range(1, len(fields), 3), values, strict=True)
        if fields[at] or value or fields[at + 2]
    ]


def split_values(text: str) -> tuple[list[str], list[str]]:
    """The fields of an XDR sentence without its values, and the values: a sender's form stays."""
    fields = text.split(",")
    if len(fields) % 4 != 1:
        fields += [""] * (4 - (len(fields) - 1) % 4)
    values = fields[2::4]
    del fields[2::4]
    return fields, values


def read_samples(port: str, line: Line) -> list[Sample]:
    """The groups of an XDR line as samples, for who wants to see what a wire says."""
    return [
        Sample(port, name, kind, value, unit, line.at)
        for kind, value, unit, name in read_groups(line.text)
    ]


def signed(text: str) -> float | None:
    """A plain decimal with or without minus, or None: float() takes nan, inf, 1e9, 1_0 and +3."""
    if not text or text.strip(_SIGNED):
        return None
    try:
        return float(text)
    except ValueError:
        return None


Judged = tuple[Quality, str]
_GOOD: Judged = (Quality.GOOD, "")
_CABLE: Judged = (Quality.WIRE_FAULT, "cable")
_WRONG_UNIT: Judged = (Quality.WIRE_FAULT, "wrong_unit")
_IMPLAUSIBLE: Judged = (Quality.IMPLAUSIBLE, "cable")
_NOT_CALIBRATED: Judged = (Quality.NOT_CALIBRATED, "not_calibrated")


class _Fitted:
    """One fitted sensor: how its wire value becomes SI, and what was last heard of it."""

    __slots__ = (
        "_channel",
        "_divisor",
        "_family",
        "_heard_at",
        "_is_switch",
        "_jump_per_s",
        "_kinds",
        "_least",
        "_most",
        "_raw",
        "_steps",
        "_units",
        "_value_of",
        "_volts",
        "pace",
        "reading",
        "unheard",
    )

    def __init__(self, sensor: Sensor) -> None:
        self._channel = sensor.channel
        self._family: Family = family_of(sensor.channel)
        self._least, self._most = self._family.least, self._family.most
        self._volts = volts = sensor.input == "V"
        self._is_switch = sensor.input == "switch"
        curve = sensor.curve
        self._value_of = None if curve is None else curve.value
        self._divisor = _divisor(sensor, self._family)
        # Without a trip in newtons a curve gives shares itself: lifted 0, a witnessed trip 1.
        shares = self._family.name != "spring" or sensor.trip_n is not None or curve is not None
        self._raw = not shares or (curve is None and (volts or not sensor.trusted))
        self._jump_per_s = self._family.jump_per_s or 0.0
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

    def takes(self, kind: str, unit: str) -> bool:
        """Whether a group of this type and unit says what the sensor measures."""
        return self._is_switch or (kind in self._kinds and unit in self._units)

    def hear(
        self, at: float, takes: bool, mean: str, most: str | None, least: str | None
    ) -> Reading:
        """A new value, with the bounds inside the sender's averaging window if it sent them."""
        step_s = 0.0 if self._heard_at is None else at - self._heard_at
        self.pace.beat(step_s)
        self._heard_at = at
        if takes:
            value, judged = self._judge(mean)
        else:
            value, judged = None, (_CABLE if signed(mean) is None else _WRONG_UNIT)
        if value is not None and self._steps and not self._steps.take(value, step_s):
            value, judged = None, _IMPLAUSIBLE
        highest = lowest = None
        if value is not None:
            highest = None if most is None else self._judge(most)[0]
            lowest = None if least is None else self._judge(least)[0]
        quality, cause = judged
        reading = Reading(self._channel, value, at, quality, cause, lowest, highest)
        self.reading = reading
        return reading

    def bound(self, takes: bool, text: str, is_most: bool) -> Reading | None:
        """A bound of the value heard last, sent in a sentence of its own."""
        if self.reading is not None and self.reading.value is not None:
            bound, reading = self._judge(text)[0] if takes else None, self.reading
            more = reading._replace(most=bound) if is_most else reading._replace(least=bound)
            self.reading = more
        return self.reading

    def _judge(self, text: str) -> tuple[float | None, Judged]:
        """Wire value to SI, or why not."""
        value = signed(text)
        if value is None:
            return None, _CABLE
        if self._is_switch:
            return (value, _GOOD) if value in (0.0, 1.0) else (None, _IMPLAUSIBLE)
        if self._volts and not LEAST_V <= value <= MOST_V:
            return None, _CABLE
        if self._raw:
            return None, _NOT_CALIBRATED
        if self._value_of is not None:
            value = self._value_of(value)
        value /= self._divisor
        if not self._least <= value <= self._most:
            return None, _CABLE
        return value, _GOOD

    def _can_step(self, before: float, after: float, dt_s: float) -> bool:
        return abs(after - before) <= self._jump_per_s * max(dt_s, LEAST_STEP_S)


def _divisor(sensor: Sensor, family: Family) -> float:
    """What a wire value or a curve's is divided by to become SI, or a share of the trip."""
    if family.name == "spring":
        return sensor.trip_n or 1.0
    return 100.0 if sensor.curve is None and family.xdr_unit == "P" else 1.0


class _Mean(NamedTuple):
    """Where a sensor's value and its bounds stand among the values of a sentence."""

    fitted: _Fitted
    takes: bool  # whether type and unit are what the sensor measures
    place: int
    most: int | None
    least: int | None


class _Alone(NamedTuple):
    """A bound of a value that came in an earlier sentence."""

    fitted: _Fitted
    takes: bool
    place: int
    is_most: bool


class _Form(NamedTuple):
    """What the groups of one form of sentence are about."""

    means: tuple[_Mean, ...]
    alone: tuple[_Alone, ...]
    sequence: int | None


class Transducers:
    """All sensors of the rig, by the lines of their nodes. Never raises.

    ``hear`` takes an XDR line and gives the fresh readings; ``readings`` gives one reading a fitted
    sensor: SI (a spring in shares of its trip), or None and why not.

    A node sends the same few forms of sentence all day, so what the groups of a form are about is
    found once and kept.
    """

    MOST_FORMS = 512  # a wire of rubbish makes forms without end: then all are found anew

    def __init__(self, sensors: tuple[Sensor, ...]) -> None:
        self._fitted = {sensor.channel: _Fitted(sensor) for sensor in sensors}
        self._by_name = {(s.port, s.wire_name): self._fitted[s.channel] for s in sensors}
        self._forms: dict[tuple[str, ...], _Form] = {}
        self._sequence: dict[str, int] = {}
        self._lost: dict[str, int] = {}
        self._first_at: float | None = None
        self._known: dict[str, Reading] = {}
        self._look_at = -math.inf

    def hear(self, port: str, line: Line) -> list[Reading]:
        """Take in an XDR line; the fresh readings of the sensors it speaks of, values first."""
        _, text, at = line
        if self._first_at is None:
            self._first_at = at
        fields, values = split_values(text)
        form = self._forms.get((port, *fields)) or self._learn(port, fields)
        fresh = [
            fitted.hear(
                at,
                takes,
                values[place],
                None if most is None else values[most],
                None if least is None else values[least],
            )
            for fitted, takes, place, most, least in form.means
        ]
        if form.sequence is not None:
            self._count(port, signed(values[form.sequence]))
        for fitted, takes, place, is_most in form.alone:
            reading = fitted.bound(takes, values[place], is_most)
            if reading is not None:
                fresh.append(reading)
        for reading in fresh:
            self._known[reading.channel] = reading
        if fresh:  # it may be the first to speak after all were silent
            self._look_at = min(self._look_at, at + SHORTEST_SILENCE_S)
        return fresh

    def _learn(self, port: str, fields: list[str]) -> _Form:
        """What a new form is about; of two groups of one name the last counts."""
        groups = {
            fields[at + 2]: (at // 3, fields[at], fields[at + 1]) for at in range(1, len(fields), 3)
        }
        means, alone = [], []
        for name, (place, kind, unit) in groups.items():
            fitted = self._by_name.get((port, name))
            if fitted is not None:
                most, least = (_bound_at(fitted, groups.get(name + end)) for end in BOUNDS)
                means.append(_Mean(fitted, fitted.takes(kind, unit), place, most, least))
                continue
            fitted = self._by_name.get((port, name[:-3]))
            if fitted is not None and name[-3:] in BOUNDS and name[:-3] not in groups:
                alone.append(_Alone(fitted, fitted.takes(kind, unit), place, name[-3:] == MOST))
        sequence = groups.get(SEQUENCE_NAME)
        form = _Form(tuple(means), tuple(alone), None if sequence is None else sequence[0])
        if len(self._forms) >= self.MOST_FORMS:
            self._forms.clear()
        self._forms[(port, *fields)] = form
        return form

    def lost(self, port: str) -> int:
        """Lines of a node that never came, by its own count."""
        return self._lost.get(port, 0)

    def readings(self, now: float) -> dict[str, Reading]:
        """The reading of each fitted channel as known at ``now``, in the rig's order."""
        if now >= self._look_at:
            self._look(now)
        return self._known.copy()

    def reading(self, channel: str, now: float) -> Reading:
        """One channel as known at ``now``; NOT_FITTED if the rig has no sensor for it."""
        if now >= self._look_at:
            self._look(now)
        known = self._known.get(channel)
        return Reading(channel, None, now, Quality.NOT_FITTED) if known is None else known

    def _look(self, now: float) -> None:
        """Which sensors are silent, and when one could be next: until then nobody need look."""
        if self._first_at is None:
            self._first_at = now
        self._look_at = math.inf
        for channel, fitted in self._fitted.items():
            last = fitted.reading
            if last is not None and now - last.at <= fitted.pace.silent_after_s:
                self._known[channel] = last
                self._look_at = min(self._look_at, last.at + SHORTEST_SILENCE_S)
            else:
                told = self._known[channel] = self._unheard(channel, fitted, now)
                if told.quality is Quality.STARTING:
                    self._look_at = min(self._look_at, self._first_at + LONGEST_SILENCE_S)

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

    def _count(self, port: str, value: float | None) -> None:
        if value is None:
            return
        before, self._sequence[port] = self._sequence.get(port), int(value)
        missed = 0 if before is None else int(value) - before - 1
        if 0 < missed <= LONGEST_LOSS:
            self._lost[port] = self._lost.get(port, 0) + missed


def _bound_at(fitted: _Fitted, group: tuple[int, str, str] | None) -> int | None:
    """Where a bound of a value stands, None if the sentence has none that the sensor may send."""
    return group[0] if group is not None and fitted.takes(group[1], group[2]) else None

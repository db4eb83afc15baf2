"""The page of sensors: raw and converted side by side, least and most since reset."""

from dataclasses import dataclass

from cabapp.channels import family_of
from cabapp.fitup.heard import NOW_S, Ears
from cabapp.fitup.scaling import WIRES, Wire
from cabapp.readings import Quality
from cabapp.rig import Rig, Sensor

# Volts and milliamperes are known by the wire's unit, the rest by the sensor's own figure.
WIRE_OF_INPUT = {"V": "V"}
WIRE_OF_FAMILY = {"depth": "M", "spring": "N"}


@dataclass(frozen=True)
class SensorRow:
    """One fitted sensor as it is now: wire units raw, SI (a spring's share of its trip) converted.

    ``quality`` says why there is no converted value; ``least``/``most`` are raw, since reset.
    """

    channel: str
    words: str
    serial: str
    raw: float | None
    unit: str
    least: float | None
    most: float | None
    converted: float | None
    quality: Quality
    proven_error: float | None
    per_second: float


def sensor_rows(rig: Rig, ears: Ears, now: float) -> tuple[SensorRow, ...]:
    """Every sensor of the rig file, in its order."""
    return tuple(_row(sensor, ears, now) for sensor in rig.sensors)


def wire_of(sensor: Sensor) -> Wire | None:
    """What its wire can carry, None for a switch or a counter."""
    key = WIRE_OF_INPUT.get(sensor.input) or WIRE_OF_FAMILY.get(family_of(sensor.channel).name)
    return None if sensor.input == "switch" or key is None else WIRES[key]


def sensor_words(sensor: Sensor) -> str:
    """``Depth 1, front left``."""
    family = family_of(sensor.channel)
    number = sensor.channel.removeprefix(family.name)
    name = f"{family.words} {number}".rstrip()
    return f"{name}, {sensor.words}" if sensor.words else name


def calibrated_here(sensor: Sensor) -> bool:
    """Whether a calibration can be made of it: a wheel or a radar has its node's figure or none."""
    return wire_of(sensor) is not None and family_of(sensor.channel).name in ("depth", "spring")


def vouched(sensor: Sensor) -> bool:
    """Whether its node's own figure is all it needs; newtons are no share without a trip."""
    loose = family_of(sensor.channel).name == "spring" and sensor.trip_n is None
    return sensor.trusted and not loose


def _row(sensor: Sensor, ears: Ears, now: float) -> SensorRow:
    heard = ears.of(sensor.port, sensor.wire_name)
    wire = wire_of(sensor)
    fresh = heard is not None and heard.silent_s(now) <= 2 * NOW_S
    raw = heard.value if heard is not None and fresh else None
    quality = _quality(sensor, raw, wire, fresh)
    return SensorRow(
        channel=sensor.channel,
        words=sensor_words(sensor),
        serial=sensor.serial,
        raw=raw,
        unit=heard.unit if heard else (wire.unit if wire else ""),
        least=heard.least if heard else None,
        most=heard.most if heard else None,
        converted=_converted(sensor, raw) if quality is Quality.GOOD else None,
        quality=quality,
        proven_error=sensor.curve.proven_error if sensor.curve else None,
        per_second=heard.per_second if heard else 0.0,
    )


def _quality(sensor: Sensor, raw: float | None, wire: Wire | None, fresh: bool) -> Quality:
    if not fresh:
        return Quality.SILENT
    if raw is None or (wire is not None and not wire.is_sound(raw)):
        return Quality.WIRE_FAULT
    if sensor.input == "switch" or vouched(sensor) or sensor.curve is not None:
        return Quality.GOOD
    return Quality.NOT_CALIBRATED


def _converted(sensor: Sensor, raw: float | None) -> float | None:
    if raw is None:
        return None
    value = raw if sensor.curve is None else sensor.curve.value(raw)
    return value / (sensor.trip_n or 1.0)  # a spring's newtons become its share of the trip

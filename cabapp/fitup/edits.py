"""Small changes to a rig, each giving a new one: what the pages of fit-up do when touched."""

from dataclasses import replace

from cabapp.channels import FAMILIES
from cabapp.curve import Curve
from cabapp.rig import Port, Rig, Sensor, Shank

SAME_SHARE = 1e-9  # a line through two points meets them but for rounding


def take_port(rig: Rig, name: str, role: str, device: str = "auto", baud: int | None = None) -> Rig:
    """A plug taken as "receiver" or "node"; one known already keeps its place in the list."""
    taken = Port(name, device, role, baud)
    others = [port for port in rig.ports if port.name != name]
    place = next((n for n, port in enumerate(rig.ports) if port.name == name), len(others))
    ports = (*others[:place], taken, *others[place:])
    if role == "receiver":
        return replace(rig, ports=ports, receiver=replace(rig.receiver, port=name))
    return replace(rig, ports=ports)


def next_channel(rig: Rig, family: str) -> str:
    """The channel a new sensor of a family gets: ``depth3``, or ``tool_down`` for a single one."""
    if not FAMILIES[family].numbered:
        return family
    taken = {sensor.channel for sensor in rig.sensors}
    return next(name for n in range(1, 100) if (name := f"{family}{n}") not in taken)


def add_sensor(rig: Rig, sensor: Sensor) -> Rig:
    """A sensor fitted; one of the same channel is replaced in its place."""
    if rig.sensor(sensor.channel) is None:
        return replace(rig, sensors=(*rig.sensors, sensor))
    return change_sensor(rig, sensor)


def change_sensor(rig: Rig, sensor: Sensor) -> Rig:
    """The sensor of the same channel replaced."""
    same = [sensor if s.channel == sensor.channel else s for s in rig.sensors]
    return replace(rig, sensors=tuple(same))


def remove_sensor(rig: Rig, channel: str) -> Rig:
    """Not fitted: the channel is taken out, and everything works without it."""
    return replace(rig, sensors=tuple(s for s in rig.sensors if s.channel != channel))


def accept_curve(rig: Rig, channel: str, curve: Curve) -> Rig:
    """An accepted calibration in its sensor; KeyError if the channel is not fitted."""
    sensor = rig.sensor(channel)
    if sensor is None:
        raise KeyError(channel)
    return change_sensor(rig, replace(sensor, curve=curve))


def accept_shares(rig: Rig, channel: str, curve: Curve) -> Rig:
    """A witnessed spring's curve in its sensor; KeyError if the channel is not fitted."""
    sensor = rig.sensor(channel)
    if sensor is None:
        raise KeyError(channel)
    return accept_curve(rig, channel, curve_of_shares(sensor, curve))


def curve_of_shares(sensor: Sensor, curve: Curve) -> Curve:
    """A witnessed spring's curve, which gives shares of the trip, as it stands in the rig.

    Where the trip is known in newtons too, the curve is written in newtons, since a spring's value
    is then divided by it.
    """
    return _times(curve, 1.0 if sensor.trip_n is None else sensor.trip_n)


def _times(curve: Curve, factor: float) -> Curve:
    return replace(
        curve,
        coefficients=tuple(c * factor for c in curve.coefficients),
        knots=tuple((x, y * factor) for x, y in curve.knots),
        offset=curve.offset * factor,
        proven_error=curve.proven_error * factor,
    )


def with_trip(sensor: Sensor, trip_n: float | None) -> Sensor | str:
    """A spring whose pack's trip load is known, known better or not known; or why it must be.

    A trip that was seen stays 100 percent; a curve by loads stays in newtons.
    """
    curve = sensor.curve
    if trip_n == sensor.trip_n:
        return sensor
    if curve is not None and _gives_shares(sensor, curve):
        curve = _times(curve, (trip_n or 1.0) / (sensor.trip_n or 1.0))
    elif curve is not None and trip_n is None:
        return "It is calibrated by loads: without the trip load they are no share of it."
    return replace(sensor, trip_n=trip_n, curve=curve)


def _gives_shares(sensor: Sensor, curve: Curve) -> bool:
    """Whether it was made of what was witnessed: 0 at one end of what was proven, 1 at the other.

    A fit through loads ends at neither: its ends are off by what the points are off.
    """
    ends = sorted(curve.value(x) / (sensor.trip_n or 1.0) for x in (curve.x_least, curve.x_most))
    return abs(ends[0]) < SAME_SHARE and abs(ends[1] - 1.0) < SAME_SHARE


def swap_plugs(rig: Rig, one: str, other: str) -> Rig:
    """Two channels found answering for each other: their wires are swapped, their places stay.

    Each curve belongs to the wire's own sensor, so it goes with the wire. KeyError if not fitted.
    """
    first, second = rig.sensor(one), rig.sensor(other)
    if first is None or second is None:
        raise KeyError(one if first is None else other)
    return change_sensor(change_sensor(rig, _on_wire(first, second)), _on_wire(second, first))


def _on_wire(place: Sensor, wire: Sensor) -> Sensor:
    moved = with_trip(wire, place.trip_n)
    return replace(
        place,
        wire_name=wire.wire_name,
        port=wire.port,
        cable=wire.cable,
        serial=wire.serial,
        curve=None if isinstance(moved, str) else moved.curve,
    )


def with_shanks(rig: Rig, shanks: tuple[Shank, ...]) -> Rig:
    """New shanks; spring sensors of shanks that are gone are taken out with them."""
    numbers = {shank.number for shank in shanks}
    kept = tuple(s for s in rig.sensors if s.shank is None or s.shank in numbers)
    return replace(rig, tool=replace(rig.tool, shanks=shanks), sensors=kept)

"""Faults of a rig file that no single key can show: bands turned round, twins, missing places."""

from cabapp.rig import Rig
from cabapp.rigfault import Fault
from cabapp.units import UnitSystem, shown_unit, to_unit

NO_SHANKS = Fault("tool.shank", "none", "a row for each shank", "write [[tool.shank]] for each")


def cross_faults(rig: Rig) -> list[Fault]:
    """What no single key can show: bands turned round, twins, missing ports and shanks."""
    faults = []
    if rig.limits.speed_low_mps >= rig.limits.speed_high_mps:
        faults.append(
            Fault(
                "limits.speed_low",
                _speed(rig.limits.speed_low_mps, rig.units),
                f"less than speed_high {_speed(rig.limits.speed_high_mps, rig.units)}",
                "swap the two",
            )
        )
    if rig.receiver.standing_below_mps >= rig.receiver.moving_above_mps:
        faults.append(
            Fault(
                "receiver.standing_below",
                _speed(rig.receiver.standing_below_mps, rig.units),
                f"less than moving_above {_speed(rig.receiver.moving_above_mps, rig.units)}",
                "swap the two",
            )
        )
    names = [port.name for port in rig.ports]
    faults += [_twin(f"port name {name}") for name in _twins(names)]
    faults += [_twin(f"sensor channel {name}") for name in _twins([s.channel for s in rig.sensors])]
    wires = [f"{s.port} {s.wire_name}" for s in rig.sensors]
    faults += [_twin(f"sensor wire {name}") for name in _twins(wires)]
    numbers = {shank.number for shank in rig.tool.shanks}
    for n, sensor in enumerate(rig.sensors, start=1):
        if sensor.port not in names:
            faults.append(
                Fault(
                    f"sensor[{n}].port",
                    repr(sensor.port),
                    f"one of {names}",
                    "name a [[port]] of this file",
                )
            )
        if sensor.shank is not None and numbers and sensor.shank not in numbers:
            faults.append(
                Fault(
                    f"sensor[{n}].shank",
                    str(sensor.shank),
                    f"one of {sorted(numbers)}",
                    "count the [[tool.shank]] rows",
                )
            )
        if sensor.channel.startswith("spring") and sensor.shank is None:
            faults.append(
                Fault(f"sensor[{n}].shank", "nothing", "the shank it sits on", "write shank = 1")
            )
    if not numbers and any(sensor.shank is not None for sensor in rig.sensors):
        faults.append(NO_SHANKS)
    faults += _receivers_of_none(rig)
    if rig.receiver.port not in names:
        faults.append(
            Fault(
                "receiver.port",
                repr(rig.receiver.port),
                f"one of {names}",
                "name a [[port]] of this file",
            )
        )
    return faults


def _receivers_of_none(rig: Rig) -> list[Fault]:
    """A wire that carries sensors and is said to be a receiver's, but of a second receiver."""
    used = {sensor.port for sensor in rig.sensors} - {rig.receiver.port}
    return [
        Fault(
            f"port[{n}].role",
            f"'receiver' for {port.name!r}, whose wire carries sensors only",
            "'node'",
            'write role = "node", or name this port in [receiver]',
        )
        for n, port in enumerate(rig.ports, start=1)
        if port.role == "receiver" and port.name in used
    ]


def unready(rig: Rig) -> tuple[Fault, ...]:
    """What a rig file still lacks before its tool can be watched; fit-up writes it bit by bit."""
    faults = [] if rig.tool.shanks else [NO_SHANKS]
    for key, text in (("id", rig.id), ("name", rig.name)):
        if not text.strip():
            faults.append(Fault(key, repr(text), "a name", f'write {key} = "..."'))
    return tuple(faults)


def _speed(speed_mps: float, system: UnitSystem) -> str:
    unit = shown_unit("speed", system)
    return f"{to_unit(speed_mps, unit):.3g} {unit}"


def _twins(names: list[str]) -> list[str]:
    return sorted({name for name in names if names.count(name) > 1})


def _twin(what: str) -> Fault:
    return Fault("(file)", f"{what} twice", "each once", "give one of them another name")

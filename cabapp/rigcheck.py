"""Reading a rig file: every fault at once, each with key path, found, expected and mend.

Quantities are typed with their unit ("17 1/2 ft", "5 mph").
"""

import tomllib
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from typing import TypeVar

from cabapp.channels import FAMILIES, family_of
from cabapp.curve import Curve, CurveKind
from cabapp.rig import (
    Adjuster,
    AdjusterKind,
    Display,
    DriveKind,
    FinishKind,
    Limits,
    Locale,
    Port,
    Receiver,
    Rig,
    Sensor,
    Shank,
    Tool,
    Tractor,
)
from cabapp.units import INCH_M, UnitError, UnitSystem, parse_quantity, shown_unit, to_unit

RIG_VERSION = 1

E = TypeVar("E", bound=Enum)


@dataclass(frozen=True)
class Fault:
    """One fault of a rig file."""

    key: str
    found: str
    expected: str
    mend: str

    def __str__(self) -> str:
        return f"{self.key}: found {self.found}, expected {self.expected}; {self.mend}"


class RigError(ValueError):
    """A rig file that cannot be used, with every fault in it."""

    def __init__(self, source: str, faults: tuple[Fault, ...]) -> None:
        self.source = source
        self.faults = faults
        super().__init__("\n".join(f"{source}: {fault}" for fault in faults))


def read_rig(text: str, source: str = "rig.toml") -> Rig:
    """Parse and check a rig file; raises RigError listing every fault at once."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        fault = Fault("(file)", str(error), "TOML 1.0", "mend that line or restore the kept copy")
        raise RigError(source, (fault,)) from None
    reader = _Reader()
    rig = _rig(reader, raw)
    reader.faults.extend(_cross_faults(rig))
    if reader.faults:
        raise RigError(source, tuple(reader.faults))
    return rig


class _Reader:
    """Takes values out of nested tables and gathers faults instead of raising at the first."""

    def __init__(self) -> None:
        self.faults: list[Fault] = []

    def fault(self, key: str, found: object, expected: str, mend: str) -> None:
        self.faults.append(Fault(key, repr(found), expected, mend))

    def table(self, raw: dict[str, object], key: str, path: str) -> "_Table":
        value = raw.get(key, {})
        if not isinstance(value, dict):
            self.fault(path, value, "a table", f"write [{path}] and its keys below it")
            value = {}
        return _Table(self, value, path)

    def tables(self, raw: dict[str, object], key: str) -> list["_Table"]:
        value = raw.get(key, [])
        if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
            self.fault(key, value, "a list of tables", f"write [[{key}]] once for each")
            return []
        return [_Table(self, row, f"{key}[{n}]") for n, row in enumerate(value, start=1)]


class _Table:
    """One table of the file; every key read is ticked off so that strangers can be named."""

    def __init__(self, reader: _Reader, raw: dict[str, object], path: str) -> None:
        self.reader, self.raw, self.path = reader, raw, path
        self.seen: set[str] = set()

    def _take(self, key: str) -> object:
        self.seen.add(key)
        return self.raw.get(key)

    def _fault(self, key: str, found: object, expected: str, mend: str) -> None:
        self.reader.fault(f"{self.path}.{key}" if self.path else key, found, expected, mend)

    def text(self, key: str, default: str, *, required: bool = False) -> str:
        value = self._take(key)
        if value is None:
            if required:
                self._fault(key, None, "text", f'write {key} = "..."')
            return default
        if not isinstance(value, str):
            self._fault(key, value, "text", "put it in quotes")
            return default
        return value

    def flag(self, key: str, default: bool) -> bool:
        value = self._take(key)
        if value is None:
            return default
        if not isinstance(value, bool):
            self._fault(key, value, "true or false", "write true or false without quotes")
            return default
        return value

    def whole(self, key: str, default: int | None, least: int, most: int) -> int | None:
        value = self._take(key)
        if value is None:
            return default
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            self._fault(key, value, f"a whole number {least} to {most}", "correct the number")
            return default
        return value

    def number(self, key: str, default: float, least: float, most: float) -> float:
        value = self._take(key)
        if value is None:
            return default
        if (
            isinstance(value, bool)
            or not isinstance(value, int | float)
            or (
                not least <= value <= most  # also refuses nan
            )
        ):
            self._fault(key, value, f"a number {least:g} to {most:g}", "correct the number")
            return default
        return float(value)

    def quantity(
        self, key: str, kind: str, default: float, least: float, most: float, mend: str = ""
    ) -> float:
        value = self.maybe(key, kind, least, most, mend)
        return default if value is None else value

    def maybe(self, key: str, kind: str, least: float, most: float, mend: str = "") -> float | None:
        value = self._take(key)
        if value is None:
            return None
        if not isinstance(value, str):
            self._fault(key, value, f"a {kind} with its unit, in quotes", f'write "{value} unit"')
            return None
        try:
            number = parse_quantity(value, kind)
        except UnitError as error:
            self._fault(key, value, f"a {kind}", str(error))
            return None
        if not least <= number <= most:
            bounds = f"{least:.4g} to {most:.4g} in SI"
            self._fault(key, value, bounds, mend or "check the number and its unit")
            return None
        return number

    def choice(self, key: str, kinds: type[E], default: E) -> E:
        value = self._take(key)
        if value is None:
            return default
        names = {member.value: member for member in kinds}
        if value not in names:
            self._fault(key, value, " or ".join(map(repr, names)), "use one of these words")
            return default
        return names[value]

    def numbers(self, key: str) -> tuple[float, ...]:
        value = self._take(key)
        if value is None:
            return ()
        good = isinstance(value, list) and all(
            isinstance(v, int | float) and not isinstance(v, bool) and abs(v) < 1e300 for v in value
        )
        if not good:
            self._fault(key, value, "a list of numbers", "write [1.0, 2.0]")
            return ()
        return tuple(float(v) for v in value)  # type: ignore[attr-defined]

    def pairs(self, key: str) -> tuple[tuple[float, float], ...]:
        value = self._take(key)
        if value is None:
            return ()
        good = isinstance(value, list) and all(
            isinstance(row, list)
            and len(row) == 2
            and all(isinstance(v, int | float) and abs(v) < 1e300 for v in row)
            for row in value
        )
        if not good:
            self._fault(key, value, "a list of [x, y] pairs", "write [[0.5, 0.0], [4.5, 0.4]]")
            return ()
        return tuple((float(x), float(y)) for x, y in value)  # type: ignore[attr-defined]

    def sub(self, key: str) -> "_Table":
        self.seen.add(key)
        path = f"{self.path}.{key}" if self.path else key
        return self.reader.table(self.raw, key, path)

    def strangers(self) -> None:
        for key in self.raw:
            if key not in self.seen:
                known = ", ".join(sorted(self.seen))
                self._fault(key, self.raw[key], f"one of: {known}", "remove it or mend its name")


def _rig(reader: _Reader, raw: dict[str, object]) -> Rig:
    top = _Table(reader, raw, "")
    top.seen.update({"tractor", "tool", "receiver", "limits", "display", "locale"})
    top.seen.update({"port", "sensor"})
    version = top.whole("version", None, 1, RIG_VERSION)
    if version is None:
        reader.fault("version", raw.get("version"), f"{RIG_VERSION}", "write version = 1 on top")
    ports = tuple(_port(table) for table in reader.tables(raw, "port"))
    rig = Rig(
        id=top.text("id", "rig", required=True),
        name=top.text("name", "Unnamed rig"),
        units=top.choice("units", UnitSystem, UnitSystem.US),
        tractor=_tractor(reader.table(raw, "tractor", "tractor")),
        tool=_tool(reader.table(raw, "tool", "tool")),
        receiver=_receiver(reader.table(raw, "receiver", "receiver")),
        ports=ports or Rig().ports,
        sensors=tuple(_sensor(table) for table in reader.tables(raw, "sensor")),
        limits=_limits(reader.table(raw, "limits", "limits")),
        display=_display(reader.table(raw, "display", "display")),
        locale=_locale(reader.table(raw, "locale", "locale")),
    )
    top.strangers()
    return rig


def _tractor(table: _Table) -> Tractor:
    tractor = Tractor(
        id=table.text("id", ""),
        rated_pto_w=table.maybe("rated_pto", "power", 10e3, 1000e3),
        drive=table.choice("drive", DriveKind, DriveKind.FRONT_ASSIST),
    )
    table.strangers()
    return tractor


def _tool(table: _Table) -> Tool:
    adjuster = table.sub("adjuster")
    default = Tool()
    tool = Tool(
        id=table.text("id", ""),
        width_m=table.quantity("width", "length", default.width_m, 0.5, 20.0),
        shanks=_shanks(table),
        hitch_back_m=table.quantity("hitch_back", "length", default.hitch_back_m, -2.0, 12.0),
        lag_m=table.quantity("lag", "length", default.lag_m, 0.0, 15.0),
        winged=table.flag("winged", True),
        front_gangs=table.whole("front_gangs", 2, 0, 4) or 0,
        rear_gangs=table.whole("rear_gangs", 1, 0, 4) or 0,
        finish=table.choice("finish", FinishKind, FinishKind.BASKET),
        adjuster=Adjuster(
            kind=adjuster.choice("kind", AdjusterKind, AdjusterKind.CRANK),
            step_m=adjuster.quantity("step", "length", 0.25 * INCH_M, 0.0005, 0.2),
            finest_steps=adjuster.number("finest_steps", 0.25, 0.05, 1.0),
            last_deeper=adjuster.flag("last_deeper", True),
            adding_is_deeper=adjuster.flag("adding_is_deeper", False),
            part_m=adjuster.maybe("part", "length", 0.002, 0.1),
        ),
        transport_width_m=table.maybe("transport_width", "length", 1.0, 12.0),
        transport_height_m=table.maybe("transport_height", "length", 1.0, 8.0),
    )
    adjuster.strangers()
    table.strangers()
    return tool


def _shanks(table: _Table) -> tuple[Shank, ...]:
    table.seen.add("shank")
    shanks = []
    for number, row in enumerate(table.reader.tables(table.raw, "shank"), start=1):
        row.path = f"tool.shank[{number}]"
        shanks.append(
            Shank(
                number=number,
                across_m=row.quantity("across", "length", 0.0, -10.0, 10.0),
                back_m=row.quantity("back", "length", 0.0, 0.0, 15.0),
            )
        )
        row.strangers()
    return tuple(shanks)


def _receiver(table: _Table) -> Receiver:
    default = Receiver()
    receiver = Receiver(
        port=table.text("port", default.port),
        antenna_right_m=table.quantity("antenna_right", "length", 0.0, -5.0, 5.0),
        antenna_height_m=table.quantity("antenna_height", "length", 3.0, 0.0, 8.0),
        standing_below_mps=table.quantity(
            "standing_below", "speed", default.standing_below_mps, 0.1, 1.0
        ),
        moving_above_mps=table.quantity(
            "moving_above", "speed", default.moving_above_mps, 0.1, 1.5
        ),
    )
    table.strangers()
    return receiver


def _port(table: _Table) -> Port:
    role = table.text("role", "receiver")
    if role not in ("receiver", "node"):
        table._fault("role", role, "'receiver' or 'node'", "say whose wire it is")
    port = Port(
        name=table.text("name", "", required=True),
        device=table.text("device", "auto"),
        role=role,
        baud=table.whole("baud", None, 4800, 460800),
    )
    table.strangers()
    return port


def _sensor(table: _Table) -> Sensor:
    channel = table.text("channel", "", required=True)
    try:
        xdr_name = family_of(channel).xdr_name
    except KeyError:
        names = ", ".join(f.name + ("1" if f.numbered else "") for f in FAMILIES.values())
        table._fault("channel", channel, f"one of: {names}", "number the channels of a kind from 1")
        xdr_name = ""
    input_kind = table.text("input", "switch" if _is_switch(channel) else "si")
    if input_kind not in ("si", "V", "switch"):
        table._fault("input", input_kind, "'si', 'V' or 'switch'", "say what the wire carries")
    curve = table.sub("curve")
    sensor = Sensor(
        channel=channel,
        wire_name=table.text("wire_name", xdr_name + channel.lstrip("abcdefghijklmnopqrstuvwxyz_")),
        port=table.text("port", "node"),
        input=input_kind,
        words=table.text("words", ""),
        cable=table.whole("cable", None, 1, 99),
        side=table.text("side", ""),
        serial=table.text("serial", ""),
        across_m=table.quantity("across", "length", 0.0, -10.0, 10.0),
        back_m=table.quantity("back", "length", 0.0, 0.0, 15.0),
        shank=table.whole("shank", None, 1, 60),
        trip_n=table.maybe("trip", "force", 100.0, 200e3),
        trusted=table.flag("trusted", False),
        curve=_curve(curve) if curve.raw else None,
    )
    table.strangers()
    return sensor


def _is_switch(channel: str) -> bool:
    return channel in FAMILIES and FAMILIES[channel].quantity == "switch"


def _curve(table: _Table) -> Curve | None:
    before = len(table.reader.faults)
    kind = table.choice("kind", CurveKind, CurveKind.LINEAR)
    curve = Curve(
        kind=kind,
        x_least=table.number("x_least", 0.0, -1e9, 1e9),
        x_most=table.number("x_most", 0.0, -1e9, 1e9),
        coefficients=table.numbers("coefficients"),
        knots=table.pairs("knots"),
        offset=table.number("offset", 0.0, -1e6, 1e6),
        proven_error=table.number("proven_error", 0.0, 0.0, 1e6),
        made=table.text("made", ""),
        by=table.text("by", ""),
    )
    table.strangers()
    if len(table.reader.faults) > before or not _curve_shape_is_good(table, curve):
        return None
    return curve


def _curve_shape_is_good(table: _Table, curve: Curve) -> bool:
    before = len(table.reader.faults)
    wanted = {CurveKind.LINEAR: 2, CurveKind.QUADRATIC: 3, CurveKind.MONOTONE: 0}[curve.kind]
    if len(curve.coefficients) != wanted:
        table._fault("coefficients", curve.coefficients, f"{wanted} numbers", "fit it again")
    if not curve.x_least < curve.x_most:
        table._fault("x_most", curve.x_most, f"more than x_least {curve.x_least:g}", "fit it again")
    if curve.kind is CurveKind.MONOTONE:
        xs = [x for x, _ in curve.knots]
        if len(xs) < 2 or any(b <= a for a, b in pairwise(xs)):
            table._fault("knots", curve.knots, "two or more pairs with rising x", "fit it again")
    return len(table.reader.faults) == before


def _limits(table: _Table) -> Limits:
    default = Limits()
    limits = Limits(
        speed_low_mps=table.quantity("speed_low", "speed", default.speed_low_mps, 0.5, 6.0),
        speed_high_mps=table.quantity("speed_high", "speed", default.speed_high_mps, 0.5, 6.0),
        depth_target_m=table.maybe("depth_target", "length", 0.05, 0.75),
        depth_margin_m=table.quantity(
            "depth_margin",
            "length",
            default.depth_margin_m,
            INCH_M - 1e-9,
            0.15,
            "a live depth is good to about half an inch: the band cannot be under 1 in each way",
        ),
        level_standing_m=table.quantity("level_standing", "length", 0.5 * INCH_M, 0.006, 0.1),
        level_live_m=table.quantity("level_live", "length", 1.0 * INCH_M, 0.012, 0.1),
        spring_high=table.quantity("spring_high", "ratio", 0.90, 0.5, 1.0),
        slip_look=table.maybe("slip_look", "ratio", 0.05, 0.40),
        line_depth_m=table.quantity("line_depth", "length", default.line_depth_m, 0.0, 1.0),
    )
    table.strangers()
    return limits


def _display(table: _Table) -> Display:
    display = Display(
        width_mm=1000 * table.quantity("width", "length", 0.2175, 0.10, 1.0),
        height_mm=1000 * table.quantity("height", "length", 0.136, 0.06, 1.0),
        eye_mm=1000 * table.quantity("eye", "length", 0.9, 0.3, 1.5),
        confirmed=table.flag("confirmed", False),
        turned_deg=table.whole("turned", 0, 0, 270) or 0,
    )
    if display.turned_deg % 90:
        table._fault("turned", display.turned_deg, "0, 90, 180 or 270", "say a quarter turn")
    table.strangers()
    return display


def _locale(table: _Table) -> Locale:
    default = Locale()
    locale = Locale(
        lines_service=table.text("lines_service", default.lines_service),
        lines_days=table.whole("lines_days", 3, 0, 60) or 0,
        lines_stay_clear_m=table.quantity("lines_stay_clear", "length", 24 * INCH_M, 0.0, 10.0),
        utc_offset_min=table.whole("utc_offset_min", 0, -14 * 60, 14 * 60) or 0,
    )
    table.strangers()
    return locale


def _cross_faults(rig: Rig) -> list[Fault]:
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
        if sensor.shank is not None and sensor.shank not in numbers:
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


def _speed(speed_mps: float, system: UnitSystem) -> str:
    unit = shown_unit("speed", system)
    return f"{to_unit(speed_mps, unit):.3g} {unit}"


def _twins(names: list[str]) -> list[str]:
    return sorted({name for name in names if names.count(name) > 1})


def _twin(what: str) -> Fault:
    return Fault("(file)", f"{what} twice", "each once", "give one of them another name")

"""A rig as the text of its file: what did not change stays as a person typed it, comments too."""

import math
import re
from collections.abc import Callable, Iterable, MutableMapping
from dataclasses import dataclass
from enum import Enum
from typing import Any

import tomlkit

from cabapp.channels import family_of, split_channel
from cabapp.curve import Curve, CurveKind
from cabapp.rig import (
    Adjuster,
    Display,
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
from cabapp.rigcheck import RIG_VERSION
from cabapp.units import UnitError, UnitSystem, parse_quantity, to_unit

HEADER = (
    "# What is bolted on. Every length, speed, force and power is typed with its unit, in quotes.\n"
)
Table = MutableMapping[str, Any]


@dataclass(frozen=True)
class Key:
    """One key of the file: the attribute it holds and, for quantities, the units to write it in.

    ``si_per_attribute`` is for attributes that are not SI (millimetres of a panel).
    """

    key: str
    attribute: str
    quantity: str = ""
    us: str = ""
    metric: str = ""
    si_per_attribute: float = 1.0
    always: bool = False


def _feet(key: str, attribute: str) -> Key:
    return Key(key, attribute, "length", "ft", "m")


def _inches(key: str, attribute: str) -> Key:
    return Key(key, attribute, "length", "in", "cm")


def _speed(key: str, attribute: str) -> Key:
    return Key(key, attribute, "speed", "mph", "km/h")


def _share(key: str) -> Key:
    return Key(key, key, "ratio", "%", "%")


def _millimetres(key: str, attribute: str) -> Key:
    return Key(key, attribute, "length", "mm", "mm", 0.001)


def _plain(*keys: str) -> tuple[Key, ...]:
    return tuple(Key(key, key) for key in keys)


TOP = (Key("id", "id", always=True), Key("name", "name", always=True), *_plain("units"))
TRACTOR = (*_plain("id", "drive"), Key("rated_pto", "rated_pto_w", "power", "hp", "kW"))
TOOL = (
    *_plain("id"),
    _feet("width", "width_m"),
    _feet("hitch_back", "hitch_back_m"),
    _feet("lag", "lag_m"),
    *_plain("winged", "front_gangs", "rear_gangs", "finish"),
    _feet("transport_width", "transport_width_m"),
    _feet("transport_height", "transport_height_m"),
)
ADJUSTER = (
    *_plain("kind"),
    _inches("step", "step_m"),
    *_plain("finest_steps", "last_deeper", "adding_is_deeper"),
    _inches("part", "part_m"),
)
SHANK = (_inches("across", "across_m"), _inches("back", "back_m"))
RECEIVER = (
    *_plain("port"),
    _inches("antenna_right", "antenna_right_m"),
    _speed("standing_below", "standing_below_mps"),
    _speed("moving_above", "moving_above_mps"),
)
PORT = (Key("name", "name", always=True), *_plain("device", "role", "baud"))
SENSOR = (
    Key("channel", "channel", always=True),
    *_plain("wire_name", "port", "input", "words", "cable", "side", "serial"),
    _inches("across", "across_m"),
    _inches("back", "back_m"),
    *_plain("shank"),
    Key("trip", "trip_n", "force", "lbf", "kN"),
    *_plain("trusted"),
)
CURVE = (
    Key("kind", "kind", always=True),
    *_plain("coefficients", "knots"),
    Key("x_least", "x_least", always=True),
    Key("x_most", "x_most", always=True),
    *_plain("offset", "proven_error", "made", "by"),
)
LIMITS = (
    _speed("speed_low", "speed_low_mps"),
    _speed("speed_high", "speed_high_mps"),
    _inches("depth_target", "depth_target_m"),
    _inches("depth_margin", "depth_margin_m"),
    _inches("level_standing", "level_standing_m"),
    _inches("level_live", "level_live_m"),
    _share("spring_high"),
    _share("slip_look"),
    _inches("line_depth", "line_depth_m"),
)
DISPLAY = (
    _millimetres("width", "width_mm"),
    _millimetres("height", "height_mm"),
    _millimetres("eye", "eye_mm"),
    *_plain("confirmed", "signed_beyond"),
    Key("turned", "turned_deg"),
)
LOCALE = (
    *_plain("lines_service", "lines_days", "lines_good_days"),
    _inches("lines_stay_clear", "lines_stay_clear_m"),
    *_plain("utc_offset_min"),
)

# A table header straight after a value: rows added or taken away lose the empty line between.
_HEADER_AFTER_LINE = re.compile(r"^([^#\n].*)\n(\[\[.*|\[\w+\].*)$", re.MULTILINE)
_NO_CURVE = Curve(CurveKind.LINEAR, 0.0, 0.0)


def rig_text(rig: Rig, old: str = "") -> str:
    """The file's new text, made by changing ``old`` (a text that tomlkit can read, or "")."""
    document = tomlkit.parse(old or HEADER)
    if "version" not in document:
        document["version"] = RIG_VERSION
    _fill(document, TOP, rig, Rig(), rig.units)
    for name, keys, part, default in (
        ("tractor", TRACTOR, rig.tractor, Tractor()),
        ("tool", TOOL, rig.tool, Tool()),
        ("receiver", RECEIVER, rig.receiver, Receiver()),
        ("limits", LIMITS, rig.limits, Limits()),
        ("display", DISPLAY, rig.display, Display()),
        ("locale", LOCALE, rig.locale, Locale()),
    ):
        _section(document, name, keys, part, default, rig.units)
    tool = document.get("tool", {})
    if "adjuster" in tool or rig.tool.adjuster != Adjuster():
        _section(document["tool"], "adjuster", ADJUSTER, rig.tool.adjuster, Adjuster(), rig.units)
    if rig.tool.shanks or "shank" in tool:
        _shanks(document, rig)
    if rig.ports != Rig().ports or "port" in document:
        _list(document, "port", PORT, rig.ports, _by("name"), _bare_port, rig.units)
    _list(document, "sensor", SENSOR, rig.sensors, _by("channel"), _bare_sensor, rig.units)
    _curves(document, rig)
    return _HEADER_AFTER_LINE.sub(r"\1\n\n\2", tomlkit.dumps(document))


def _bare_port(port: Port) -> Port:
    return Port(port.name)


def _bare_sensor(sensor: Sensor) -> Sensor:
    """What the reader takes for a sensor of which only the channel is written."""
    family = family_of(sensor.channel)
    _, number = split_channel(sensor.channel)
    kind = "switch" if family.quantity == "switch" else "si"
    wire_name = family.xdr_name + ("" if number is None else str(number))
    return Sensor(sensor.channel, wire_name, "node", kind)


def _by(key: str) -> Callable[[Any], str]:
    def name_of(row: Any) -> str:
        return str(row[key] if isinstance(row, MutableMapping) else getattr(row, key))

    return name_of


def _section(
    within: Any, name: str, keys: Iterable[Key], part: object, default: object, units: UnitSystem
) -> None:
    if name not in within:
        if part == default and name != "tool":
            return
        within[name] = tomlkit.table()
    _fill(within[name], keys, part, default, units)


def _fill(
    table: Table, keys: Iterable[Key], part: object, default: object, units: UnitSystem
) -> None:
    for key in keys:
        value = getattr(part, key.attribute)
        present = key.key in table
        if value is None or value == ():
            if present:
                del table[key.key]
        elif present and _same(table[key.key], value, key):
            continue
        elif present or key.always or value != getattr(default, key.attribute):
            table[key.key] = _written(value, key, table.get(key.key), units)


def _same(found: Any, value: Any, key: Key) -> bool:
    if key.quantity:
        try:
            number = parse_quantity(str(found), key.quantity)
        except UnitError:
            return False
        return math.isclose(number, value * key.si_per_attribute, rel_tol=1e-9, abs_tol=1e-12)
    plain = found.unwrap() if hasattr(found, "unwrap") else found
    return bool(plain == _plain_value(value))


def _written(value: Any, key: Key, found: Any, units: UnitSystem) -> Any:
    if not key.quantity:
        return _plain_value(value)
    unit = key.us if units is UnitSystem.US else key.metric
    typed = re.search(r"[A-Za-z%][A-Za-z%/0-9]*$", str(found or ""))
    for candidate in (typed[0] if typed else "", unit):
        if not candidate:
            continue
        text = f"{_digits(to_unit(value * key.si_per_attribute, candidate))} {candidate}"
        if _same(text, value, key):
            return text
    raise ValueError(f"{key.key}: {value!r} has no text in {unit}")


def _digits(number: float) -> str:
    """Twelve digits and never an exponent: a person reads and mends this file."""
    text = f"{number:.12g}"
    return f"{number:.12f}".rstrip("0").rstrip(".") if "e" in text else text


def _plain_value(value: Any) -> Any:
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, tuple):
        return [_plain_value(item) for item in value]
    return value


def _list(
    document: Any,
    name: str,
    keys: Iterable[Key],
    parts: tuple[Any, ...],
    identity: Callable[[Any], str],
    default: Callable[[Any], object],
    units: UnitSystem,
) -> None:
    """An array of tables: rows are known by name, so that each keeps its own comments."""
    rows = _rows(document, name)
    wanted = {identity(part): part for part in parts}
    for index in range(len(rows) - 1, -1, -1):
        if identity(rows[index]) not in wanted:
            del rows[index]
    found = {identity(row): row for row in rows}
    for label, part in wanted.items():
        if label not in found:
            rows.append(tomlkit.table())
            found[label] = rows[-1]
        _fill(found[label], keys, part, default(part), units)
    if not rows:
        del document[name]


def _rows(within: Any, name: str) -> Any:
    if name not in within:
        within[name] = tomlkit.aot()
    return within[name]


def _shanks(document: Any, rig: Rig) -> None:
    """Shanks have no name but their place in the row."""
    rows = _rows(document["tool"], "shank")
    while len(rows) > len(rig.tool.shanks):
        del rows[len(rows) - 1]
    while len(rows) < len(rig.tool.shanks):
        rows.append(tomlkit.table())
    for row, shank in zip(rows, rig.tool.shanks, strict=True):
        _fill(row, SHANK, shank, Shank(0, 0.0, 0.0), rig.units)
    if not rows:
        del document["tool"]["shank"]


def _curves(document: Any, rig: Rig) -> None:
    for row in document.get("sensor", []):
        sensor = rig.sensor(str(row["channel"]))
        curve = sensor.curve if sensor else None
        if curve is None:
            if "curve" in row:
                del row["curve"]
            continue
        table = row.get("curve", tomlkit.table())
        _fill(table, CURVE, curve, _NO_CURVE, rig.units)
        if "curve" not in row:
            row["curve"] = table

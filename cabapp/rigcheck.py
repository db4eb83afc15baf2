"""Reading a rig file: every fault at once, each with key path, found, expected and mend."""

import tomllib
from datetime import date
from itertools import pairwise

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
from cabapp.rigbounds import BOUNDS
from cabapp.rigcross import cross_faults
from cabapp.rigfault import Fault, RigError
from cabapp.rigtable import Reader, Table
from cabapp.units import INCH_M, UnitSystem

RIG_VERSION = 1


def read_rig(text: str, source: str = "rig.toml") -> Rig:
    """Parse and check a rig file; raises RigError listing every fault at once.

    A byte order mark, which some editors put in front of UTF-8, is no part of it.
    """
    text = text.removeprefix("\ufeff")
    if not text.strip():
        mend = "restore the kept copy, or begin from an example rig"
        raise RigError(source, (Fault("(file)", "nothing: it is empty", "a rig", mend),))
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        fault = Fault("(file)", str(error), "TOML 1.0", "mend that line or restore the kept copy")
        raise RigError(source, (fault,)) from None
    except RecursionError:
        fault = Fault("(file)", "brackets in brackets without end", "TOML 1.0", "restore a copy")
        raise RigError(source, (fault,)) from None
    reader = Reader()
    rig = _rig(reader, raw)
    told = {fault.key for fault in reader.faults}  # a value left out for a fault is no other one
    reader.faults.extend(fault for fault in cross_faults(rig) if fault.key not in told)
    if reader.faults:
        raise RigError(source, tuple(reader.faults))
    return rig


def _rig(reader: Reader, raw: dict[str, object]) -> Rig:
    top = Table(reader, raw, "")
    top.seen.update({"tractor", "tool", "receiver", "limits", "display", "locale"})
    top.seen.update({"port", "sensor"})
    if top.whole("version", None, 1, RIG_VERSION) is None and "version" not in raw:
        reader.fault("version", None, f"{RIG_VERSION}", "write version = 1 on top")
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


def _tractor(table: Table) -> Tractor:
    tractor = Tractor(
        id=table.text("id", ""),
        rated_pto_w=table.maybe("rated_pto", "power", *BOUNDS["tractor.rated_pto_w"]),
        drive=table.choice("drive", DriveKind, DriveKind.FRONT_ASSIST),
    )
    table.strangers()
    return tractor


def _tool(table: Table) -> Tool:
    adjuster = table.sub("adjuster")
    default = Tool()
    tool = Tool(
        id=table.text("id", ""),
        width_m=table.quantity("width", "length", default.width_m, *BOUNDS["tool.width_m"]),
        shanks=_shanks(table),
        hitch_back_m=table.quantity(
            "hitch_back", "length", default.hitch_back_m, *BOUNDS["tool.hitch_back_m"]
        ),
        lag_m=table.quantity("lag", "length", default.lag_m, *BOUNDS["tool.lag_m"]),
        winged=table.flag("winged", True),
        front_gangs=table.whole("front_gangs", 2, *_whole("tool.front_gangs")) or 0,
        rear_gangs=table.whole("rear_gangs", 1, *_whole("tool.rear_gangs")) or 0,
        finish=table.choice("finish", FinishKind, FinishKind.BASKET),
        adjuster=Adjuster(
            kind=adjuster.choice("kind", AdjusterKind, AdjusterKind.CRANK),
            step_m=adjuster.quantity(
                "step", "length", 0.25 * INCH_M, *BOUNDS["tool.adjuster.step_m"]
            ),
            finest_steps=adjuster.number(
                "finest_steps", 0.25, *BOUNDS["tool.adjuster.finest_steps"]
            ),
            last_deeper=adjuster.flag("last_deeper", True),
            adding_is_deeper=adjuster.flag("adding_is_deeper", False),
            part_m=adjuster.maybe("part", "length", *BOUNDS["tool.adjuster.part_m"]),
        ),
        transport_width_m=table.maybe(
            "transport_width", "length", *BOUNDS["tool.transport_width_m"]
        ),
        transport_height_m=table.maybe(
            "transport_height", "length", *BOUNDS["tool.transport_height_m"]
        ),
    )
    adjuster.strangers()
    table.strangers()
    return tool


def _shanks(table: Table) -> tuple[Shank, ...]:
    table.seen.add("shank")
    shanks = []
    for number, row in enumerate(table.reader.tables(table.raw, "shank"), start=1):
        row.path = f"tool.shank[{number}]"
        shanks.append(
            Shank(
                number=number,
                across_m=row.quantity("across", "length", 0.0, *BOUNDS["tool.shank.across_m"]),
                back_m=row.quantity("back", "length", 0.0, *BOUNDS["tool.shank.back_m"]),
            )
        )
        row.strangers()
    return tuple(shanks)


def _receiver(table: Table) -> Receiver:
    default = Receiver()
    receiver = Receiver(
        port=table.text("port", default.port),
        antenna_right_m=table.quantity(
            "antenna_right", "length", 0.0, *BOUNDS["receiver.antenna_right_m"]
        ),
        standing_below_mps=table.quantity(
            "standing_below",
            "speed",
            default.standing_below_mps,
            *BOUNDS["receiver.standing_below_mps"],
        ),
        moving_above_mps=table.quantity(
            "moving_above",
            "speed",
            default.moving_above_mps,
            *BOUNDS["receiver.moving_above_mps"],
        ),
    )
    table.strangers()
    return receiver


def _port(table: Table) -> Port:
    role = table.text("role", "receiver")
    if role not in ("receiver", "node"):
        table.fault("role", role, "'receiver' or 'node'", "say whose wire it is")
    port = Port(
        name=table.text("name", "", required=True),
        device=table.text("device", "auto"),
        role=role,
        baud=table.whole("baud", None, 4800, 460800),
    )
    table.strangers()
    return port


def _sensor(table: Table) -> Sensor:
    channel = table.text("channel", "", required=True)
    try:
        xdr_name = family_of(channel).xdr_name
    except KeyError:
        names = ", ".join(f.name + ("1" if f.numbered else "") for f in FAMILIES.values())
        table.fault("channel", channel, f"one of: {names}", "number the channels of a kind from 1")
        xdr_name = ""
    input_kind = table.text("input", "switch" if _is_switch(channel) else "si")
    if input_kind not in ("si", "V", "switch"):
        table.fault("input", input_kind, "'si', 'V' or 'switch'", "say what the wire carries")
    curve = table.sub("curve")
    sensor = Sensor(
        channel=channel,
        wire_name=table.text("wire_name", xdr_name + channel.lstrip("abcdefghijklmnopqrstuvwxyz_")),
        port=table.text("port", "node"),
        input=input_kind,
        words=table.text("words", ""),
        cable=table.whole("cable", None, *_whole("sensor.cable")),
        side=table.text("side", ""),
        serial=table.text("serial", ""),
        across_m=table.quantity("across", "length", 0.0, *BOUNDS["sensor.across_m"]),
        back_m=table.quantity("back", "length", 0.0, *BOUNDS["sensor.back_m"]),
        shank=table.whole("shank", None, 1, 60),
        trip_n=table.maybe("trip", "force", *BOUNDS["sensor.trip_n"]),
        trusted=table.flag("trusted", False),
        curve=_curve(curve) if curve.raw else None,
    )
    table.strangers()
    return sensor


def _is_switch(channel: str) -> bool:
    return channel in FAMILIES and FAMILIES[channel].quantity == "switch"


def _curve(table: Table) -> Curve | None:
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
        made=_day(table, "made"),
        by=table.text("by", ""),
    )
    table.strangers()
    if len(table.reader.faults) > before or not _curve_shape_is_good(table, curve):
        return None
    return curve


def _day(table: Table, key: str) -> str:
    """A day as ``2026-10-14``, "" where none was known."""
    text = table.text(key, "")
    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError:
        table.fault(key, text, "a day as 2026-10-14", 'correct it, or write "" if it is not known')
        return ""


def _curve_shape_is_good(table: Table, curve: Curve) -> bool:
    before = len(table.reader.faults)
    wanted = {CurveKind.LINEAR: 2, CurveKind.QUADRATIC: 3, CurveKind.MONOTONE: 0}[curve.kind]
    if len(curve.coefficients) != wanted:
        table.fault("coefficients", curve.coefficients, f"{wanted} numbers", "fit it again")
    if not curve.x_least < curve.x_most:
        table.fault("x_most", curve.x_most, f"more than x_least {curve.x_least:g}", "fit it again")
    if curve.kind is CurveKind.MONOTONE:
        xs = [x for x, _ in curve.knots]
        if len(xs) < 2 or any(b <= a for a, b in pairwise(xs)):
            table.fault("knots", curve.knots, "two or more pairs with rising x", "fit it again")
    return len(table.reader.faults) == before


def _limits(table: Table) -> Limits:
    default = Limits()
    limits = Limits(
        speed_low_mps=table.quantity(
            "speed_low", "speed", default.speed_low_mps, *BOUNDS["limits.speed_low_mps"]
        ),
        speed_high_mps=table.quantity(
            "speed_high", "speed", default.speed_high_mps, *BOUNDS["limits.speed_high_mps"]
        ),
        depth_target_m=table.maybe("depth_target", "length", *BOUNDS["limits.depth_target_m"]),
        depth_margin_m=table.quantity(
            "depth_margin",
            "length",
            default.depth_margin_m,
            *BOUNDS["limits.depth_margin_m"],
            "a live depth is good to about half an inch: the band cannot be under 1 in each way",
        ),
        level_standing_m=table.quantity(
            "level_standing", "length", 0.5 * INCH_M, *BOUNDS["limits.level_standing_m"]
        ),
        level_live_m=table.quantity(
            "level_live", "length", 1.0 * INCH_M, *BOUNDS["limits.level_live_m"]
        ),
        spring_high=table.quantity("spring_high", "ratio", 0.90, *BOUNDS["limits.spring_high"]),
        slip_look=table.maybe("slip_look", "ratio", *BOUNDS["limits.slip_look"]),
        line_depth_m=table.quantity(
            "line_depth", "length", default.line_depth_m, *BOUNDS["limits.line_depth_m"]
        ),
    )
    table.strangers()
    return limits


def _display(table: Table) -> Display:
    display = Display(
        width_mm=_millimetres(table, "width", 0.2175, "display.width_mm"),
        height_mm=_millimetres(table, "height", 0.136, "display.height_mm"),
        eye_mm=_millimetres(table, "eye", 0.9, "display.eye_mm"),
        confirmed=table.flag("confirmed", False),
        signed_beyond=table.flag("signed_beyond", False),
        turned_deg=table.whole("turned", 0, 0, 270) or 0,
    )
    if display.turned_deg % 90:
        table.fault("turned", display.turned_deg, "0, 90, 180 or 270", "say a quarter turn")
    table.strangers()
    return display


def _millimetres(table: Table, key: str, default_m: float, bounds: str) -> float:
    least, most = BOUNDS[bounds]
    return 1000 * table.quantity(key, "length", default_m, least / 1000, most / 1000)


def _whole(bounds: str) -> tuple[int, int]:
    least, most = BOUNDS[bounds]
    return int(least), int(most)


def _locale(table: Table) -> Locale:
    default = Locale()
    locale = Locale(
        lines_service=table.text("lines_service", default.lines_service),
        lines_days=table.whole("lines_days", 3, 0, 60) or 0,
        lines_good_days=table.whole("lines_good_days", 0, 0, 365) or 0,
        lines_stay_clear_m=table.quantity("lines_stay_clear", "length", 24 * INCH_M, 0.0, 10.0),
        utc_offset_min=table.whole("utc_offset_min", 0, -14 * 60, 14 * 60) or 0,
    )
    table.strangers()
    return locale

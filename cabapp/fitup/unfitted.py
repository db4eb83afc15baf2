"""The names on the wires that no sensor of the rig takes yet, and the sensor each would become."""

import re
from dataclasses import replace

from cabapp.channels import FAMILIES
from cabapp.fitup.edits import next_channel
from cabapp.fitup.heard import Heard
from cabapp.rig import Rig, Sensor


def unknown_names(heard: tuple[Heard, ...], rig: Rig) -> tuple[Heard, ...]:
    """What nodes send and no sensor of the rig takes: bounds and line counters aside."""
    taken = {(s.port, s.wire_name) for s in rig.sensors}
    names = {(h.port, h.name) for h in heard}
    return tuple(
        h
        for h in heard
        if h.kind
        and h.name
        and h.name != "SEQ"
        and (h.port, h.name) not in taken
        and not (h.name.endswith(("MAX", "MIN")) and (h.port, h.name[:-3]) in names)
    )


def family_by_name(name: str) -> str:
    """The family a wire name speaks of, "" if it says nothing."""
    stem = re.sub(r"\d+$", "", name)
    return next((f.name for f in FAMILIES.values() if f.xdr_name and f.xdr_name == stem), "")


def new_sensor(rig: Rig, heard: Heard, family: str) -> Sensor | str:
    """The row for a name just heard, or the sentence that says why not yet."""
    kind = FAMILIES[family]
    number = re.search(r"\d+$", heard.name)
    wanted = f"{family}{number[0]}" if kind.numbered and number else family
    taken = {s.channel for s in rig.sensors}
    channel = next_channel(rig, family) if kind.numbered and wanted in taken | {family} else wanted
    carried = "switch" if kind.quantity == "switch" else "V" if heard.unit == "V" else "si"
    sensor = Sensor(channel, heard.name, heard.port, carried)
    if family == "depth":
        return replace(sensor, back_m=rig.tool.lag_m)
    if family != "spring":
        return sensor
    shank, shanks = int(channel.removeprefix("spring")), len(rig.tool.shanks)
    if shank not in {s.number for s in rig.tool.shanks}:
        known = f"shanks 1 to {shanks}" if shanks else "no shanks"
        return f"{heard.name}: the rig has {known}. Type them first, page Tool."
    return replace(sensor, shank=shank)

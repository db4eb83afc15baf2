"""The page "What is plugged in": each plug, what it sends now, how often, and whose it is."""

import re
from dataclasses import dataclass
from enum import Enum

from cabapp.channels import FAMILIES, family_of
from cabapp.events import PortCondition
from cabapp.fitup.heard import NOW_S, Ears, Heard, heard_when, how_often
from cabapp.rig import Rig, Sensor

LONGEST_SENDS = 34  # letters the column "Sends now" holds


class Mark(Enum):
    """The square before a line: a tick, an empty box, a cross."""

    DONE = "done"
    TO_DO = "to_do"
    TROUBLE = "trouble"


@dataclass(frozen=True)
class PlugState:
    """A port as the engine tells it; ``detail`` is its device, or what it needs.

    ``kinds`` are the sentences it sends, ``rate_hz`` how often the commonest comes, ``silent_s``
    how long ago the last was heard (None: not yet).
    """

    name: str
    condition: PortCondition = PortCondition.SEARCHING
    detail: str = ""
    kinds: tuple[str, ...] = ()
    rate_hz: float = 0.0
    silent_s: float | None = None


@dataclass(frozen=True)
class Spare:
    """A device that no port of the rig reads; ``role`` is what it speaks as, "" if not known."""

    device: str
    condition: PortCondition
    role: str = ""
    kinds: tuple[str, ...] = ()
    rate_hz: float = 0.0
    detail: str = ""


@dataclass(frozen=True)
class PlugRow:
    """One line of the page, in words. ``cable`` is what to move when it is in trouble."""

    number: int
    name: str
    sends: str
    how_often: str
    heard: str
    belongs: str
    mark: Mark
    verdict: str
    mend: str = ""


CONDITIONS: dict[PortCondition, tuple[str, str, str]] = {  # it sends, the verdict, the mend
    PortCondition.SEARCHING: ("Finding its speed", "wait", "Wait up to 20 s."),
    PortCondition.SILENT: (
        "Nothing",
        "see cable",
        "Move its cable. If it comes back, the plug is loose.",
    ),
    PortCondition.MISSING: ("Not there", "see plug", "Push it home, or try the next socket."),
    PortCondition.IN_USE: (
        "In use elsewhere",
        "see below",
        "It is held by {detail}: close that program.",
    ),
    PortCondition.DENIED: (
        "Locked",
        "see below",
        "This tablet may not open it: add its user to the group {detail}.",
    ),
    PortCondition.GARBAGE: ("Unknown words", "pick one", "No sentence we know: the right plug?"),
}


def plug_rows(
    plugs: tuple[PlugState, ...], ears: Ears, rig: Rig, now: float
) -> tuple[PlugRow, ...]:
    """All plugs, in the order told; unknown words and silence are said as such."""
    return tuple(
        _row(number, plug, ears.all(plug.name), rig, now) for number, plug in enumerate(plugs, 1)
    )


def spare_rows(spares: tuple[Spare, ...], first: int) -> tuple[PlugRow, ...]:
    """What is plugged in besides, numbered on from ``first``: nothing of it is in trouble."""
    return tuple(_spare_row(number, spare) for number, spare in enumerate(spares, first))


def _spare_row(number: int, spare: Spare) -> PlugRow:
    if spare.role:
        receiver = sends_text((), Rig(), spare.kinds)
        sends = receiver if spare.role == "receiver" else "A sensor node"
        often, verdict = how_often(spare.rate_hz), "take it?"
    else:
        sends, often, verdict = (
            CONDITIONS.get(spare.condition, ("Unknown words", "", ""))[0],
            "",
            "",
        )
    return PlugRow(
        number, spare.device, sends, often, "", "Nobody", Mark.TO_DO, verdict or "not known"
    )


def trouble_of(rows: tuple[PlugRow, ...]) -> PlugRow | None:
    """The plug the bar at the foot of the page is about: the first in trouble."""
    return next((row for row in rows if row.mark is Mark.TROUBLE), None)


def _row(number: int, plug: PlugState, heard: tuple[Heard, ...], rig: Rig, now: float) -> PlugRow:
    ages = [h.silent_s(now) for h in heard]
    newest = min(ages if plug.silent_s is None else [*ages, plug.silent_s], default=None)
    belongs = owner_of(plug.name, heard, rig)
    often = how_often(max((h.per_second for h in heard), default=plug.rate_hz))
    when = "" if newest is None else heard_when(newest)
    if plug.condition is not PortCondition.OK:
        sends, verdict, mend = CONDITIONS[plug.condition]
        mark = Mark.TO_DO if plug.condition is PortCondition.SEARCHING else Mark.TROUBLE
        unsaid = "another one" if plug.condition is PortCondition.IN_USE else "dialout"
        mend = mend.format(detail=plug.detail or unsaid)
        return PlugRow(number, plug.name, sends, "", when, belongs, mark, verdict, mend)
    if newest is not None and newest > NOW_S:
        mend = CONDITIONS[PortCondition.SILENT][2]
        verdict = f"silent {newest:.0f} s"
        return PlugRow(number, plug.name, "Nothing", "", when, belongs, Mark.TROUBLE, verdict, mend)
    mark, verdict = _standing(plug.name, belongs, rig)
    sends = sends_text(heard, rig, plug.kinds)
    return PlugRow(number, plug.name, sends, often, when, belongs, mark, verdict)


def _standing(port: str, belongs: str, rig: Rig) -> tuple[Mark, str]:
    if belongs == "Nobody":
        return Mark.TO_DO, "pick one"
    sensors = [s for s in rig.sensors if s.port == port and s.input != "switch"]
    unproven = [s for s in sensors if s.curve is None and not s.trusted]
    return (Mark.TO_DO, "not proven") if unproven else (Mark.DONE, "known")


def owner_of(port: str, heard: tuple[Heard, ...], rig: Rig) -> str:
    """Whose the plug is, by the rig file: the receiver, its sensors, or nobody."""
    if port == rig.receiver.port:
        return "Receiver"
    fed = [s for s in rig.sensors if s.port == port]
    families = list(dict.fromkeys(family_of(s.channel).words for s in fed))
    if len(families) == 1 and len(fed) > 1:
        return f"{families[0]} 1 to {len(fed)}"
    if len(families) > 1:
        return f"{len(fed)} sensors"
    return families[0] if families else "Nobody"


# What a receiver's sentences carry (NMEA 0183), as words of channels.
CARRIED = {
    "position": ("RMC", "GGA", "GNS", "GLL"),
    "speed": ("RMC", "VTG"),
    "course": ("RMC", "VTG", "HDT"),
}


def sends_text(heard: tuple[Heard, ...], rig: Rig, kinds: tuple[str, ...] = ()) -> str:
    """What a plug sends now: families by number, single sensors with their value."""
    known = {(s.port, s.wire_name): s for s in rig.sensors}
    words = [
        FAMILIES[name].words for name, carriers in CARRIED.items() if set(kinds) & set(carriers)
    ]
    stems: dict[str, list[Heard]] = {}
    for one in heard:
        if one.kind and not one.name.endswith(("MAX", "MIN")):
            stems.setdefault(re.sub(r"\d+$", "", one.name), []).append(one)
    for stem, group in stems.items():
        if stem == "SEQ":  # the count of its lines, no reading
            continue
        words.append(_group_text(stem, group, known))
    text = _listed(words)
    if len(text) > LONGEST_SENDS:  # the kinds alone: their number stands on the page of sensors
        alone = (re.sub(r"^Tool (?=s)| -?\d.*| down| up| empty", "", word) for word in words)
        text = _listed(list(dict.fromkeys(alone)))
    return text or "Unknown words"


def _listed(words: list[str]) -> str:
    return ", ".join(word.lower() if place else word for place, word in enumerate(words))


def _group_text(stem: str, group: list[Heard], known: dict[tuple[str, str], Sensor]) -> str:
    first = group[0]
    sensor = known.get((first.port, first.name))
    named = next((f.words for f in FAMILIES.values() if f.xdr_name == stem), stem.capitalize())
    name = family_of(sensor.channel).words if sensor else named
    if len(group) > 1:
        return f"{name} {_number(group[0].name)} to {_number(group[-1].name)}"
    if sensor and sensor.words:
        name = f"{name}, {sensor.words}"
    return f"{name} {value_text(first)}"


def value_text(heard: Heard) -> str:
    """A raw value with its unit; "up" or "down" for a switch, "empty" for an empty field."""
    if heard.value is None:
        return "empty"
    if heard.kind == "G" and heard.name.endswith("DOWN"):
        return "down" if heard.value >= 0.5 else "up"
    return f"{heard.value:.2f} {heard.unit}".rstrip()


def _number(name: str) -> str:
    found = re.search(r"\d+$", name)
    return found[0] if found else name


def shorter(text: str) -> tuple[str, ...]:
    """A list in fewer and fewer words, the rest counted: ``Depth, spring and 1 more``."""
    parts = text.split(", ")
    kept = range(len(parts) - 1, 0, -1)
    return (text, *(f"{', '.join(parts[:n])} and {len(parts) - n} more" for n in kept))

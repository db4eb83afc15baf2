"""What the world tells the cab: every event carries ``now``, monotonic seconds."""

from dataclasses import dataclass, field
from enum import Enum
from typing import NamedTuple

from cabapp.plan import Plan


class PortCondition(Enum):
    """How a port is."""

    SEARCHING = "searching"  # finding its speed or its owner
    OK = "ok"
    SILENT = "silent"  # open, nothing comes
    MISSING = "missing"
    IN_USE = "in_use"
    DENIED = "denied"
    GARBAGE = "garbage"  # bytes come, none of them a checked sentence


class TapKind(Enum):
    """Everything a person can tell the engine from a screen. ``value`` is as said here."""

    QUIET = "quiet"  # the alert band
    PEG = "peg"
    PEG_KIND = "peg_kind"  # stone, wet, pipe, tile, obstacle, other
    SPEED_TARGET = "speed_target"  # +1 or -1 steps (0.5 mph, 1 km/h)
    DEPTH_TARGET = "depth_target"  # +1 deeper or -1 shallower (1/2 in, 1 cm)
    RAISED = "raised"
    NIGHT = "night"
    TOOL = "tool"  # the big tool button: "up" or "down"
    PARKED = "parked"  # the 1.5 s hold on "Parked, brake on"
    DRIVER = "driver"  # a name, or nothing: offer those that are known
    FIELD = "field"  # the same
    RAIN = "rain"
    UNITS = "units"  # "us" or "metric"
    LOOK_SOUNDS = "look_sounds"  # "on" or "off" for this shift
    STOP_REASON = "stop_reason"  # fuel, plugged, stone, repair, dig, meal, weather
    END_SHIFT = "end_shift"
    SET_ASIDE = "set_aside"  # a channel
    TAKE_BACK = "take_back"  # a channel set aside before
    DUG = "dug"  # metres, a hand check of depth
    NOTE = "note"  # free words, from a parked page
    DISMISS = "dismiss"  # a card or sheet read: hand_over, continued
    FIRE = "fire"  # bench test of a rule's alert, parked in Fit-up: the rule's value


class HealthKind(Enum):
    """Parts of the machine whose trouble the driver must see."""

    RECORD = "record"
    SOUND = "sound"
    STORAGE = "storage"
    SCREEN = "screen"
    RUN = "run"  # well: a run's file is being written; before the first work it is not


# Bytes and ticks come thirty times a second; as named tuples they are made in a third of the time.
class Bytes(NamedTuple):
    """Bytes as they came; ``now`` is the time of the last of them."""

    now: float
    port: str
    data: bytes


@dataclass(frozen=True, slots=True)
class PortState:
    """A port changed its condition; ``detail`` is its device name or the group it needs."""

    now: float
    port: str
    condition: PortCondition
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Tap:
    """A person did something."""

    now: float
    kind: TapKind
    value: str | float | None = None


@dataclass(frozen=True, slots=True)
class PlanChanged:
    """A plan is in force from now on."""

    now: float
    plan: Plan


@dataclass(frozen=True, slots=True)
class Health:
    """A part is well or not; ``cause`` is a key of words.CAUSES, ``value`` a share or a count."""

    now: float
    kind: HealthKind
    well: bool
    cause: str = ""
    value: float | None = None


@dataclass(frozen=True, slots=True)
class Peg:
    """A place that speaks again."""

    number: int
    kind: str
    lat_deg: float
    lon_deg: float
    field: str = ""


@dataclass(frozen=True, slots=True)
class PegsKnown:
    """Pegs of earlier passes and seasons, from the book."""

    now: float
    pegs: tuple[Peg, ...]


@dataclass(frozen=True, slots=True)
class Resumed:
    """A shift goes on after power loss or restart: what of it the cab has to know.

    ``ground`` is the worked ground as ground/kept.py has it; ``moments`` are pegs and hand checks
    as plain values, whose ``t_s`` count up to ``last_t_s``, ``gap_s`` before now. Quiet ladders do
    not survive.
    """

    now: float
    ground: dict[str, object] = field(default_factory=dict)
    moments: tuple[dict[str, object], ...] = ()
    gap_s: float = 0.0
    shift: str = ""
    last_t_s: float = 0.0


class Tick(NamedTuple):
    """Time passes: on a fixed grid of 0.1 s, so that results never depend on chunking."""

    now: float


Event = Bytes | PortState | Tap | PlanChanged | Health | PegsKnown | Resumed | Tick

TICK_S = 0.1

EVENT_TYPES: dict[str, type] = {
    "bytes": Bytes,
    "port": PortState,
    "tap": Tap,
    "plan": PlanChanged,
    "health": Health,
    "pegs": PegsKnown,
    "resumed": Resumed,
    "tick": Tick,
}

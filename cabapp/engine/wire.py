"""What the processes say to one another: one JSON object a line over local pipes.

::

    engine  -> screen    snapshot, alive, samples, ports, receiving, spares, run_copied, leaving
    screen  -> engine    tap, plan, samples_wanted, spares_wanted, run_wanted, rig_written,
                         loudness, alive
    engine  -> speaker   sound, alive, loudness, leaving
    speaker -> engine    voice
    each    -> keeper    alive

A line is ``{"type": ..., "sent": monotonic seconds, "body": {...}}``. ``sent`` is the machine's own
monotonic clock, never the scaled one of a demo, so a reader can tell what is stale. The keeper
makes the pipes once and holds both ends, so either side may die and come back on the same pipe; a
reader that joins in the middle of a line drops that line, and a writer begins with a line feed.

What is dropped when a reader does not read is written in TABLE: of a NEWEST kind only the last
one waits, of a QUEUE kind the oldest goes first once ROOM are waiting. Writing never blocks the
caller.
"""

import json
from dataclasses import dataclass
from enum import Enum
from typing import Any

from cabapp.codec import from_plain, to_plain
from cabapp.events import PortCondition, TapKind
from cabapp.outcome import Snapshot, Sound
from cabapp.plan import Plan
from cabapp.readings import FixKind, Quality, Sample

BEAT_S = 0.25  # every process says it is alive this often
ENGINE_GONE_SCREEN_S = 1.5  # a screen that heard nothing for this long shows no number any more
ENGINE_GONE_SPEAKER_S = 2.0  # a speaker that heard nothing for this long sounds by itself
AWAY_S = 8.0  # an engine that said it is leaving is back sooner, or missed like any other
ROOM = 64


class Part(Enum):
    """The processes of a cab."""

    KEEPER = "keeper"
    ENGINE = "engine"
    SCREEN = "screen"
    SPEAKER = "speaker"


@dataclass(frozen=True, slots=True)
class Alive:
    """A process's own loop turns. ``drawn`` is the number of the snapshot a screen shows."""

    part: Part
    drawn: int = 0


@dataclass(frozen=True, slots=True)
class TapMade:
    """A tap as the screen saw it; the engine gives it its time."""

    kind: TapKind
    value: str | float | None = None


@dataclass(frozen=True, slots=True)
class PlanMade:
    """A plan to drive by from now on."""

    plan: Plan


@dataclass(frozen=True, slots=True)
class SamplesWanted:
    """An installer's page is open and wants what the wires say, or is closed again."""

    on: bool


@dataclass(frozen=True, slots=True)
class Samples:
    """What the nodes said since the last of these, uncalibrated; four times a second."""

    samples: tuple[Sample, ...]


@dataclass(frozen=True, slots=True)
class PortLine:
    """How one port is, for an installer's page. ``detail`` is its device, or what it needs.

    While such a page is open: the sentences of the last seconds, how often the commonest of them
    comes, and how long ago the last one came (None: none yet).
    """

    name: str
    condition: PortCondition
    detail: str = ""
    kinds: tuple[str, ...] = ()
    rate_hz: float = 0.0
    silent_s: float | None = None


@dataclass(frozen=True, slots=True)
class Ports:
    """All ports of the rig, sent at each change, and with Samples while a page is open."""

    ports: tuple[PortLine, ...]


@dataclass(frozen=True, slots=True)
class Receiving:
    """The receiver's last epoch, and the metres by its speed since the engine began.

    Sent with Samples while a page is open. ``since`` tells one engine's metres from another's;
    ``lost_s`` are the seconds of them without a known speed.
    """

    kind: FixKind
    speed_mps: float | None
    quality: Quality
    satellites: int | None
    hdop: float | None
    at: float
    metres: float
    lost_s: float
    since: float


@dataclass(frozen=True, slots=True)
class SparesWanted:
    """An installer asks what else is plugged in: devices that no port of the rig reads."""


@dataclass(frozen=True, slots=True)
class SpareLine:
    """One of them, by the name that stays. ``role`` is what it speaks as: "receiver", "node", "".

    ``detail`` is what it needs: who holds it, or whose group may open it.
    """

    device: str
    condition: PortCondition
    role: str = ""
    kinds: tuple[str, ...] = ()
    rate_hz: float = 0.0
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Spares:
    """What was found; ``looking`` while it is still listened to."""

    devices: tuple[SpareLine, ...] = ()
    looking: bool = False


@dataclass(frozen=True, slots=True)
class RigWritten:
    """Fit-up has written the rig file: read it again and go on with the same shift."""


@dataclass(frozen=True, slots=True)
class RunWanted:
    """The owner's page is open and wants to read the run being written, if there is one."""


@dataclass(frozen=True, slots=True)
class RunCopied:
    """The answer: paths of the run being written and of its copy, as of the last commit.

    Both are "" where no run is being written; ``fault`` says in a sentence why there is no copy.
    """

    run: str = ""
    copy: str = ""
    fault: str = ""


@dataclass(frozen=True, slots=True)
class Leaving:
    """The engine ends on purpose and is started again: after a shift's end, or with a new rig."""


@dataclass(frozen=True, slots=True)
class Loudness:
    """Shares of full scale as signed for in the running cab: first sound, and stepped up.

    From the installer's page by way of the engine; the speaker keeps it in the state folder.
    """

    first: float = 0.6
    stepped: float = 1.0


@dataclass(frozen=True, slots=True)
class Voice:
    """Whether sound comes out, and the number of the last sound that was begun."""

    well: bool
    cause: str = ""
    played: int = 0


class Keep(Enum):
    """What waits for a slow reader."""

    NEWEST = "newest"
    QUEUE = "queue"


@dataclass(frozen=True)
class Kind:
    """A row of the table: the type word on the wire, its body and what waits."""

    word: str
    body: type[Any]
    keep: Keep


TABLE: tuple[Kind, ...] = (
    Kind("snapshot", Snapshot, Keep.NEWEST),
    Kind("alive", Alive, Keep.NEWEST),
    Kind("samples", Samples, Keep.QUEUE),
    Kind("samples_wanted", SamplesWanted, Keep.NEWEST),
    Kind("ports", Ports, Keep.NEWEST),
    Kind("receiving", Receiving, Keep.NEWEST),
    Kind("spares_wanted", SparesWanted, Keep.NEWEST),
    Kind("spares", Spares, Keep.NEWEST),
    Kind("tap", TapMade, Keep.QUEUE),
    Kind("plan", PlanMade, Keep.QUEUE),
    Kind("rig_written", RigWritten, Keep.NEWEST),
    Kind("run_wanted", RunWanted, Keep.NEWEST),
    Kind("run_copied", RunCopied, Keep.NEWEST),
    Kind("sound", Sound, Keep.QUEUE),
    Kind("leaving", Leaving, Keep.NEWEST),
    Kind("loudness", Loudness, Keep.NEWEST),
    Kind("voice", Voice, Keep.NEWEST),
)
BY_WORD = {kind.word: kind for kind in TABLE}
BY_BODY = {kind.body: kind for kind in TABLE}

Message = (
    Snapshot
    | Alive
    | Samples
    | SamplesWanted
    | Ports
    | Receiving
    | SparesWanted
    | Spares
    | TapMade
    | PlanMade
    | RigWritten
    | RunWanted
    | RunCopied
    | Sound
    | Leaving
    | Loudness
    | Voice
)


@dataclass(frozen=True, slots=True)
class Received:
    """A message and when it was sent, on the machine's monotonic clock."""

    message: Message
    sent: float


def encode(message: Message, sent: float) -> bytes:
    """One line with its line feed."""
    word = BY_BODY[type(message)].word
    line = {"type": word, "sent": sent, "body": to_plain(message)}
    return json.dumps(line, allow_nan=False, separators=(",", ":")).encode() + b"\n"


def decode(line: bytes) -> Received | None:
    """The message of one line, or None for a torn line or an unknown type."""
    try:
        found = json.loads(line)
        kind = BY_WORD[found["type"]]
        return Received(from_plain(kind.body, found["body"]), float(found["sent"]))
    except (ValueError, TypeError, KeyError):
        return None

"""What the cab answers: what to show, what to sound, what to write.

Views hold SI values; a screen turns them into the person's units with cabapp.units. A value is
None whenever it is not known, and the tile state says why.
"""

from dataclasses import dataclass
from enum import Enum

from cabapp.units import UnitSystem
from cabapp.words import Arrow, Level, Phase


class TileState(Enum):
    """The states a tile can be in; each has its own form, word and mark."""

    IN_BAND = "in_band"
    ABOVE = "above"  # the reading stands above its bracket: fast, shallow, high
    BELOW = "below"  # under its bracket: slow, deep, slack
    FREE = "free"  # known, and nothing is judged now
    LIFTED = "lifted"
    ACT = "act"
    NO_READING = "no_reading"
    OUT_OF_USE = "out_of_use"
    NOT_LIVE = "not_live"  # hand-measured, or not fitted
    STARTING = "starting"


class Quieting(Enum):
    """What the right end of the band shows."""

    SOUND_ON = "sound_on"  # nothing to quiet
    CAN_QUIET = "can_quiet"
    QUIETED = "quieted"
    LOOKS_OFF = "looks_off"
    NO_SOUND = "no_sound"
    UNKNOWN = "unknown"  # nobody has said yet whether sound comes out


@dataclass(frozen=True)
class Chip:
    """A further alert beside the headline."""

    level: Level
    word: str
    arrow: Arrow = Arrow.NONE


@dataclass(frozen=True)
class BandView:
    """The alert band. ``level`` is None when calm; then headline and action tell the phase.

    ``framed`` is False for an alert that is out of use this shift (no frame, no sound).
    ``quiet_left_s`` counts down while quieted, None when not.
    """

    level: Level | None
    headline: str
    action: str
    short: str
    arrow: Arrow = Arrow.NONE
    mark: TileState = TileState.FREE
    rule: str = ""
    onset: int = 0  # grows by one at each new headline alert, so that a screen can pulse once
    chips: tuple[Chip, ...] = ()
    more: int = 0  # alerts beyond headline and chips
    quieting: Quieting = Quieting.UNKNOWN
    quiet_left_s: float | None = None


@dataclass(frozen=True)
class SpeedView:
    """Speed over ground and its band (m/s). ``word`` is the plate's word, or the free state's."""

    state: TileState
    value_mps: float | None = None
    low_mps: float | None = None
    high_mps: float | None = None
    word: str = ""
    framed: bool = False  # an alert is active for it: plate and frame
    lost_s: float | None = None


@dataclass(frozen=True)
class DugView:
    """The last depth a person dug, and how old it is in time and in area."""

    depth_m: float
    age_s: float
    area_m2: float


@dataclass(frozen=True)
class DepthView:
    """Depth at the shanks as a cut through the ground, all in metres below the surface.

    ``side`` is left-minus-right depth over the limit, -1..1 at the ends of the bubble. It, front
    and rear are None where the sensors do not tell them.
    """

    state: TileState
    value_m: float | None = None
    front_m: float | None = None
    rear_m: float | None = None
    side: float | None = None
    target_m: float | None = None
    low_m: float | None = None
    high_m: float | None = None
    layer_top_m: float | None = None
    layer_bottom_m: float | None = None
    word: str = ""
    framed: bool = False
    lost_s: float | None = None
    dug: DugView | None = None


class ShankState(Enum):
    """One shank on the picture from above."""

    NORMAL = "normal"
    WORST = "worst"
    HIGH = "high"
    STAYED_UP = "stayed_up"
    NOT_PULLING = "not_pulling"
    HELD = "held"  # over its trip with the tractor pulling and not moving
    NO_READING = "no_reading"
    BARE = "bare"  # lifted, or no sensor on it


@dataclass(frozen=True)
class ShankView:
    """A shank at its true place; ``share`` is its part of the trip load, None when unknown."""

    number: int
    across_m: float
    back_m: float
    share: float | None
    state: ShankState


@dataclass(frozen=True)
class SpringsView:
    """The tool from above. ``number`` is the shank that the word is about."""

    state: TileState
    shanks: tuple[ShankView, ...] = ()
    worst_share: float | None = None
    number: int | None = None
    word: str = ""
    framed: bool = False
    lost_s: float | None = None


@dataclass(frozen=True)
class ToolButton:
    """The big button of a rig without a switch; ``down`` is None while the phase is unknown."""

    down: bool | None


@dataclass(frozen=True)
class FieldView:
    """The bottom tile. Areas m2, rate m2/s; clock texts are local, "" when no time is known.

    ``note`` takes the place of the first row while it is not empty. ``row_angle_deg`` is shown on
    first passes only, else None. ``dig`` is the words of the dig row.
    """

    area_m2: float
    rate_m2_s: float | None = None
    left_m2: float | None = None
    finish: str = ""
    clock: str = ""
    row_angle_deg: float | None = None
    dig_in_m2: float | None = None
    dig_in_s: float | None = None
    dig_now: bool = False
    note: str = ""


class Card(Enum):
    """What stands over the tiles until it is dismissed. At most one at a time."""

    NONE = "none"
    HAND_OVER = "hand_over"
    PEG_KIND = "peg_kind"
    STOP_REASON = "stop_reason"
    WHO_WHERE = "who_where"  # driver and field, offered after work begins
    CONTINUED = "continued"
    PLUGGED = "plugged"  # the cautions of a plugged tool


@dataclass(frozen=True)
class CardView:
    """The card in front, with its lines and choices in words."""

    card: Card = Card.NONE
    lines: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()


@dataclass(frozen=True)
class Snapshot:
    """Everything a screen needs at one moment. ``number`` grows by one each time.

    ``place`` is the last known position (latitude, longitude), for what a person enters there.
    """

    number: int
    at: float
    units: UnitSystem
    night: bool
    phase: Phase
    moving: bool  # pages other than Drive are locked
    parked_hold: bool  # the hold is what opens them (no usable speed), and is offered now
    tool_tap: bool  # Menu shows Tool up / Tool down
    looks_off: bool
    band: BandView
    speed: SpeedView
    depth: DepthView
    springs: SpringsView
    field: FieldView
    tool_button: ToolButton | None = None
    peg_next: int = 1
    card: CardView = CardView()
    utc: str = ""
    shift: str = ""
    place: tuple[float, float] | None = None
    along_deg: float | None = None  # axis of the last straight 60 m driven, 0 to 180
    recording: bool = True  # a run's file is being written; what came before it waits in memory


class Pattern(Enum):
    """The two sounds."""

    ACT = "act"
    LOOK = "look"


@dataclass(frozen=True)
class Sound:
    """One sound to start now. ``number`` grows by one a sound; ``louder`` after 5 s unanswered.

    While an ACT is unquieted, a new one comes every 2.5 s from the cab itself.
    """

    number: int
    pattern: Pattern
    louder: bool
    rule: str
    at: float


class What(Enum):
    """Kinds of moment."""

    ONSET = "onset"
    END = "end"
    QUIET = "quiet"
    PHASE = "phase"
    CHECK = "check"  # a hand check
    PEG = "peg"
    NOTE = "note"
    TAP = "tap"
    PLAN = "plan"
    PORT = "port"
    RUN = "run"  # start, provisional start withdrawn, resumed, end
    DROPPED = "dropped"
    TRIP = "trip"
    HEALTH = "health"


@dataclass(frozen=True)
class Moment:
    """Something worth keeping. ``t_s`` counts from the first event; utc "" while unknown."""

    utc: str
    t_s: float
    what: What
    level: Level | None = None
    rule: str = ""
    headline: str = ""
    action: str = ""
    value: float | str | None = None
    lat_deg: float | None = None
    lon_deg: float | None = None
    detail: str = ""


@dataclass(frozen=True)
class Row:
    """One closed second of track: column name to value, SI, None for unknown.

    Keyed to the GNSS second while there is a fix ("utc"), else to the monotonic one ("t_s").
    ``stretch`` states are "in", "out", "unknown", "raised", "hard", "idle" for each judged thing.
    """

    t_s: float
    utc: str
    lat_deg: float | None
    lon_deg: float | None
    values: dict[str, float | str | None]


@dataclass(frozen=True)
class Outcome:
    """The answer to one event. ``snapshot`` is None when nothing a screen shows has changed."""

    snapshot: Snapshot | None = None
    sounds: tuple[Sound, ...] = ()
    moments: tuple[Moment, ...] = ()
    rows: tuple[Row, ...] = ()


NOTHING = Outcome()

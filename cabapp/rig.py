"""What is bolted on, as frozen dataclasses; rigcheck reads them from a rig file."""

from dataclasses import dataclass, field
from enum import Enum

from cabapp.channels import family_of
from cabapp.curve import Curve
from cabapp.units import INCH_M, MPH_MPS, UnitSystem


class DriveKind(Enum):
    """How the tractor puts its power down (rows of the drawbar table)."""

    TWO_WHEEL = "two_wheel"
    FRONT_ASSIST = "front_assist"
    FOUR_WHEEL = "four_wheel"
    TRACKS = "tracks"


class AdjusterKind(Enum):
    """How shank depth is changed on this tool."""

    CRANK = "crank"
    COLLARS = "collars"
    PINS = "pins"
    SEAT = "seat"


class FinishKind(Enum):
    """What follows the levelling discs."""

    NONE = "none"
    BASKET = "basket"
    HARROW = "harrow"


@dataclass(frozen=True)
class Shank:
    """A shank's number and place: metres right of the centre line, metres behind the hitch pin."""

    number: int
    across_m: float
    back_m: float


@dataclass(frozen=True)
class Tractor:
    """The tractor in front: its own id, rated PTO power and how it drives."""

    id: str = ""
    rated_pto_w: float | None = None
    drive: DriveKind = DriveKind.FRONT_ASSIST


@dataclass(frozen=True)
class Adjuster:
    """How depth is set: kind, metres of depth a step, smallest step, deepening direction."""

    kind: AdjusterKind = AdjusterKind.CRANK
    step_m: float = 0.25 * INCH_M
    finest_steps: float = 0.25
    last_deeper: bool = True  # the last movement is always this way, to take out play
    adding_is_deeper: bool = False  # a fact of the rig: does a collar more make it deeper?
    part_m: float | None = None  # thickness of a collar, as written on it


@dataclass(frozen=True)
class Tool:
    """The tool: its working width, shanks, and how it follows the tractor.

    ``hitch_back_m`` is the hitch pin behind the antenna; ``lag_m`` is the hitch pin to the middle
    of the shanks. ``winged`` points take the winged draft row.
    """

    id: str = ""
    width_m: float = 5.334
    shanks: tuple[Shank, ...] = ()
    hitch_back_m: float = 3.0
    lag_m: float = 5.0
    winged: bool = True
    front_gangs: int = 2
    rear_gangs: int = 1
    finish: FinishKind = FinishKind.BASKET
    adjuster: Adjuster = field(default_factory=Adjuster)
    transport_width_m: float | None = None
    transport_height_m: float | None = None


@dataclass(frozen=True)
class Port:
    """A wire: a name used in events, where it is plugged, whose it is, and its speed if known."""

    name: str
    device: str = "auto"
    role: str = "receiver"  # "receiver", "node"
    baud: int | None = None


@dataclass(frozen=True)
class Receiver:
    """The GNSS receiver: antenna place and the speeds at which it counts as standing."""

    port: str = "gnss"
    antenna_right_m: float = 0.0
    standing_below_mps: float = 1.5 / 3.6
    moving_above_mps: float = 2.5 / 3.6


@dataclass(frozen=True)
class Sensor:
    """One fitted sensor: which channel it feeds, its wire name, place, cable and curve.

    ``input`` is what the wire carries: "si" (the family's XDR unit), "V" (volts, needs a curve) or
    "switch". ``curve`` is None until calibrated; an "si" sensor with no curve is NOT_CALIBRATED
    too, unless ``trusted`` says that the node calibrates itself. ``trip_n`` turns a spring's
    newtons into its share of the trip. ``shank`` is the shank number of a spring sensor.
    """

    channel: str
    wire_name: str
    port: str
    input: str = "si"
    words: str = ""
    cable: int | None = None
    side: str = ""
    serial: str = ""
    across_m: float = 0.0
    back_m: float = 0.0
    shank: int | None = None
    trip_n: float | None = None
    trusted: bool = False
    curve: Curve | None = None


@dataclass(frozen=True)
class Limits:
    """The rig's default band and limits; the day's plan overrides the band."""

    speed_low_mps: float = 5.0 * MPH_MPS
    speed_high_mps: float = 7.0 * MPH_MPS
    depth_target_m: float | None = None
    depth_margin_m: float = 1.0 * INCH_M  # band is target plus and minus this
    level_standing_m: float = 0.5 * INCH_M
    level_live_m: float = 1.0 * INCH_M
    spring_high: float = 0.90
    slip_look: float | None = None  # None: the table's figure for wheels or tracks
    line_depth_m: float = 12.0 * INCH_M  # ask for buried lines beyond this depth


@dataclass(frozen=True)
class Display:
    """The panel as the installer measured it, and how far away the eye is.

    ``confirmed`` is False until a person has held a ruler against the screen; ``signed_beyond``
    says that somebody signed for reading the small page from farther than its rule. ``turned_deg``
    is how far the tablet is turned in its mount (0, 90, 180 or 270); width and height are as it is
    seen.
    """

    width_mm: float = 217.5
    height_mm: float = 136.0
    eye_mm: float = 900.0
    confirmed: bool = False
    signed_beyond: bool = False
    turned_deg: int = 0


@dataclass(frozen=True)
class Locale:
    """What to phone before digging, and how local time is written."""

    lines_service: str = "the buried-line service of your country"
    lines_days: int = 3
    lines_good_days: int = 0  # how long an answer stays good; 0: not known
    lines_stay_clear_m: float = 24.0 * INCH_M
    utc_offset_min: int = 0


@dataclass(frozen=True)
class Rig:
    """Everything the rig file says; the defaults are a receiver alone on an unnamed tool."""

    id: str = "rig"
    name: str = "Unnamed rig"
    units: UnitSystem = UnitSystem.US
    tractor: Tractor = field(default_factory=Tractor)
    tool: Tool = field(default_factory=Tool)
    receiver: Receiver = field(default_factory=Receiver)
    ports: tuple[Port, ...] = (Port("gnss"),)
    sensors: tuple[Sensor, ...] = ()
    limits: Limits = field(default_factory=Limits)
    display: Display = field(default_factory=Display)
    locale: Locale = field(default_factory=Locale)

    def sensor(self, channel: str) -> Sensor | None:
        """The sensor feeding a channel, or None if it is not fitted."""
        return next((s for s in self.sensors if s.channel == channel), None)

    def fitted(self, family: str) -> tuple[Sensor, ...]:
        """All sensors of one family, in the order of the file."""
        return tuple(s for s in self.sensors if family_of(s.channel).name == family)

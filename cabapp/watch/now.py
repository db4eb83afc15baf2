"""All that is known at one tick, in SI: what rules judge and tiles show. None is unknown."""

import math
from dataclasses import dataclass, field

from cabapp.readings import Quality
from cabapp.rig import Rig
from cabapp.watch.toolpos import Source
from cabapp.words import Phase


@dataclass(slots=True)
class ShankNow:
    """One shank's spring at this tick.

    ``share`` of the trip load, ``most`` and ``least`` inside the node's window; ``trips`` counts
    those of the last 60 s, ``total`` all of them.
    """

    number: int
    fitted: bool = False
    share: float | None = None
    most: float | None = None
    least: float | None = None
    trips: int = 0
    total: int = 0
    quality: Quality = Quality.NOT_FITTED
    cause: str = ""


@dataclass(slots=True)
class Now:
    """One tick's knowledge. It is filled anew each tick by cab and read by every rule."""

    at: float = 0.0
    dt_s: float = 0.0
    started_s: float = 0.0  # since the first event
    # The receiver.
    speed_mps: float | None = None
    mean_mps: float | None = None
    speed_quality: Quality = Quality.STARTING
    speed_cause: str = ""
    speed_lost_s: float = 0.0
    position_lost_s: float = 0.0  # since speed or position was last good
    no_speed_sent_s: float = 0.0
    course_deg: float | None = None
    rate_dps: float | None = None
    turned_deg: float | None = None
    radius_m: float | None = None
    turn_beginning: bool = False
    straight_m: float = 0.0
    step_m: float = 0.0
    # The phase.
    phase: Phase = Phase.UNKNOWN
    last_known: Phase = Phase.UNKNOWN
    phase_since: float = 0.0
    backed_m: float = 0.0  # backwards since it last worked or was hooked
    since_hooked_s: float = math.inf
    undecided_s: float = 0.0  # how long the phase is unknown although speed is known
    tool_down: bool | None = None
    tool_source: Source = Source.NOBODY
    known_up: bool = True
    armed: bool = False
    stretch_m: float = 0.0
    stretch_s: float = 0.0
    reached: bool = False
    disagree: bool = False
    moving: bool = True
    # The band in force.
    speed_low_mps: float = 0.0
    speed_high_mps: float = 0.0
    target_m: float | None = None
    depth_low_m: float | None = None
    depth_high_m: float | None = None
    layer_bottom_m: float | None = None
    # Depth: the plane's mean at the shanks, its front and rear, smoothed over 3 s.
    depth_m: float | None = None
    front_m: float | None = None
    rear_m: float | None = None
    side_m: float | None = None  # left minus right
    level_150_m: float | None = None  # rear minus front, mean of the last 150 m
    side_150_m: float | None = None
    raised: bool = False
    going_up: bool = False  # still coming up: a raise, or the lift at a headland
    # Springs and wheels.
    shanks: tuple[ShankNow, ...] = ()
    worst_share: float | None = None
    over_high: int = 0
    springs_read: int = 0
    all_springs: bool = False  # every fitted spring is read
    least_share: float | None = None
    others_median: float | None = None
    all_trips: int = 0
    wheel_mps: float | None = None
    slip: float | None = None
    fell_from_work_s: float | None = None  # seconds since speed was last over working speed
    # Ground, pegs, reminders.
    row_angle_deg: float | None = None
    near_edge: bool = False
    first_passes: bool = False
    in_block: bool = False
    pipe_ahead_m: float | None = None
    peg_ahead_m: float | None = None
    peg_kind: str = ""
    dig_due: bool = False
    creeping: bool = False
    suspect: str = ""  # the depth sensor that lies, where the others tell
    ruler_open: bool = False
    rising: dict[str, bool] = field(default_factory=dict)
    to_adjust: str = ""
    remind_raised: bool = False
    checks_open: bool = False
    looks_off: bool = False
    # Channels not read: channel -> seconds since its last good value; families of which none is
    # read -> the least of those; and frozen ones.
    unread: dict[str, float] = field(default_factory=dict)
    all_unread: dict[str, float] = field(default_factory=dict)
    frozen: dict[str, float] = field(default_factory=dict)
    causes: dict[str, str] = field(default_factory=dict)
    set_aside: tuple[str, ...] = ()
    # Health: cause, or None when well.
    record_trouble: str | None = None
    sound_trouble: str | None = None
    sound_well: bool | None = None  # None until the speaker has said so
    storage_share: float | None = None


def shanks_of(rig: Rig) -> tuple[ShankNow, ...]:
    """One entry a shank, in the order of the rig file; those with a spring sensor are fitted."""
    sensed = {sensor.shank for sensor in rig.fitted("spring")}
    return tuple(ShankNow(s.number, s.number in sensed) for s in rig.tool.shanks)

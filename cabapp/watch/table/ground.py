"""Turning and backing with the tool in the ground, work without it, and slip."""

from cabapp.rig import DriveKind, Rig
from cabapp.trade.slip import SLIP_LIMITS, RunningGear
from cabapp.watch.attention import Delays
from cabapp.watch.now import Now
from cabapp.watch.phase import WORK_SPEED_MPS
from cabapp.watch.rules import Band, Key, Reminder, Row, When, fixed
from cabapp.words import Phase, Rule

TURN_LOOK_DEG, TURN_ACT_DEG, TURN_RADIUS_M = 30.0, 60.0, 20.0
TURN_OVER_DPS = 3.0
EASING_S, EASING_M = 120.0, 1.0  # after a hook: taking the pull off is not backing up
SLIP_DEADBAND = 0.02
TOOL_UP_STRAIGHT_M = 60.0


def _turned(now: Now, key: Key) -> float | None:
    """Degrees turned in 8 s on a tight curve; what is not tight holds an alert and begins none."""
    if now.rate_dps is None or now.turned_deg is None or now.radius_m is None:
        return None
    if abs(now.rate_dps) < TURN_OVER_DPS:
        return 0.0
    turned = abs(now.turned_deg)
    return turned if now.radius_m < TURN_RADIUS_M else min(turned, TURN_LOOK_DEG)


def _backing(now: Now, key: Key) -> bool | None:
    if now.phase is Phase.UNKNOWN:
        return None
    easing = now.since_hooked_s < EASING_S and now.backed_m < EASING_M
    return now.phase is Phase.BACKING and not easing


def _tool_is_up(now: Now, key: Key) -> bool | None:
    if now.speed_mps is None:
        return None
    at_work_speed = WORK_SPEED_MPS < now.speed_mps <= now.speed_high_mps  # faster: it drives off
    return now.in_block and at_work_speed and now.straight_m >= TOOL_UP_STRAIGHT_M


def ground_rows() -> tuple[Row, ...]:
    """Turning and backing with the tool in the ground."""
    return (
        Reminder(Rule.BACKING, _backing, When.IN_GROUND),
        Band(
            Rule.TURNING_HARD,
            _turned,
            fixed(TURN_ACT_DEG),
            Delays(),
            When.SAID_DOWN,
            TURN_ACT_DEG,
        ),
        Band(Rule.TURNING, _turned, fixed(TURN_LOOK_DEG), Delays(), When.SAID_DOWN, TURN_LOOK_DEG),
        Reminder(Rule.TOOL_IS_UP, _tool_is_up, When.LIFTED),
    )


def slip_rows(rig: Rig) -> tuple[Row, ...]:
    """Slip of wheels or tracks; the rig may bring its own first limit."""
    tracks = rig.tractor.drive is DriveKind.TRACKS
    limits = SLIP_LIMITS[RunningGear.TRACKS if tracks else RunningGear.WHEELS]
    look = limits.high if rig.limits.slip_look is None else rig.limits.slip_look

    def row(rule: Rule, limit: float, delays: Delays, when: When) -> Band:
        return Band(
            rule,
            lambda now, key: now.slip,
            fixed(limit),
            delays,
            when,
            SLIP_DEADBAND,
            needs=("wheel_speed",),
        )

    return (
        row(Rule.DIGGING_IN, limits.digging_in, Delays(3.0), When.IN_GROUND),
        row(Rule.SLIP_HIGH, limits.very_high, Delays(4.0), When.WORK),
        row(Rule.SLIP, look, Delays(20.0, 50.0, 2.0), When.WORK),
    )

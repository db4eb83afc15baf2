"""The rule table: every rule the cab judges, one row each, with its default figures.

All delays, metres and shares are field judgement with no printed source unless a comment names
one. A rig's limits and the day's plan bring the bands.
"""

import math
from collections.abc import Callable
from typing import Any

from cabapp.rig import DriveKind, Rig
from cabapp.trade.rows import GOOD_ANGLE_DEG
from cabapp.trade.slip import SLIP_LIMITS, RunningGear
from cabapp.units import INCH_M, KMH_MPS, MPH_MPS
from cabapp.watch.attention import Delays
from cabapp.watch.now import Now
from cabapp.watch.phase import WORK_SPEED_MPS
from cabapp.watch.rules import Band, Calm, Count, Key, Limit, Reminder, Row, Value, When
from cabapp.words import Phase, Rule

SPEED_DEADBAND_MPS = 0.3 * MPH_MPS
DEPTH_DEADBAND_M = 0.25 * INCH_M
SLIGHTLY_DEEP_M = 1.5 * INCH_M
FAR_OUT = 2.0  # times the half band
STILL_SHALLOW_M = 40.0
LEVEL_DEADBAND_M = 0.25 * INCH_M
SPRING_DEADBAND = 0.10
TRIP_SHARE = 1.0
TRIPS_OF_ONE, TRIPS_OF_ALL = 3, 8
NOT_PULLING_SHARE, PULLING_AGAIN_SHARE = 0.30, 0.40
LEAST_MEDIAN_SHARE = 0.10  # with hardly any load on the tool no shank can be called slack
TURN_LOOK_DEG, TURN_ACT_DEG, TURN_RADIUS_M = 30.0, 60.0, 20.0
TURN_OVER_DPS = 3.0
STALLED_MPS = 1.5 * KMH_MPS
STALLED_AFTER_WORK_S = 10.0
EASING_S, EASING_M = 120.0, 1.0  # after a hook: taking the pull off is not backing up
SLIP_DEADBAND = 0.02
TOOL_UP_STRAIGHT_M = 60.0
ROWS_STRAIGHT_M = 60.0
STORAGE_NOTE_SHARE = 0.80
BACK_S = 3.0  # good data for so long ends a no reading


def _fixed(value: float) -> Limit:
    return lambda now: value


def _shallow_of_far(now: Now) -> float | None:
    if now.target_m is None or now.depth_low_m is None:
        return None
    return now.target_m - FAR_OUT * (now.target_m - now.depth_low_m)


def _deep_of_far(now: Now) -> float | None:
    if now.target_m is None or now.depth_high_m is None:
        return None
    far = FAR_OUT * (now.depth_high_m - now.target_m)
    return max(now.target_m + far, now.depth_high_m + SLIGHTLY_DEEP_M)


def _look_deep(now: Now) -> float | None:
    return None if now.depth_high_m is None else now.depth_high_m + SLIGHTLY_DEEP_M


def _depth(now: Now, key: Key) -> float | None:
    return now.depth_m


def _never_reached(now: Now, key: Key) -> float | None:
    """Depth of a stretch that has not once come near the target, 40 m after setting in."""
    if now.reached or now.stretch_m < STILL_SHALLOW_M:
        return math.inf
    return now.depth_m


def _layer_depth(now: Now, key: Key) -> float | None:
    if now.front_m is None or now.rear_m is None:
        return now.depth_m
    return min(now.front_m, now.rear_m)


def _share(now: Now, key: Key) -> float | None:
    return now.shanks[int(key)].share


def _pull(now: Now, key: Key) -> float | None:
    """A shank's share over the median of the others; 1.0 where there is too little load to tell."""
    share, median = now.shanks[int(key)].share, now.others_median
    if share is None:
        return None
    if median is None or median < LEAST_MEDIAN_SHARE:
        return 1.0
    return share / median


def _none_over(limit: float) -> Calm:
    return lambda now: now.all_springs and (now.worst_share or 0.0) <= limit


def _all_pull(now: Now) -> bool:
    median, least = now.others_median, now.least_share
    if not now.all_springs or median is None or least is None:
        return False
    return median < LEAST_MEDIAN_SHARE or least >= NOT_PULLING_SHARE * median


def _over_half(now: Now, key: Key) -> float | None:
    return now.over_high / now.springs_read if now.springs_read else None


def _share_alone(now: Now, key: Key) -> float | None:
    """A shank's share; 0.0 while over half are high: that is one fact about the whole tool."""
    return 0.0 if 2 * now.over_high > now.springs_read else now.shanks[int(key)].share


def _turned(now: Now, key: Key) -> float | None:
    """Degrees turned in 8 s on a tight curve; what is not tight holds an alert and begins none."""
    if now.rate_dps is None or now.turned_deg is None or now.radius_m is None:
        return None
    if abs(now.rate_dps) < TURN_OVER_DPS:
        return 0.0
    turned = abs(now.turned_deg)
    return turned if now.radius_m < TURN_RADIUS_M else min(turned, TURN_LOOK_DEG)


def _hooked_share(now: Now, key: Key) -> float | None:
    """The worst spring of a tool that has come to nothing out of work."""
    if now.speed_mps is None:
        return None
    recently = now.fell_from_work_s is not None and now.fell_from_work_s <= STALLED_AFTER_WORK_S
    if now.phase is Phase.STANDING or (now.speed_mps < STALLED_MPS and recently):
        return now.worst_share
    return 0.0


def _backing(now: Now, key: Key) -> bool | None:
    if now.phase is Phase.UNKNOWN:
        return None
    easing = now.since_hooked_s < EASING_S and now.backed_m < EASING_M
    return now.phase is Phase.BACKING and not easing


def _tool_is_up(now: Now, key: Key) -> bool | None:
    if now.speed_mps is None:
        return None
    fast = now.speed_mps > WORK_SPEED_MPS
    return now.in_block and fast and now.straight_m >= TOOL_UP_STRAIGHT_M


def _row_angle(now: Now, key: Key) -> float | None:
    judged = now.first_passes and not now.near_edge and now.straight_m >= ROWS_STRAIGHT_M
    return now.row_angle_deg if judged else 90.0


def _nothing_unread(now: Now) -> bool:
    return not now.unread


def _unread(family: str) -> Value:
    """Seconds of one channel; 0.0 while none of its family reads: that is told once for all."""
    return lambda now, key: 0.0 if family in now.all_unread else now.unread.get(str(key), 0.0)


def _all_unread(family: str) -> Value:
    return lambda now, key: now.all_unread.get(family, 0.0)


def _unread_one(channel: str) -> Value:
    return lambda now, key: now.unread.get(channel, 0.0)


def _trouble(name: str) -> Callable[[Now, Key], bool]:
    return lambda now, key: getattr(now, name) is not None


def speed_rows() -> tuple[Row, ...]:
    """Speed over ground against the day's band, on a 3 s mean. Slow is never told to speed up."""
    return (
        Band(
            Rule.TOO_FAST,
            lambda now, key: now.mean_mps,
            lambda now: now.speed_high_mps,
            Delays(6.0, 15.0, 2.0),
            When.WORK,
            SPEED_DEADBAND_MPS,
        ),
        Band(
            Rule.HARD_HERE,
            lambda now, key: now.mean_mps,
            lambda now: now.speed_low_mps,
            Delays(12.0, 25.0, 2.0),
            When.WORK_SETTLED,
            SPEED_DEADBAND_MPS,
            under=True,
        ),
    )


def _depth_row(
    rule: Rule, variant: str, value: Value, limit: Limit, delays: Delays, when: When
) -> Band:
    return Band(
        rule,
        value,
        limit,
        delays,
        when,
        DEPTH_DEADBAND_M,
        under=variant != "deep" and rule is not Rule.TOO_DEEP_SLIGHTLY,
        variant=variant,
        needs=("depth",),
    )


def depth_rows() -> tuple[Row, ...]:
    """Live depth against target and layer; a stretch that stays shallow counts from setting in."""
    out, far, layer = Delays(8.0, 20.0, 2.0), Delays(4.0, 10.0, 2.0), Delays(10.0, 25.0, 2.0)
    work, low = When.WORK_DEPTH, lambda now: now.depth_low_m
    return (
        _depth_row(Rule.ABOVE_LAYER, "", _layer_depth, lambda now: now.layer_bottom_m, layer, work),
        _depth_row(Rule.DEPTH_FAR, "shallow", _depth, _shallow_of_far, far, work),
        _depth_row(Rule.DEPTH_FAR, "deep", _depth, _deep_of_far, far, work),
        _depth_row(Rule.DEPTH, "shallow", _depth, low, out, work),
        _depth_row(Rule.DEPTH, "shallow", _never_reached, low, Delays(), When.WORK_SET_IN),
        _depth_row(Rule.DEPTH, "deep", _depth, _look_deep, out, work),
        _depth_row(Rule.TOO_DEEP_SLIGHTLY, "", _depth, lambda now: now.depth_high_m, out, work),
    )


def level_rows(limit_m: float) -> tuple[Row, ...]:
    """Front against rear and left against right, each as a mean of 150 m."""
    ways: tuple[tuple[str, Value], ...] = (
        ("rear_low", lambda now, key: now.level_150_m),
        ("rear_high", lambda now, key: _minus(now.level_150_m)),
        ("left_low", lambda now, key: now.side_150_m),
        ("right_low", lambda now, key: _minus(now.side_150_m)),
    )
    return tuple(
        Band(
            Rule.LEVEL,
            value,
            _fixed(limit_m),
            Delays(),
            When.WORK_DEPTH,
            LEVEL_DEADBAND_M,
            variant=variant,
            needs=("depth",),
        )
        for variant, value in ways
    )


def _minus(value: float | None) -> float | None:
    return None if value is None else -value


def spring_rows(high: float) -> tuple[Row, ...]:
    """Spring load of each shank as a share of its trip, and the trips counted."""
    needs = ("spring",)
    return (
        Band(
            Rule.SHANK_UP,
            _share,
            _fixed(TRIP_SHARE),
            Delays(3.0, 8.0, 0.0),
            When.IN_GROUND,
            SPRING_DEADBAND,
            each="shank",
            needs=needs,
            latched=True,
            calm=_none_over(TRIP_SHARE),
        ),
        Band(
            Rule.HOOKED,
            _hooked_share,
            _fixed(TRIP_SHARE),
            Delays(1.0),
            When.IN_GROUND,
            SPRING_DEADBAND,
            needs=needs,
        ),
        Band(
            Rule.NOT_PULLING,
            _pull,
            _fixed(NOT_PULLING_SHARE),
            Delays(10.0, 25.0, 2.0),
            When.WORK,
            PULLING_AGAIN_SHARE - NOT_PULLING_SHARE,
            under=True,
            each="shank",
            needs=needs,
            calm=_all_pull,
        ),
        Band(
            Rule.EASE_OFF,
            _share_alone,
            _fixed(high),
            Delays(5.0),
            When.WORK,
            SPRING_DEADBAND,
            each="shank",
            needs=needs,
            calm=_none_over(high),
        ),
        Band(Rule.EASE_OFF, _over_half, _fixed(0.5), Delays(3.0), When.WORK, needs=needs),
        Count(
            Rule.TRIPPING,
            lambda now, key: now.shanks[int(key)].trips,
            lambda now, key: now.shanks[int(key)].total,
            TRIPS_OF_ONE,
            When.WORK,
            each="shank",
            needs=needs,
            calm=lambda now: now.all_trips == 0,
        ),
        Count(
            Rule.STONES,
            lambda now, key: now.all_trips,
            lambda now, key: sum(shank.total for shank in now.shanks),
            TRIPS_OF_ALL,
            When.WORK,
            needs=needs,
        ),
    )


def ground_rows() -> tuple[Row, ...]:
    """Turning and backing with the tool in the ground."""
    return (
        Reminder(Rule.BACKING, _backing, When.IN_GROUND),
        Band(
            Rule.TURNING_HARD,
            _turned,
            _fixed(TURN_ACT_DEG),
            Delays(),
            When.SAID_DOWN,
            TURN_ACT_DEG,
        ),
        Band(Rule.TURNING, _turned, _fixed(TURN_LOOK_DEG), Delays(), When.SAID_DOWN, TURN_LOOK_DEG),
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
            _fixed(limit),
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


def reading_rows() -> tuple[Row, ...]:
    """Values somebody relies on that are unknown; seconds count from the last good value."""

    def lost(rule: Rule, value: Value, after_s: float, when: When, **where: Any) -> Band:
        return Band(rule, value, _fixed(after_s), Delays(off_s=BACK_S), when, after_s, **where)

    def family(rule: Rule, name: str, after_s: float) -> tuple[Row, Row]:
        one = {"variant": "one", "each": name, "calm": _nothing_unread}
        return (
            lost(rule, _all_unread(name), after_s, always, needs=(name,), calm=_nothing_unread),
            lost(rule, _unread(name), after_s, always, needs=(name,), **one),
        )

    always = When.ALWAYS
    return (
        *family(Rule.NO_SPRINGS, "spring", 3.0),
        Reminder(
            Rule.UP_OR_DOWN,
            lambda now, key: now.disagree,
            always,
            needs=("spring",),
            delays=Delays(off_s=BACK_S),
        ),
        lost(Rule.NO_SWITCH, _unread_one("tool_down"), 3.0, always, needs=("tool_down",)),
        *family(Rule.NO_DEPTH, "depth", 4.0),
        lost(
            Rule.DEPTH_STUCK, lambda now, key: now.frozen.get(str(key), 0.0), 0.0, always,
            calm=lambda now: not now.frozen, needs=("depth",), each="depth",
        ),
        lost(Rule.NO_POSITION, lambda now, key: now.position_lost_s, 10.0, When.RELIED_ON),
        lost(Rule.NO_SPEED, lambda now, key: now.no_speed_sent_s, 10.0, always),
        lost(Rule.NO_SLIP, _unread_one("wheel_speed"), 4.0, always, needs=("wheel_speed",)),
        Reminder(Rule.NOT_SAVING, _trouble("record_trouble"), always, delays=Delays(3.0)),
        Reminder(Rule.NO_SOUND, _trouble("sound_trouble"), always, delays=Delays(3.0)),
    )  # fmt: skip


def note_rows() -> tuple[Row, ...]:
    """What is good to know; pegs over a line are the one reminder with a sound."""
    always = When.ALWAYS
    return (
        Reminder(Rule.PIPE_AHEAD, lambda now, key: now.pipe_ahead_m is not None, always),
        Reminder(Rule.PEG_AHEAD, lambda now, key: now.peg_ahead_m is not None, always),
        Band(
            Rule.ROWS,
            _row_angle,
            _fixed(GOOD_ANGLE_DEG[0]),
            Delays(),
            When.WORK,
            0.15 * GOOD_ANGLE_DEG[0],
            under=True,
        ),
        # Once due it stands until somebody digs, and is shown at each turn and stop.
        Reminder(Rule.DIG, lambda now, key: now.dig_due, When.PAUSE, latched=True),
        Reminder(Rule.CREEPING, lambda now, key: now.creeping, When.STANDING, needs=("depth",)),
        *(
            Reminder(Rule.RISING, _rising(what), When.STANDING, variant=what, needs=(family,))
            for what, family in (("left", "spring"), ("right", "spring"), ("slip", "wheel_speed"))
        ),
        Reminder(Rule.ADJUST_NEXT_STOP, lambda now, key: now.to_adjust != "", When.STANDING),
        # A lift at the headland looks like a raise for its first two seconds.
        Reminder(Rule.RAISED, lambda now, key: now.raised, always, delays=Delays(3.0, off_s=0.0)),
        Reminder(Rule.RAISED, lambda now, key: now.remind_raised, always, variant="remind"),
        Reminder(Rule.CHECKS_OPEN, lambda now, key: now.checks_open, always),
        Reminder(
            Rule.SWITCH_LOST,
            lambda now, key: "tool_down" in now.set_aside,
            always,
            needs=("tool_down",),
        ),
        Reminder(Rule.LOOKS_OFF, lambda now, key: now.looks_off, always),
        Reminder(
            Rule.STORAGE,
            lambda now, key: (now.storage_share or 0.0) >= STORAGE_NOTE_SHARE,
            always,
        ),
        Reminder(
            Rule.DISAGREEING_SENSOR,
            lambda now, key: now.suspect != "",
            When.WORK,
            needs=("depth",),
            delays=Delays(10.0),
        ),
        Reminder(Rule.RULER, lambda now, key: now.ruler_open, When.STANDING),
    )


def _rising(what: str) -> Callable[[Now, Key], bool]:
    return lambda now, key: now.rising.get(what, False)


def rule_table(rig: Rig) -> tuple[Row, ...]:
    """Every row that exists on this rig: rows whose sensors are not fitted are left out."""
    rows = (
        *ground_rows(),
        *spring_rows(rig.limits.spring_high),
        *slip_rows(rig),
        *reading_rows(),
        *depth_rows(),
        *level_rows(rig.limits.level_live_m),
        *speed_rows(),
        *note_rows(),
    )
    return tuple(row for row in rows if all(rig.fitted(family) for family in row.needs))


def not_judged(rig: Rig) -> tuple[Rule, ...]:
    """The rules that this rig cannot judge for want of a sensor: said on the shift sheet."""
    every = {row.rule for row in (*spring_rows(1.0), *slip_rows(rig), *reading_rows())}
    every |= {row.rule for row in (*depth_rows(), *level_rows(1.0), *note_rows())}
    judged = {row.rule for row in rule_table(rig)}
    return tuple(rule for rule in Rule if rule in every and rule not in judged)

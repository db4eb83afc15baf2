"""Live depth against target, band and layer, and the level of the frame."""

import math

from cabapp.units import INCH_M
from cabapp.watch.attention import Delays
from cabapp.watch.now import Now
from cabapp.watch.rules import Band, Key, Limit, Row, Value, When, fixed
from cabapp.words import Rule

DEPTH_DEADBAND_M = 0.25 * INCH_M
SLIGHTLY_DEEP_M = 1.5 * INCH_M
FAR_OUT = 2.0  # times the half band
STILL_SHALLOW_M = 40.0
LEVEL_DEADBAND_M = 0.25 * INCH_M


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
            fixed(limit_m),
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

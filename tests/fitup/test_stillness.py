"""A point is taken only while the signal stands still."""

import math

from cabapp.fitup.findings import Fault
from cabapp.fitup.stillness import Standing, Stillness


def feed(stillness, seconds, value, start=0.0, rate=10):
    """``value`` is a function of seconds since start; returns the time of the last sample."""
    at = start
    for n in range(round(seconds * rate)):
        at = start + n / rate
        stillness.hear(value(n / rate), at)
    return at


def test_three_still_seconds_may_be_taken_and_say_least_most_and_mean():
    stillness = Stillness(span=0.02)
    now = feed(stillness, 4, lambda t: 2.0 + 0.004 * math.sin(9 * t))
    look = stillness.look(now)
    assert look.standing is Standing.STEADY and look.may_take
    assert look.least is not None and look.most is not None and look.mean is not None
    assert 1.995 < look.least < 2.0 < look.most < 2.005
    assert abs(look.mean - 2.0) < 0.001


def test_a_moving_arm_may_not_be_taken():
    stillness = Stillness(span=0.02)
    now = feed(stillness, 6, lambda t: 1.0 + 0.1 * t)
    assert stillness.look(now).standing is Standing.MOVING
    assert not stillness.look(now).may_take


def test_a_jump_empties_the_bar_and_it_fills_again_from_there():
    stillness = Stillness(span=0.02)
    now = feed(stillness, 4, lambda t: 1.0)
    assert stillness.look(now).may_take
    now = feed(stillness, 1, lambda t: 1.4, start=now + 0.1)
    look = stillness.look(now)
    assert not look.may_take and look.still_s < 1.0
    now = feed(stillness, 3, lambda t: 1.4, start=now + 0.1)
    look = stillness.look(now)
    assert look.may_take and look.least == look.most == 1.4


def test_a_signal_that_never_settles_is_said_after_half_a_minute():
    stillness = Stillness(span=0.02)
    now = feed(stillness, 29, lambda t: 2 + 0.5 * math.sin(3 * t))
    assert stillness.finding(now) is None
    now = feed(stillness, 3, lambda t: 2 + 0.5 * math.sin(3 * t), start=now + 0.1)
    found = stillness.finding(now)
    assert found is not None and found.fault is Fault.NEVER_STILL
    assert found.what.startswith("Not still in 3") and found.what.endswith(" V")


def test_a_cable_pulled_in_mid_capture_is_silence_and_not_stillness():
    stillness = Stillness(span=0.02)
    now = feed(stillness, 4, lambda t: 2.0)
    look = stillness.look(now + 2.0)
    assert look.standing is Standing.SILENT and not look.may_take and look.mean is None
    found = stillness.finding(now + 7.0)
    assert found is not None and found.fault is Fault.SILENT
    assert found.what == "Nothing heard for 7 s"


def test_after_a_gap_the_three_seconds_begin_anew():
    stillness = Stillness(span=0.02)
    now = feed(stillness, 4, lambda t: 2.0)
    now = feed(stillness, 1, lambda t: 2.0, start=now + 5.0)
    assert not stillness.look(now).may_take


def test_an_empty_value_or_nan_empties_the_window():
    for broken in (None, math.nan, math.inf):
        stillness = Stillness(span=0.02)
        now = feed(stillness, 4, lambda t: 2.0)
        stillness.hear(broken, now + 0.1)
        assert stillness.look(now + 0.1).standing is Standing.SILENT


def test_a_node_that_speaks_once_a_second_can_stand_still_too():
    stillness = Stillness(span=0.02)
    now = feed(stillness, 5, lambda t: 2.0, rate=1)
    assert stillness.look(now).may_take


def test_the_jump_before_the_stillness_is_not_in_the_value_taken():
    stillness = Stillness(span=0.02)
    feed(stillness, 2, lambda t: 9.0, rate=5)
    now = feed(stillness, 3, lambda t: 2.0, start=2.0, rate=5)
    look = stillness.look(now)
    assert look.may_take and look.mean == look.most == 2.0

"""Slip, row angle, clods, spacing, moisture, buried lines: behaviour and refusals."""

import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.trade.clods import (
    ALLOWED_OVER_SHARE,
    mean_openings_m,
    mean_weight_diameter_m,
    measure_clods,
)
from cabapp.trade.lines import (
    CAUTIONS,
    ELSEWHERE,
    UNITED_STATES,
    LineRules,
    first_day,
    last_day,
    may_work,
    must_ask,
)
from cabapp.trade.moisture import VERDICTS, Feel, MoistureVerdict, judge_moisture, over_caution
from cabapp.trade.rows import GOOD_ANGLE_DEG, GOOD_ANGLE_SOURCE, row_angle_deg, turned_deg
from cabapp.trade.slip import (
    LEAST_BELIEVED_SLIP,
    LEAST_BELIEVED_SOURCE,
    SLIP_LIMITS,
    RunningGear,
    slip_from_revolutions,
    slip_from_times,
    slip_ratio,
)
from cabapp.trade.sources import OWN_DEFAULT, Provenance
from cabapp.trade.spacing import (
    CRITICAL_DEPTH_SOURCE,
    CriticalVerdict,
    PointKind,
    SpacingVerdict,
    critical_depth_range_m,
    judge_critical_depth,
    judge_spacing,
    spacing_range_m,
)
from cabapp.units import INCH_M

# Slip


def test_slip_is_unknown_near_standstill_and_backwards_and_never_zero() -> None:
    for ground, wheel in ((0.0, 0.0), (0.3, 0.4), (1.0, 0.0), (2.0, -2.0), (math.nan, 2.0)):
        assert slip_ratio(ground, wheel) is None
    assert slip_ratio(2.0, math.inf) is None
    assert slip_ratio(-1.0, 2.0) is None


def test_a_wheel_slower_than_the_ground_under_a_pulled_tool_is_a_wrong_wheel_and_not_fine() -> None:
    assert slip_ratio(2.05, 2.0) is None
    assert slip_ratio(2.03, 2.0) == pytest.approx(-0.015)  # what noise and a worn tyre make
    assert LEAST_BELIEVED_SLIP == -0.02
    assert LEAST_BELIEVED_SOURCE is OWN_DEFAULT


def test_a_wheel_that_spins_on_the_spot_slips_wholly() -> None:
    assert slip_ratio(0.0, 2.0) == 1.0


@given(st.floats(0.5, 6), st.floats(0, 0.9))
def test_slip_gives_back_the_slip_it_was_made_with(wheel: float, slip: float) -> None:
    assert slip_ratio(wheel * (1 - slip), wheel) == pytest.approx(slip, abs=1e-12)


def test_tracks_are_held_to_less_slip_than_wheels() -> None:
    wheels, tracks = SLIP_LIMITS[RunningGear.WHEELS], SLIP_LIMITS[RunningGear.TRACKS]
    assert (wheels.high, wheels.very_high, wheels.digging_in) == (0.15, 0.25, 0.40)
    assert (tracks.high, tracks.very_high, tracks.digging_in) == (0.08, 0.15, 0.30)
    assert wheels.source is OWN_DEFAULT


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_counts_and_times_that_cannot_be_are_refused(bad: float) -> None:
    for count in ((bad, 9.0), (10.0, bad)):
        with pytest.raises(ValueError, match="between the same two marks"):
            slip_from_revolutions(*count)
        with pytest.raises(ValueError, match="same gear"):
            slip_from_times(*count)


def test_slip_is_told_from_one_and_a_half_kilometres_an_hour_of_the_wheel() -> None:
    assert slip_ratio(0.2, 1.49 / 3.6) is None
    assert slip_ratio(0.2, 1.51 / 3.6) is not None


# Row angle and turns


def test_ten_to_thirty_degrees_is_marked_common_practice() -> None:
    assert GOOD_ANGLE_DEG == (10.0, 30.0)
    assert GOOD_ANGLE_SOURCE.provenance is Provenance.PRACTICE


@given(st.floats(-720, 720), st.floats(-720, 720))
def test_the_angle_to_the_rows_knows_no_direction(course: float, rows: float) -> None:
    angle = row_angle_deg(course, rows)
    assert 0.0 <= angle <= 90.0
    for other in (
        row_angle_deg(course + 180, rows),
        row_angle_deg(course, rows + 180),
        row_angle_deg(rows, course),
        row_angle_deg(course + 360, rows),
    ):
        assert other == pytest.approx(angle, abs=1e-6)


@pytest.mark.parametrize(
    ("before", "after", "turn"),
    [(10, 20, 10), (20, 10, -10), (350, 10, 20), (10, 350, -20), (0, 180, 180), (180, 0, 180),
     (90, 90, 0), (0, 181, -179), (0, 360, 0)],
)  # fmt: skip
def test_a_turn_is_signed_and_goes_the_short_way(before: float, after: float, turn: float) -> None:
    assert turned_deg(before, after) == turn


@given(st.floats(0, 360), st.floats(-179.9, 179.9))
def test_turning_by_an_angle_is_that_turn(course: float, turn: float) -> None:
    assert turned_deg(course, (course + turn) % 360) == pytest.approx(turn, abs=1e-9)


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_an_unknown_course_has_no_angle(bad: float) -> None:
    for function in (row_angle_deg, turned_deg):
        for pair in ((bad, 0.0), (0.0, bad)):
            with pytest.raises(ValueError, match="expected a finite number"):
                function(*pair)


# Clods


def test_a_clod_exactly_at_the_limit_passes_and_one_over_does_not() -> None:
    clods = measure_clods([6 * INCH_M, 6.01 * INCH_M, 3 * INCH_M, 2 * INCH_M])
    assert clods.over_share == 0.25
    assert clods.largest_m == pytest.approx(6.01 * INCH_M)
    assert not clods.fine_enough


def test_one_big_clod_in_twenty_is_still_fine_enough() -> None:
    small, big = 3 * INCH_M, 7 * INCH_M
    assert ALLOWED_OVER_SHARE == 0.05
    assert measure_clods([small] * 19 + [big]).fine_enough
    assert not measure_clods([small] * 18 + [big]).fine_enough


@given(st.lists(st.floats(0.01, 0.5), min_size=1, max_size=30))
def test_the_mass_weighted_mean_lies_between_mean_and_largest(sizes: list[float]) -> None:
    clods = measure_clods(sizes)
    assert clods.mean_m - 1e-12 <= clods.mass_weighted_m <= clods.largest_m + 1e-12


@pytest.mark.parametrize("sizes", [[], [0.0], [0.1, -0.1], [math.nan], [math.inf]])
def test_clods_that_cannot_be_are_refused(sizes: list[float]) -> None:
    with pytest.raises(ValueError, match="measure"):
        measure_clods(sizes)


def test_a_sieved_sample_from_openings_to_mean_weight_diameter() -> None:
    means = mean_openings_m([0.05, 0.02], top_m=0.10)
    assert means == pytest.approx((0.075, 0.035, 0.01))
    assert mean_weight_diameter_m(means, [1.0, 1.0, 2.0]) == pytest.approx(0.0325)


def test_a_sample_that_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="coarsest first"):
        mean_openings_m([0.02, 0.05], top_m=0.1)
    with pytest.raises(ValueError, match="one a sieve"):
        mean_weight_diameter_m([0.1, 0.2], [1.0])
    with pytest.raises(ValueError, match="weigh"):
        mean_weight_diameter_m([0.1], [0.0])
    with pytest.raises(ValueError, match="weigh it again"):
        mean_weight_diameter_m([0.1, 0.2], [1.0, -1.0])
    with pytest.raises(ValueError, match="weigh it again"):
        mean_weight_diameter_m([math.nan], [1.0])


# Spacing and critical depth


def test_shanks_are_close_right_or_wide_for_a_depth() -> None:
    narrow, fourteen = PointKind.NARROW, 14 * INCH_M
    assert judge_spacing(13 * INCH_M, fourteen, narrow) is SpacingVerdict.CLOSE
    assert judge_spacing(14 * INCH_M, fourteen, narrow) is SpacingVerdict.RIGHT
    assert judge_spacing(21 * INCH_M, fourteen, narrow) is SpacingVerdict.RIGHT
    assert judge_spacing(22 * INCH_M, fourteen, narrow) is SpacingVerdict.WIDE
    assert judge_spacing(22 * INCH_M, fourteen, PointKind.WINGED) is SpacingVerdict.RIGHT


def test_below_the_critical_depth_the_mend_is_to_dig_and_raise() -> None:
    point = 2 * INCH_M
    assert judge_critical_depth(9 * INCH_M, point) is CriticalVerdict.LIFTS
    assert judge_critical_depth(12 * INCH_M, point) is CriticalVerdict.DIG_AND_LOOK
    assert judge_critical_depth(15 * INCH_M, point) is CriticalVerdict.LIKELY_BELOW
    assert "raise" in CriticalVerdict.LIKELY_BELOW.value
    assert CRITICAL_DEPTH_SOURCE.provenance is Provenance.MEMORY


@pytest.mark.parametrize("bad", [0.0, -0.1, math.nan])
def test_spacing_refuses_what_cannot_be(bad: float) -> None:
    with pytest.raises(ValueError, match="depth_m: found"):
        spacing_range_m(bad, PointKind.NARROW)
    with pytest.raises(ValueError, match="spacing_m: found"):
        judge_spacing(bad, 0.3, PointKind.NARROW)
    with pytest.raises(ValueError, match="point_width_m: found"):
        critical_depth_range_m(bad)
    with pytest.raises(ValueError, match="depth_m: found"):
        judge_critical_depth(bad, 0.05)


# Moisture


def test_a_ribbon_at_shank_depth_means_wait() -> None:
    assert judge_moisture(Feel.RIBBON, 0.36, 0.36) is MoistureVerdict.WAIT
    assert judge_moisture(Feel.BREAKING_BALL, 0.36, 0.36) is MoistureVerdict.GO
    assert judge_moisture(Feel.NO_BALL, 0.40, 0.36) is MoistureVerdict.GO_HARD


def test_a_handful_from_above_the_points_says_nothing() -> None:
    for feel in Feel:
        assert judge_moisture(feel, 12.5 * INCH_M, 14 * INCH_M) is MoistureVerdict.UNKNOWN
        assert judge_moisture(feel, 13.5 * INCH_M, 14 * INCH_M) is VERDICTS[feel]


def test_every_feel_has_a_verdict() -> None:
    assert set(VERDICTS) == set(Feel)
    assert MoistureVerdict.UNKNOWN not in VERDICTS.values()


def test_the_published_caution_is_at_thirty_percent() -> None:
    assert over_caution(0.30)
    assert not over_caution(0.29)
    for bad in (30.0, -0.1, math.nan):
        with pytest.raises(ValueError, match=r"0\.3 for 30 %"):
            over_caution(bad)


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan])
def test_moisture_without_a_depth_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="found"):
        judge_moisture(Feel.RIBBON, bad, 0.3)
    with pytest.raises(ValueError, match="found"):
        judge_moisture(Feel.RIBBON, 0.3, bad)


# Buried lines

# Figures as one state's one-call centre prints them for farmers: 18 in, three business days, and
# others a ticket of 21 days and 24 in from the marks. Put together here as one place's settings.
PLACE = LineRules("call centre", 18 * INCH_M, 3, 21, 24 * INCH_M, OWN_DEFAULT)
FRIDAY = date(2024, 3, 1)


def test_ask_below_the_depth_of_the_place_and_before_any_pit() -> None:
    assert not must_ask(12 * INCH_M, UNITED_STATES)
    assert must_ask(12.5 * INCH_M, UNITED_STATES)
    assert not must_ask(14 * INCH_M, PLACE)
    assert must_ask(0.2, PLACE, pit=True)
    assert must_ask(14 * INCH_M, ELSEWHERE)


def test_weekends_and_holidays_are_no_business_days() -> None:
    assert first_day(FRIDAY, PLACE) == date(2024, 3, 6)  # Monday, Tuesday, Wednesday
    assert first_day(FRIDAY, PLACE, {date(2024, 3, 4)}) == date(2024, 3, 7)
    assert last_day(FRIDAY, PLACE) == date(2024, 3, 22)


def test_an_answer_covers_the_days_between() -> None:
    assert may_work(date(2024, 3, 5), FRIDAY, PLACE) is False
    assert may_work(date(2024, 3, 6), FRIDAY, PLACE) is True
    assert may_work(date(2024, 3, 22), FRIDAY, PLACE) is True
    assert may_work(date(2024, 3, 23), FRIDAY, PLACE) is False
    assert may_work(date(2024, 3, 6), None, PLACE) is False
    assert may_work(FRIDAY - timedelta(days=1), FRIDAY, PLACE) is False


def test_where_the_rules_are_not_known_nothing_is_promised() -> None:
    assert may_work(date(2024, 3, 10), FRIDAY, UNITED_STATES) is None
    assert first_day(FRIDAY, ELSEWHERE) is None
    assert last_day(FRIDAY, ELSEWHERE) is None
    half_known = LineRules("call centre", 0.3, 0, None, None, OWN_DEFAULT)
    assert first_day(FRIDAY, half_known) == FRIDAY
    assert may_work(FRIDAY, FRIDAY, half_known) is None
    other_half = LineRules("call centre", 0.3, None, 1, None, OWN_DEFAULT)
    assert may_work(FRIDAY, FRIDAY, other_half) is None
    assert may_work(date(2024, 3, 3), FRIDAY, other_half) is False


def test_the_cautions_put_local_law_and_private_lines_first() -> None:
    assert "Local law" in CAUTIONS[0]
    assert any("private lines" in caution for caution in CAUTIONS)


def test_settings_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="whom to call"):
        LineRules(" ", 0.3, None, None, None, OWN_DEFAULT)
    with pytest.raises(ValueError, match="ask_below_m: found"):
        LineRules("x", 0.0, None, None, None, OWN_DEFAULT)
    with pytest.raises(ValueError, match="good_days: found -1"):
        LineRules("x", 0.3, 3, -1, None, OWN_DEFAULT)
    with pytest.raises(ValueError, match="keep_off_m: found"):
        LineRules("x", 0.3, 3, 21, 0.0, OWN_DEFAULT)
    with pytest.raises(ValueError, match="depth_m: found"):
        must_ask(math.nan, PLACE)

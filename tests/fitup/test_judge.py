"""What makes a calibration refused, unproven or proven, each fault by its name."""

from dataclasses import replace

import pytest

from cabapp.curve import CurveKind
from cabapp.fitup.findings import WORDS, Fault, Weight
from cabapp.fitup.judge import Verdict, judge, judge_simplest
from cabapp.fitup.points import Approach, Place, Row, Take, rows_from
from cabapp.fitup.task import UNPROVEN_IN_SOIL_M, depth_task, force_task
from cabapp.units import INCH_M

TASK = depth_task("in")
CLEAR_IN = [-6, -4, -2, 0, 2]
CLEAR_UP = [0.612, 0.981, 1.352, 1.718, 2.088]
CLEAR_DOWN = [0.618, 0.990, 1.361, 1.729, 2.093]
SLOT_IN = [8, 11, 14]
SLOT_V = [3.199, 3.752, 4.306]


def shed(known=CLEAR_IN, up=CLEAR_UP, down=CLEAR_DOWN, first=1):
    return rows_from([k * INCH_M for k in known], up, down, Place.SHED, first)


def slots(known=SLOT_IN, signals=SLOT_V):
    return rows_from([k * INCH_M for k in known], signals, place=Place.SLOT, first=11)


def proof(known=5, signal=2.645):
    return rows_from([known * INCH_M], [signal], place=Place.PROOF, first=21)


def faults(judgement):
    return [f.fault for f in judgement.findings if f.weight is not Weight.READ]


def test_shed_slots_and_a_proof_point_together_are_proven():
    judged = judge_simplest(shed() + slots() + proof(), TASK)
    assert judged.verdict is Verdict.PROVEN and judged.kind is CurveKind.LINEAR
    assert judged.curve is not None
    assert judged.curve.value(3.752) == pytest.approx(11 * INCH_M, abs=0.1 * INCH_M)
    assert judged.curve.proven_error == pytest.approx(max(abs(off) for _, off in judged.off))


def test_without_slots_it_is_usable_unproven_and_cannot_promise_a_tight_depth():
    judged = judge_simplest(shed(), replace(TASK, used_most=2 * INCH_M))
    assert judged.verdict is Verdict.UNPROVEN
    assert Fault.NO_SLOTS in faults(judged) and Fault.NOT_VERIFIED in faults(judged)
    assert judged.curve is not None and judged.curve.proven_error >= UNPROVEN_IN_SOIL_M


def test_sinking_wheels_become_the_offset_and_the_shed_keeps_the_slope():
    sunk = slots([k + 0.8 for k in SLOT_IN])
    judged = judge_simplest(shed() + sunk + proof(5.8), TASK)
    level = judge_simplest(shed() + slots() + proof(), TASK)
    assert judged.verdict is Verdict.PROVEN
    assert judged.curve is not None and level.curve is not None
    assert judged.curve.coefficients == level.curve.coefficients
    assert judged.curve.offset - level.curve.offset == pytest.approx(0.8 * INCH_M)
    assert judged.slots is not None and judged.slots.spread is not None
    assert judged.slots.spread < 0.1 * INCH_M


def test_the_spread_of_the_slots_is_their_standard_deviation_about_the_offset():
    off = [0.3, -0.1, -0.2]
    judged = judge_simplest(
        shed() + slots([k + o for k, o in zip(SLOT_IN, off, strict=True)]) + proof(), TASK
    )
    assert judged.slots is not None and judged.slots.spread is not None
    assert judged.slots.spread / INCH_M == pytest.approx((0.14 / 2) ** 0.5, abs=0.02)


def test_slots_at_one_depth_do_not_prove_the_slope():
    judged = judge_simplest(shed() + slots([14, 14.3], [4.306, 4.36]) + proof(), TASK)
    assert faults(judged) == [Fault.SLOTS_AT_ONE_DEPTH]


def test_slots_that_scatter_beyond_half_an_inch_are_refused():
    judged = judge_simplest(shed() + slots([8, 12.2, 14]) + proof(), TASK)
    assert judged.verdict is Verdict.REFUSED and Fault.SLOT_SPREAD in faults(judged)
    assert "0.5 in is allowed" in judged.findings[0].mend


def test_a_slot_typed_ten_times_too_big_is_named_and_put_right():
    judged = judge_simplest(shed() + slots([8, 110, 14]) + proof(), TASK)
    assert faults(judged) == [Fault.MISTYPED]
    suggestion = judged.findings[0].suggestion
    assert suggestion is not None and suggestion.text == "Make it 11"
    # at 110 in the others would have read this much: far beyond any sensor
    assert suggestion.signal == pytest.approx(1.72 + 0.1846 * 110, abs=0.2)


def test_slots_measured_in_centimetres_and_typed_as_inches():
    judged = judge_simplest(shed() + slots([k * 2.54 for k in SLOT_IN]) + proof(), TASK)
    assert Fault.OTHER_UNIT in faults(judged) and Fault.SLOT_SPREAD not in faults(judged)


def test_a_slot_further_off_than_wheels_sink_is_refused():
    judged = judge_simplest(shed() + slots([k + 4 for k in SLOT_IN]) + proof(9), TASK)
    assert Fault.SLOT_FAR in faults(judged)


def test_clearances_typed_without_their_minus_are_told_so():
    judged = judge_simplest(shed([6, 4, 2, 0], CLEAR_UP[:4], CLEAR_DOWN[:4]) + slots(), TASK)
    assert judged.findings[0].fault is Fault.SIGN
    assert Fault.SLOT_SPREAD not in faults(judged)


def test_depth_beyond_the_deepest_proof_by_more_than_a_tenth_is_refused():
    near = judge_simplest(shed() + slots() + proof(), depth_task("in", deepest_m=15.9 * INCH_M))
    far = judge_simplest(shed() + slots() + proof(), depth_task("in", deepest_m=16.1 * INCH_M))
    assert near.verdict is Verdict.PROVEN
    assert faults(far) == [Fault.BEYOND]
    assert far.findings[0].what == "16.1 in lies beyond the last point 14 in"


def test_a_proof_point_already_used_proves_nothing():
    judged = judge_simplest(shed() + slots() + proof(2, 2.09), TASK)
    assert faults(judged) == [Fault.VERIFY_USED]


def test_a_proof_point_that_is_off_refuses():
    judged = judge_simplest(shed() + slots() + proof(5.8), TASK)
    assert faults(judged) == [Fault.VERIFY_OFF]
    assert judged.findings[0].what.startswith("The proof at 5.8 in is off by 0.8")


def test_a_reversed_slope_is_found_once_the_direction_is_known():
    rows = shed(CLEAR_IN, [5 - v for v in CLEAR_UP], [5 - v for v in CLEAR_DOWN])
    rows += slots(SLOT_IN, [5 - v for v in SLOT_V]) + proof(5, 5 - 2.645)
    assert judge_simplest(rows, TASK).verdict is Verdict.PROVEN  # mounted the other way is fine
    assert faults(judge_simplest(rows, replace(TASK, expected_slope=1))) == [Fault.REVERSED]


def test_the_same_value_twice_with_two_signals_is_a_twin():
    judged = judge_simplest(
        shed([*CLEAR_IN, 2], [*CLEAR_UP, 2.3], [*CLEAR_DOWN, 2.31]) + slots(), TASK
    )
    assert Fault.TWINS in faults(judged)


def test_the_same_signal_at_two_values_is_a_sensor_that_did_not_move():
    judged = judge_simplest(
        shed([-6, -4, -2, 0, 2], [0.6, 0.98, 1.35, 1.35, 2.09], None) + slots(), TASK
    )
    assert Fault.SAME_SIGNAL in faults(judged) and judged.curve is None


def test_a_linkage_that_folds_over_is_not_monotonic():
    up = [0.6, 1.4, 2.3, 2.0, 1.2, 0.7]
    rows = shed([0, 2, 4, 6, 8, 10], up, None)
    judged = judge_simplest(rows, force_task("in", 10 * INCH_M))
    assert Fault.NOT_MONOTONIC in faults(judged)
    assert judged.verdict is Verdict.REFUSED


def test_a_quadratic_that_turns_inside_the_range_is_refused():
    up = [0.6, 1.2, 1.8, 2.4, 3.0]
    rows = shed([0, 5, 8, 9, 8.4], up, None)
    judged = judge(rows, force_task("in", 9 * INCH_M), CurveKind.QUADRATIC)
    assert Fault.FIT_TURNS in faults(judged)


def test_nan_and_out_of_range_volts_come_before_any_fit():
    for bad, fault in ((float("nan"), Fault.NO_NUMBER), (0.02, Fault.WIRE), (4.9, Fault.WIRE)):
        judged = judge_simplest(shed(up=[0.612, bad, 1.352, 1.718, 2.088]) + slots(), TASK)
        assert fault in faults(judged) and judged.curve is None
        assert judged.findings[0].rows == (2,)


def test_too_few_points_say_how_many_more():
    judged = judge_simplest(shed(CLEAR_IN[:3], CLEAR_UP[:3], CLEAR_DOWN[:3]), TASK)
    assert faults(judged) == [Fault.TOO_FEW]
    assert judged.findings[0].what == "3 of 5 points for the fit"


def test_no_points_at_all_is_too_few_and_no_crash():
    assert Fault.TOO_FEW in faults(judge_simplest((), TASK))


def test_play_beyond_a_quarter_inch_is_hysteresis():
    down = [v + 0.06 for v in CLEAR_UP]
    judged = judge_simplest(shed(down=down) + slots() + proof(), TASK)
    assert Fault.HYSTERESIS in faults(judged)
    assert judged.play is not None and judged.play.hysteresis == pytest.approx(0.06)


def test_a_point_that_does_not_come_back_is_not_repeatable():
    rows = list(shed())
    takes = tuple(Take(v, Approach.UP, v, v) for v in (1.300, 1.352, 1.404))
    rows[2] = replace(rows[2], takes=takes)
    judged = judge_simplest(tuple(rows) + slots() + proof(), TASK)
    assert Fault.NOT_REPEATED in faults(judged)


def test_points_taken_one_way_only_have_to_be_read():
    judged = judge_simplest(shed(down=None) + slots() + proof(), TASK)
    assert judged.verdict is Verdict.PROVEN
    assert Fault.ONE_WAY in [f.fault for f in judged.findings]


def test_a_bent_load_sensor_gets_the_quadratic_and_the_line_is_refused():
    loads = [0.0, 2000.0, 4000.0, 6000.0, 8000.0, 10_000.0]
    signals = [0.5 + 4.0 * (0.8 * (w / 10_000) + 0.2 * (w / 10_000) ** 2) * 0.9 for w in loads]
    rows = rows_from(loads, signals, [s + 0.001 for s in signals])
    judged = judge_simplest(rows, force_task("N", 10_000))
    assert judged.kind is CurveKind.QUADRATIC
    assert Fault.CURVED in faults(judge(rows, force_task("N", 10_000), CurveKind.LINEAR))


def test_a_bent_depth_sensor_within_what_is_allowed_is_still_told_to_take_the_curve():
    """Off by 0.1 in at most on a straight line, well inside 0.25 in, and bent all the same."""
    known = [-6, -4, -2, 0, 2, 4]
    up = [1.6 + 0.18 * k + 0.0014 * k * k for k in known]
    rows = shed(known, up, [v + 0.001 for v in up])
    line = judge(rows, TASK, CurveKind.LINEAR)
    assert max(abs(off) for _, off in line.off) < 0.15 * INCH_M
    assert Fault.CURVED in faults(line)
    assert Fault.CURVED not in faults(judge(rows, TASK, CurveKind.QUADRATIC))


def test_scatter_without_a_pattern_is_not_called_a_bend():
    known = [-6, -4, -2, 0, 2, 4]
    wobble = [0.004, -0.005, 0.003, -0.004, 0.005, -0.003]
    up = [1.6 + 0.18 * k + w for k, w in zip(known, wobble, strict=True)]
    assert Fault.CURVED not in faults(judge(shed(known, up, None), TASK, CurveKind.LINEAR))


def test_a_dead_zone_closed_in_by_points_gets_straight_pieces():
    loads = [0.0, 2000.0, 3500.0, 3900.0, 4000.0, 4100.0, 5000.0, 6000.0, 8000.0]
    signals = [0.50, 0.56, 0.605, 0.617, 0.62, 0.678, 1.2, 1.78, 2.94]
    judged = judge_simplest(rows_from(loads, signals), force_task("N", 8000))
    assert judged.kind is CurveKind.MONOTONE
    assert judged.curve is not None
    assert judged.curve.value(0.59) == pytest.approx(3000.0)


def test_a_dead_zone_whose_end_was_not_closed_in_asks_for_points_there():
    loads = [0.0, 1000.0, 2000.0, 4000.0, 5000.0, 6000.0, 7000.0, 8000.0]
    signals = [0.50, 0.53, 0.56, 0.62, 1.2, 1.78, 2.36, 2.94]
    judged = judge(rows_from(loads, signals), force_task("N", 8000), CurveKind.MONOTONE)
    assert Fault.GAP in faults(judged) and judged.findings[0].rows == (4,)


def test_straight_pieces_do_not_judge_a_point_by_itself():
    """Pieces go through every point, so a bad point must be told by its neighbours."""
    loads = [0.0, 2000.0, 4000.0, 6000.0, 8000.0]
    signals = [0.5, 1.0, 1.7, 2.0, 2.5]
    judged = judge(rows_from(loads, signals), force_task("N", 8000), CurveKind.MONOTONE)
    assert judged.verdict is Verdict.REFUSED
    assert judged.off_of(3) != 0.0


def test_rows_left_out_or_without_a_take_do_not_count():
    rows = list(shed())
    rows[1] = replace(rows[1], known=40 * INCH_M, left_out=True)
    rows.append(Row(6, 4 * INCH_M, Place.SHED))
    judged = judge_simplest(tuple(rows) + slots() + proof(), TASK)
    assert judged.verdict is Verdict.PROVEN
    assert judged.off_of(2) is None and judged.off_of(6) is None


def test_the_mistyped_row_shows_how_far_off_it_is_and_does_not_bend_the_curve():
    judged = judge_simplest(shed([-6, -4, -20, 0, 2]) + slots() + proof(), TASK)
    assert faults(judged) == [Fault.MISTYPED]
    off = judged.off_of(3)
    assert off is not None and off / INCH_M == pytest.approx(-18.0, abs=0.1)
    assert judged.curve is not None and judged.curve.proven_error < 0.1 * INCH_M


def test_every_fault_has_words_and_its_lines_fit_a_plate():
    assert set(WORDS) == set(Fault)
    for words in WORDS.values():
        assert len(words.what) <= 60 and words.mend.endswith((".", "{where}."))

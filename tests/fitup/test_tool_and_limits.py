"""The plan drawing, small changes of the rig, and limits no tighter than their sensors."""

from dataclasses import replace
from pathlib import Path

import pytest

from cabapp.curve import Curve, CurveKind
from cabapp.fitup.edits import (
    accept_curve,
    accept_shares,
    add_sensor,
    next_channel,
    remove_sensor,
    swap_plugs,
    take_port,
    with_shanks,
    with_trip,
)
from cabapp.fitup.geometry import (
    Pattern,
    Thing,
    aside_text,
    doubts,
    drawing,
    pattern_of,
    ranks,
    taped_text,
    vee,
)
from cabapp.fitup.limits import LIMITS, change, limit_rows, refusal, refusals
from cabapp.plan import default_plan
from cabapp.rig import Rig, Sensor, Shank
from cabapp.rigcheck import read_rig
from cabapp.rigfault import RigError
from cabapp.units import INCH_M, UnitSystem

FULL = read_rig((Path(__file__).parents[2] / "config" / "rig-us-full.toml").read_text())


def curve(error):
    return Curve(CurveKind.LINEAR, 0.6, 4.3, coefficients=(-0.2, 0.1), proven_error=error)


@pytest.mark.parametrize(
    ("right_m", "us", "metric"),
    [
        (-1.8, "70 7/8 in left", "180 cm left"),
        (0.0762, "3 in right", "7.62 cm right"),
        (0.0, "in the middle", "in the middle"),
        (-0.0003, "in the middle", "in the middle"),
    ],
)
def test_a_place_beside_the_middle_is_told_as_a_tape_and_a_hand_do(right_m, us, metric):
    assert aside_text(right_m, UnitSystem.US) == us
    assert aside_text(right_m, UnitSystem.METRIC) == metric


def test_a_taped_length_is_in_sixteenths_of_an_inch():
    assert taped_text(4.2, UnitSystem.US) == "165 3/8 in"
    assert taped_text(18 * INCH_M, UnitSystem.US) == "18 in"
    assert taped_text(4.2, UnitSystem.METRIC) == "420 cm"


def test_the_drawing_grows_as_the_tool_is_typed():
    empty = drawing(Rig())
    assert [mark.thing for mark in empty.marks] == [Thing.ANTENNA, Thing.HITCH, Thing.MIDDLE]
    some = drawing(with_shanks(Rig(), vee(3, 0.762, 4.0, 0.45)))
    assert [m.label for m in some.marks if m.thing is Thing.SHANK] == ["1", "2", "3"]
    assert some.back_m[0] == -Rig().tool.hitch_back_m  # the receiver sits ahead of the pin
    assert some.across_m == (-some.width_m / 2, some.width_m / 2)


def test_the_shipped_rig_draws_every_sensor_at_its_place_and_raises_no_doubt():
    shown = drawing(FULL)
    assert sum(mark.thing is Thing.DEPTH for mark in shown.marks) == 4
    springs = {m.label: m.across_m for m in shown.marks if m.thing is Thing.SPRING}
    assert springs["1"] == pytest.approx(-90 * INCH_M)
    assert doubts(FULL) == ()


def test_a_v_of_seven_and_two_ranks_of_seven():
    v = vee(7, 30 * INCH_M, 12.5 * 12 * INCH_M, 18 * INCH_M)
    assert v == tuple(
        Shank(s.number, pytest.approx(s.across_m), pytest.approx(s.back_m))
        for s in FULL.tool.shanks
    )
    two = ranks(7, 0.762, 4.0, 1.2)
    assert [round(s.back_m, 1) for s in two] == [4.0, 5.2, 4.0, 5.2, 4.0, 5.2, 4.0]
    assert sum(s.across_m for s in two) == pytest.approx(0)


@pytest.mark.parametrize(
    ("shanks", "word"),
    [
        ((Shank(1, -3.5, 5.0), Shank(2, 3.5, 5.0)), "outside the working width"),
        ((Shank(1, 0.0, 5.0), Shank(2, 0.02, 5.0)), "in one place"),
        ((Shank(1, 0.8, 5.0), Shank(2, 1.6, 5.0)), "minus sign"),
        ((Shank(1, -0.8, 9.0), Shank(2, 0.8, 9.0)), "hitch to middle"),
    ],
)
def test_what_cannot_be_right_in_the_drawing_is_said(shanks, word):
    rig = replace(Rig(), tool=replace(Rig().tool, shanks=shanks))
    assert any(word in doubt for doubt in doubts(rig))


def test_two_depth_sensors_in_one_place_give_no_level():
    rig = add_sensor(Rig(), Sensor("depth1", "D1", "node"))
    rig = add_sensor(rig, Sensor("depth2", "D2", "node"))
    assert any("one place" in doubt for doubt in doubts(rig))


def test_swapped_plugs_change_wires_and_curves_and_leave_the_places():
    swapped = swap_plugs(FULL, "depth1", "depth2")
    first, was = swapped.sensor("depth1"), FULL.sensor("depth2")
    assert first is not None and was is not None
    assert (first.wire_name, first.cable, first.serial) == (was.wire_name, was.cable, was.serial)
    assert first.across_m == FULL.sensor("depth1").across_m
    assert swap_plugs(swapped, "depth1", "depth2") == FULL


SHARE = Curve(CurveKind.LINEAR, 0.6, 3.6, coefficients=(-0.2, 1 / 3))


def spring_of(trip_n, curve, number=1):
    return Sensor(f"spring{number}", f"S{number}", "node", "V", shank=number, trip_n=trip_n,
                  curve=curve)  # fmt: skip


@pytest.mark.parametrize("before", [None, 22_000.0])
@pytest.mark.parametrize("after", [None, 22_000.0, 30_000.0])
def test_a_trip_that_was_seen_stays_a_hundred_percent_whatever_its_load_is(before, after):
    rig = accept_shares(replace(FULL, sensors=(spring_of(before, None),)), "spring1", SHARE)
    moved = with_trip(rig.sensor("spring1"), after)
    assert moved.trip_n == after
    assert moved.curve.value(3.6) / (after or 1.0) == pytest.approx(1.0)
    assert moved.curve.value(0.6) / (after or 1.0) == pytest.approx(0.0, abs=1e-9)


def test_a_curve_by_loads_stays_in_newtons_and_needs_a_trip_load():
    loads = Curve(CurveKind.LINEAR, 0.6, 3.4, coefficients=(-4400.0, 7333.0))
    moved = with_trip(spring_of(22_000.0, loads), 30_000.0)
    assert (moved.trip_n, moved.curve) == (30_000.0, loads)
    assert with_trip(spring_of(22_000.0, loads), None).startswith("It is calibrated by loads")
    assert with_trip(spring_of(None, loads), 22_000.0).curve == loads


def test_a_curve_that_goes_with_its_plug_reads_in_shares_of_the_other_pack():
    rig = replace(FULL, sensors=(spring_of(None, None), spring_of(22_000.0, None, 2)))
    rig = accept_shares(rig, "spring1", SHARE)
    swapped = swap_plugs(rig, "spring1", "spring2").sensor("spring2")
    assert swapped.wire_name == "S1"
    assert swapped.curve.value(3.6) == pytest.approx(22_000.0)


def test_a_sensor_taken_out_is_not_fitted_and_a_new_one_gets_the_free_number():
    rig = remove_sensor(FULL, "depth2")
    assert rig.sensor("depth2") is None
    assert next_channel(rig, "depth") == "depth2"
    assert next_channel(FULL, "depth") == "depth5"
    assert next_channel(Rig(), "tool_down") == "tool_down"


def test_a_plug_taken_as_receiver_or_node():
    rig = take_port(Rig(), "front", "node", baud=9600)
    assert [port.name for port in rig.ports] == ["gnss", "front"]
    rig = take_port(rig, "front", "receiver")
    assert rig.receiver.port == "front" and len(rig.ports) == 2


def test_an_accepted_curve_needs_a_fitted_sensor():
    assert accept_curve(FULL, "depth1", curve(0.01)).sensor("depth1").curve == curve(0.01)
    with pytest.raises(KeyError):
        accept_curve(Rig(), "depth1", curve(0.01))


def test_shanks_that_are_gone_take_their_spring_sensors_with_them():
    rig = with_shanks(FULL, FULL.tool.shanks[:5])
    assert len(rig.fitted("spring")) == 5


def test_a_band_tighter_than_the_sensor_was_proven_is_refused_with_the_reason():
    wide = replace(FULL, limits=replace(FULL.limits, depth_margin_m=1.5 * INCH_M))
    loose = accept_curve(wide, "depth3", curve(1.5 * INCH_M))
    answer = change(loose, "depth_margin_m", 1.25 * INCH_M)
    assert isinstance(answer, str)
    assert "1.25 in is tighter than Depth 3, rear left was proven, 1.5 in" in answer
    assert isinstance(change(loose, "depth_margin_m", 1.5 * INCH_M), Rig)


@pytest.mark.parametrize("units", list(UnitSystem))
def test_a_limit_that_is_too_tight_can_be_widened_step_by_step_until_it_holds(units):
    """Half an inch wider than now may still be too tight: that is no reason to refuse the way."""
    rig = replace(accept_curve(FULL, "depth3", curve(1.5 * INCH_M)), units=units)
    for _ in range(12):
        tight = [row for row in limit_rows(rig) if refusal(row.kind, rig.limits, rig)]
        if not tight:
            break
        row = tight[0]
        assert row.can_more and not row.can_less
        rig = change(rig, row.kind.attribute, row.value + row.kind.step(units))
        assert isinstance(rig, Rig)
    assert refusals(rig) == ()
    assert rig.limits.depth_margin_m >= 1.5 * INCH_M


def test_springs_that_may_not_be_loaded_so_far_can_be_eased_step_by_step():
    spring = replace(FULL.sensor("spring2"), trip_n=None)
    rig = accept_shares(add_sensor(FULL, spring), "spring2", curve(0.18))
    rig = replace(rig, limits=replace(rig.limits, spring_high=0.95))
    row = next(row for row in limit_rows(rig) if row.kind.attribute == "spring_high")
    assert row.can_less and not row.can_more


def test_level_is_the_difference_of_two_sensors_and_carries_both_errors():
    """0.8 in each is good enough for a band of 1 in, and not for a level of 1 in."""
    loose = accept_curve(FULL, "depth3", curve(0.8 * INCH_M))
    (text,) = refusals(loose)
    assert text.startswith("Level while driving: 1 in is tighter") and "1.13 in" in text


def test_a_limit_already_in_force_is_named_when_its_sensor_turns_out_worse():
    assert refusals(FULL) == ()
    loose = accept_curve(FULL, "depth3", curve(1.5 * INCH_M))
    texts = refusals(loose)
    assert len(texts) == 2  # the depth band, and the level of two such sensors
    assert all("Depth 3" in text for text in texts)


@pytest.mark.parametrize("trip_n", [None, 22_000.0])
def test_a_spring_with_one_trip_seen_cannot_hold_a_limit_of_95_percent(trip_n):
    """Whether its trip is known in newtons or not: the curve then speaks newtons or shares."""
    spring = replace(FULL.sensor("spring2"), trip_n=trip_n)
    rig = accept_shares(add_sensor(FULL, spring), "spring2", curve(0.10))
    assert "Spring 2" in str(change(rig, "spring_high", 0.95))
    assert isinstance(change(rig, "spring_high", 0.90), Rig)


def test_a_witnessed_spring_reads_its_share_whether_the_trip_is_known_in_newtons_or_not():
    share = replace(curve(0.1), coefficients=(-0.3, 1 / 3), offset=0.1)
    known = accept_shares(FULL, "spring2", share).sensor("spring2")
    assert known.curve.value(3.6) / known.trip_n == pytest.approx(1.0)
    bare = replace(FULL.sensor("spring2"), trip_n=None)
    unknown = accept_shares(add_sensor(FULL, bare), "spring2", share).sensor("spring2")
    assert unknown.curve.value(3.6) == pytest.approx(1.0)


def test_slowest_stays_under_fastest_and_bounds_are_said():
    assert change(FULL, "speed_low_mps", 5.0) == "Slowest must stay under fastest."
    assert "outside" in str(change(FULL, "depth_margin_m", 0.5 * INCH_M))


def test_rows_show_what_may_be_touched_in_both_unit_systems():
    rows = {row.kind.attribute: row for row in limit_rows(FULL)}
    assert rows["depth_margin_m"].text == "1 in"
    assert not rows["depth_margin_m"].can_less and rows["depth_margin_m"].can_more
    assert rows["depth_margin_m"].refused
    metric = {r.kind.attribute: r for r in limit_rows(replace(FULL, units=UnitSystem.METRIC))}
    assert metric["line_depth_m"].text == "30.5 cm"


@pytest.mark.parametrize("kind", LIMITS, ids=lambda kind: kind.attribute)
def test_the_page_and_the_rig_file_hold_the_same_bounds(kind):
    """A limit at its bound can be written and read again; beyond it the file refuses too."""
    key, unit = {
        "speed_low_mps": ("speed_low", "m/s"),
        "speed_high_mps": ("speed_high", "m/s"),
        "spring_high": ("spring_high", "%"),
        "depth_margin_m": ("depth_margin", "m"),
        "level_live_m": ("level_live", "m"),
        "level_standing_m": ("level_standing", "m"),
        "line_depth_m": ("line_depth", "m"),
    }[kind.attribute]
    scale = 100 if unit == "%" else 1

    def text(value):
        other = 'speed_high = "6 m/s"\n' if key == "speed_low" else ""
        other = 'speed_low = "0.5 m/s"\n' if key == "speed_high" else other
        return f'version = 1\nid = "r"\n[limits]\n{other}{key} = "{value * scale:.9g} {unit}"\n'

    def refused(value):
        try:
            read_rig(text(value))
        except RigError as error:
            return any(f.key == f"limits.{key}" and " to " in f.expected for f in error.faults)
        return False

    least, most = kind.bounds
    assert not refused(least) and not refused(most)
    assert refused(most * 1.01)
    assert least == 0 or refused(least * 0.99)


def test_a_band_is_never_driven_tighter_than_its_sensors_were_proven():
    limits = replace(FULL.limits, depth_target_m=14 * INCH_M, depth_margin_m=INCH_M)
    loose = replace(FULL, limits=limits)
    loose = accept_curve(loose, "depth1", curve(1.5 * INCH_M))
    plan = default_plan(loose)
    assert plan.depth_low_m == pytest.approx(12.5 * INCH_M)
    assert any("tighter" in text for text in refusals(loose))
    fine = accept_curve(loose, "depth1", curve(0.4 * INCH_M))
    assert default_plan(fine).depth_low_m == pytest.approx(13 * INCH_M)


@pytest.mark.parametrize("pattern", [
    Pattern(False, 7, 0.762, 3.81, 0.4572),
    Pattern(True, 7, 0.762, 3.81, 1.2),
    Pattern(True, 5, 0.6, 4.0, 0.9),
    Pattern(False, 6, 0.762, 3.0, 0.0),
    Pattern(False, 2, 0.762, 3.0, 0.0),
])  # fmt: skip
def test_a_pattern_is_known_again_even_where_one_shank_stands_by_itself(pattern):
    rig = with_shanks(FULL, pattern.shanks())
    found = pattern_of(rig)
    assert found.shanks() == tuple(
        replace(s, across_m=pytest.approx(s.across_m), back_m=pytest.approx(s.back_m))
        for s in pattern.shanks()
    )
    assert found.apart_from(rig.tool.shanks) == ()
    if pattern.count > 4:
        first, *rest = rig.tool.shanks
        moved = replace(first, across_m=first.across_m - 0.12, back_m=first.back_m + 0.11)
        rig = with_shanks(rig, (moved, *rest))
        assert pattern_of(rig).apart_m == pytest.approx(pattern.apart_m)
        assert pattern_of(rig).step_m == pytest.approx(pattern.step_m)
        assert pattern_of(rig).bars is pattern.bars
        assert pattern_of(rig).apart_from(rig.tool.shanks) == (1,)

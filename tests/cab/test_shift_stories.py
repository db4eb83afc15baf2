"""A shift as a person and the record see it: rows, taps, cards, digs, pegs, going on again."""

from dataclasses import replace

import pytest

from cabapp.cab import row_columns
from cabapp.cab.taps import DEPTH_STEP
from cabapp.events import Peg, PegsKnown, PlanChanged, Resumed, TapKind, Tick
from cabapp.ground.kept import keep
from cabapp.ground.worked import Worked
from cabapp.outcome import Card, What
from cabapp.plan import default_plan
from cabapp.units import INCH_M, MPH_MPS, UnitSystem
from cabapp.words import REFUSED, Level, Phase
from tests.cab.drive import Machine, full_rig, receiver_rig, working


@pytest.mark.parametrize("hertz", [1, 10])
def test_a_row_closes_each_receiver_second_with_every_column(hertz: int) -> None:
    machine = working(full_rig(), gnss_hz=hertz)
    assert set(machine.rows[-1].values) == set(row_columns(machine.rig))
    utcs = [row.utc for row in machine.rows if row.utc]
    assert len(utcs) == len(set(utcs))
    assert len(machine.rows) == pytest.approx(65, abs=2)
    assert machine.rows[-1].values["stretch"] == "in"
    assert machine.rows[-1].values["depth_m"] == pytest.approx(14 * INCH_M, abs=0.003)


def test_without_a_fix_rows_go_on_each_second_of_our_own_with_no_place() -> None:
    machine = working()
    machine.receiver_on = False
    before = len(machine.rows)
    machine.go(20)
    lost = machine.rows[before + 1 :]
    assert len(lost) == pytest.approx(19, abs=1)
    assert {row.lat_deg for row in lost} == {None}
    assert lost[-1].values["stretch"] == "unknown"
    assert lost[-1].values["speed_mps"] is None


@pytest.mark.parametrize("begin", [0.0, 0.3, 0.8])
@pytest.mark.parametrize("late_s", [1.7, 2.2, 3.5])
def test_no_second_is_told_twice_when_the_receivers_bytes_come_late_in_one_heap(
    begin: float, late_s: float
) -> None:
    machine = working(full_rig()).go(5 + begin)
    held = b""
    for _ in range(round(late_s * 10)):
        machine.ticks += 1
        machine._move(0.1)
        held += machine._receiver()
        machine.step(Tick(machine.now))
    machine.send("gnss", held)
    machine.go(5)
    utcs = [row.utc for row in machine.rows if row.utc]
    assert len(utcs) == len(set(utcs))
    times = [row.t_s for row in machine.rows]
    assert times == sorted(times)


def test_a_trip_inside_a_second_is_in_the_most_of_its_row() -> None:
    machine = working(full_rig())
    machine.most = {4: 1.25}
    machine.go(0.2)
    machine.most = {}
    machine.go(2.5)
    most = max(row.values["spring4_ratio_most"] for row in machine.rows[-4:])  # type: ignore[type-var]
    assert most == pytest.approx(1.25, abs=0.01)


def test_a_change_of_speed_alters_the_plan_in_force_and_is_recorded() -> None:
    machine = working()
    machine.tap(TapKind.SPEED_TARGET, 1)
    assert machine.cab.plan.speed_high_mps == pytest.approx(7.5 * MPH_MPS)
    machine.go(1)
    assert machine.picture.speed.low_mps == pytest.approx(5.5 * MPH_MPS)
    whats = [m.what for m in machine.moments[-4:]]
    assert What.PLAN in whats and What.TAP in whats


def test_a_target_moved_beyond_an_inch_is_asked_again_at_the_next_stop() -> None:
    machine = working(full_rig())
    for _ in range(3):
        machine.tap(TapKind.DEPTH_TARGET, 1)
    moved = 3 * DEPTH_STEP[UnitSystem.US]
    assert machine.cab.plan.depth_target_m == pytest.approx(14 * INCH_M + moved)
    machine.stop().go(8)
    assert "adjust_next_stop" in machine.notes()


@pytest.mark.parametrize("value", [None, "x", 0, 99, -99])
def test_a_tap_that_makes_no_sense_is_recorded_as_refused(value: object) -> None:
    machine = working(full_rig())
    machine.tap(TapKind.DEPTH_TARGET, value)  # type: ignore[arg-type]
    assert machine.moments[-1].detail == "depth_target refused"


def test_a_peg_has_eight_seconds_for_its_kind() -> None:
    machine = working()
    machine.tap(TapKind.PEG)
    machine.go(1)
    assert machine.picture.card.card is Card.PEG_KIND
    assert machine.picture.field.note == "Peg 1 saved"
    machine.tap(TapKind.PEG_KIND, "pipe")
    machine.go(0.3)
    assert machine.picture.card.card is Card.NONE
    pegs = [(m.value, m.detail) for m in machine.moments if m.what is What.PEG]
    assert pegs == [(1.0, "other"), (1.0, "pipe")]
    machine.tap(TapKind.PEG)
    machine.go(8.2)
    assert machine.picture.card.card is Card.NONE
    machine.tap(TapKind.PEG_KIND, "stone")
    assert machine.moments[-1].detail == "peg_kind refused"


@pytest.mark.parametrize(
    ("kind", "value", "said"),
    [
        (TapKind.PEG, None, "No peg: no position"),
        (TapKind.RAISED, None, "Raised: only at work"),
        (TapKind.DEPTH_TARGET, 1, "Depth stays as it was"),
    ],
)
def test_a_tap_that_can_not_be_done_is_answered_on_the_page(
    kind: TapKind, value: float | None, said: str
) -> None:
    machine = Machine().go(3)
    machine.receiver_on = False
    machine.go(6)
    machine.tap(kind, value)
    machine.go(0.3)
    assert machine.picture.field.note == said
    assert machine.moments[-1].detail == f"{kind.value} refused"
    machine.go(6)
    assert machine.picture.field.note != said


def test_a_pipe_sixty_metres_ahead_is_a_look_and_a_stone_a_note() -> None:
    machine = working()
    ahead = machine.lon + 150 / (111_320 * 0.72)
    machine.step(PegsKnown(machine.now, (Peg(7, "pipe", machine.lat, ahead),)))
    machine.go(20)
    assert machine.onsets("pipe_ahead") == []
    machine.go(25)
    (onset,) = machine.onsets("pipe_ahead")
    assert (onset.level, onset.headline) == (Level.LOOK, "PIPE AHEAD")
    machine.go(30)
    assert len(machine.ends("pipe_ahead")) == 1


def test_a_stop_over_three_minutes_asks_for_its_reason_and_plugged_shows_cautions() -> None:
    machine = working()
    machine.stop().go(185)
    assert machine.picture.card.card is Card.NONE
    machine.go(6)
    assert machine.picture.card.card is Card.STOP_REASON
    machine.tap(TapKind.STOP_REASON, "plugged")
    machine.go(0.3)
    card = machine.picture.card
    assert card.card is Card.PLUGGED
    assert "Engine off, key out, brake on" in card.lines
    machine.tap(TapKind.DISMISS, "plugged")
    assert machine.picture.card.card is Card.NONE


def test_another_driver_reads_the_hand_over() -> None:
    rig = full_rig()
    machine = Machine(rig, replace(default_plan(rig), driver="Ada", field="North")).go(6)
    machine.tap(TapKind.DRIVER, "Ben")
    card = machine.picture.card
    assert card.card is Card.HAND_OVER
    assert card.lines[0] == "Ada drove until now"
    assert machine.cab.plan.driver == "Ben"


def test_who_and_where_are_offered_once_after_work_begins() -> None:
    rig = receiver_rig()
    machine = Machine(rig, replace(default_plan(rig), field="North")).go(5)
    machine.work().go(22)
    assert machine.picture.card.card is Card.NONE
    machine.go(10)
    assert machine.picture.card.card is Card.WHO_WHERE
    assert machine.picture.card.choices == ("field:North",)
    machine.go(65)
    assert machine.picture.card.card is Card.NONE


def test_driver_and_field_of_the_menu_offer_the_names_that_are_known() -> None:
    rig = receiver_rig()
    machine = Machine(rig, replace(default_plan(rig), field="North")).go(5)
    machine.tap(TapKind.DRIVER)
    assert machine.picture.card.card is Card.WHO_WHERE
    assert machine.picture.card.choices == ("field:North",)
    machine.tap(TapKind.DISMISS, "who_where")
    assert machine.picture.card.card is Card.NONE


def test_where_no_name_is_known_yet_the_menu_says_where_to_type_one() -> None:
    rig = receiver_rig()
    machine = Machine(rig, default_plan(rig)).go(5)
    machine.tap(TapKind.FIELD)
    assert machine.picture.card.card is Card.NONE
    assert machine.picture.field.note == REFUSED["field"]


def test_the_first_dig_is_due_after_two_hundred_and_fifty_feet_and_ends_when_dug() -> None:
    machine = Machine().go(5)
    machine.work().go(25)
    assert not machine.picture.field.dig_now
    machine.go(15)
    assert machine.picture.field.dig_now
    assert machine.sounds == []
    machine.stop().go(8)
    assert [s.rule for s in machine.sounds] == ["dig"], "a chime at the first stop"
    machine.work().go(10).stop().go(10)
    assert len(machine.sounds) == 1
    machine.tap(TapKind.DUG, 13.5 * INCH_M)
    machine.go(2)
    view = machine.picture
    assert not view.field.dig_now
    assert view.depth.dug is not None
    assert view.depth.dug.depth_m == pytest.approx(13.5 * INCH_M)
    assert [m.value for m in machine.moments if m.what is What.CHECK] == [13.5 * INCH_M]


def test_rows_at_a_small_angle_are_a_note_on_first_passes_only() -> None:
    rig = receiver_rig()
    plan = replace(default_plan(rig), row_bearing_deg=84.0, first_passes_m2=800.0)
    machine = Machine(rig, plan).go(5)
    machine.work().go(40)
    assert "angle_to_rows" in machine.notes()
    assert machine.picture.field.row_angle_deg == pytest.approx(6.0, abs=1.0)
    machine.go(60)
    assert "angle_to_rows" not in machine.notes()
    assert machine.picture.field.row_angle_deg is None


def test_left_and_finish_come_from_the_typed_area_and_the_rate() -> None:
    rig = receiver_rig()
    machine = Machine(rig, replace(default_plan(rig), area_m2=20_000.0)).go(5)
    machine.work().go(120)
    view = machine.picture.field
    assert view.left_m2 == pytest.approx(20_000 - view.area_m2)
    assert view.rate_m2_s == pytest.approx(6 * MPH_MPS * rig.tool.width_m, rel=0.15)
    assert view.finish > view.clock != ""


def test_parked_hold_opens_pages_without_speed_until_something_moves() -> None:
    machine = Machine(full_rig())
    machine.receiver_on = False
    machine.go(12)
    assert machine.picture.moving and machine.picture.parked_hold
    machine.tap(TapKind.PARKED)
    machine.go(1)
    assert not machine.picture.moving
    machine.mph = 3.0  # a turning wheel
    machine.go(1)
    assert machine.picture.moving


def test_a_shift_goes_on_with_its_area_pegs_and_dug_depth() -> None:
    before = working()
    before.tap(TapKind.PEG)
    before.tap(TapKind.DUG, 0.33)
    before.go(2)
    rows: tuple[dict[str, object], ...] = tuple(
        {"t_s": r.t_s, "lat_deg": r.lat_deg, "lon_deg": r.lon_deg, **r.values} for r in before.rows
    )
    moments: tuple[dict[str, object], ...] = tuple(
        {
            "what": m.what.value,
            "value": m.value,
            "t_s": m.t_s,
            "lat_deg": m.lat_deg,
            "lon_deg": m.lon_deg,
            "detail": m.detail,
        }
        for m in before.moments
    )
    after = Machine()
    ground = keep(Worked.rebuild(before.rig.tool, before.rig.receiver, rows))
    last_s = before.rows[-1].t_s
    after.step(Resumed(after.now, ground, moments, 120.0, "shift-1", last_s))
    after.go(1)
    area = before.cab.field.worked.gross_m2
    assert after.cab.field.worked.gross_m2 == pytest.approx(area, rel=0.02)
    assert after.picture.peg_next == 2
    assert after.picture.depth.dug is not None
    assert after.picture.depth.dug.age_s == pytest.approx(123.0, abs=4.0)
    assert after.picture.card.card is Card.CONTINUED
    assert after.cab.phase in (Phase.UNKNOWN, Phase.STANDING)


def with_trends(machine: Machine) -> Machine:
    """As if it had worked twenty minutes as set, and twenty shallower, left harder, more slip."""
    trends = machine.cab.field.trends
    for depth_in, left, slip in ((14.0, 0.55, 0.05), (13.3, 0.70, 0.07)):
        for _ in range(20 * 60):
            trends.step(depth_in * INCH_M, {"left": left, "right": 0.55}, slip, 1.0)
    return machine


def test_slow_trends_wait_for_the_stop_and_end_when_somebody_has_dug() -> None:
    machine = with_trends(working(full_rig())).go(5)
    trends = {"depth_creeping", "side_rising"}
    assert not machine.notes() & trends, "nobody climbs down from a moving tractor"
    machine.stop().go(10)
    assert machine.notes() >= trends
    said = {m.action for m in machine.onsets() if m.rule in trends}
    assert said == {"Depth creeping: dig", "Left springs rising: look", "Slip rising: look"}
    machine.tap(TapKind.DUG, 13.3 * INCH_M)
    machine.go(2)
    assert not machine.notes() & trends
    assert len(machine.ends("side_rising")) == 2


def test_a_change_of_driver_or_speed_band_leaves_slow_trends_as_they_are() -> None:
    machine = with_trends(working(full_rig()))
    machine.tap(TapKind.SPEED_TARGET, -1)
    machine.stop().go(10)
    machine.tap(TapKind.DRIVER, "Ada")
    machine.go(2)
    assert machine.notes() >= {"depth_creeping", "side_rising"}


def test_a_tool_set_anew_is_asked_about_its_trends_anew() -> None:
    machine = with_trends(working(full_rig())).stop().go(10)
    machine.step(PlanChanged(machine.now, replace(machine.cab.plan, set_today=True)))
    machine.go(2)
    assert not machine.notes() & {"depth_creeping", "side_rising"}

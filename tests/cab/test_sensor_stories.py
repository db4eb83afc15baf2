"""Stories of a rig with every sensor: depth, layer, level, springs, trips, slip, the switch."""

from dataclasses import replace

import pytest

from cabapp.events import PlanChanged, TapKind
from cabapp.outcome import ShankState, TileState, What
from cabapp.plan import default_plan
from cabapp.units import INCH_M
from cabapp.words import Level, Phase
from tests.cab.drive import Machine, full_rig, working


def told(machine: Machine) -> list[str]:
    """Rules that were told, notes apart."""
    return [m.rule for m in machine.onsets() if m.level is not Level.NOTE]


def set_today(machine: Machine, **changes: object) -> Machine:
    plan = replace(default_plan(machine.rig), set_today=True, **changes)  # type: ignore[arg-type]
    machine.step(PlanChanged(machine.now, plan))
    return machine.go(1)


def headland(machine: Machine, seconds: float = 14.0) -> Machine:
    """Lift, turn round, straighten."""
    machine.lift()
    machine.mph = 4.5
    machine.go(3)
    machine.turn_dps = 180.0 / seconds
    machine.go(seconds)
    machine.turn_dps = 0.0
    return machine.go(3)


def test_all_in_band_counts_every_channel_that_a_rule_needs() -> None:
    machine = set_today(working(full_rig()))
    assert machine.picture.band.headline == "ALL IN BAND"
    assert machine.picture.band.action == "all 14 reading"
    assert told(machine) == []


def test_a_rig_without_a_plan_for_the_day_says_so() -> None:
    machine = working(full_rig())
    assert machine.picture.band.headline == "NOT SET TODAY"


def test_ten_headlands_of_ordinary_work_raise_nothing() -> None:
    machine = working(full_rig())
    for _ in range(10):
        headland(machine)
        machine.work().go(40)
    assert told(machine) == []
    assert machine.sounds == []


def test_too_shallow_is_told_after_eight_seconds_and_says_deeper() -> None:
    machine = working(full_rig())
    machine.depth_in = 12.6
    machine.go(20)
    (onset,) = machine.onsets("depth_out")
    assert (onset.headline, onset.action) == ("TOO SHALLOW", "Deeper 1 1/2 in")
    assert machine.picture.depth.word == "SHALLOW"
    assert machine.picture.depth.state is TileState.ABOVE


def test_a_little_deep_is_a_note_and_far_too_deep_a_look() -> None:
    machine = working(full_rig())
    machine.depth_in = 15.8
    machine.go(20)
    assert "too_deep_slightly" in machine.notes()
    assert told(machine) == []
    machine.depth_in = 16.9
    machine.go(20)
    assert set(told(machine)) <= {"depth_out", "depth_far_out"}
    assert machine.picture.band.headline == "TOO DEEP"


def test_twice_out_and_above_the_layer_are_one_alert_and_one_sound() -> None:
    machine = set_today(working(full_rig()), layer_top_m=10 * INCH_M, layer_bottom_m=13.0 * INCH_M)
    machine.go(30)
    for inches in (13.5, 13.0, 12.5, 12.0, 11.5, 11.0):  # slowly: soil, not a lever
        machine.depth_in = inches
        machine.go(3)
    machine.go(10)
    band = machine.picture.band
    assert band.headline == "ABOVE LAYER"
    assert band.chips == () and band.more == 0
    assert len({s.number for s in machine.sounds}) <= 2


def test_raised_on_purpose_rests_depth_and_reminds_after_a_hundred_metres() -> None:
    machine = working(full_rig())
    machine.depth_in = 11.0  # three inches at once: a lever, not soil
    machine.go(30)  # 80 m
    assert "raised_on_purpose" in machine.notes()
    assert told(machine) == []
    machine.go(10)
    assert "raised_on_purpose" in machine.notes()
    machine.go(20)
    assert set(told(machine)) == {"depth_far_out", "depth_out"}
    machine.depth_in = 14.0
    machine.go(10)
    assert machine.active() == set()


def test_a_ripple_of_the_ground_is_no_lever() -> None:
    machine = working(full_rig())
    for inches in (12.9, 11.9, 11.9, 12.9):  # two inches and more, for two tenths of a second
        machine.depth_in = inches
        machine.go(0.1)
    machine.depth_in = 14.0
    machine.go(10)
    assert machine.onsets("raised_on_purpose") == []


def test_a_slow_lift_at_the_headland_is_no_lever() -> None:
    machine = working(full_rig())
    for tenth in range(1, 61):  # six seconds from 14 in to 4 in above the ground
        machine.depth_in = 14.0 - 0.3 * tenth
        machine.down = machine.depth_in > 2.0
        machine.go(0.1)
    machine.lift().go(5)
    assert machine.onsets("raised_on_purpose") == []


def test_a_stretch_that_stays_shallow_is_told_at_forty_metres() -> None:
    machine = working(full_rig())
    headland(machine)
    machine.work()
    machine.depth_in = 9.0
    machine.go(14)  # 2.7 m/s: 37 m
    assert told(machine) == []
    machine.go(3)
    assert told(machine)[0] in {"depth_out", "depth_far_out"}


def test_rear_low_needs_a_hundred_and_fifty_metres_of_it() -> None:
    machine = working(full_rig())
    machine.depth_in = {1: 13.3, 2: 13.3, 3: 14.8, 4: 14.8}
    machine.go(30)  # 80 m of it: the mean of 150 m is not yet an inch off
    assert told(machine) == []
    machine.go(30)
    assert told(machine) == ["level"]
    assert machine.picture.band.headline == "REAR LOW"


def test_one_spring_over_ninety_percent_for_five_seconds_is_ease_off() -> None:
    machine = working(full_rig())
    machine.share = dict.fromkeys(range(1, 8), 0.55) | {3: 0.93}
    machine.go(4.5)
    assert told(machine) == []
    machine.go(1.5)
    assert told(machine) == ["ease_off"]
    assert machine.picture.springs.number == 3
    assert machine.picture.springs.shanks[2].state is ShankState.HIGH


def test_trips_are_counted_for_each_shank_and_three_in_a_minute_are_told() -> None:
    machine = working(full_rig())
    normal = dict.fromkeys(range(1, 8), 0.55)
    for _ in range(3):
        machine.share = normal | {5: 1.3}
        machine.go(0.5)
        machine.share = normal
        machine.go(5)
    assert machine.cab.sense.springs.totals() == (0, 0, 0, 0, 3, 0, 0)
    assert [m.value for m in machine.moments if m.what is What.TRIP] == [5, 5, 5]
    assert machine.onsets("shank_tripping")[0].action == "Shank 5, next stop"


def test_a_trip_shorter_than_the_node_speaks_is_counted_from_its_most() -> None:
    machine = working(full_rig())
    machine.most = {4: 1.2}
    machine.go(0.1)
    machine.most = {}
    machine.go(5)
    assert machine.cab.sense.springs.totals()[3] == 1
    assert told(machine) == []


def test_a_shank_that_stays_up_is_an_act_until_its_value_comes_back() -> None:
    machine = working(full_rig())
    machine.share = dict.fromkeys(range(1, 8), 0.5) | {5: 1.4}
    machine.go(4.5)
    (onset,) = machine.onsets("shank_stayed_up")
    assert (onset.level, onset.value, onset.action) == (
        Level.ACT,
        5,
        "Look back: shank 5 stayed up",
    )
    machine.muted = {"SPRING5"}
    machine.go(20)
    assert machine.ends("shank_stayed_up") == []
    machine.muted = set()
    machine.share = 0.5
    machine.go(3)
    assert len(machine.ends("shank_stayed_up")) == 1


def test_a_slack_shank_is_told_after_ten_seconds() -> None:
    machine = working(full_rig())
    machine.share = dict.fromkeys(range(1, 8), 0.6) | {2: 0.1}
    machine.go(12)
    assert told(machine) == ["shank_not_pulling"]
    assert machine.onsets("shank_not_pulling")[0].action == "Stop, see shank 2"


def test_slip_climbs_from_look_to_digging_in() -> None:
    machine = working(full_rig())
    machine.slip = 0.19
    machine.go(25)  # both speeds are means of three seconds
    assert told(machine) == ["slip"]
    assert machine.picture.band.headline == "SLIP 19 %"
    machine.slip = 0.45
    machine.go(7)
    assert machine.picture.band.headline == "DIGGING IN"


def test_turning_in_the_ground_is_look_then_act() -> None:
    machine = working(full_rig())
    machine.turn_dps = 12.0
    machine.go(4)
    assert told(machine) == ["turning_in_ground"]
    machine.go(4)
    assert "turning_hard_in_ground" in told(machine)
    assert machine.picture.band.level is Level.ACT
    machine.turn_dps = 0.0
    machine.go(5)
    assert machine.active() == set()


def test_backing_with_the_switch_down_is_an_act_and_lifting_ends_it() -> None:
    machine = working(full_rig())
    machine.stop().go(6)
    machine.course = (machine.course + 180.0) % 360.0
    machine.mph = 2.0
    machine.go(5)
    assert "backing_in_ground" in told(machine)
    machine.lift().go(1)
    assert len(machine.ends("backing_in_ground")) == 1


def test_backing_with_the_tool_lifted_is_nobodys_business() -> None:
    machine = working(full_rig())
    machine.stop().go(6)
    machine.lift().go(3)
    machine.course = (machine.course + 180.0) % 360.0
    machine.mph = 2.0
    machine.go(6)
    assert machine.cab.phase is Phase.BACKING
    assert told(machine) == []


def test_hooked_is_told_a_second_after_it_holds() -> None:
    machine = working(full_rig())
    machine.real_mph = machine.mph = 0.5
    machine.share = dict.fromkeys(range(1, 8), 0.7) | {4: 1.2}
    machine.go(2.5)
    assert "hooked" in told(machine)
    assert machine.picture.band.headline == "STOP"


def test_a_pulled_depth_cable_names_the_cable_and_the_rest_goes_on() -> None:
    machine = working(full_rig())
    machine.muted = {"DEPTH2"}
    machine.go(6)
    (onset,) = machine.onsets("no_depth")
    assert (onset.headline, onset.action) == ("NO DEPTH 2", "Check cable 2, right")
    assert machine.picture.depth.value_m == pytest.approx(14 * INCH_M, abs=0.01)
    assert len(machine.sounds) == 1
    machine.muted = set()
    machine.go(4)
    assert len(machine.ends("no_depth")) == 1


def test_all_depth_lost_leaves_no_figure() -> None:
    machine = working(full_rig())
    machine.depth_in = dict.fromkeys(range(1, 5), None)
    machine.go(6)
    view = machine.picture.depth
    assert view.state is TileState.NO_READING
    assert (view.value_m, view.front_m, view.rear_m) == (None, None, None)
    assert machine.picture.band.headline == "NO DEPTH"


def test_one_depth_sensor_alone_tells_no_front_and_no_rear() -> None:
    machine = working(full_rig())
    machine.depth_in = {1: 14.0} | dict.fromkeys(range(2, 5), None)
    machine.go(6)
    view = machine.picture.depth
    assert view.value_m == pytest.approx(14 * INCH_M, abs=0.01)
    assert (view.front_m, view.rear_m, view.side) == (None, None, None)


def test_a_dead_node_is_told_first_for_what_an_act_needs() -> None:
    machine = working(full_rig())
    machine.node_on = False
    machine.go(8)
    assert machine.picture.band.headline == "NO SPRINGS"
    chips = [chip.word for chip in machine.picture.band.chips]
    assert chips == ["SWITCH", "DEPTH"]
    assert machine.picture.band.more == 1


def test_a_lost_switch_is_told_and_work_goes_on_by_speed_and_turns() -> None:
    machine = working(full_rig(depth=False, springs=False, wheel=False))
    machine.muted = {"TOOLDOWN"}
    machine.node_on = False
    machine.go(10)
    assert told(machine) == ["no_switch"]
    assert machine.cab.phase is Phase.WORKING
    machine.turn_dps = 15.0
    machine.go(6)
    assert machine.cab.phase is Phase.TURNING


def test_a_lost_switch_does_not_claim_a_speed_that_nobody_knows() -> None:
    machine = working(full_rig(depth=False, springs=False))
    machine.node_on = machine.receiver_on = False
    machine.go(5)
    assert machine.picture.band.headline == "NO SWITCH"
    assert machine.picture.band.action == "Check node plug"
    machine.receiver_on = True
    machine.go(5)
    assert machine.picture.band.action == "Going by speed and turns"


def test_a_frozen_depth_sensor_is_named_in_work_only() -> None:
    machine = working(full_rig())
    machine.freeze = {3}
    machine.go(35)
    assert told(machine) == ["depth_stuck"]
    assert machine.onsets("depth_stuck")[0].action == "Check arm 3, left"


def test_an_arm_that_only_shivers_by_a_count_is_stuck() -> None:
    """The same three neighbouring figures for half a minute: a converter, not a field."""
    machine = working(full_rig())
    machine.freeze = {3}
    for turn in range(36):
        inches = 14.0 + 0.02 * (turn % 3)  # half a millimetre a count
        machine.depth_in = dict.fromkeys(range(1, 5), 14.0) | {3: inches}
        machine.go(1)
    assert told(machine) == ["depth_stuck"]


def drifting(machine: Machine, number: int, to_in: float, a_second_in: float = 0.05) -> Machine:
    """One depth sensor of four drifts away, too slowly for any jump to be seen."""
    depth_in = 14.0
    step_in = a_second_in if to_in > depth_in else -a_second_in
    while abs(depth_in - to_in) > 1e-6:
        depth_in = round(depth_in + step_in, 3)
        machine.depth_in = dict.fromkeys(range(1, 5), 14.0) | {number: depth_in}
        machine.go(1)
    return machine


@pytest.mark.parametrize(("number", "to_in"), [(4, 16.0), (1, 12.0), (2, 16.0)])
def test_a_depth_sensor_that_drifts_is_named_and_no_longer_believed(
    number: int, to_in: float
) -> None:
    machine = drifting(working(full_rig()), number, to_in)
    machine.go(20)
    (onset,) = machine.onsets("depth_sensor_disagrees")
    assert onset.action == f"Depth {number} disagrees"
    assert machine.picture.depth.value_m == pytest.approx(14 * INCH_M, abs=0.005)
    assert told(machine) == []
    assert machine.sounds == []
    machine.depth_in = 14.0
    machine.go(20)
    assert len(machine.ends("depth_sensor_disagrees")) == 1


def test_a_headland_neither_names_a_sensor_nor_clears_one() -> None:
    machine = drifting(working(full_rig()), 4, 16.0)
    machine.go(15)
    before = machine.depth_in
    headland(machine)
    machine.work()
    machine.depth_in = before
    machine.go(40)
    assert machine.notes() >= {"depth_sensor_disagrees"}
    assert machine.picture.depth.value_m == pytest.approx(14 * INCH_M, abs=0.005)


def test_a_frame_that_leans_is_level_news_and_nobodys_lie() -> None:
    machine = working(full_rig())
    machine.depth_in = {1: 13.0, 2: 14.0, 3: 13.0, 4: 14.0}
    machine.go(90)
    assert machine.onsets("depth_sensor_disagrees") == []
    assert "level" in told(machine)


def test_springs_loaded_while_the_switch_says_up_is_no_reading() -> None:
    machine = working(full_rig())
    machine.down = False
    machine.go(4)
    assert "depth_and_springs_disagree" in told(machine)
    assert machine.picture.band.headline == "UP OR DOWN?"


def test_up_or_down_is_heard_once_and_ends_three_seconds_after_they_agree() -> None:
    machine = working(full_rig())
    machine.down = False
    machine.go(60)
    assert told(machine) == ["depth_and_springs_disagree"]
    assert len(machine.sounds) == 1
    machine.down = True
    machine.go(2.5)
    assert machine.ends("depth_and_springs_disagree") == []
    machine.go(1)
    assert len(machine.ends("depth_and_springs_disagree")) == 1


def test_springs_that_take_two_seconds_to_let_go_at_the_lift_are_no_disagreement() -> None:
    machine = working(full_rig())
    machine.down, machine.depth_in = False, -4.0
    machine.go(2)
    machine.lift().go(10)
    assert told(machine) == []


def test_a_turn_under_load_is_told_although_the_switch_says_up() -> None:
    """A bent switch bracket: the load is the better witness of a tool in the ground."""
    machine = working(full_rig())
    machine.down = False
    machine.go(5)
    machine.turn_dps = 12.0
    machine.go(8)
    assert "turning_hard_in_ground" in told(machine)
    assert machine.picture.band.level is Level.ACT


def test_backing_under_load_is_told_although_the_switch_says_up() -> None:
    machine = working(full_rig())
    machine.down = False
    machine.go(5)
    machine.stop().go(6)
    machine.course = (machine.course + 180.0) % 360.0
    machine.mph = 2.0
    machine.go(6)
    assert "backing_in_ground" in told(machine)


def test_a_sensor_set_aside_is_quiet_but_never_fine() -> None:
    machine = set_today(working(full_rig()))
    machine.muted = {"DEPTH1", "DEPTH2", "DEPTH3", "DEPTH4"}
    machine.go(8)
    machine.tap(TapKind.SET_ASIDE, "depth1")
    assert machine.cab.sense.set_aside == set(), "only parked"
    machine.stop().go(8)
    for n in range(1, 5):
        machine.tap(TapKind.SET_ASIDE, f"depth{n}")
    machine.go(1)
    assert machine.active() == set()
    machine.work().go(40)
    assert machine.picture.band.headline == "PART KNOWN"
    assert machine.picture.depth.state is TileState.OUT_OF_USE


def test_without_a_switch_depth_and_springs_together_say_lifted() -> None:
    machine = working(full_rig(switch=False))
    assert machine.cab.phase is Phase.WORKING
    machine.lift().go(3)
    assert machine.cab.phase is Phase.LIFTED
    machine.work().go(5)
    assert machine.cab.phase is Phase.WORKING
    assert told(machine) == []


def test_a_depth_sensor_alone_never_says_lifted() -> None:
    machine = working(full_rig(switch=False))
    machine.depth_in = -4.0
    machine.go(5)
    assert machine.cab.phase is Phase.WORKING
    assert "depth_and_springs_disagree" in told(machine)


def test_a_forgotten_tool_inside_todays_block_is_told() -> None:
    machine = Machine(full_rig()).go(5)
    for _ in range(4):
        machine.work().go(60)
        machine.lift()
        machine.turn_dps = 58.0
        machine.go(3.1)
        machine.turn_dps = 0.0
    machine.mph = 6.0
    machine.go(40)
    assert "tool_is_up" in told(machine)


def test_driving_off_over_worked_ground_faster_than_work_is_no_forgotten_tool() -> None:
    machine = Machine(full_rig()).go(5)
    for _ in range(4):
        machine.work().go(60)
        machine.lift()
        machine.turn_dps = 58.0
        machine.go(3.1)
        machine.turn_dps = 0.0
    machine.mph = machine.real_mph = 10.0
    machine.go(30)
    assert "tool_is_up" not in told(machine)


def test_level_view_and_side_are_none_without_the_sensors_for_them() -> None:
    machine = working(full_rig(depth=False))
    assert machine.picture.depth.state is TileState.NOT_LIVE
    assert machine.picture.depth.side is None

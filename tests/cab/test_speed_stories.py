"""Stories of the receiver alone: speed, phases, lost position, and what the band says meanwhile."""

import pytest

from cabapp.events import TapKind
from cabapp.outcome import Quieting, TileState, What
from cabapp.units import UnitSystem
from cabapp.words import Level, Phase
from tests.cab.drive import Machine, full_rig, receiver_rig, working


def fast_for(machine: Machine, seconds: float) -> Machine:
    """Over the band for so long by the judged mean, from a steady 6 mph."""
    machine.mph = machine.real_mph = 9.0
    return machine.go(seconds)


def test_steady_work_in_band_says_nothing_and_calls_depth_unmeasured() -> None:
    machine = working().go(120)
    assert [m for m in machine.onsets() if m.level is not Level.NOTE] == []
    assert machine.sounds == []
    assert machine.picture.band.headline == "SPEED ONLY"
    assert machine.picture.speed.state is TileState.IN_BAND


def test_too_fast_is_said_after_six_seconds_once_and_once_more() -> None:
    machine = working()
    before = machine.now
    fast_for(machine, 40)
    (onset,) = machine.onsets("too_fast")
    assert (onset.headline, onset.action) == ("TOO FAST", "Ease to 7")
    crossed = onset.t_s - 6.0 - (before - machine.start_s - 0.1)
    assert 0.5 < crossed < 2.0  # the 3 s mean crosses the limit within this
    assert [round(s.at - machine.sounds[0].at, 1) for s in machine.sounds] == [0.0, 20.0]


def test_a_burst_shorter_than_the_delay_is_nobodys_business() -> None:
    machine = working()
    fast_for(machine, 3.0)
    machine.mph = machine.real_mph = 6.0
    machine.go(30)
    assert machine.onsets("too_fast") == []


def test_the_mark_is_shown_at_once_and_the_frame_with_the_alert() -> None:
    machine = fast_for(working(), 3.0)
    assert machine.picture.speed.state is TileState.ABOVE
    assert not machine.picture.speed.framed
    assert machine.picture.band.headline == "WORKING"
    machine.go(6)
    assert machine.picture.speed.framed
    assert machine.picture.speed.word == "FAST"


def test_it_ends_below_the_deadband_for_two_seconds() -> None:
    machine = fast_for(working(), 12)
    machine.mph = machine.real_mph = 6.9  # inside the deadband of 0.3 mph
    machine.go(20)
    assert machine.ends("too_fast") == []
    machine.mph = machine.real_mph = 6.5
    machine.go(6)
    assert len(machine.ends("too_fast")) == 1


def test_slow_is_hard_ground_and_never_asks_for_more_speed() -> None:
    machine = working()
    machine.mph = 4.0
    machine.go(30)
    (onset,) = machine.onsets("hard_here")
    assert (onset.headline, onset.action) == ("HARD HERE", "Gear down")


def test_slow_setting_in_is_free_for_twenty_seconds_and_forty_metres() -> None:
    machine = Machine(full_rig()).go(5)
    machine.work(4.0).go(25)  # 1.8 m/s: 40 m only after 22 s, then 12 s and 25 m
    assert machine.onsets("hard_here") == []
    machine.go(20)
    assert len(machine.onsets("hard_here")) == 1


def test_a_turn_ends_the_alert_and_is_no_alert_on_a_receiver_alone() -> None:
    machine = fast_for(working(), 12)
    assert machine.active() == {"too_fast"}
    machine.turn_dps = 15.0
    machine.go(5)
    assert machine.cab.phase is Phase.TURNING
    assert machine.active() == set()
    assert len(machine.ends("too_fast")) == 1


def test_headlands_make_no_noise_and_every_pass_is_found() -> None:
    machine = Machine().go(5)
    for _ in range(4):
        machine.work(6.0).go(60)
        machine.mph = 4.0
        machine.go(3)
        machine.turn_dps = 18.0
        machine.go(10)
        machine.turn_dps = 0.0
    machine.work().go(20)
    phases = [m.value for m in machine.moments if m.what is What.PHASE]
    assert phases.count("turning") == 4
    assert phases.count("working") == 5
    assert [m for m in machine.onsets() if m.level is not Level.NOTE] == []


def test_lost_position_in_work_is_told_after_ten_seconds_with_no_number_left() -> None:
    machine = working()
    machine.receiver_on = False
    machine.go(3.5)
    assert machine.picture.speed.value_mps is None
    assert machine.picture.speed.state is TileState.NO_READING
    assert machine.picture.band.headline == "WAITING"
    assert machine.onsets("no_position") == []
    machine.go(7)
    (onset,) = machine.onsets("no_position")
    assert onset.headline == "NO POSITION"
    assert onset.action == "Check receiver plug"
    assert len(machine.sounds) == 1


def test_a_receiver_without_sky_says_wait_for_open_sky() -> None:
    machine = working()
    machine.fix = False
    machine.go(12)
    assert machine.onsets("no_position")[0].action == "Wait for open sky"


def test_an_active_alert_is_never_cleared_by_lost_data() -> None:
    machine = fast_for(working(), 12)
    machine.receiver_on = False
    machine.go(60)
    assert "too_fast" in machine.active()
    assert machine.ends("too_fast") == []


def test_a_receiver_that_sends_no_speed_is_told_so() -> None:
    machine = Machine()
    machine.sends_speed = False
    machine.go(20)
    (onset,) = machine.onsets("no_speed_sent")
    assert onset.action == "It sends no speed"
    assert machine.picture.speed.value_mps is None


def slow_after_a_gap() -> Machine:
    """A minute without a receiver, then straight on at a crawl that is no working speed."""
    machine = working()
    machine.receiver_on = False
    machine.mph = 2.5
    machine.go(60)
    machine.receiver_on = True
    return machine.go(60)


def test_slow_and_straight_after_a_gap_is_waiting_and_never_shown_as_work() -> None:
    """Lifted or working: nothing tells, and 2.5 mph is no working speed to guess by."""
    machine = slow_after_a_gap()
    assert machine.cab.phase is Phase.UNKNOWN
    assert machine.picture.band.headline == "WAITING"
    assert machine.onsets("hard_here") == []


def test_a_tap_or_working_speed_says_what_a_slow_pass_is() -> None:
    machine = slow_after_a_gap()
    machine.tap(TapKind.TOOL, "down")
    machine.go(1)
    assert machine.cab.phase is Phase.WORKING
    faster = slow_after_a_gap()
    faster.mph = 5.0
    faster.go(6)
    assert faster.cab.phase is Phase.WORKING


def test_standing_at_the_headland_resumes_work_without_a_new_run() -> None:
    machine = working()
    machine.stop().go(20)
    assert machine.cab.phase is Phase.STANDING
    assert machine.picture.band.headline == "STANDING"
    machine.work().go(20)
    assert machine.cab.phase is Phase.WORKING
    assert [m.detail for m in machine.moments if m.what is What.RUN] == ["started"]


def test_road_speed_takes_back_a_lane_that_was_taken_for_a_run() -> None:
    machine = working()
    assert machine.cab.field.worked.gross_m2 > 500
    machine.mph = 16.0
    machine.go(20)
    assert machine.cab.phase is Phase.ROAD
    assert [m.detail for m in machine.moments if m.what is What.RUN] == ["started", "withdrawn"]
    assert machine.cab.field.worked.gross_m2 == pytest.approx(0.0, abs=1.0)
    assert machine.active() <= {"angle_to_rows"}


def test_a_field_with_passes_beside_each_other_is_kept_over_the_road() -> None:
    machine = Machine().go(5)
    for _ in range(4):
        machine.work(6.0).go(45)
        machine.turn_dps = 58.0  # comes back one width beside
        machine.go(3.1)
        machine.turn_dps = 0.0
    area = machine.cab.field.worked.gross_m2
    machine.mph = 16.0
    machine.go(30)
    assert "kept" in [m.detail for m in machine.moments if m.what is What.RUN]
    assert machine.cab.field.worked.gross_m2 >= area


def test_the_tool_button_corrects_the_guess() -> None:
    machine = working()
    assert machine.picture.tool_button is not None
    assert machine.picture.tool_button.down is True
    machine.tap(TapKind.TOOL, "up")
    machine.go(1)
    assert machine.cab.phase is Phase.LIFTED
    machine.tap(TapKind.TOOL, "down")
    machine.go(1)
    assert machine.cab.phase is Phase.WORKING


def test_backing_after_a_stop_in_work_is_an_act_and_says_so_within_metres() -> None:
    machine = working()
    machine.stop().go(6)
    machine.course = (machine.course + 180.0) % 360.0
    machine.mph = 2.0
    machine.go(8)
    (onset,) = machine.onsets("backing_in_ground")
    assert (onset.level, onset.headline) == (Level.ACT, "STOP")
    assert machine.picture.band.quieting is Quieting.CAN_QUIET
    machine.stop().go(6)
    assert len(machine.ends("backing_in_ground")) == 1


def test_backing_in_the_yard_before_any_work_is_silent() -> None:
    machine = Machine().go(5)
    machine.mph = 2.5
    machine.go(6)
    machine.stop().go(5)
    machine.course = 270.0
    machine.mph = 2.5
    machine.go(8)
    assert machine.cab.phase is Phase.BACKING
    assert machine.onsets("backing_in_ground") == []


def test_metric_rigs_are_told_in_metric() -> None:
    machine = fast_for(working(receiver_rig(UnitSystem.METRIC)), 12)
    assert machine.onsets("too_fast")[0].action == "Ease to 11.3"


@pytest.mark.parametrize("hertz", [1, 2, 5, 10])
def test_every_rate_of_receiver_tells_the_same_story(hertz: int) -> None:
    machine = working(gnss_hz=hertz)
    fast_for(machine, 20)
    assert machine.rules().count("too_fast") == 1
    machine.turn_dps = 15.0
    machine.go(8)
    assert machine.cab.phase is Phase.TURNING

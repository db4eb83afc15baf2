"""What the driver hears: one act sound, few look sounds, and quiet that holds and breaks."""

from dataclasses import replace
from itertools import pairwise

from cabapp.events import Health, HealthKind, Tap, TapKind
from cabapp.outcome import Pattern, Quieting, What
from cabapp.plan import default_plan
from cabapp.rig import Rig
from cabapp.words import Level, Rule
from tests.cab.drive import Machine, full_rig, working


def slack(machine: Machine, *shanks: int) -> Machine:
    machine.share = dict.fromkeys(range(1, 8), 0.6) | dict.fromkeys(shanks, 0.1)
    return machine


def too_fast(machine: Machine) -> Machine:
    machine.mph = machine.real_mph = 9.0
    return machine.go(12)


def in_band(machine: Machine, seconds: float) -> Machine:
    machine.mph = machine.real_mph = 6.0
    return machine.go(seconds)


def looks(machine: Machine) -> list[float]:
    return [s.at for s in machine.sounds if s.pattern is Pattern.LOOK]


def acts(machine: Machine) -> list[float]:
    return [round(s.at, 1) for s in machine.sounds if s.pattern is Pattern.ACT]


def stayed_up(machine: Machine) -> Machine:
    machine.share = dict.fromkeys(range(1, 8), 0.5) | {5: 1.4}
    return machine


def test_act_sounds_each_two_and_a_half_seconds_and_louder_after_five() -> None:
    machine = stayed_up(working(full_rig())).go(14)
    times = acts(machine)
    assert [round(b - a, 1) for a, b in pairwise(times)][:3] == [2.5] * 3
    assert [s.louder for s in machine.sounds if s.pattern is Pattern.ACT][:4] == [
        False,
        False,
        True,
        True,
    ]


def test_quiet_holds_an_act_for_thirty_seconds_only() -> None:
    machine = stayed_up(working(full_rig())).go(5)
    machine.tap(TapKind.QUIET)
    tapped = machine.now
    before = len(acts(machine))
    machine.go(29)
    assert len(acts(machine)) == before
    assert machine.picture.band.quieting is Quieting.QUIETED
    assert machine.picture.band.quiet_left_s is not None
    machine.go(2)
    assert acts(machine)[before] == round(tapped + 30.0, 1)


def test_a_quieted_look_stays_silent_when_it_returns() -> None:
    machine = too_fast(working())
    machine.tap(TapKind.QUIET)
    heard = len(machine.sounds)
    for _ in range(3):
        in_band(machine, 30)
        too_fast(machine)
    assert len(machine.onsets("too_fast")) == 4
    assert len(machine.sounds) == heard
    assert [m.rule for m in machine.moments if m.what is What.QUIET] == ["too_fast"]


def test_a_quieted_look_that_becomes_an_act_sounds_at_once() -> None:
    machine = working(full_rig())
    machine.turn_dps = 12.0
    machine.go(4)
    machine.tap(TapKind.QUIET)
    assert acts(machine) == []
    machine.go(4)
    (onset,) = machine.onsets("turning_hard_in_ground")
    assert acts(machine)[0] - machine.start_s - onset.t_s < 0.3 + 0.2


def test_all_looks_together_sound_three_times_in_ten_minutes_at_most() -> None:
    machine = working()
    for _ in range(6):
        too_fast(machine)
        machine.go(20)
        in_band(machine, 20)
    times = looks(machine)
    assert all(sum(t <= u < t + 600 for u in times) <= 3 for t in times)
    assert len(machine.onsets("too_fast")) == 6


def test_many_alerts_at_once_are_one_headline_two_chips_and_a_count_with_one_sound() -> None:
    machine = working(full_rig())
    before = len(machine.sounds)
    machine.node_on = False
    machine.go(8)
    band = machine.picture.band
    assert len(band.chips) == 2
    assert band.more >= 1
    assert len(machine.sounds) - before == 1
    again = working(full_rig())
    again.node_on = False
    again.go(8)
    assert again.picture.band == band


def headland(machine: Machine) -> Machine:
    machine.lift()
    machine.mph, machine.turn_dps = 4.5, 12.0
    machine.go(15)
    machine.turn_dps = 0.0
    machine.go(3)
    machine.mph, machine.down, machine.depth_in = 6.0, True, 14.0
    return machine


def test_a_slack_shank_heard_before_the_headland_is_only_seen_after_it() -> None:
    machine = slack(working(full_rig()), 2).go(35)
    assert len(looks(machine)) == 2, "at its onset and once more"
    for _ in range(2):
        slack(headland(machine), 2).go(40)
    assert len(machine.onsets("shank_not_pulling")) == 3
    assert machine.picture.band.headline == "NOT PULLING"
    assert len(looks(machine)) == 2


def test_a_slack_shank_that_pulled_for_a_while_is_heard_again() -> None:
    machine = slack(working(full_rig()), 2).go(35)
    slack(headland(machine)).go(60)
    slack(machine, 2).go(12)
    assert len(looks(machine)) == 3


def test_a_slack_shank_is_heard_again_after_a_stop_to_mend_it() -> None:
    machine = slack(working(full_rig()), 2).go(35)
    machine.stop().go(600)
    before = len(looks(machine))
    slack(machine, 2)
    machine.mph = 6.0
    machine.go(40)
    assert len(looks(machine)) == before + 2, "at its onset and once more"


def test_hard_ground_on_each_pass_is_seen_each_time_and_heard_twice_an_hour() -> None:
    machine = working()
    for _ in range(4):
        machine.mph = 4.0
        machine.go(18)
        machine.mph = 6.0
        machine.go(40)
    assert len(machine.onsets("hard_here")) == 4
    assert len(looks(machine)) == 2


def test_hard_ground_and_its_slip_are_seen_both_and_heard_once() -> None:
    machine = working(full_rig())
    machine.mph, machine.slip = 4.0, 0.18
    machine.go(40)
    assert {"hard_here", "slip"} <= machine.active()
    assert {s.rule for s in machine.sounds} == {"hard_here"}


def test_while_stones_are_told_no_single_shank_calls_for_another_look() -> None:
    machine = working(full_rig())
    normal = dict.fromkeys(range(1, 8), 0.55)
    for turn in range(24):
        machine.share = normal | {1 + turn % 7: 1.3}
        machine.go(0.5)
        machine.share = normal
        machine.go(1.5)
    assert "stones" in machine.rules()
    assert machine.rules().count("shank_tripping") > 1
    assert {s.rule for s in machine.sounds} == {"stones"}


def test_look_sounds_off_are_still_off_for_looks_but_not_for_springs() -> None:
    machine = working(full_rig())
    machine.tap(TapKind.LOOK_SOUNDS, "off")
    assert not machine.picture.looks_off, "only parked"
    machine.stop().go(8)
    machine.tap(TapKind.LOOK_SOUNDS, "off")
    machine.sounds.clear()  # the chime of the first dig came at the stop
    machine.work().go(40)
    machine.mph = machine.real_mph = 9.0
    machine.go(12)
    assert machine.onsets("too_fast")
    assert machine.sounds == []
    assert "look_sounds_off" in machine.notes()
    in_band(machine, 10)
    machine.muted = {f"SPRING{n}" for n in range(1, 8)}
    machine.go(6)
    assert [s.rule for s in machine.sounds] == ["no_springs"]


def test_rest_of_the_field_ends_with_the_field() -> None:
    rig = full_rig()
    plan = replace(default_plan(rig), field="North", set_today=True)
    machine = Machine(rig, plan).go(5)
    machine.work().go(45)
    slack(machine, 2).go(12)
    for _ in range(3):
        machine.tap(TapKind.QUIET)
        alert = next(a for a in machine.cab.judge.active if a.rule.value == "shank_not_pulling")
        alert.machine.quiet.until = alert.machine.quiet.until and 0.0
    machine.tap(TapKind.FIELD, "South")
    assert all(alert.machine.quiet.idle for alert in machine.cab.judge.alerts)


def test_sound_is_unknown_until_the_speaker_has_spoken() -> None:
    machine = working()
    assert machine.picture.band.quieting is Quieting.UNKNOWN
    machine.step(Health(machine.now, HealthKind.SOUND, True))
    machine.go(0.2)
    assert machine.picture.band.quieting is Quieting.SOUND_ON


def test_no_sound_and_not_saving_are_on_the_picture_within_three_seconds() -> None:
    machine = working()
    machine.step(Health(machine.now, HealthKind.SOUND, False))
    machine.step(Health(machine.now, HealthKind.RECORD, False, "disk_full"))
    machine.go(3.2)
    assert machine.picture.band.quieting is Quieting.NO_SOUND
    words = {m.headline: m.action for m in machine.onsets() if m.level is Level.NO_READING}
    assert words == {"NOT SAVING": "Storage full", "NO SOUND": "Check speaker plug"}


def fire_all(machine: Machine) -> None:
    for rule in Rule:
        heard = len(machine.sounds)
        machine.step(Tap(machine.now, TapKind.FIRE, rule.value))
        machine.go(0.3)
        band = machine.picture.band
        assert (band.rule, "{" in band.headline + band.action) == (rule.value, False)
        wanted = {Level.NOTE: [], Level.ACT: [Pattern.ACT]}.get(band.level, [Pattern.LOOK])
        assert [s.pattern for s in machine.sounds[heard:]] == wanted, rule


def test_a_rig_of_a_receiver_alone_sounds_every_alert_on_the_bench_too() -> None:
    fire_all(Machine(Rig()).go(6))


def test_every_alert_can_be_fired_on_the_bench_and_only_parked() -> None:
    machine = Machine(full_rig()).go(6)
    fire_all(machine)
    assert machine.onsets("too_fast") == []
    machine.go(7)
    assert machine.picture.band.level is None
    machine.work().go(20)
    heard = len(machine.sounds)
    machine.step(Tap(machine.now, TapKind.FIRE, "too_fast"))
    machine.go(1)
    assert len(machine.sounds) == heard

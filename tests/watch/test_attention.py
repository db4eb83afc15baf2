"""The state machine of one alert: delays to the sample, deadband, lost data, the quiet ladder."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cabapp.watch.attention import Change, Delays, Machine, Quiet, State, Verdict
from cabapp.watch.now import Now
from cabapp.watch.rules import Band, When
from cabapp.words import Level, Rule

STEP_S = 0.1
OUT, HOLD, CLEAR, UNKNOWN = Verdict.OUT, Verdict.HOLD, Verdict.CLEAR, Verdict.UNKNOWN


class Story:
    """Feeds verdicts tick by tick."""

    def __init__(self, delays: Delays, level: Level = Level.LOOK) -> None:
        self.machine = Machine(level, delays)
        self.now = 0.0
        self.changes: list[tuple[float, Change]] = []

    def go(self, verdict: Verdict, ticks: int, mps: float = 3.0) -> "Story":
        for _ in range(ticks):
            self.now = round(self.now + STEP_S, 3)
            change = self.machine.step(verdict, self.now, STEP_S, mps * STEP_S)
            if change:
                self.changes.append((self.now, change))
        return self

    @property
    def onsets(self) -> int:
        return sum(change is Change.ONSET for _, change in self.changes)


@pytest.mark.parametrize(("ticks", "onsets"), [(60, 0), (61, 1)])
def test_an_alert_begins_exactly_when_its_six_seconds_are_full(ticks: int, onsets: int) -> None:
    # The first tick that is out begins the count; 60 more make six seconds.
    assert Story(Delays(6.0, 0.0)).go(OUT, ticks).go(CLEAR, 5).onsets == onsets


@pytest.mark.parametrize(("ticks", "onsets"), [(50, 0), (51, 1)])
def test_metres_count_beside_seconds(ticks: int, onsets: int) -> None:
    assert Story(Delays(2.0, 15.0)).go(OUT, ticks, mps=3.0).onsets == onsets


def test_metres_do_not_count_while_speed_is_not_known() -> None:
    assert Story(Delays(1.0, 15.0)).go(OUT, 600, mps=0.0).onsets == 0


def test_the_deadband_keeps_an_alert_and_begins_none() -> None:
    story = Story(Delays(1.0)).go(HOLD, 100)
    assert story.machine.state is State.NORMAL
    story.go(OUT, 11).go(HOLD, 500)
    assert story.machine.active
    story.go(CLEAR, 21)
    assert story.changes[-1][1] is Change.END


def test_clear_for_less_than_the_off_delay_is_no_end() -> None:
    story = Story(Delays(1.0, 0.0, 2.0)).go(OUT, 11)
    for _ in range(20):
        story.go(CLEAR, 19).go(OUT, 1)
    assert [change for _, change in story.changes] == [Change.ONSET]


def test_lost_data_while_an_alert_clears_begins_its_clearing_afresh() -> None:
    story = Story(Delays(1.0, off_s=2.0)).go(OUT, 11).go(CLEAR, 10).go(UNKNOWN, 50).go(CLEAR, 15)
    assert story.machine.active
    assert not story.go(CLEAR, 10).machine.active


def test_lost_data_drops_a_pending_alert_only_after_ten_seconds() -> None:
    brief = Story(Delays(6.0)).go(OUT, 31).go(UNKNOWN, 50).go(OUT, 30)
    assert brief.onsets == 1
    assert Story(Delays(6.0)).go(OUT, 31).go(UNKNOWN, 120).go(OUT, 31).onsets == 0


def test_leaving_work_ends_what_is_active_and_drops_what_is_pending() -> None:
    story = Story(Delays(1.0)).go(OUT, 11)
    assert story.machine.leave(story.now) is Change.END
    story.go(OUT, 5)
    assert story.machine.leave(story.now) is None
    assert story.machine.state is State.NORMAL


@settings(max_examples=200, deadline=None)
@given(st.lists(st.sampled_from([UNKNOWN, OUT, HOLD]), max_size=300))
def test_no_sequence_without_a_clear_reading_ends_an_alert(verdicts: list[Verdict]) -> None:
    story = Story(Delays(0.5)).go(OUT, 6)
    for verdict in verdicts:
        story.go(verdict, 1)
        story.machine.freeze(STEP_S)
        assert story.machine.active


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 10_000), st.floats(-1.0, 1.0))
def test_noise_of_half_a_deadband_gives_at_most_one_onset_in_ten_minutes(
    seed: int, bias: float
) -> None:
    band = Band(
        Rule.TOO_FAST, lambda now, key: now.mean_mps, lambda now: 3.0, Delays(2.0), When.ALWAYS, 0.2
    )
    noise, story, now = random.Random(seed), Story(band.delays), Now()
    for _ in range(6000):
        now.mean_mps = 3.0 + 0.05 * bias + noise.uniform(-0.1, 0.1)
        story.go(band.verdict(now, ""), 1)
    assert story.onsets <= 1


@pytest.mark.parametrize("value", [None])
def test_an_unknown_value_is_unknown_before_any_limit(value: float | None) -> None:
    band = Band(Rule.TOO_FAST, lambda now, key: value, lambda now: -math.inf, Delays(), When.ALWAYS)
    assert band.verdict(Now(), "") is UNKNOWN


def test_look_is_quiet_for_ten_minutes_then_twenty_then_the_rest_of_the_field() -> None:
    quiet, ends = Quiet(Level.LOOK), []
    for at in (0.0, 1000.0, 5000.0):
        quiet.tap(at)
        ends.append(quiet.until)
    assert ends == [600.0, 2200.0, math.inf]
    quiet.reset()
    quiet.tap(9000.0)
    assert quiet.until == 9600.0


def test_a_minute_clean_after_the_quiet_has_run_out_ends_the_ladder() -> None:
    quiet = Quiet(Level.LOOK)
    quiet.tap(0.0)
    for tick in range(1, 6000):
        quiet.step(False, tick * STEP_S, STEP_S)
    assert not quiet.idle, "clean time inside the quiet does not count"
    for tick in range(6000, 6000 + 605):
        quiet.step(False, tick * STEP_S, STEP_S)
    assert quiet.idle


def test_act_is_quiet_for_thirty_seconds_however_often_it_is_tapped() -> None:
    quiet = Quiet(Level.ACT)
    for _ in range(5):
        quiet.tap(100.0)
    assert quiet.holds(129.9)
    assert not quiet.holds(130.0)

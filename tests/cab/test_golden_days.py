"""Three golden days: what was told is what was reviewed, and true whatever the stored log says.

The logs in golden/ are read by a person and rewritten by one command (see golden.py). The other
tests here hold the same days against the invented world's own truth. 45 minutes of each at 1 Hz;
the whole days with CABAPP_LONG=1.
"""

import os
from bisect import bisect_left

import pytest

from cabapp.outcome import Pattern, What
from cabapp.watch.judge import _Group
from cabapp.words import Level, Rule
from cabapp.world.happening import Kind
from cabapp.world.world import Phase
from tests.cab import golden
from tests.cab.golden import DAYS, Day, lived, stored

LONG = os.environ.get("CABAPP_LONG") == "1"
PLAYED = [(name, whole) for name in DAYS for whole in ((False, True) if LONG else (False,))]
WITHIN_OF_TRIP = 0.03  # of full scale: what the invented springs read wrong at the trip point
WORK_RULES = {
    rule.value
    for rule in (
        Rule.TOO_FAST, Rule.HARD_HERE, Rule.DEPTH, Rule.DEPTH_FAR, Rule.ABOVE_LAYER, Rule.LEVEL,
        Rule.EASE_OFF, Rule.NOT_PULLING, Rule.TRIPPING, Rule.STONES, Rule.SLIP, Rule.SLIP_HIGH,
    )
}  # fmt: skip
# What each fault has to be told as, and within how many seconds of its beginning.
FAULTS: dict[Kind, tuple[Rule, float]] = {
    Kind.NO_FIX: (Rule.NO_POSITION, 13.0),
    Kind.DEAD: (Rule.NO_DEPTH, 7.0),
    Kind.WIRE: (Rule.NO_DEPTH, 5.0),
    Kind.JUMP: (Rule.NO_DEPTH, 5.0),
    Kind.EMPTY: (Rule.NO_SPRINGS, 4.0),
    Kind.FROZEN: (Rule.DEPTH_STUCK, 32.0),
    Kind.STUCK: (Rule.DEPTH_STUCK, 32.0),
    Kind.PORT_SILENT: (Rule.NO_DEPTH, 7.0),
    Kind.CABLE_PULLED: (Rule.NO_POSITION, 13.0),
    Kind.STAYS_UP: (Rule.SHANK_UP, 6.0),
    Kind.BROKEN: (Rule.NOT_PULLING, 20.0),
    # 0.10 m an hour: an inch and a half off after 23 minutes, the sensors' own errors aside.
    Kind.DRIFT: (Rule.DISAGREEING_SENSOR, 32.0 * 60.0),
}


@pytest.fixture(params=PLAYED, ids=lambda one: "-".join(map(str, one)))
def day(request: pytest.FixtureRequest) -> Day:
    return lived(*request.param)


def test_what_was_told_is_what_was_reviewed(day: Day, request: pytest.FixtureRequest) -> None:
    path = stored(*request.node.callspec.params["day"])
    assert day.log() == path.read_text(encoding="utf-8"), "read golden.py before rewriting"


@pytest.mark.parametrize("name", DAYS if LONG else ["sensor_fault_day"])
def test_rows_of_the_rule_table_that_are_passed_over_as_quiet_had_nothing_to_tell(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    minutes = 45.0 if LONG else 5.0
    monkeypatch.setattr(golden, "STRETCH_S", minutes * 60.0)
    monkeypatch.setattr(_Group, "is_quiet", lambda group, now: False)
    told = golden.lived.__wrapped__(name).log().splitlines()
    reviewed = stored(name).read_text(encoding="utf-8").splitlines()
    before_its_end = [line for line in told if float(line[:8]) < minutes * 60.0 - 1.0]
    assert len(before_its_end) > 3
    assert before_its_end == reviewed[: len(before_its_end)]


def test_an_act_is_told_only_where_there_is_one(day: Day) -> None:
    true = [(w.start_s, w.end_s) for w in day.world.windows if w.kind is Kind.STAYS_UP]
    acts = [moment for moment in day.onsets() if moment.level is Level.ACT]
    for act in acts:
        assert act.rule == Rule.SHANK_UP.value
        assert any(start + 3.0 <= act.t_s < end for start, end in true)
    due = [start for start, _ in true if start + 6.0 < day.hours * 3600.0]
    assert len(acts) == len(due)


def test_looks_are_never_heard_more_than_three_times_in_ten_minutes(day: Day) -> None:
    readings = {rule.value for rule in Rule if rule.value.startswith(("no_", "not_saving"))}
    readings |= {Rule.DEPTH_STUCK.value, Rule.UP_OR_DOWN.value}
    looks = [s.at for s in day.sounds if s.pattern is Pattern.LOOK and s.rule not in readings]
    for place, at in enumerate(looks):
        assert bisect_left(looks, at + 600.0) - place <= 3


def test_a_day_without_faults_of_ground_or_sensors_is_heard_twice_an_hour_at_most(
    day: Day,
) -> None:
    heard = [s for s in day.sounds if s.rule != Rule.DIG.value]  # a chime belongs to no alert
    if day.name == "receiver_only_day":
        assert len(heard) <= min(15.0, max(1.0, 2.0 * day.hours))
    faults = [w for w in day.world.windows if w.start_s < day.hours * 3600.0]
    if day.name == "sensor_fault_day":  # each fault is heard once at most
        assert len(heard) <= len(faults)


def test_no_working_alert_begins_or_stays_while_the_tool_is_up(day: Day) -> None:
    began: dict[tuple[str, object, str], float] = {}
    for moment in day.moments:
        key = moment.rule, moment.value, moment.detail
        if moment.rule not in WORK_RULES:
            continue
        if moment.what is What.ONSET:
            assert day.true_phase(moment.t_s) is Phase.WORKING, moment
            began[key] = moment.t_s
        elif moment.what is What.END:
            del began[key]
            lifted = [
                t / 10
                for t in range(round(moment.t_s * 10) - 600, round(moment.t_s * 10))
                if t >= 0 and day.true_phase(t / 10) in (Phase.TURNING, Phase.LIFTED)
            ]
            recent = [t for t in lifted if t > moment.t_s - 30.0]
            assert len(recent) < 50, f"still told five seconds after the lift: {moment}"


def test_each_fault_is_told_as_what_it_is_in_its_time_and_ends_with_it(day: Day) -> None:
    for window in day.world.windows:
        told = _rule_of(window.kind, window.target)
        if day.true_phase(window.start_s) is Phase.STANDING:
            told = None  # nobody relies on a place while it stands
        if told is None or window.start_s + told[1] > day.hours * 3600.0:
            continue
        rule, within_s = told
        found = [m for m in day.onsets() if m.rule == rule.value and _about(m, window.target)]
        heard = [m.t_s for m in found if window.start_s < m.t_s <= window.start_s + within_s]
        assert len(heard) == 1, f"{window}: {[(m.t_s, m.rule) for m in found]}"
        ends = [
            m.t_s
            for m in day.moments
            if m.what is What.END and m.rule == rule.value and m.t_s > heard[0]
        ]
        if window.end_s + 10.0 < day.hours * 3600.0:
            assert ends
            assert ends[0] < window.end_s + 10.0


def _rule_of(kind: Kind, target: str) -> tuple[Rule, float] | None:
    if kind is Kind.DEAD and target == "tool_down":
        return Rule.NO_SWITCH, 5.0
    if kind is Kind.FROZEN and target.startswith("spring"):
        return None  # steady soil and a frozen spring look alike: only depth is judged so
    return FAULTS.get(kind)


def _about(moment: object, target: str) -> bool:
    detail, value = getattr(moment, "detail", ""), getattr(moment, "value", None)
    return target in ("", "node", "gnss") or target in (detail, str(value)) or not detail


def test_an_end_is_told_in_the_words_of_its_onset(day: Day) -> None:
    open_words: dict[tuple[str, object, str], tuple[str, str]] = {}
    for moment in day.moments:
        key = moment.rule, moment.value, moment.detail
        if moment.what is What.ONSET:
            assert key not in open_words, f"told twice at once: {moment}"
            open_words[key] = moment.headline, moment.action
        elif moment.what is What.END:
            assert open_words.pop(key) == (moment.headline, moment.action)


def test_every_trip_is_counted_once_on_its_own_shank(day: Day) -> None:
    if not day.rig.fitted("spring"):
        assert not [m for m in day.moments if m.what is What.TRIP]
        return
    for place, shank in enumerate(day.rig.tool.shanks):
        told = [m.t_s for m in day.moments if m.what is What.TRIP and m.value == shank.number]
        assert len(told) == day.trips[place]
        true = [float(t) for t in day.truth["t_s"][day.truth["trips"][:, place] > 0]]
        true = [at for at in true if _is_heard(day, shank.number, at)]
        unsure = [at for at in told if _peak(day, place, at) < 1.0 + WITHIN_OF_TRIP]
        sure = [at for at in true if _peak(day, place, at) >= 1.0 + WITHIN_OF_TRIP]
        assert all(_peak(day, place, at) > 1.0 - WITHIN_OF_TRIP for at in told)
        assert len(sure) <= len(told) <= len(true) + len(unsure)
        for at in sure:
            assert [one for one in told if abs(one - at) < 0.35], f"shank {shank.number} at {at}"


def _is_heard(day: Day, shank: int, at: float) -> bool:
    """Whether that shank's sensor said anything true just then."""
    silent = (f"spring{shank}", "node")
    return not any(w.target in silent and w.start_s <= at < w.end_s for w in day.world.windows)


def _peak(day: Day, place: int, at: float) -> float:
    """The highest true load about a moment: a trip has risen within two tenths of a second."""
    first = max(0, round(at * 10) - 1)
    return float(day.truth["spring_most"][first : first + 4, place].max())


def test_a_dig_that_nobody_does_is_one_reminder_all_day(day: Day) -> None:
    digs = [m for m in day.onsets() if m.rule == Rule.DIG.value]
    assert len(digs) == 1
    heard = [s for s in day.sounds if s.rule == Rule.DIG.value]
    assert len(heard) <= 1

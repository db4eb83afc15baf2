"""Shares by area, hours, stops, worst stretches and alerts, from rows whose answer is known."""

from dataclasses import replace

import pytest

from cabapp.outcome import Moment, What
from cabapp.review.digits import percent_text
from cabapp.review.figures import figures
from cabapp.review.hours import hours_of, plan_rate
from cabapp.review.phrases import headline
from cabapp.review.shift import load_brief, load_shift
from cabapp.review.summary import distribution, summarize
from cabapp.review.sums import ALL, THINGS, Share
from cabapp.units import UnitSystem
from cabapp.words import Level
from tests.review.runs import WIDTH_M, hand_made, row, two_passes


def test_shares_are_of_area_and_unknown_stands_beside_them() -> None:
    rows = [row(n, "in" if n < 60 else "out" if n < 90 else "unknown") for n in range(101)]
    share = load_brief(hand_made("shares.gpkg", rows)).sums.shares["speed"]
    assert share.percents() == {"in": 60, "out": 30, "raised": 0, "hard": 0, "unknown": 10}
    assert share.judged_m2 == pytest.approx(100 * 2.5 * 5.0, rel=0.002)


def test_slow_seconds_weigh_less_than_fast_ones() -> None:
    rows = [row(n) for n in range(50)]
    at = rows[-1].lat_deg or 0.0
    for n in range(1, 51):  # as many seconds again at half the speed, out of band
        slow = row(49 + n, "out", speed_mps=1.25)
        rows.append(replace(slow, lat_deg=at + n * 1.25 / 111_270.0))
    share = load_brief(hand_made("slow.gpkg", rows)).sums.shares[ALL]
    assert share.ratio("out") == pytest.approx(1 / 3, abs=0.01)


def test_whole_percents_always_add_up_to_a_hundred() -> None:
    thirds = Share({"in": 1.0, "out": 1.0, "hard": 1.0}, 0.0)
    assert sum((thirds.percents() or {}).values()) == 100
    tiny = Share({"in": 999.0, "out": 1.0}, 0.0)
    assert percent_text(tiny, "in") == "100"
    assert percent_text(tiny, "out") == "<1", "a little is never said to be nothing"


def test_nothing_judged_is_said_so_and_is_no_hundred_percent() -> None:
    sums = load_brief(hand_made("idle.gpkg", [row(n, "idle") for n in range(30)])).sums
    assert sums.shares[ALL].percents() is None
    assert headline(sums) == ("nothing was judged", "")


def test_ground_that_passed_without_a_position_counts_as_unknown() -> None:
    """50 seconds seen, 50 unseen: half of what was worked is unknown."""
    lost = {"stretch": "unknown", "phase": "unknown", "fix": "none"}
    rows = [row(n) for n in range(51)] + [row(n, **lost) for n in range(51, 101)]  # type: ignore[arg-type]
    for n in range(51, 101):
        rows[n].values["stretch_speed"] = "unknown"
    sums = load_brief(hand_made("unseen.gpkg", rows)).sums
    assert sums.unseen_s == 50
    assert sums.gross_m2 == pytest.approx(50 * 12.5, rel=0.01), "unseen ground is not in the area"
    assert sums.shares["speed"].ratio("unknown") == pytest.approx(0.5, abs=0.02)


def test_stored_sums_are_the_sums_made_again() -> None:
    stored, again = load_shift(two_passes()), load_shift(two_passes(), again=True)
    assert stored.sums == again.sums
    assert (stored.track.area_m2 == again.track.area_m2).all()


def test_two_passes_of_400_m_are_summed_up_as_driven() -> None:
    summary = summarize(load_shift(two_passes()))
    sums = summary.shift.sums
    assert [round(one.length_m) for one in sums.passes] == pytest.approx([400, 400], abs=2)
    assert sums.gross_m2 == pytest.approx(2 * 400 * WIDTH_M, rel=0.005)
    assert sums.trips == {3: 3}
    silent_m2 = 60 * 6.0 * 0.44704 * WIDTH_M
    assert sums.shares["depth"].areas_m2["unknown"] == pytest.approx(silent_m2, rel=0.06)
    assert sums.shares["speed"].percents() == dict.fromkeys(
        ("out", "raised", "hard", "unknown"), 0
    ) | {"in": 100}


def test_a_dig_stands_beside_what_the_sensors_said() -> None:
    (check,) = summarize(load_shift(two_passes())).checks
    assert check.dug_m == 0.36
    assert check.sensor_m == pytest.approx(0.3556, abs=0.002)


def test_the_worst_stretch_is_named_with_its_length_and_its_band() -> None:
    rows = [row(n, "out" if 20 <= n < 60 or 80 <= n < 86 else "in",
                speed_mps=3.5 if 20 <= n < 60 else 2.5) for n in range(100)]  # fmt: skip
    worst = summarize(load_shift(hand_made("worst.gpkg", rows))).worst
    assert [one.letter for one in worst] == ["A", "B"]
    assert worst[0].length_m == pytest.approx(40 * 2.5, rel=0.01)
    assert worst[0].value == pytest.approx(3.5)
    assert worst[0].high == pytest.approx(3.1)


def test_a_place_too_small_to_print_its_area_is_no_place_to_look_at() -> None:
    rows = [row(n, "out" if 20 <= n < 23 else "in") for n in range(100)]
    assert summarize(load_shift(hand_made("speck.gpkg", rows))).worst == ()


def test_three_seconds_of_band_do_not_cut_a_stretch_in_two() -> None:
    rows = [row(n, "in" if n in (30, 31, 32) or n < 10 else "out") for n in range(60)]
    worst = summarize(load_shift(hand_made("bridge.gpkg", rows))).worst
    assert len(worst) == 1


def _standing(first: int, count: int) -> list:
    still = row(first, "idle", "standing", speed_mps=0.0)
    return [replace(row(first + n, "idle", "standing", speed_mps=0.0), lat_deg=still.lat_deg)
            for n in range(count)]  # fmt: skip


def test_a_stop_has_the_reason_that_was_tapped_and_leaves_the_field_time() -> None:
    rows = [row(n) for n in range(100)] + _standing(100, 300) + [row(n) for n in range(400, 500)]
    tap = Moment("", 150.0, What.TAP, value="fuel", detail="stop_reason")
    hours = hours_of(load_shift(hand_made("stop.gpkg", rows, [tap])))
    assert hours.by_reason == {"fuel": pytest.approx(300.0, abs=2)}
    assert hours.field_s == pytest.approx(200.0, abs=2)


def test_a_plugged_tool_stays_in_the_field_time() -> None:
    """EP496 counts plugging and adjusting, not service and repairs."""
    rows = [row(n) for n in range(100)] + _standing(100, 300) + [row(n) for n in range(400, 500)]
    tap = Moment("", 150.0, What.TAP, value="plugged", detail="stop_reason")
    hours = hours_of(load_shift(hand_made("plugged.gpkg", rows, [tap])))
    assert hours.field_s == pytest.approx(500.0, abs=2)


def test_what_was_not_recorded_is_a_gap_and_no_work() -> None:
    rows = [row(n) for n in (*range(100), *range(700, 800))]
    hours = hours_of(load_shift(hand_made("gap.gpkg", rows)))
    assert hours.unrecorded_s == pytest.approx(600.0, abs=2)
    assert hours.by_phase["working"] == pytest.approx(200.0, abs=2)


def _onset(t_s: float, rule: str = "too_fast", detail: str = "") -> Moment:
    return Moment("", t_s, What.ONSET, Level.LOOK, rule, "TOO FAST", "Ease to 7", detail=detail)


def test_an_alert_says_how_long_it_lasted_and_what_ended_it() -> None:
    moments = [
        _onset(10.0),
        Moment("", 14.0, What.QUIET, Level.LOOK, "too_fast"),
        Moment("", 30.0, What.PHASE, value="lifted", detail="working"),
        Moment("", 30.3, What.END, Level.LOOK, "too_fast"),
    ]
    path = hand_made("told.gpkg", [row(n) for n in range(60)], moments)
    (told,) = summarize(load_shift(path)).alerts
    assert (told.lasted_s, told.done) == (20.3, "quieted after 4 s, tool lifted")


def test_one_fault_on_seven_channels_is_one_alert() -> None:
    moments = [_onset(10.0, "no_springs", f"spring{n}") for n in range(1, 8)]
    path = hand_made("seven.gpkg", [row(n) for n in range(60)], moments)
    (told,) = summarize(load_shift(path)).alerts
    assert told.count == 7
    assert told.done == "open at the end"


def test_a_distribution_holds_all_judged_ground() -> None:
    shift = load_shift(two_passes())
    for thing in THINGS:
        if thing == ALL:
            continue
        for units in UnitSystem:
            spread = distribution(shift, thing, units)
            assert spread is not None
            assert spread.shares.sum() + spread.unknown == pytest.approx(1.0, abs=0.01), thing


def test_the_plan_s_rate_is_the_band_s_middle_at_the_published_efficiency() -> None:
    plan = load_brief(two_passes()).page.plan
    acres_an_hour = (plan_rate(plan, 17.5 * 0.3048) or 0.0) * 3600 / 4046.8564224
    assert acres_an_hour == pytest.approx(6.0 * 17.5 * 0.84 / 8.25, rel=0.001)


def test_every_figure_has_one_key_and_no_figure_is_empty() -> None:
    found = figures(summarize(load_shift(two_passes())), UnitSystem.US)
    assert len({figure.key for figure in found}) == len(found)
    assert all(figure.text and figure.words for figure in found)

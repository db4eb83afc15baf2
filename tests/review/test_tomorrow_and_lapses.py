"""What an owner is told to change tomorrow, and why hours stand outside the record's rows."""

from dataclasses import replace
from pathlib import Path

import pytest

from cabapp.outcome import Moment, What
from cabapp.plan import Plan
from cabapp.review.figures import figures
from cabapp.review.lapses import NO_FIX, NO_RECORD, OFF
from cabapp.review.report import Options, report_html
from cabapp.review.shift import load_shift
from cabapp.review.summary import Summary, summarize
from cabapp.review.tomorrow import MOST, tomorrow_of
from cabapp.units import INCH_M, UnitSystem
from cabapp.words import Level
from tests.cab.drive import full_rig
from tests.review.runs import hand_made, row

US, METRIC = UnitSystem.US, UnitSystem.METRIC
DUG = [Moment("", 10.0, What.CHECK, value=0.35)]
SET = Plan(speed_low_mps=2.2, speed_high_mps=3.1, set_today=True)


def summed(path: Path) -> Summary:
    return summarize(load_shift(path))


def test_a_calm_shift_is_told_to_go_on_and_one_without_work_nothing() -> None:
    calm = summed(hand_made("calm.gpkg", [row(n) for n in range(200)], DUG, plan=SET))
    assert tomorrow_of(calm, US) == ("Nothing stands out: go on as it was set.",)
    stood = [row(n, "idle", "standing", speed_mps=0.0) for n in range(60)]
    assert tomorrow_of(summed(hand_made("stood.gpkg", stood, plan=SET)), US) == ()


def test_fast_ground_names_its_share_and_the_speed_to_ease_to() -> None:
    rows = [row(n, "out" if n < 40 else "in", speed_mps=3.6 if n < 40 else 2.5) for n in range(200)]
    [line] = tomorrow_of(summed(hand_made("fast.gpkg", rows, DUG, plan=SET)), US)
    assert line == "Too fast on 20 % of the area: ease to 6.9 mph."


def test_a_shift_in_which_nobody_dug_is_told_to_dig_in_the_person_s_units() -> None:
    undug = summed(hand_made("undug.gpkg", [row(n) for n in range(200)], plan=SET))
    assert tomorrow_of(undug, US) == (
        "No depth was dug all shift: dig and measure after the first 250 ft.",
    )
    assert "first 76 m" in tomorrow_of(undug, METRIC)[0]


def test_nobody_is_told_to_drive_faster() -> None:
    rows = [row(n, "hard" if n < 40 else "in", speed_mps=1.9) for n in range(200)]
    rows += [row(n, "out", speed_mps=1.9) for n in range(200, 260)]
    lines = tomorrow_of(summed(hand_made("slow.gpkg", rows, plan=SET)), US)
    assert any(line.startswith("Slow on 38 % of the area, by speed alone") for line in lines)
    assert not any("faster" in line or "speed up" in line for line in lines)


@pytest.mark.parametrize(("share", "found"), [(0.8, "Hard ground on 20 %"), (0.5, "Slow on 20 %")])
def test_slow_is_called_hard_ground_only_where_the_springs_say_so(share: float, found: str) -> None:
    rows = [
        row(n, "hard" if n < 40 else "in", speed_mps=1.9 if n < 40 else 2.5) for n in range(200)
    ]
    for n, one in enumerate(rows):
        one.values["spring1_ratio_most"] = share if n < 40 else 0.5
    lines = tomorrow_of(summed(hand_made("pulled.gpkg", rows, DUG, full_rig(), SET)), US)
    assert lines[0].startswith(found)


def test_overlap_is_held_against_the_tool_s_width_first() -> None:
    there = [row(n) for n in range(100)]
    back = [replace(row(120 + n), lon_deg=5.0 + 3.0 / 68_700.0) for n in range(100)]
    for n, one in enumerate(back):  # a pass of 5 m laid 3 m beside the first
        back[n] = replace(one, lat_deg=there[n].lat_deg)
    [line] = tomorrow_of(summed(hand_made("over.gpkg", there + back, DUG, plan=SET)), METRIC)
    assert "measure whether the tool is 5.00 m wide" in line
    assert line.index("measure") < line.index("farther apart")


def test_the_weightiest_comes_first_and_an_act_before_all() -> None:
    rows = []
    for n in range(300):
        state = "unknown" if n < 90 else "out" if n < 120 else "in"
        depth = None if n < 90 else (14.0 - (2.5 if n < 120 else 0.0)) * INCH_M
        rows.append(
            row(n, state, stretch_depth=state, stretch_speed="in", depth_m=depth,
                depth_low_m=13 * INCH_M, depth_high_m=15 * INCH_M)
        )  # fmt: skip
    lost = {"level": Level.NO_READING, "rule": "no_depth", "headline": "NO DEPTH"}
    moments = [
        Moment("", 5.0, What.ONSET, action="Check cable 2, left", **lost),
        Moment("", 95.0, What.END, **lost),
        Moment(
            "", 200.0, What.ONSET, Level.ACT, "shank_up", "STOP", "Look back: shank 5 stayed up"
        ),
        *(Moment("", 200.0 + n, What.TRIP, value=3.0) for n in range(6)),
        *(Moment("", 210.0 + n, What.TRIP, value=1.0) for n in range(2)),
        Moment("", 299.0, What.CHECK, value=13.0 * INCH_M),
    ]
    rig, plan = full_rig(), replace(SET, set_today=False)
    lines = tomorrow_of(summed(hand_made("bad.gpkg", rows, moments, rig, plan)), US)
    assert len(lines) == MOST
    assert lines[0].startswith("ACT was sounded (Look back: shank 5 stayed up)")
    assert lines[1] == "Depth was not read on 30 % of the area. Check cable 2, left."
    assert lines[2].startswith("Shallow on 10 % of the area, by 1 1/2 in on average: dig to check")
    assert "Shank 3 tripped 6 of 8 times: look at point and spring." in lines
    assert any(line.startswith("The sensors read 1 in more than was dug") for line in lines)


def test_the_owner_s_report_has_it_and_the_customer_s_has_not() -> None:
    rows = [row(n, "out", speed_mps=3.6) for n in range(100)]
    found = summed(hand_made("told.gpkg", rows, plan=SET))
    assert "For tomorrow" in report_html(found, Options(US))
    assert "For tomorrow" not in report_html(found, Options(US, customer=True))
    assert "11.2 km/h" in report_html(found, Options(METRIC))


def lapses(found: Summary) -> dict[str, str]:
    return {f.words: f.text for f in figures(found, US) if f.key.startswith("lapse_")}


def test_hours_outside_the_rows_have_times_and_a_reason() -> None:
    rows = [row(n) for n in range(30)]
    rows += [row(n) for n in range(630, 660)]  # the key was off for ten minutes
    rows += [row(n) for n in range(960, 990)]  # and five minutes are missing for no known reason
    moments = [Moment("", 630.5, What.RUN, value=600.0, detail="resumed")]
    found = summed(hand_made("gaps.gpkg", rows, moments, plan=SET))
    assert list(lapses(found).items()) == [
        (f"13:00 to 13:10: {OFF}", "10 min"),
        (f"13:10 to 13:16: {NO_RECORD}", "5 min"),
    ]
    page = report_html(found, Options(US))
    assert all(words in page for words in lapses(found))


@pytest.mark.parametrize("told", [True, False])
def test_rows_without_a_fix_name_what_the_driver_was_told(told: bool) -> None:
    rows = [row(n) for n in range(30)]
    rows += [replace(row(n, phase="unknown", fix="none"), utc="") for n in range(30, 930)]
    onset = Moment("", 40.0, What.ONSET, Level.NO_READING, "no_position", "NO POSITION",
                   "Check receiver plug")  # fmt: skip
    found = summed(hand_made("unplugged.gpkg", rows, [onset] if told else [], plan=SET))
    why = "no position: check receiver plug" if told else NO_FIX
    assert lapses(found) == {f"13:00 to 13:15: {why}": "15 min"}


def test_a_short_lapse_is_in_the_sums_alone() -> None:
    rows = [row(n) for n in range(30)] + [row(n) for n in range(60, 90)]
    assert lapses(summed(hand_made("short.gpkg", rows, plan=SET))) == {}

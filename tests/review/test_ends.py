"""Where the tool went in and out is known as well as somebody told it, and the area is too."""

from dataclasses import replace
from functools import cache

import pytest

from cabapp.review.ends import GUESSED_S, TOLD_S
from cabapp.review.figures import figures
from cabapp.review.report import Options, report_html
from cabapp.review.shift import load_shift
from cabapp.review.summary import Summary, summarize
from cabapp.rig import Rig, Shank, Tool
from cabapp.units import MPH_MPS, UnitSystem
from tests.cab.drive import Machine, full_rig, receiver_rig
from tests.review.runs import hand_made, row

METRIC = UnitSystem.METRIC
PASSES, PASS_S, MPH = 5, 40.0, 6.0


@cache
def driven(rig: Rig, lifted_s: float = 0.0) -> tuple[Summary, float]:
    """Passes from turn to turn, lifted so long before and, where told, after it; the true area."""
    machine = Machine(rig, gnss_hz=1)
    machine.lift().go(5)
    _turn(machine)
    for _ in range(PASSES):
        machine.real_mph = MPH
        machine.go(lifted_s if rig.sensors else 0.0)
        machine.work(MPH).go(PASS_S)
        machine.lift().go(lifted_s)
        _turn(machine)
    run = hand_made("ends.gpkg", machine.rows, machine.moments, machine.rig)
    return summarize(load_shift(run)), PASSES * PASS_S * MPH * MPH_MPS * rig.tool.width_m


def _turn(machine: Machine) -> None:
    """At half the speed, as turns are."""
    machine.mph = machine.real_mph = MPH / 2
    machine.turn_dps = 12.0
    machine.go(15)
    machine.mph = MPH
    machine.turn_dps = 0.0


def by_chance_m2(found: Summary) -> float:
    """What the fixes alone leave open: the edge at each end of each pass."""
    edge = found.shift.sums.edge_error_m or 0.0
    return edge * found.shift.page.rig.tool.width_m * (2 * PASSES) ** 0.5


@pytest.mark.parametrize("lifted_s", [0.0, 4.0])
def test_on_a_receiver_alone_the_true_area_lies_within_what_is_said(lifted_s: float) -> None:
    found, truth = driven(receiver_rig(), lifted_s)
    gross, error = found.shift.sums.gross_m2, found.gross_error_m2 or 0.0
    assert len(found.shift.sums.passes) == PASSES
    assert by_chance_m2(found) < abs(gross - truth) < error
    whole = PASS_S + lifted_s
    assert error - by_chance_m2(found) == pytest.approx(gross * GUESSED_S / whole, rel=0.06)


def test_a_switch_tells_the_ends_to_a_second_and_the_area_as_well() -> None:
    found, truth = driven(full_rig(), 4.0)
    gross, error = found.shift.sums.gross_m2, found.gross_error_m2 or 0.0
    assert abs(gross - truth) < error
    assert error - by_chance_m2(found) == pytest.approx(truth * TOLD_S / PASS_S, rel=0.06)


@pytest.mark.parametrize(
    ("rig", "words"),
    [
        (receiver_rig(), "inferred from how it drove"),
        (full_rig(), "told by the switch"),
        (full_rig(switch=False), "told by its sensors"),
        (full_rig(switch=False, springs=False), "inferred from how it drove"),
    ],
    ids=["receiver", "switch", "depth and springs", "depth alone"],
)
def test_report_and_figures_say_who_told_of_the_tool(rig: Rig, words: str) -> None:
    found, _ = driven(rig)
    told = {figure.key: figure.text for figure in figures(found, METRIC)}
    assert told["ends"] == words
    page = report_html(found, Options(METRIC))
    assert f"Tool in and out {words}." in page
    assert (f"± holds {GUESSED_S:.0f} s of each such pass" in page) is words.startswith("inferred")


def test_a_switch_that_fell_silent_leaves_those_passes_inferred() -> None:
    switched = full_rig(depth=False, springs=False, wheel=False)
    rows = [row(n, tool_down_state=1.0 if n < 100 else None) for n in range(60)]
    rows += [row(n, "idle", "turning", tool_down_state=1.0) for n in range(60, 80)]
    rows += [row(n) for n in range(80, 180)]
    found = summarize(load_shift(hand_made("silent.gpkg", rows, rig=switched)))
    told = {figure.key: figure.text for figure in figures(found, METRIC)}
    assert told["ends"] == "inferred from how it drove on 1 of 2 passes"


@pytest.mark.parametrize(
    ("across", "metric", "us"),
    [
        ((-1.6, -0.8, 0.0, 0.8, 1.6), ", 5 shanks 80 cm apart", ", 5 shanks 31 1/2 in apart"),
        ((-1.0, 0.0, 0.5), ", 3 shanks", ", 3 shanks"),
        ((), "", ""),
    ],
)
def test_the_report_says_the_rig_and_the_width_that_areas_rest_on(
    across: tuple[float, ...], metric: str, us: str
) -> None:
    shanks = tuple(Shank(n + 1, place, 4.0) for n, place in enumerate(across))
    rig = Rig(id="r", name="Invented ripper", tool=Tool(width_m=4.0, shanks=shanks))
    found = summarize(load_shift(hand_made("wide.gpkg", [row(n) for n in range(60)], rig=rig)))
    page = report_html(found, Options(METRIC))
    assert "Rig Invented ripper" in page
    assert f"Areas are of a tool 4.00 m wide{metric}." in page
    assert f"Areas are of a tool 13.1 ft wide{us}." in report_html(found, Options(UnitSystem.US))


def test_without_a_plan_of_the_day_no_rate_was_planned() -> None:
    rows = [row(n) for n in range(60)]
    found = summarize(load_shift(hand_made("unset.gpkg", rows)))
    assert not found.shift.page.plan.set_today
    assert {f.key: f.text for f in figures(found, METRIC)}["rate_plan"] == "–"
    plan = replace(found.shift.page.plan, set_today=True)
    found = summarize(load_shift(hand_made("set.gpkg", rows, plan=plan)))
    [planned] = [f for f in figures(found, METRIC) if f.key == "rate_plan"]
    assert planned.text.endswith(" ha/h") and "84 % efficient" in planned.words

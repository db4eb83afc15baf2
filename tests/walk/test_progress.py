"""States, what makes a step due again, and the plan at the end."""

from dataclasses import replace

import pytest

from cabapp.plan import faults_of
from cabapp.rig import FinishKind
from cabapp.units import INCH_M, UnitSystem
from cabapp.walk.planned import copied, copy_questions, make_plan, suggested_band_mps
from cabapp.walk.progress import LONG_STOP, RAIN, State
from cabapp.walk.steps import Walk
from tests.walk.story import Book, checked, dug, levelled, pulled, three_pits
from tests.walk.test_steps import judged


def finished(book: Book) -> Book:
    """The whole walk, hitching to a verified first pass."""
    dug(levelled(pulled(three_pits(checked(book)))), 1, "14 in")
    book.say("front_discs", depth_left="4 in", depth_right="4 in", residue="cut", throw="even")
    book.say("rear_finish", paths="filled", ridge="1 in", follows="drill", sticks="clean",
             finish_now="pressing")  # fmt: skip
    # The finish carries weight, so the depth is dug once more before the ground is judged.
    dug(book, 2, "14 in")
    return judged(book)


def test_the_walk_goes_from_hitching_to_a_verified_first_pass(book: Book) -> None:
    assert book.now().next.step.id == "checks"  # type: ignore[union-attr]
    now = finished(book).now()
    assert now.of("judge").state is State.DONE
    assert now.next is None and now.done == 8


def test_every_caution_of_the_file_stands_at_a_step(walk: Walk) -> None:
    used = {key for step in walk.steps for key in step.cautions}
    used |= {ask.caution for step in walk.steps for ask in step.asks if ask.caution}
    assert used == set(walk.cautions)


def test_only_a_level_that_changed_makes_the_depth_due_again(book: Book) -> None:
    dug(levelled(three_pits(book)), 1, "14 in")
    assert book.now().of("shank_depth").state is State.DONE
    assert levelled(book).now().of("shank_depth").state is State.DONE
    levelled(book, rear_left="24 1/4 in")
    standing = book.now().of("shank_depth")
    assert (standing.state, standing.why) == (State.CHECK_AGAIN, "Level changed")


@pytest.mark.parametrize(
    ("what", "words"), [(RAIN, "Rain since dig"), (LONG_STOP, "Long stop since")]
)
def test_rain_and_a_long_stop_make_the_depth_due_again(book: Book, what: str, words: str) -> None:
    dug(levelled(three_pits(book)), 1, "14 in").happen(what)
    standing = book.now().of("shank_depth")
    assert standing.state is State.CHECK_AGAIN and standing.why.startswith(words)


def test_another_field_asks_for_its_own_pits_and_keeps_the_level(book: Book) -> None:
    dug(levelled(three_pits(book)), 1, "14 in")
    book.field = "South"
    held = book.now().of("hard_layer")
    assert (held.state, held.why) == (State.HELD, "Ask first: the one-call service (phone 811)")
    now = book.say("checks", buried="answered").now()
    assert now.of("hard_layer").state is State.TO_DO
    assert now.of("shank_depth").state is State.TO_DO
    assert now.of("level").state is State.DONE


def test_another_day_asks_for_checks_and_digs_and_keeps_the_pits(book: Book) -> None:
    dug(levelled(three_pits(checked(book))), 1, "14 in")
    book.day = "2031-10-15"
    now = book.now()
    assert now.of("checks").state is State.TO_DO
    assert now.of("shank_depth").state is State.TO_DO
    assert now.of("hard_layer").state is State.DONE


def test_the_plan_has_the_numbers_of_the_walk(book: Book) -> None:
    band = suggested_band_mps(14 * INCH_M, book.rig.tool)
    plan = make_plan(finished(book).now(), book.rig, "North", "K.", "2031-10-14T06:31Z", band)
    assert plan.depth_target_m == pytest.approx(14 * INCH_M)
    assert plan.layer_bottom_m == pytest.approx(13 * INCH_M)
    assert plan.layer_top_m == pytest.approx(9 * INCH_M)
    assert plan.row_bearing_deg == 92.0
    assert plan.area_m2 == pytest.approx(58 * 4046.8564224)
    assert plan.set_today and faults_of(plan) == ()
    assert (plan.speed_low_mps, plan.speed_high_mps) == band


def test_a_deep_job_and_a_plain_ripper_are_offered_a_slower_band(book: Book) -> None:
    tool = book.rig.tool
    plain = replace(tool, front_gangs=0, rear_gangs=0, finish=FinishKind.NONE)
    usual = suggested_band_mps(14 * INCH_M, tool)
    assert suggested_band_mps(17 * INCH_M, tool) < usual
    assert suggested_band_mps(14 * INCH_M, plain) < usual


def test_yesterdays_plan_in_another_field_asks_first(book: Book) -> None:
    plan = make_plan(finished(book).now(), book.rig, "North", "K.", "")
    assert copy_questions(plan, "North", UnitSystem.US) == ()
    questions = " ".join(copy_questions(plan, "South", UnitSystem.US))
    assert "13 in in North" in questions and "buried lines" in questions
    moved = copied(plan, "South")
    assert not moved.set_today and moved.layer_bottom_m is None
    assert moved.depth_target_m == plan.depth_target_m

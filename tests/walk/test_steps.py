"""Each step: three different answers give three different adjustments, cautions or states."""

import random

import pytest

from cabapp.units import INCH_M, UnitSystem
from cabapp.walk.entries import EntryFault, doubt_of, read_value
from cabapp.walk.findings import Verdict
from cabapp.walk.progress import State
from cabapp.walk.steps import Walk, WalkError, read_walk
from tests.walk.story import Book, checked, dug, levelled, pulled, three_pits


def test_checks_pass_warn_or_hold_as_the_owner_set_it(book: Book) -> None:
    assert checked(book).now().of("checks").state is State.DONE
    book.say("checks", hitch_pin="worn")
    warned = book.now().of("checks")
    assert (warned.state, warned.finding.verdict) == (State.DONE, Verdict.CAUTION)
    assert "Change the pin" in warned.finding.headline
    book.say("checks", hitch_pin="loose")
    held = book.now()
    assert held.of("checks").state is State.HELD
    assert held.checks_open == ("Hitch pin: No retainer",)


def test_tyres_are_held_against_the_owners_chart(book: Book) -> None:
    checked(book).say("checks", tyre_tool="44 psi")
    assert "add 8 psi" in " ".join(book.now().of("checks").finding.notes)
    book.say("checks", tyre_tool="60 psi")
    assert "let out 8 psi" in " ".join(book.now().of("checks").finding.notes)


def test_a_check_is_not_done_by_a_tap_on_done_alone(book: Book) -> None:
    book.say("checks", field="North")
    assert book.now().of("checks").state is State.TO_DO


def test_dry_goes_moist_goes_with_care_and_wet_waits(book: Book) -> None:
    three_pits(checked(book))
    states = {}
    for feel in ("breaking_ball", "strong_ball", "ribbon"):
        standing = pulled(book, feel).now().of("will_it_pull")
        states[feel] = (standing.state, standing.finding.verdict)
    assert states == {
        "breaking_ball": (State.DONE, Verdict.PASS),
        "strong_ball": (State.DONE, Verdict.CAUTION),
        "ribbon": (State.HELD, Verdict.WAIT),
    }


def test_one_wet_handful_of_three_decides(book: Book) -> None:
    pulled(three_pits(book)).say("will_it_pull", feel2="ribbon")
    assert book.now().of("will_it_pull").state is State.HELD


def test_a_handful_from_the_top_says_nothing(book: Book) -> None:
    pulled(three_pits(book)).say("will_it_pull", feel_depth="4 in")
    finding = book.now().of("will_it_pull").finding
    assert finding.verdict is Verdict.OPEN and "shank depth" in finding.headline


def test_a_small_tractor_is_told_a_speed_it_can_pull(book: Book) -> None:
    pulled(three_pits(book)).say("will_it_pull", power="240 hp")
    finding = book.now().of("will_it_pull").finding
    assert finding.verdict is Verdict.ADJUST
    assert "plan at most" in finding.headline
    assert any("to" in line and "lbf" in line for line in finding.sums)


def test_pits_give_the_middle_the_deepest_or_each_part_its_own(book: Book) -> None:
    three_pits(book, ("10 in", "12 1/2 in", "13 1/2 in"))
    wide = book.now().of("hard_layer").finding
    assert wide.verdict is Verdict.CAUTION and "own depth" in wide.detail
    assert wide.values["bottom"] == pytest.approx(12.5 * INCH_M)
    book.say("hard_layer", use="deepest")
    assert book.now().of("hard_layer").finding.values["bottom"] == pytest.approx(13.5 * INCH_M)
    book.say("hard_layer", pit1_zone="A", pit2_zone="B", pit3_zone="B", use="zones")
    zones = book.now().of("hard_layer").finding.values
    assert zones["bottom_A"] == pytest.approx(10 * INCH_M)
    assert zones["bottom_B"] == pytest.approx(13 * INCH_M)


def test_a_bottom_that_was_not_reached_is_said_and_never_made_up(book: Book) -> None:
    three_pits(book).say("hard_layer", pit2_found="not_reached")
    finding = book.now().of("hard_layer").finding
    assert "a bottom not reached yet" in finding.missing
    assert finding.values["bottom"] == pytest.approx(13.25 * INCH_M)


def test_top_and_bottom_turned_round_are_asked_about(book: Book) -> None:
    three_pits(book).say("hard_layer", pit2_top="14 in")
    finding = book.now().of("hard_layer").finding
    assert "swapped" in finding.headline and not finding.done


def test_a_probe_place_reads_through_the_cone_that_was_fitted(book: Book) -> None:
    psi = (0, 60, 150, 280, 420, 360, 220, 180)
    marks = {f"pit1_reading{n}": f"{value} psi" for n, value in enumerate(psi)}
    # As in the published procedure: 300 psi crossed going down and coming back.
    book.say("hard_layer", pit1_way="probe", pit1_cone="large", pit1_scale="large",
             pit1_moist="moist", **marks)  # fmt: skip
    place = book.now().of("hard_layer").finding
    assert place.values["bottom"] == pytest.approx((15 + 60 / 140 * 3) * INCH_M, abs=1e-6)
    book.say("hard_layer", pit1_moist="dry")
    assert "Too dry" in book.now().of("hard_layer").finding.headline


@pytest.mark.parametrize(
    ("corner", "height", "words"),
    [
        ("rear", "25 in", "Lengthen the levelling link"),
        ("rear", "23 in", "Shorten the levelling link"),
        ("left", "25 in", "Raise the right wing 1 in"),
        ("right", "25 in", "Raise the left wing 1 in"),
    ],
)
def test_each_way_out_of_level_has_its_own_adjustment(
    book: Book, corner: str, height: str, words: str
) -> None:
    keys = [
        key for key in ("front_left", "front_right", "rear_left", "rear_right") if corner in key
    ]
    levelled(book, **dict.fromkeys(keys, height))
    finding = book.now().of("level").finding
    assert finding.verdict is Verdict.ADJUST and finding.headline.startswith(words)


def test_a_level_frame_is_done(book: Book) -> None:
    assert levelled(book, rear_left="24 1/4 in").now().of("level").state is State.DONE


def test_the_target_is_shown_as_the_sum_that_it_is(book: Book) -> None:
    finding = three_pits(book).now().of("shank_depth").finding
    assert finding.sums[0] == "13 bottom + 1 margin = 14 in"
    assert finding.headline == "Dig at shank 1"
    assert "lines" in finding.cautions  # deeper than the rig's threshold


def test_shallow_deep_and_right_are_three_different_words(book: Book) -> None:
    three_pits(book)
    assert dug(book, 1, "12 1/2 in").now().of("shank_depth").finding.headline == (
        "Deeper: 6 turns of the crank"
    )
    assert "Shallower" in dug(book, 2, "15 1/2 in").now().of("shank_depth").finding.headline
    assert dug(book, 3, "14 in").now().of("shank_depth").state is State.DONE


def test_shanks_that_disagree_lead_back_to_level(book: Book) -> None:
    dug(three_pits(book), 1, "14 in", shank1="12 1/2 in")
    finding = book.now().of("shank_depth").finding
    assert finding.leads_to == "level" and "Shank 1 is shallow" in finding.headline


@pytest.mark.parametrize("seed", range(40))
def test_three_digs_bring_a_machine_with_play_to_its_target(
    walk: Walk, book: Book, seed: int
) -> None:
    """An invented machine: a step that is off by up to 15 %, a tenth of play, a careful spade."""
    dice = random.Random(seed)
    step = 0.25 * INCH_M * dice.uniform(0.85, 1.15)
    depth, target = dice.uniform(11.0, 17.0) * INCH_M, 14 * INCH_M
    three_pits(book)
    for number in range(1, 4):
        inches = round(depth / INCH_M * 8) / 8
        text = f"{int(inches)} {round(inches % 1 * 8)}/8 in" if inches % 1 else f"{int(inches)} in"
        finding = dug(book, number, text).now().of("shank_depth").finding
        if finding.done:
            break
        play = 0.1 * step if finding.values["advised"] < 0 else 0.0
        depth += finding.values["advised"] * step + play
    # Done means within half an inch as read; the tape is read to the nearest eighth.
    assert abs(depth - target) <= (0.5 + 1 / 16) * INCH_M + 1e-6
    assert finding.done


def test_discs_answer_depth_straw_and_throw(book: Book) -> None:
    def said(**answers: str) -> str:
        base = {"depth_left": "4 in", "depth_right": "4 in", "residue": "cut", "throw": "even"}
        return book.say("front_discs", **(base | answers)).now().of("front_discs").finding.headline

    words = {
        said(), said(depth_left="7 in", depth_right="7 in"),
        said(depth_left="1 in", depth_right="1 in"), said(residue="pushed"), said(throw="centre"),
        said(depth_left="5 in"),
    }  # fmt: skip
    assert len(words) == 6


def test_the_basket_follows_moisture_plugging_and_what_comes_next(book: Book) -> None:
    def said(**answers: str) -> str:
        base = {"paths": "filled", "ridge": "1 in", "follows": "drill", "sticks": "clean",
                "finish_now": "pressing"}  # fmt: skip
        return book.say("rear_finish", **(base | answers)).now().of("rear_finish").finding.headline

    assert said() == "Paths filled, level enough"
    assert said(sticks="some") == "Let the basket float"
    assert said(sticks="plugged") == "Lift the basket and lock it up"
    assert said(paths="low") == "Lower the levelling discs 1/2 in"
    assert said(ridge="4 in").startswith("Lower the levelling discs")
    assert said(ridge="4 in", follows="winter") == "Let the basket float"


def judged(book: Book, **answers: str) -> Book:
    base = {"ridges": "1 in", "where": "none", "slots": "filled", "residue": "spread",
            "powder": "crumb", "dug_front": "14 in", "dug_rear": "14 in"}  # fmt: skip
    for n in (1, 2, 3):
        base |= {f"frame{n}_largest": "5 in", f"frame{n}_over": "0", f"frame{n}_all": "20"}
    return book.say("judge", **(base | answers))


def test_the_ground_passes_or_leads_back_to_one_step_and_one_change(book: Book) -> None:
    three_pits(book)
    assert judged(book).now().of("judge").finding.verdict is Verdict.PASS
    expected = {
        ("slots", "smear"): "will_it_pull",
        ("where", "centre"): "front_discs",
        ("dug_rear", "15 in"): "level",
    }
    for (key, value), step in expected.items():
        finding = judged(book, **{key: value}).now().of("judge").finding
        assert (finding.verdict, finding.leads_to) == (Verdict.ADJUST, step), key
    coarse = judged(book, frame2_over="6").now().of("judge").finding
    assert "Clods larger" in coarse.sums[0]


def test_one_clod_of_sixty_is_good_and_four_are_not(book: Book) -> None:
    three_pits(book)
    assert judged(book, frame1_over="1").now().of("judge").finding.verdict is Verdict.PASS
    assert judged(book, frame1_over="4").now().of("judge").finding.verdict is Verdict.ADJUST


def test_the_road_has_its_own_list(book: Book) -> None:
    book.say("road", folded="folded", locks="in", clean="clean", road_lights="all",
             width="14 ft", height="13 ft", road_chain="good")  # fmt: skip
    assert book.now().of("road").state is State.DONE
    assert "fold" in " ".join(book.say("road", width="17 ft").now().of("road").finding.notes)
    assert book.say("road", locks="missing").now().of("road").state is State.HELD


def test_centimetres_typed_as_inches_are_asked_and_not_guessed(walk: Walk) -> None:
    ask = walk.step("hard_layer").ask("bottom")
    assert read_value(ask, "33", "in") == pytest.approx(33 * INCH_M)
    doubt = doubt_of(ask, "33", "in")
    assert doubt is not None and doubt.instead_unit == "cm" and "33 cm" in doubt.words
    assert doubt_of(ask, "13", "in") is None
    assert doubt_of(ask, "13", "cm") is None or "13 in" in doubt_of(ask, "13", "cm").words  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("text", "unit", "mend"),
    [("-3", "in", "expected"), ("1/0", "in", "fraction"), ("12 1/2/3", "in", "type"),
     ("130", "in", "look at the unit"), ("13", "psi", "choose its unit"), ("", "in", "type")],
)  # fmt: skip
def test_what_cannot_be_a_depth_is_refused_with_its_mend(
    walk: Walk, text: str, unit: str, mend: str
) -> None:
    with pytest.raises(EntryFault, match=mend):
        read_value(walk.step("hard_layer").ask("bottom"), text, unit)


def test_a_refused_answer_leaves_the_earlier_one(book: Book) -> None:
    three_pits(book)
    before = book.now().of("hard_layer").finding
    with pytest.raises(EntryFault):
        book.say("hard_layer", pit1_bottom="130 in")
    assert book.now().of("hard_layer").finding == before


def test_metric_readers_get_the_same_ground_in_centimetres(book: Book) -> None:
    finding = three_pits(book).now(UnitSystem.METRIC).of("shank_depth").finding
    assert finding.sums[0] == "33 bottom + 2.5 margin = 35.5 cm"


def test_an_edited_steps_file_is_refused_with_every_fault(walk: Walk) -> None:
    with pytest.raises(WalkError) as caught:
        read_walk('[[step]]\nid = "checks"\n[[step.ask]]\nkey = "a"\nwords = "A"\nkind = "guess"\n')
    text = " ".join(caught.value.faults)
    assert "step[1].ask[1].kind" in text and "will_it_pull" in text

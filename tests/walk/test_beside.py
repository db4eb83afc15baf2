"""What stands beside the steps: lines, digs of the day, wear, what is asked, and what counts."""

from dataclasses import replace

import pytest

from cabapp.units import ACRE_M2, INCH_M, UnitSystem
from cabapp.walk.asked import ask_of
from cabapp.walk.dug import Pair, agreement, off_words
from cabapp.walk.findings import Verdict
from cabapp.walk.progress import State
from cabapp.walk.steps import Walk
from cabapp.walk.wear import WearLine, wear_of, wear_words
from tests.walk.story import Book, checked, dug, levelled, pulled, three_pits

US = UnitSystem.US


def pairs(*offs_in: float | None) -> list[Pair]:
    return [Pair(14 * INCH_M, None if off is None else (14 - off) * INCH_M) for off in offs_in]


def test_three_digs_that_agree_offer_an_offset_and_others_do_not() -> None:
    assert agreement(pairs(0.5, 0.75), US).words == "1 more dig before an offset counts"
    agreed = agreement(pairs(0.5, 0.75, 0.5), US)
    assert agreed.offset_m == pytest.approx(1.75 / 3 * INCH_M)
    assert agreement(pairs(0.5, 1.25, 0.5), US).offset_m is None
    assert agreement(pairs(0.1, -0.1, 0.1), US).words == "Three digs agree with the sensor"
    assert "Too much" in agreement(pairs(5.0, 5.0, 5.0), US).words
    assert agreement(pairs(None, None, None), US).words == "No live depth beside a dig yet"


def test_only_the_last_three_digs_count() -> None:
    assert agreement(pairs(3.0, 0.5, 0.5, 0.75), US).offset_m is not None


def test_a_dig_says_which_way_the_sensor_is_off() -> None:
    assert off_words(pairs(0.5)[0], US) == "Dug 14 in, sensor 13 1/2 in: 1/2 in too shallow"
    assert off_words(pairs(-0.5)[0], US).endswith("1/2 in too deep")
    assert off_words(pairs(None)[0], US) == "Dug 14 in; no live depth here"


def line(part: str, fitted: bool, length_in: float, acres: float, day: str = "d") -> WearLine:
    return WearLine(part, fitted, length_in * INCH_M, acres * ACRE_M2, acres / 9, day)


def test_wear_counts_from_the_last_new_set() -> None:
    book = [line("points", True, 10, 0), line("points", False, 7, 400), line("discs", True, 26, 0),
            line("points", True, 10, 0, "later"), line("points", False, 9, 180)]  # fmt: skip
    wear = wear_of("points", book)
    assert wear is not None and wear.since == "later"
    assert wear_words(wear, US) == "worn 1 in in 180 ac, 20 h"
    assert wear_of("points", book[2:3]) is None
    grown = wear_of("points", [line("points", True, 9, 0), line("points", False, 10, 5)])
    assert grown is not None and "measure again" in wear_words(grown, US)


@pytest.mark.parametrize(
    ("said", "state"),
    [("no", State.HELD), ("asked", State.HELD), ("answered", State.TO_DO), ("marked", State.TO_DO)],
)
def test_pits_wait_for_word_about_buried_lines(book: Book, said: str, state: State) -> None:
    book.say("checks", buried=said)
    assert book.now().of("hard_layer").state is state


def test_an_answer_that_is_waited_for_names_the_first_day(book: Book) -> None:
    hold = book.say("checks", buried="asked").now().of("hard_layer").hold
    assert hold is not None and hold.headline == "Asked: wait until 17 Oct at least"
    book.day = "2031-10-20"
    hold = book.now().of("hard_layer").hold
    assert hold is not None and "is the answer there" in hold.headline


def test_an_answer_is_asked_for_again_once_it_is_older_than_the_place_allows(book: Book) -> None:
    book.say("checks", buried="answered")
    book.day = "2031-10-28"  # the last of 14 days
    assert book.now().of("hard_layer").hold is None
    book.day = "2031-10-29"
    hold = book.now().of("hard_layer").hold
    assert hold is not None and hold.headline == "Answer good until 28 Oct: ask again"
    book.rig = replace(book.rig, locale=replace(book.rig.locale, lines_good_days=0))
    assert book.now().of("hard_layer").hold is None  # not known how long: the ticket says


def test_shallow_work_asks_about_no_lines(book: Book) -> None:
    book.say("shank_depth", target="11 in")
    assert book.now().of("shank_depth").hold is None
    book.say("shank_depth", target="12 1/4 in")
    assert book.now().of("shank_depth").state is State.HELD


def test_a_second_field_on_one_day_has_its_own_area_rows_and_lines(book: Book) -> None:
    checked(book)
    book.field = "South"
    answers = book.now().of("checks").answers
    assert answers.value("area") is None and answers.choice("buried") == ""
    assert answers.choice("hitch_pin") == "home"
    assert answers.value("blade_new") == pytest.approx(26 * INCH_M)


def test_what_the_manual_says_is_asked_once_for_the_tool(book: Book) -> None:
    checked(book)
    book.day = "2031-10-15"
    missing = book.now().of("checks").finding.missing
    assert "Blade when new" not in missing and "Front disc blade" in missing


def test_a_probe_is_asked_what_a_probe_tells_and_a_pit_what_a_pit_does(book: Book) -> None:
    book.say("hard_layer", pit1_way="probe", pit2_way="pit", pit2_found="none")
    keys = [question.key for question in book.now().of("hard_layer").asked]
    assert "pit1_cone" in keys and "pit1_reading5" in keys and "pit1_bottom" not in keys
    assert "pit2_found" in keys and "pit2_bottom" not in keys


def test_a_lone_hard_reading_asks_for_a_second_push_and_counts_once_it_agrees(book: Book) -> None:
    def push(key: str, hard: int) -> dict[str, str]:
        psi = (60, 100, 150, hard, 150, 120, 100)
        return {f"pit1_{key}{n}": f"{value} psi" for n, value in enumerate(psi, start=1)}

    book.say("hard_layer", pit1_way="probe", pit1_cone="large", pit1_scale="large",
             pit1_moist="moist", **push("reading", 400))  # fmt: skip
    now = book.now().of("hard_layer")
    assert any(question.key == "pit1_second4" for question in now.asked)
    assert "bottom" not in now.finding.values
    book.say("hard_layer", **push("second", 150))
    assert "bottom" not in book.now().of("hard_layer").finding.values
    book.say("hard_layer", **push("second", 380))
    assert 12 * INCH_M < book.now().of("hard_layer").finding.values["bottom"] < 15 * INCH_M


def test_a_worn_cone_is_named(book: Book) -> None:
    psi = {f"pit1_reading{n}": f"{v} psi" for n, v in enumerate((100, 350, 400, 200), start=1)}
    book.say("hard_layer", pit1_way="probe", pit1_cone="large", pit1_scale="large",
             pit1_moist="moist", pit1_cone_now="20.2 mm", **psi)  # fmt: skip
    assert not book.now().of("hard_layer").finding.notes
    book.say("hard_layer", pit1_cone_now="19.4 mm")
    assert "cone is worn, 19.4 of 20.3 mm" in book.now().of("hard_layer").finding.headline


def test_water_over_thirty_per_cent_is_a_caution_with_its_source(book: Book) -> None:
    pulled(three_pits(checked(book))).say("will_it_pull", water="28 %")
    assert book.now().of("will_it_pull").finding.verdict is Verdict.PASS
    finding = book.say("will_it_pull", water="34 %").now().of("will_it_pull").finding
    assert finding.verdict is Verdict.CAUTION and "practice standard 324" in finding.notes[0]


def test_slip_from_two_timed_runs_is_shown_as_a_sum(book: Book) -> None:
    # 13.6 s tool up against 15.2 s tool down: 10.5 %, from the definition of slip.
    book = pulled(three_pits(checked(book)))
    sums = book.say("will_it_pull", time_up="13.6 s", time_down="15.2 s").now()
    assert any(text.startswith("Slip 1 − 13.6 s / 15.2 s = 11 %: too much")
               for text in sums.of("will_it_pull").finding.sums)  # fmt: skip
    swapped = book.say("will_it_pull", time_down="12 s").now().of("will_it_pull").finding.sums
    assert any("swapped" in text for text in swapped)


def test_handfuls_above_the_depth_the_layer_asks_for_are_not_judged(book: Book) -> None:
    pulled(three_pits(checked(book), ("16 in", "16 in", "16 in")))
    finding = book.now().of("will_it_pull").finding
    assert finding.verdict is Verdict.OPEN and "shank depth" in finding.headline


def test_digs_against_the_movement_say_the_adjuster_works_the_other_way(book: Book) -> None:
    levelled(three_pits(book))
    dug(book, 1, "12 in")
    dug(book, 2, "11 in", moved="8")
    finding = book.now().of("shank_depth").finding
    assert finding.headline == "The adjuster works the other way"
    assert "advised" not in finding.values
    # Said as it was: the crank went the other way, and the digs teach its step again.
    right = book.say("shank_depth", dig2_moved="-4").now().of("shank_depth").finding
    assert right.headline.startswith("Deeper") and "learned" in right.detail


def test_a_cause_that_was_tried_gives_way_to_the_next_once_the_ground_is_judged_anew(
    book: Book,
) -> None:
    from tests.walk.test_steps import judged

    first = judged(three_pits(book), where="centre").now().of("judge").finding
    book.say_raw("judge", "tried1", first.notes[0])
    assert book.now().of("judge").finding == first
    second = judged(book, where="centre").now().of("judge").finding
    assert second.headline != first.headline and second.leads_to == "rear_finish"


def test_every_key_of_the_book_finds_its_question(walk: Walk) -> None:
    expected = {
        ("hard_layer", "pit2_bottom"): "bottom", ("hard_layer", "pit12_reading10"): "reading",
        ("hard_layer", "pit1_cone_now"): "cone_now", ("shank_depth", "dig3_shank11"): "dug",
        ("shank_depth", "dig2_moved"): "moved", ("judge", "frame1_over"): "over",
        ("judge", "clod7"): "clod", ("will_it_pull", "feel2"): "feel2", ("judge", "tried1"): None,
    }  # fmt: skip
    for (step, key), name in expected.items():
        ask = ask_of(walk.step(step), key)
        assert (ask.key if ask else None) == name, key

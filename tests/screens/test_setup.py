"""The set-up walk by touch alone: from an empty book to a plan on Drive, on both panels."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from cabapp.engine.home import Home
from cabapp.engine.wire import PlanMade, RigWritten
from cabapp.events import TapKind
from cabapp.record.book import Book, Kind
from cabapp.rigcheck import read_rig
from cabapp.screens.fronts import Way
from cabapp.screens.house import House
from cabapp.screens.pages import setup_gallery as gallery
from cabapp.screens.pages.registry import pages
from cabapp.screens.pages.setup_ledger import Ledger
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.pictures import layout_of
from cabapp.units import INCH_M, MPH_MPS
from cabapp.walk.progress import State
from tests.screens.setup_hands import Hands

LARGE, SMALL = "10in-1280x800", "7in-1024x600"


@pytest.fixture
def folder() -> Iterator[Path]:
    """A state folder in memory where there is one: every answer waits for the storage."""
    memory = Path("/dev/shm")
    with TemporaryDirectory(dir=memory if memory.is_dir() else None) as name:
        yield Path(name)


@pytest.fixture
def hands(cabin: Any, folder: Path) -> Hands:
    made = Hands(cabin, LARGE, folder)
    made.page.enter(gallery.standing())
    return made


@pytest.fixture
def ready(hands: Hands) -> Hands:
    """Checks, pull, pits and level are in the book."""
    gallery.morning(hands.page)
    hands.page.go(Room.LIST)
    return hands


CHECKS = {"field": "North", "area": "58 ac", "row_bearing": "92 deg"} | gallery.CHECKS


@pytest.mark.parametrize("panel", [LARGE, SMALL])
def test_from_hitching_to_a_plan_on_drive_by_touch_alone(
    cabin: Any, folder: Path, panel: str
) -> None:
    hands = Hands(cabin, panel, folder)
    page = hands.page
    page.enter(gallery.standing())
    hands.begin("checks")
    # Area and rows are not asked for by themselves: they are tapped.
    hands.answer(CHECKS)
    for key in ("area", "row_bearing"):
        if page.layout.small:
            hands.tap("values")
            while not hands.can(f"row_{key}"):
                hands.tap("earlier")
        else:
            while not hands.can(f"row_{key}"):
                hands.tap("before")
        hands.tap(f"row_{key}")
        hands.say(CHECKS[key])
    assert page.standing.state is State.DONE
    steps = [
        ("will_it_pull", gallery.PULL), ("hard_layer", gallery.PITS), ("level", gallery.LEVEL),
        ("shank_depth", gallery.SHALLOW),
    ]  # fmt: skip
    for step, answers in steps:
        hands.begin(step)
        hands.answer(answers)
    assert "Deeper: 6 1/4 turns of the crank" in hands.words()
    hands.tap("act")
    hands.answer(gallery.DEEP_ENOUGH)
    assert page.standing.state is State.DONE
    for step, answers in (("front_discs", gallery.DISCS), ("rear_finish", gallery.REAR)):
        hands.begin(step)
        hands.answer(answers)
        assert page.standing.state is State.DONE, step
    # The finish carries weight: the depth is dug once more before the ground is judged.
    assert page.now is not None and page.now.of("shank_depth").state is State.CHECK_AGAIN
    hands.begin("shank_depth")
    hands.answer(gallery.dig(3, *["14 in"] * 5))
    hands.begin("judge")
    hands.answer(gallery.JUDGE)
    assert page.now.next is None and page.now.done == 8
    hands.tap("act")
    assert page.room is Room.PLAN
    hands.tap("high_less")
    hands.tap("send")
    plan = next(message.plan for message in hands.told if isinstance(message, PlanMade))
    found = page.now.of("shank_depth").finding.values
    assert plan.depth_target_m == found["target"] == pytest.approx(14 * INCH_M)
    assert plan.layer_top_m == pytest.approx(9 * INCH_M)
    assert plan.layer_bottom_m == pytest.approx(13 * INCH_M)
    assert (plan.field, plan.row_bearing_deg) == ("North", 92.0)
    assert plan.area_m2 == pytest.approx(58 * 4046.8564224)
    assert plan.speed_low_mps == pytest.approx(5 * MPH_MPS)
    assert plan.speed_high_mps == pytest.approx(6.5 * MPH_MPS)
    assert plan.set_today and plan.made_utc == gallery.UTC
    assert (TapKind.FIELD, "North") in hands.sent


def test_every_answer_is_in_the_book_with_who_when_and_where(hands: Hands, folder: Path) -> None:
    hands.tap("who")
    hands.tap("new_name")
    hands.spell("Kit")
    hands.begin("level")
    hands.say("24 in")
    line = Book(folder / "book.gpkg").entries(Kind.HAND_CHECK)[-1]
    assert (line.who, line.made_utc) == ("Kit", gallery.UTC)
    assert (line.lat_deg, line.lon_deg) == pytest.approx((44.1, -93.2))
    assert line.value["text"] == "24" and line.value["unit"] == "in"
    assert line.value["day"] == "2031-10-14"


def test_leaving_a_reboot_and_another_driver_lose_nothing(
    cabin: Any, ready: Hands, folder: Path
) -> None:
    ready.begin("shank_depth")
    ready.say("12 1/2 in")
    ready.page.leave()
    again = Hands(cabin, LARGE, folder)
    again.page.enter(gallery.standing())
    again.tap("who")
    again.tap("new_name")
    again.spell("Bo")
    again.begin("shank_depth")
    assert again.page.question is not None
    assert again.page.question.key == "dig1_shank3"
    assert again.page.standing.answers.value("dig1_shank1") == pytest.approx(12.5 * INCH_M)


def test_no_pit_is_dug_before_the_lines_are_known(hands: Hands) -> None:
    hands.tap("step_hard_layer")
    assert hands.page.room is Room.HOLD
    assert "phone 811" in hands.words() and "tile" in hands.words()
    hands.tap("choice_asked")
    assert hands.page.room is Room.HOLD
    assert "wait until 17 Oct" in hands.words()
    assert hands.page.standing.state is State.HELD
    hands.tap("choice_answered")
    assert hands.page.room is Room.LOOK


def test_work_over_the_locale_depth_waits_for_the_lines_too(ready: Hands) -> None:
    gallery.say(ready.page, "checks", {"buried": "no"})
    ready.page.again()
    ready.tap("step_shank_depth")
    assert ready.page.room is Room.HOLD and "Before work deeper than 12 in" in ready.words()


@pytest.mark.parametrize(
    "step",
    ["checks", "will_it_pull", "hard_layer", "level", "shank_depth", "front_discs", "rear_finish",
     "judge", "road"],
)  # fmt: skip
@pytest.mark.parametrize("panel", [LARGE, SMALL])
def test_every_caution_of_a_step_stands_before_it_in_full(
    cabin: Any, folder: Path, step: str, panel: str
) -> None:
    hands = Hands(cabin, panel, folder)
    hands.page.enter(gallery.standing())
    gallery.say(hands.page, "checks", {"buried": "answered"})
    hands.page.again()
    if step == "road" and hands.page.layout.small:
        hands.tap("more")
    hands.tap("road" if step == "road" else f"step_{step}")
    seen = ""
    while hands.page.room is Room.LOOK:
        seen += hands.words() + " "
        assert "operator's manuals" in seen
        hands.tap("go_on")
    walk = hands.page.opened.walk
    shown = walk.step(step)
    wanted = {*shown.cautions, *(ask.caution for ask in shown.asks if ask.caution)}
    for key in wanted:
        assert walk.cautions[key] in seen.replace("  ", " "), key


def test_cautions_people_get_hurt_without_are_in_the_shipped_steps(hands: Hands) -> None:
    """What the usual safety pages ask for, each at the step where it matters."""
    walk = hands.page.opened.walk

    def at(step: str) -> str:
        shown = walk.step(step)
        keys = {*shown.cautions, *(ask.caution for ask in shown.asks if ask.caution)}
        return " ".join(walk.cautions[key] for key in keys).lower()

    assert "raised tool" in at("level") and "key out" in at("shank_depth")
    assert "feel for a leak" in at("checks") and "between tractor and tool" in at("checks")
    assert "power lines" in at("checks") and "power lines" in at("road")
    assert "transport locks" in at("road") and "sign" in at("road")
    assert "horn" in at("level") and "thrown stones" in at("rear_finish")
    assert "roll bar" in at("will_it_pull") and "extinguisher" in at("will_it_pull")
    assert "buried lines" in at("hard_layer") and "never alone" in at("hard_layer")
    assert "gloves" in at("shank_depth") and "eye cover" in at("front_discs")


def test_centimetres_typed_as_inches_are_asked_about(ready: Hands) -> None:
    ready.begin("hard_layer")
    ready.page.choose("pit3_bottom")
    ready.say("33 in")
    assert "33 in is unusual here. Is it 33 cm?" in ready.words()
    ready.tap("instead")
    entry = ready.page.standing.answers.entry("pit3_bottom")
    assert entry is not None and (entry.text, entry.unit) == ("33", "cm")
    assert entry.value == pytest.approx(0.33)


def test_a_refusal_says_what_and_how_and_the_earlier_value_stays(ready: Hands) -> None:
    ready.begin("hard_layer")
    ready.page.choose("pit3_bottom")
    ready.say("130 in")
    assert "found 130 in, expected 0 to 40 in" in ready.words()
    assert ready.page.standing.answers.value("pit3_bottom") == pytest.approx(13.5 * INCH_M)
    ready.page.choose("pit3_top")
    ready.say("14 in")
    assert "swapped" in ready.page.standing.finding.headline
    assert ready.page.standing.state is State.TO_DO


def test_changing_the_unit_key_never_changes_the_figure(ready: Hands) -> None:
    ready.begin("level")
    ready.page.choose("front_left")
    for key in ("key_6", "key_1", "unit"):
        ready.tap(key)
    assert (ready.page.asking.typed.text, ready.page.asking.typed.unit) == ("61", "cm")


def test_nothing_is_done_by_going_on_without_an_answer(hands: Hands) -> None:
    gallery.say(hands.page, "checks", {"buried": "answered"})
    for step in ("level", "front_discs", "rear_finish", "judge", "shank_depth", "will_it_pull"):
        hands.page.go(Room.LIST)
        hands.begin(step)
        for _ in range(30):
            tapped = next((n for n in ("next", "enter", "act") if hands.can(n)), None)
            if tapped is None or hands.page.step_id != step:
                break
            hands.tap(tapped)
        assert hands.page.now is not None
        assert hands.page.now.of(step).state is not State.DONE, step


def test_digs_that_went_the_other_way_say_so(ready: Hands) -> None:
    gallery.say(ready.page, "shank_depth", gallery.SHALLOW | gallery.dig(2, *["11 in"] * 5))
    ready.page.reckon()
    ready.begin("shank_depth")
    assert "The adjuster works the other way" in ready.words()


def test_rain_makes_steps_due_again_and_tells_the_engine(ready: Hands) -> None:
    gallery.say(ready.page, "shank_depth", gallery.dig(1, *["14 in"] * 5))
    ready.page.again()
    ready.tap("rain")
    assert ready.page.now is not None
    assert ready.page.now.of("shank_depth").state is State.CHECK_AGAIN
    assert (TapKind.RAIN, None) in ready.sent


def test_what_is_due_again_is_asked_anew_and_may_still_be_so(ready: Hands) -> None:
    gallery.say(ready.page, "will_it_pull", {"power": "425 hp"})
    ready.page.again()
    ready.tap("rain")
    ready.begin("will_it_pull")
    for n in (1, 2, 3):
        assert ready.page.standing.state is State.CHECK_AGAIN
        assert ready.page.question is not None and ready.page.question.key == f"feel{n}"
        ready.tap("choice_breaking_ball")
    assert ready.page.standing.state is State.DONE
    ready.page.book.happen("new_points")
    ready.page.again()
    ready.begin("level")
    for _ in range(4):
        assert ready.page.standing.state is State.CHECK_AGAIN
        ready.tap("enter")
    assert ready.page.standing.state is State.DONE


def test_a_dig_is_shown_against_the_sensor_and_three_make_an_offset(
    ready: Hands, folder: Path
) -> None:
    ready.tap("dug")
    for depth in ("14 in", "14 1/4 in"):
        ready.say(depth)
        assert not ready.can("offset")
    assert "sensor 13 1/2 in: 3/4 in too shallow" in ready.words()
    ready.say("14 in")
    assert (TapKind.DUG, pytest.approx(14 * INCH_M)) in ready.sent
    ready.tap("offset")
    assert any(isinstance(message, RigWritten) for message in ready.told)
    rig = read_rig((folder / "rig.toml").read_text())
    moved = [one.curve.offset for one in rig.sensors if one.curve is not None]
    assert moved == pytest.approx([(0.5 + 0.75 + 0.5) / 3 * INCH_M] * 4, abs=1e-4)
    assert not ready.can("offset")


def test_another_field_asks_before_an_earlier_plan_is_used(ready: Hands) -> None:
    page = ready.page
    page.send_plan()
    page.book.answer("checks", "field", "South", "", None)
    page.again()
    ready.tap("plan")
    ready.tap("copy")
    assert "13 in in North" in ready.words()
    assert not ready.can("send")
    for i in range(3):
        ready.tap(f"agree_{i}")
    ready.tap("send")
    plan = ready.told[-1].plan
    assert (plan.field, plan.set_today, plan.layer_bottom_m) == ("South", False, None)
    assert plan.depth_target_m == pytest.approx(14 * INCH_M)


def test_parts_of_a_field_get_their_own_depth(ready: Hands) -> None:
    parts = {"pit1_zone": "A", "pit2_zone": "B", "pit3_zone": "B", "use": "zones"}
    gallery.say(ready.page, "hard_layer", parts | {"pit1_bottom": "10 in"})
    ready.page.again()
    ready.tap("plan")
    assert not ready.can("send")
    ready.tap("zone_A")
    ready.tap("send")
    assert ready.told[-1].plan.depth_target_m == pytest.approx(11 * INCH_M)


def test_an_owners_steps_file_is_used_or_its_faults_are_told(hands: Hands, folder: Path) -> None:
    shipped = Path("assets/walk/combination.toml").read_text(encoding="utf-8")
    (folder / "steps.toml").write_text(shipped.replace('title = "Checks"', 'title = "Look"'))
    hands.page.enter(gallery.standing())
    assert hands.page.opened.walk.step("checks").title == "Look"
    (folder / "steps.toml").write_text(shipped.replace('kind = "text"', 'kind = "guess"'))
    hands.page.enter(gallery.standing())
    assert hands.page.opened.walk.step("checks").title == "Checks"
    hands.tap("faults")
    assert "found 'guess'" in hands.words()


def test_a_shed_without_sky_counts_days_until_a_date_comes(hands: Hands, folder: Path) -> None:
    dark = replace(gallery.standing(), utc="", place=None)
    page = hands.page
    page.ledger = None
    page.enter(dark)
    assert page.book.day == "day 1"
    hands.begin("level")
    hands.answer(gallery.LEVEL)
    page.show(gallery.standing())
    assert page.book.day == "2031-10-14"
    again = Ledger(folder / "book.gpkg", page.rig)
    assert {entry.day for entry in again.entries if entry.step == "level"} == {"2031-10-14"}


def test_the_wear_book_tells_what_a_point_lost_over_its_ground(hands: Hands) -> None:
    hands.tap("wear")
    for text in ("10 in", "0 ac", "0 h"):
        hands.say(text)
    hands.tap("fitted")
    for text in ("8 3/4 in", "210 ac", "24 h"):
        hands.say(text)
    hands.tap("measured")
    assert "worn 1 1/4 in in 210 ac, 24 h" in hands.words()


def test_setting_off_and_parking_again_comes_back_to_the_same_step(
    cabin: Any, folder: Path
) -> None:
    gallery.home_in(folder)
    sent: list[Any] = []
    way = Way(lambda kind, value: sent.append(kind), lambda name: None)
    house = House(layout_of(LARGE), way, pages(Home(folder)), lambda: cabin.stage.time)
    cabin.stage.show(house, 1280, 800)
    house.show(gallery.standing())
    house.open("setup")
    page = house.made["setup"]
    gallery.say(page, "checks", {"buried": "answered"})
    page.reckon()
    page.open_step("level")
    page.begin_step()
    house.show(replace(gallery.standing(), moving=True))
    assert house.page_name == ""
    house.show(gallery.standing())
    house.open("setup")
    assert (page.room, page.step_id, page.asking.key) == (Room.STEP, "level", "front_left")


def test_new_points_make_the_level_due_again_even_the_day_after(ready: Hands) -> None:
    ready.tap("wear")
    for text in ("10 in", "0 ac", "0 h"):
        ready.say(text)
    ready.tap("fitted")
    ready.tap("back")
    now = ready.page.now
    assert now is not None and now.of("level").state is State.CHECK_AGAIN
    ready.page.enter(replace(gallery.standing(), utc="2031-10-15T13:05:00.000Z"))
    now = ready.page.now
    assert now is not None and now.of("level").state is State.CHECK_AGAIN


def test_a_book_that_cannot_be_opened_is_told_and_nothing_breaks(cabin: Any, folder: Path) -> None:
    hands = Hands(cabin, LARGE, folder)
    (folder / "book.gpkg").write_text("not a book at all, only words" * 200)
    hands.page.enter(gallery.standing())
    assert "restore a kept copy" in hands.words()
    hands.tap("back")
    assert hands.left == 1

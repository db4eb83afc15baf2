"""The lock between pages, and what is shown when the engine falls silent."""

from dataclasses import replace
from typing import Any

import pytest
from kivy.uix.widget import Widget

from cabapp.screens.fronts import Way
from cabapp.screens.gallery import SCENES
from cabapp.screens.house import House
from cabapp.screens.pictures import layout_of
from tests.screens.ink_on_page import look

LARGE = "10in-1280x800"


class PlainPage(Widget):
    """A page that notes what it is told."""

    def __init__(self, layout: Any, way: Way, back: Any) -> None:
        super().__init__()
        self.told: list[str] = []
        self.back = back

    def enter(self, snapshot: Any) -> None:
        self.told.append("enter")

    def show(self, snapshot: Any) -> None:
        self.told.append("show")

    def heard(self, message: object) -> None:
        self.told.append(f"heard {message}")

    def leave(self) -> None:
        self.told.append("leave")


@pytest.fixture
def house(cabin):
    made = House(
        layout_of(LARGE),
        Way(lambda kind, value: None, lambda name: None),
        {"setup": PlainPage},
        lambda: cabin.stage.time,
    )
    cabin.stage.show(made, 1280, 800)
    return made


def test_a_page_opens_only_while_standing_and_closes_when_the_machine_sets_off(house):
    house.show(SCENES["in-band"]())
    house.open("setup")
    assert house.page_name == ""
    house.show(SCENES["standing"]())
    house.open("setup")
    assert house.page_name == "setup"
    assert house.drive.parent is None
    house.heard("samples")
    house.show(SCENES["in-band"]())
    assert house.page_name == ""
    assert house.drive.parent is house
    assert house.made["setup"].told == ["enter", "heard samples", "leave"]


def test_a_silent_engine_closes_a_page_too(house):
    house.show(SCENES["standing"]())
    house.open("setup")
    house.show_silent()
    assert house.page_name == ""


def test_the_menu_has_keys_only_for_pages_there_are(house):
    house.show(SCENES["standing"]())
    house.drive.bring(type(house.drive.fronts.front).MENU)
    names = {target.name for target in house.drive.targets()}
    assert "setup" in names
    assert "shifts" not in names


def test_nothing_opens_before_the_engine_has_spoken(house):
    house.show_starting()
    house.open("setup")
    assert house.page_name == ""


@pytest.mark.parametrize("state", ["in-band", "receiver-only", "stop-shank", "standing"])
def test_a_silent_engine_leaves_no_digit_standing(cabin, panel, state):
    page = cabin.present(panel, state)
    page.show_silent()
    view = look(page)
    shown = [text.words for text in view.texts if any(c.isdigit() for c in text.words)]
    assert [words for words in shown if not words.startswith("Peg")] == []
    assert page.band.headline.text == "NO DATA"
    assert page.band.quiet_small.text == "sound ?"  # nobody says whether it would be heard
    assert not page.speed.pointer.shapes


def test_the_first_picture_of_a_start_says_starting_and_no_number(cabin, panel):
    page = cabin.page(panel)
    page.show_starting()
    view = look(page)
    assert page.band.headline.text == "STARTING"
    assert page.band.quiet_small.text == "sound ?"
    digits = [t.words for t in view.texts if any(c.isdigit() for c in t.words)]
    assert [words for words in digits if not words.startswith("Peg")] == []


@pytest.mark.parametrize("tile", ["speed", "depth", "springs"])
def test_a_tile_that_reads_nothing_shows_no_number_but_age_and_target(cabin, panel, tile):
    state = {"speed": "no-position", "depth": "no-depth", "springs": "no-springs"}[tile]
    page = cabin.present(panel, "in-band")  # numbers stood there before
    page.show(SCENES[state]())
    mine = type(getattr(page, tile)).__name__
    words = [text.words for text in look(page).texts if text.tile == mine]
    digits = [w for w in words if any(c.isdigit() for c in w)]
    assert all(w.startswith(("for ", "Target ")) for w in digits), digits
    assert page.band.headline.text != "ALL IN BAND"


def test_the_pointer_and_the_tool_are_gone_with_their_values(cabin):
    page = cabin.present(LARGE, "in-band")
    assert page.speed.pointer.shapes and page.depth.cut.tool.shapes and page.springs.rings.shapes
    page.show(SCENES["no-position"]())
    assert not page.speed.pointer.shapes
    page.show(SCENES["no-depth"]())
    assert not page.depth.cut.tool.shapes
    page.show(SCENES["no-springs"]())
    assert not page.springs.rings.shapes


def test_a_recovered_engine_brings_the_numbers_back(cabin):
    page = cabin.present(LARGE, "in-band")
    page.show_silent()
    cabin.stage.time += 1
    page.show(replace(SCENES["in-band"](), number=7))
    assert page.speed.large.text == "5.8"
    assert page.field.area.text == "38.2"

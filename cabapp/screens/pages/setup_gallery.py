"""Invented days at an invented farm: every room and step of Set up, for pictures and for tests.

Nothing here is measured. The answers are given as a person would, by the page's own ways.
"""

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from cabapp.engine.home import Home
from cabapp.outcome import Snapshot
from cabapp.paths import shipped
from cabapp.screens.fronts import Way
from cabapp.screens.gallery import DEPTH, SCENES
from cabapp.screens.pages.setup import SetupPage
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.ruler import Layout
from cabapp.units import ACRE_M2, INCH_M
from cabapp.walk.asked import ask_of
from cabapp.walk.dug import Pair
from cabapp.walk.entries import read_value
from cabapp.walk.wear import WearLine

UTC = "2031-10-14T13:05:00.000Z"
CHECKS = {
    "hitch_pin": "home", "chain": "fitted", "stand": "stowed", "hoses": "dry",
    "hose_droop": "clear", "plug": "good", "lights": "all", "tyre_front": "14 psi",
    "tyre_front_chart": "14 psi", "tyre_tool": "44 psi", "tyre_tool_chart": "52 psi",
    "point_worn": "1/2 in", "blade": "24 in", "blade_new": "26 in", "springs": "sound",
    "unfold": "level", "overhead": "seen", "buried": "answered",
}  # fmt: skip
PULL = {
    "soil": "medium", "surface": "tilled", "depth_planned": "14 in", "speed_planned": "5 mph",
    "feel1": "breaking_ball", "feel2": "breaking_ball", "feel3": "breaking_ball",
    "feel_depth": "14 in",
}  # fmt: skip
PITS = {
    f"pit{n}_{key}": text
    for n, bottom in ((1, "13 in"), (2, "12 1/2 in"), (3, "13 1/2 in"))
    for key, text in (("way", "pit"), ("found", "layer"), ("top", "9 in"), ("bottom", bottom))
} | {"use": "median"}
LEVEL = dict.fromkeys(("front_left", "front_right", "rear_left", "rear_right"), "24 in")
DISCS = {"depth_left": "4 in", "depth_right": "4 1/4 in", "residue": "cut", "throw": "even"}
REAR = {"paths": "filled", "ridge": "1 in", "follows": "drill", "sticks": "clean",
        "finish_now": "pressing"}  # fmt: skip
JUDGE = {
    f"frame{n}_{key}": text for n in (1, 2, 3)
    for key, text in (("largest", f"{3 + n} in"), ("over", "0"), ("all", f"{16 + n}"))
} | {"ridges": "1 in", "where": "none", "slots": "filled", "residue": "spread",
     "powder": "crumb", "dug_front": "14 in", "dug_rear": "14 in"}  # fmt: skip
PROBE = {"pit1_way": "probe", "pit1_cone": "large", "pit1_scale": "large",
         "pit1_moist": "moist"} | {
    f"pit1_reading{n}": f"{psi} psi"
    for n, psi in enumerate((60, 150, 280, 420, 360, 220, 180), start=1)
}  # fmt: skip


def dig(number: int, *depths: str) -> dict[str, str]:
    """A round of digging at the five shanks of the seven."""
    return {f"dig{number}_shank{n}": d for n, d in zip((1, 3, 4, 5, 7), depths, strict=False)}


SHALLOW = dig(1, "12 1/2 in", "13 in", "12 1/2 in", "12 in", "12 1/4 in")
DEEP_ENOUGH = dig(2, *["14 in"] * 5)


def standing(night: bool = False) -> Snapshot:
    """Standing in the field, tool down, by an invented date and place."""
    depth = replace(DEPTH, value_m=13.5 * INCH_M)
    return replace(SCENES["standing"](), night=night, utc=UTC, place=(44.1, -93.2), depth=depth,
                   moving=False)  # fmt: skip


def home_in(folder: Path) -> Home:
    """A state folder with the full example rig."""
    home = Home(folder)
    text = shipped("config", "rig-us-full.toml").read_text(encoding="utf-8")
    home.rig.write_text(text, encoding="utf-8")
    return home


def page_for(layout: Layout, way: Any, folder: Path, clock: Callable[[], float]) -> SetupPage:
    """The page on an empty book."""
    return SetupPage(layout, way, lambda: None, home=home_in(folder), clock=clock)


def say(page: SetupPage, step: str, answers: dict[str, str]) -> None:
    """Answers put into the book of a page, typed as text with the unit after a space."""
    for key, text in answers.items():
        figure, _, unit = text.rpartition(" ")
        if not figure:
            figure, unit = unit, ""
        ask = ask_of(page.opened.walk.step(step), key)
        assert ask is not None, key
        value = read_value(ask, figure, unit)
        number = value if isinstance(value, float) else None
        page.book.put_answer(step, key, figure, unit, number)
    page.book.read()


def started(page: SetupPage) -> None:
    """Driver and field named."""
    page.book.name_driver("K. Marlow")
    page.book.answer("checks", "field", "North", "", None)
    say(page, "checks", {"area": "58 ac", "row_bearing": "92 deg"})


def morning(page: SetupPage) -> None:
    """Up to the first dig."""
    started(page)
    say(page, "checks", CHECKS)
    say(page, "will_it_pull", PULL)
    say(page, "hard_layer", PITS)
    say(page, "level", LEVEL)


def whole(page: SetupPage) -> None:
    """Everything done."""
    morning(page)
    say(page, "shank_depth", SHALLOW | DEEP_ENOUGH)
    say(page, "front_discs", DISCS)
    say(page, "rear_finish", REAR)
    say(page, "shank_depth", dig(3, *["14 in"] * 5))
    say(page, "judge", JUDGE)


def at(step: str, key: str, *before: tuple[str, dict[str, str]]) -> Callable[[SetupPage], None]:
    """A step with one question in hand after a morning and more answers."""

    def show(page: SetupPage) -> None:
        morning(page)
        for step_id, answers in before:
            say(page, step_id, answers)
        page.reckon()
        page.step_id = step
        page.choose(key)

    return show


def _fresh(page: SetupPage, step: str, room: Room) -> None:
    started(page)
    page.reckon()
    page.step_id = step
    page.go(room)


def _rain(page: SetupPage) -> None:
    morning(page)
    say(page, "shank_depth", dig(1, *["14 in"] * 5))
    page.book.happen("rain")
    page.go(Room.LIST)


def _doubt(page: SetupPage) -> None:
    at("hard_layer", "pit3_bottom")(page)
    page.press("3")
    page.press("3")
    page.enter_value()


def _refusal(page: SetupPage) -> None:
    at("hard_layer", "pit3_bottom")(page)
    for key in "130":
        page.press(key)
    page.enter_value()


def _typing(page: SetupPage) -> None:
    at("shank_depth", "dig1_shank7", ("shank_depth", {k: v for k, v in SHALLOW.items()
                                                       if "shank7" not in k}))(page)  # fmt: skip
    for key in ("1", "2", "1/4"):
        page.press(key)


def _dugs(page: SetupPage) -> None:
    whole(page)
    for dug in (14.0, 14.25, 14.0):
        page.book.dig(Pair(dug * INCH_M, 13.5 * INCH_M))
    page.go(Room.DUG)


def _wear(page: SetupPage) -> None:
    started(page)
    page.book.worn(WearLine("points", True, 10 * INCH_M, 0.0, 0.0, ""))
    page.book.worn(WearLine("points", False, 8.75 * INCH_M, 210 * ACRE_M2, 24.0, ""))
    page.go(Room.WEAR)


def _copy(page: SetupPage) -> None:
    whole(page)
    page.reckon()
    page.send_plan()
    page.book.answer("checks", "field", "South", "", None)
    page.reckon()
    page.draft.copying, page.draft.sent = True, False
    page.draft.agreed = {0}
    page.go(Room.PLAN)


def _room(room: Room, ready: Callable[[SetupPage], None] = whole) -> Callable[[SetupPage], None]:
    def show(page: SetupPage) -> None:
        ready(page)
        page.go(room)

    return show


def _name(page: SetupPage) -> None:
    started(page)
    page.name_of = "field"
    page.asking.letters = "Long Aker"
    page.go(Room.NAME)


def _faults(page: SetupPage) -> None:
    started(page)
    faults = ("step[3].ask[2].kind: found 'guess', expected quantity, count, steps, choice, text",
              "step[4].cautions: 'raised' has no words; add it under [cautions]")  # fmt: skip
    page.opened = replace(page.opened, faults=faults)
    page.go(Room.LIST)


SCENES_OF_SETUP: dict[str, Callable[[SetupPage], None]] = {
    "list-empty": lambda page: page.go(Room.LIST),
    "list-morning": _room(Room.LIST, morning),
    "list-rain": _rain,
    "list-done": _room(Room.LIST),
    "list-faults": _faults,
    "more": _room(Room.MORE, morning),
    "look-checks": lambda page: _fresh(page, "checks", Room.LOOK),
    "look-shank": lambda page: _fresh(page, "shank_depth", Room.LOOK),
    "hold-lines": lambda page: _fresh(page, "hard_layer", Room.HOLD),
    "checks-field": at("checks", "field"),
    "checks-pin": at("checks", "hitch_pin", ("checks", {"hitch_pin": "worn"})),
    "checks-tyre": at("checks", "tyre_tool"),
    "checks-lines": at("checks", "buried"),
    "checks-found": at("checks", ""),
    "pull-depth": at("will_it_pull", "depth_planned"),
    "pull-feel": at("will_it_pull", "feel1"),
    "pull-found": at("will_it_pull", ""),
    "layer-way": at("hard_layer", "pit4_way"),
    "layer-bottom": at("hard_layer", "pit3_bottom"),
    "layer-use": at("hard_layer", "use"),
    "layer-probe": at("hard_layer", "pit1_reading5", ("hard_layer", PROBE)),
    "layer-doubt": _doubt,
    "layer-refused": _refusal,
    "level-corner": at("level", "rear_left", ("level", {"rear_left": "25 in"})),
    "level-found": at("level", "", ("level", {"rear_left": "25 in", "rear_right": "25 in"})),
    "shank-typing": _typing,
    "shank-shallow": at("shank_depth", "dig1_shank7", ("shank_depth", SHALLOW)),
    "shank-moved": at("shank_depth", "dig2_moved", ("shank_depth", SHALLOW)),
    "shank-found": at("shank_depth", "", ("shank_depth", SHALLOW | DEEP_ENOUGH)),
    "shank-wrong-way": at("shank_depth", "", ("shank_depth", SHALLOW | dig(2, *["11 in"] * 5))),
    "discs-depth": at("front_discs", "depth_right", ("front_discs", DISCS)),
    "discs-straw": at("front_discs", "residue", ("front_discs", DISCS)),
    "rear-ridge": at("rear_finish", "ridge", ("rear_finish", REAR | {"ridge": "3 in"})),
    "rear-sticks": at("rear_finish", "sticks", ("rear_finish", REAR | {"sticks": "some"})),
    "judge-frame": at("judge", "frame2_over", ("judge", JUDGE | {"frame2_largest": "8 in"})),
    "judge-slots": at("judge", "slots", ("judge", JUDGE)),
    "judge-found": at("judge", "", ("judge", JUDGE | {"where": "centre"})),
    "road-locks": at("road", "locks"),
    "road-height": at("road", "height", ("road", {"width": "14 ft"})),
    "values": _room(Room.VALUES, at("shank_depth", "dig1_shank3", ("shank_depth", SHALLOW))),
    "plan": _room(Room.PLAN),
    "plan-copy": _copy,
    "dug": _dugs,
    "wear": _wear,
    "driver": _room(Room.WHO, started),
    "name": _name,
}
"""Name to what is done on a fresh page; the names are those of the pictures."""


def present(page: SetupPage, name: str, night: bool = False) -> None:
    """Bring a page on an empty book to one of the scenes."""
    page.enter(standing(night))
    SCENES_OF_SETUP[name](page)


def pictures(stage: Any, layout: Layout, night: bool, folder: Path) -> Iterator[Path]:
    """Write ``setup-SCENE.png`` of every scene for one panel and look; yields the paths."""
    way = Way(lambda kind, value: None, lambda name: None)
    for name in SCENES_OF_SETUP:
        with TemporaryDirectory(prefix="setup-") as home:
            page = page_for(layout, way, Path(home), lambda: stage.time)
            stage.show(page, layout.panel.wide_px, layout.panel.high_px)
            present(page, name, night)
            stage.frames(2)
            path = folder / f"setup-{name}.png"
            stage.shot(path)
            yield path

"""What somebody who had never seen Drive read from its pictures, and what was mended for it.

One reader, 32 pictures, one glance each: is all well; if not, what, which way, what to do. Most
were read as meant. These were not:

======================  =============================================  ===========================
picture                 what was read                                  what was mended
======================  =============================================  ===========================
hooked                  "Pull off, look": drive off; HELD meant        stop pulling, look back;
                        nothing; amber rings beside a red plate        HOOK, the shanks in red
slip                    an arrow down beside "Shallower"               up, as its first word says
speed only, not set     the blue in-band mark: all is well             corners: not all is live;
today, part known                                                      what is not known comes first
about to alert          WORKING with blue marks: fine                  marks in ink, and larger
pipe ahead              "look up the line": at a wire overhead;        lift, in the reader's unit;
                        metres among inches; a line easily missed      a chip beside another alert
hard here               SLOW against "Gear down": speed up             HARD
stop, and level alerts  in-band marks beside them: partly well         no in-band mark in an ACT
                                                                       or in a tile with an alert
rear low                nothing in the tile says so; beam over words   REAR LOW on a plate
backing                 "no backing" says what not to do               lift first
ease off                which shank?                                   it is named
field                   "21 left, 16:20" is a second clock;            "left, till";
                        "Dig in 12 ac": it will dig in                 "Dig due in 12 ac"
not pulling             its square ate into the rings beside it        it keeps clear of them
no position, starting   a rate as if it were counted                   no rate and no finish
no sound                said twice                                     said once
menu, parked            "Stop for": cut off; "hold": how long?         "Why stopped", "hold 1.5 s"
======================  =============================================  ===========================

One reader is no proof; it is a list of what to keep from coming back.
"""

from math import hypot

import pytest

from cabapp.outcome import ShankState, TileState
from cabapp.screens.gallery import SCENES
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem
from cabapp.words import SAYINGS, Arrow, Level, Rule, distance_text, say
from tests.screens.ink_on_page import look

LARGE = "10in-1280x800"
SMALL = "7in-1024x600"
WAYS = {
    "deeper": Arrow.DOWN,
    "slow": Arrow.DOWN,
    "ease": Arrow.DOWN,
    "shallower": Arrow.UP,
}
VALUES = {
    "shank": 5,
    "percent": 19,
    "speed": "7",
    "half_step": "1/2 in",
    "distance": "200 ft",
    "next_step": "",
    "sensor": 2,
}
LOOKS = [key for key, saying in SAYINGS.items() if saying.level is Level.LOOK]


def marks(view, tile: str = "") -> list[str]:
    return [mark.name for mark in view.marks if not tile or mark.tile == tile]


def words(view) -> set[str]:
    return {text.words for text in view.texts}


def way_out(rule: Rule, variant: str) -> str:
    """The advice that a rule about depth gives."""
    return "Shallower 1 in" if variant == "deep" else "Deeper 1 in"


@pytest.mark.parametrize(("rule", "variant"), LOOKS)
def test_the_arrow_of_a_look_points_the_way_its_first_word_says(rule, variant):
    said = say(rule, variant, **VALUES, advice=way_out(rule, variant))
    for line in (said.action, said.short):
        first = line.split()[0].strip(",").lower()
        assert said.arrow is WAYS.get(first, Arrow.NONE), line


@pytest.mark.parametrize("panel_name", [LARGE, SMALL])
def test_nothing_is_called_in_band_while_an_act_is_up(seen, panel_name):
    acts = {name for name, scene in SCENES.items() if scene().band.level is Level.ACT}
    assert len(acts) >= 6
    for name in acts:
        assert "in_band" not in marks(seen[panel_name, name]), name


def test_a_tile_framed_for_an_alert_does_not_call_itself_in_band(seen):
    for name, scene in SCENES.items():
        snapshot = scene()
        for tile, view in (("SpeedTile", snapshot.speed), ("DepthTile", snapshot.depth)):
            if view.framed:
                assert "in_band" not in marks(seen[LARGE, name], tile), (name, tile)


def test_only_all_in_band_carries_the_large_in_band_mark(seen):
    for name, scene in SCENES.items():
        band = scene().band
        if band.level is None:
            marked = "in_band" in marks(seen[LARGE, name], "BandTile")
            assert marked == (band.headline == "ALL IN BAND"), name


@pytest.mark.parametrize("name", ["receiver-only", "not-set-today", "out-of-use"])
def test_what_is_only_partly_known_carries_the_corners(seen, name):
    assert "not_live" in marks(seen[LARGE, name], "BandTile")


def test_a_value_that_is_out_is_marked_in_ink_and_larger_than_one_that_is_in(cabin):
    page = cabin.present(LARGE, "in-band")
    calm = page.speed.plate.sign.place[2]
    page = cabin.present(LARGE, "about-to-alert")
    for tile in (page.speed, page.depth):
        sign = tile.plate.sign
        assert sign.place[2] > calm
        assert {part.role for part in sign.coats.values() if part.shapes} == {Role.INK}


def test_hooked_shanks_stand_in_red_and_say_hook(cabin):
    page = cabin.present(LARGE, "hooked")
    assert page.springs.plate.word.text == "HOOK"
    assert page.springs.odd["red"].shapes
    assert not page.springs.odd["amber"].shapes
    held = [shank for shank in page.springs.view.shanks if shank.state is ShankState.HELD]
    assert len(held) == 2


@pytest.mark.parametrize("panel_name", [LARGE, SMALL])
def test_a_square_around_a_shank_keeps_clear_of_the_rings_beside_it(cabin, panel_name):
    springs = cabin.present(panel_name, "not-pulling").springs
    places, r = springs._places(), springs._radius()
    x, y = places[1]
    side = springs._side(x, y, r)
    assert side >= 0.6 * r
    for px, py in places[:1] + places[2:]:
        away = hypot(max(0.0, abs(px - x) - side), max(0.0, abs(py - y) - side))
        assert away > r


def test_a_level_alert_is_named_in_its_tile_and_the_beam_keeps_clear_of_the_words(cabin):
    page = cabin.present(LARGE, "rear-low")
    assert page.depth.pair.word.text == "REAR LOW"
    assert page.depth.plate.word.text == ""
    view = look(page)
    assert {"front", "rear"} <= words(view)
    feet = max(say.y for say in page.depth.cut.names)
    assert min(y for _, y in page.depth.cut.tool.shapes[0].contour) > feet + 2


def test_a_pipe_is_said_in_the_unit_that_is_read():
    us = say(Rule.PIPE_AHEAD, distance=distance_text(60.0, UnitSystem.US))
    metric = say(Rule.PIPE_AHEAD, distance=distance_text(60.0, UnitSystem.METRIC))
    assert us.action.startswith("In 200 ft: lift")
    assert metric.short == "In 60 m: lift"


def test_no_inch_screen_of_the_gallery_speaks_of_metres(seen):
    for name, scene in SCENES.items():
        if scene().units is UnitSystem.US:
            said = words(seen[LARGE, name])
            assert not [text for text in said if text.rstrip().endswith(" m")], name
            assert not [text for text in said if " m " in text], name


def test_hard_ground_never_says_slow(seen):
    said = words(seen[LARGE, "hard-here"])
    assert "HARD" in said
    assert "SLOW" not in said


@pytest.mark.parametrize("name", ["starting", "no-position"])
def test_without_a_speed_the_area_stands_and_no_rate_is_shown(seen, name):
    said = words(seen[LARGE, name])
    assert "38.2" in said
    assert not [text for text in said if "ac/h" in text or "till" in text]


def test_no_sound_is_said_once(seen):
    said = [text.words.lower() for text in seen[LARGE, "no-sound"].texts]
    assert said.count("no sound") == 1


def test_the_parked_menu_shows_its_words_whole(seen):
    for panel_name in (LARGE, SMALL):
        said = words(seen[panel_name, "menu-parked"])
        assert {"Why stopped", "End shift", "hold 1.5 s"} <= said


def test_tools_sit_level_where_all_is_well():
    view = SCENES["in-band"]().depth
    assert view.state is TileState.IN_BAND
    assert view.front_m == view.rear_m
    assert view.side == 0

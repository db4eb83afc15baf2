"""What a gloved, shaking finger does, and what it can never do while the machine moves."""

import os
import random
from dataclasses import replace

import pytest

from cabapp.events import TapKind
from cabapp.outcome import Card, CardView
from cabapp.screens.fronts import Front
from cabapp.screens.gallery import SCENES
from cabapp.screens.touch import HOLD_S, Area, Fingers, Target

LARGE = "10in-1280x800"


@pytest.fixture
def pad():
    """Two targets side by side and a hold, with what has fired."""
    fired: list[str] = []
    targets = [
        Target("left", Area(0, 0, 100, 100), lambda: fired.append("left")),
        Target("right", Area(135, 0, 100, 100), lambda: fired.append("right")),
        Target("hold", Area(300, 0, 100, 100), lambda: fired.append("hold"), hold=True),
    ]
    return Fingers(lambda: targets, slop=71.0), fired, targets


def test_a_tap_fires_when_the_finger_leaves(pad):
    fingers, fired, _ = pad
    fingers.touch(1, 50, 50, 0.0)
    assert fired == []
    fingers.release(1, 50, 50, 0.1)
    assert fired == ["left"]


def test_a_finger_that_slips_within_the_slop_still_taps_what_it_came_down_on(pad):
    fingers, fired, _ = pad
    fingers.touch(1, 90, 50, 0.0)
    fingers.release(1, 160, 50, 0.2)  # over its neighbour by now
    assert fired == ["left"]


def test_a_finger_that_slides_far_away_taps_nothing(pad):
    fingers, fired, _ = pad
    fingers.touch(1, 50, 50, 0.0)
    fingers.release(1, 290, 50, 0.2)
    assert fired == []


def test_a_bouncing_finger_taps_once(pad):
    fingers, fired, _ = pad
    for i in range(4):
        fingers.touch(1, 50, 50, i * 0.09)
        fingers.release(1, 50, 50, i * 0.09 + 0.04)
    assert fired == ["left"]
    fingers.touch(1, 50, 50, 2.0)
    fingers.release(1, 50, 50, 2.1)
    assert fired == ["left", "left"]


def test_a_palm_taps_nothing_until_it_is_lifted(pad):
    fingers, fired, _ = pad
    for who, x in enumerate((10, 50, 90)):
        fingers.touch(who, x, 50, 0.0)
    for who in range(3):
        fingers.release(who, 50, 50, 0.2)
    assert fired == []
    fingers.touch(9, 50, 50, 1.0)
    fingers.release(9, 50, 50, 1.1)
    assert fired == ["left"]


def test_a_hold_fills_in_a_second_and_a_half_and_letting_go_empties_it(pad):
    fingers, fired, targets = pad
    shares: list[float] = []
    targets[2].fill = shares.append
    fingers.touch(1, 350, 50, 0.0)
    for i in range(1, 15):
        fingers.tick(i * 0.1)
    fingers.release(1, 350, 50, 1.45)
    assert fired == []
    assert shares[-1] == 0.0
    assert shares[-2] == pytest.approx(1.4 / HOLD_S)
    fingers.touch(1, 350, 50, 3.0)
    fingers.tick(3.0 + HOLD_S)
    assert fired == ["hold"]
    fingers.release(1, 350, 50, 5.0)
    assert fired == ["hold"]


def test_a_hold_is_let_go_when_the_finger_slides_off(pad):
    fingers, fired, _ = pad
    fingers.touch(1, 350, 50, 0.0)
    fingers.move(1, 600, 50)
    fingers.tick(5.0)
    assert fired == []


def test_a_key_that_went_away_under_the_finger_does_not_fire(pad):
    fingers, fired, targets = pad
    fingers.touch(1, 50, 50, 0.0)
    del targets[0]
    fingers.release(1, 50, 50, 0.1)
    assert fired == []


# -- the page ------------------------------------------------------------------------------------


def sent(cabin) -> list[tuple[TapKind, object]]:
    return list(cabin.stage.taps)


def test_what_has_only_just_come_under_the_finger_takes_no_touch(pad):
    fingers, fired, targets = pad
    fingers.look(0.0)
    targets[0] = Target("other", targets[0].area, lambda: fired.append("other"))
    fingers.look(10.0)
    for at in (10.2, 10.49):
        fingers.touch(1, 50, 50, at)
        fingers.release(1, 50, 50, at + 0.4)
    fingers.touch(1, 185, 50, 10.5)  # its neighbour has been there all along
    fingers.release(1, 185, 50, 10.6)
    assert fired == ["right"]
    fingers.touch(1, 50, 50, 11.0)
    fingers.release(1, 50, 50, 11.1)
    assert fired == ["right", "other"]


def test_two_quick_taps_on_peg_name_no_kind(cabin):
    page = cabin.present(LARGE, "in-band")
    area = next(target.area for target in page.targets() if target.name == "peg")
    x, y = area.x + area.w / 2, area.y + area.h / 2
    cabin.stage.time += 1.0
    cabin.tap(page, x, y, rests=0.0)
    page.show(SCENES["peg-kind"]())
    cabin.stage.time += 0.31
    cabin.tap(page, x, y, rests=0.0)
    assert [kind for kind, _ in sent(cabin)] == [TapKind.PEG]
    cabin.tap(page, x, y)
    assert [kind for kind, _ in sent(cabin)] == [TapKind.PEG, TapKind.PEG_KIND]


def test_anywhere_on_the_band_is_quiet(cabin, panel):
    page = cabin.present(panel, "too-fast")
    area = next(t.area for t in page.targets() if t.name == "quiet")
    for part in (0.02, 0.3, 0.6, 0.98):
        cabin.tap(page, area.x + part * area.w, area.y + area.h / 2)
    assert sent(cabin) == [(TapKind.QUIET, None)] * 4


def test_a_finger_on_the_band_is_answered_by_a_pressed_plate(cabin):
    page = cabin.present(LARGE, "too-fast")
    area = next(t.area for t in page.targets() if t.name == "quiet")
    page.fingers.touch(1, area.x + 50, area.y + 50, cabin.stage.time)
    assert page.band.press.shapes
    page.fingers.release(1, area.x + 50, area.y + 50, cabin.stage.time)
    assert not page.band.press.shapes


def test_one_tap_saves_a_peg_and_its_kind_is_chosen_after(cabin):
    page = cabin.present(LARGE, "in-band")
    cabin.tap_key(page, "peg")
    page.show(replace(SCENES["in-band"](), peg_next=6, card=CardView(Card.PEG_KIND)))
    cabin.tap_key(page, "2")
    assert sent(cabin) == [(TapKind.PEG, None), (TapKind.PEG_KIND, "pipe")]


def test_targets_are_stepped_from_the_menu_which_closes_after_eight_seconds(cabin, panel):
    page = cabin.present(panel, "in-band")
    cabin.tap_key(page, "menu")
    cabin.tap_key(page, "speed_more")
    cabin.tap_key(page, "depth_less")
    assert sent(cabin) == [(TapKind.SPEED_TARGET, 1.0), (TapKind.DEPTH_TARGET, -1.0)]
    cabin.stage.time += 7.2
    page.tick()
    assert page.in_front is not None
    cabin.stage.time += 1.1
    page.tick()
    assert page.in_front is None


def test_a_new_stop_takes_the_menu_away(cabin):
    page = cabin.present(LARGE, "in-band")
    cabin.tap_key(page, "menu")
    page.show(SCENES["stop-shank"]())
    assert page.in_front is None


def test_standing_opens_the_other_pages(cabin, panel):
    for name in ("setup", "shifts", "fitup"):
        page = cabin.present(panel, "standing")
        cabin.tap_key(page, "menu")
        cabin.tap_key(page, name)
        assert cabin.stage.opened == [name]


def test_ending_the_shift_asks_for_a_hold(cabin):
    page = cabin.present(LARGE, "standing")
    cabin.tap_key(page, "menu")
    cabin.tap_key(page, "end")
    assert sent(cabin) == []
    area = next(t.area for t in page.targets() if t.name == "end")
    page.fingers.touch(1, area.x + 20, area.y + 20, cabin.stage.time)
    cabin.stage.time += HOLD_S
    page.tick()
    assert sent(cabin) == [(TapKind.END_SHIFT, None)]


def test_without_a_position_holding_parked_says_so_and_opens_the_menu(cabin, panel):
    page = cabin.present(panel, "no-position")
    cabin.tap_key(page, "menu")
    cabin.tap_key(page, "raised")
    assert page.in_front is page.fronts.parked
    cabin.tap_key(page, "parked")
    assert sent(cabin) == []  # a tap is not a hold
    area = next(t.area for t in page.targets() if t.name == "parked")
    page.fingers.touch(1, area.x + 20, area.y + 20, cabin.stage.time)
    cabin.stage.time += HOLD_S
    page.tick()
    assert sent(cabin) == [(TapKind.PARKED, None)]
    page.show(replace(SCENES["no-position"](), moving=False, parked_hold=False))
    assert page.in_front is page.fronts.parked_menu


def test_parked_a_tap_on_a_dead_tile_sets_its_sensor_aside(cabin):
    page = cabin.present(LARGE, "aside-offered")
    cabin.tap_key(page, "aside_depth")
    cabin.tap_key(page, "aside")
    assert sent(cabin) == [(TapKind.SET_ASIDE, "depth")]
    assert page.in_front is None


def test_the_tool_button_says_the_other_of_what_it_shows(cabin, panel):
    page = cabin.present(panel, "receiver-only")
    cabin.tap_key(page, "tool")
    page.show(SCENES["receiver-only-up"]())
    cabin.tap_key(page, "tool")
    assert sent(cabin) == [(TapKind.TOOL, "up"), (TapKind.TOOL, "down")]


def test_driver_and_field_are_one_tap(cabin):
    page = cabin.present(LARGE, "who-where")
    cabin.tap_key(page, "1")
    page = cabin.present(LARGE, "who-where")
    cabin.tap_key(page, "2")
    assert sent(cabin) == [(TapKind.FIELD, "North forty")]


def test_a_stop_for_a_plugged_tool_shows_its_cautions(cabin):
    page = cabin.present(LARGE, "stop-reason")
    cabin.tap_key(page, "1")
    assert sent(cabin) == [(TapKind.STOP_REASON, "plugged")]
    assert page.fronts.front is Front.PLUGGED
    assert page.fronts.card.sign.name == "injury"
    cabin.tap_key(page, "read")
    assert page.in_front is None


def test_what_has_to_be_read_waits_for_a_stop(cabin):
    page = cabin.present(LARGE, "in-band")
    card = SCENES["hand-over"]().card
    page.show(replace(SCENES["in-band"](), card=card))
    assert page.in_front is None
    page.show(replace(SCENES["standing"](), card=card))
    assert page.in_front is page.fronts.card
    cabin.tap_key(page, "read")
    assert sent(cabin) == [(TapKind.DISMISS, "hand_over")]


# -- the monkey -----------------------------------------------------------------------------------

WHILE_MOVING = {
    TapKind.QUIET,
    TapKind.PEG,
    TapKind.PEG_KIND,
    TapKind.SPEED_TARGET,
    TapKind.DEPTH_TARGET,
    TapKind.RAISED,
    TapKind.NIGHT,
    TapKind.TOOL,
    TapKind.DRIVER,  # from the question after work begins, one tap
    TapKind.FIELD,
    TapKind.DISMISS,
}


@pytest.mark.parametrize("panel_name", [LARGE, "7in-1024x600"])
def test_no_sequence_of_taps_reaches_a_locked_page_while_moving(cabin, panel_name):
    """Half the taps aim at what is there, half land anywhere; states change under the finger."""
    count = 10_000 if os.environ.get("CABAPP_LONG") == "1" else 2_000
    dice = random.Random(20260314)
    page = cabin.present(panel_name, "in-band")
    moving = [scene() for scene in SCENES.values() if scene().moving]
    for _ in range(count // 2):
        if dice.random() < 0.1:
            page.show(dice.choice(moving))
        targets = page.targets()
        if dice.random() < 0.5:
            area = dice.choice(targets).area
            x, y = area.x + dice.random() * area.w, area.y + dice.random() * area.h
        else:
            x, y = dice.random() * page.width, dice.random() * page.height
        page.fingers.touch(1, x, y, cabin.stage.time)
        cabin.stage.time += dice.random() * 0.6
        page.fingers.tick(cabin.stage.time)
        if dice.random() < 0.1:
            page.show(dice.choice(moving))
        page.fingers.release(1, x + dice.gauss(0, 20), y + dice.gauss(0, 20), cabin.stage.time)
        cabin.stage.time += dice.random() * 2
        page.tick()
        assert any(target.name == "quiet" for target in page.targets())
    assert cabin.stage.opened == []
    assert {kind for kind, _ in cabin.stage.taps} <= WHILE_MOVING
    assert len(cabin.stage.taps) > count / 10

"""What the cab tells a first reader: nothing half known looks calm, and no rate without a speed."""

from dataclasses import replace

from cabapp.outcome import ShankState, TileState
from cabapp.plan import default_plan
from cabapp.words import Arrow
from tests.cab.drive import full_rig, working


def test_work_without_depth_is_not_marked_in_band() -> None:
    band = working().picture.band
    assert (band.level, band.headline, band.mark) == (None, "SPEED ONLY", TileState.NOT_LIVE)
    assert band.action.startswith("Depth not measured")


def test_only_a_plan_set_today_is_marked_in_band() -> None:
    rig = full_rig()
    band = working(rig).picture.band
    assert (band.headline, band.mark) == ("NOT SET TODAY", TileState.NOT_LIVE)
    assert band.action == "Judged by the rig's usual band"
    band = working(rig, plan=replace(default_plan(rig), set_today=True)).picture.band
    assert (band.headline, band.mark) == ("ALL IN BAND", TileState.IN_BAND)
    assert band.action == "all 14 reading"


def test_a_hook_shows_which_shanks_hold_and_says_what_to_do() -> None:
    machine = working(full_rig())
    machine.share = dict.fromkeys(range(1, 8), 0.7) | {4: 1.2, 5: 1.1}
    machine.real_mph = machine.mph = 0.5
    machine.go(2.5)
    picture = machine.picture
    assert picture.band.rule == "hooked"
    assert picture.band.action == "Stop pulling, then look back"
    assert (picture.springs.state, picture.springs.word) == (TileState.ACT, "HOOK")
    held = [s.number for s in picture.springs.shanks if s.state is ShankState.HELD]
    assert held == [4, 5]
    assert picture.speed.word != "IN SOIL"


def test_one_loaded_shank_is_named_where_the_load_is_to_be_eased() -> None:
    machine = working(full_rig())
    machine.share = dict.fromkeys(range(1, 8), 0.6) | {5: 0.95}
    machine.go(7)
    assert machine.picture.band.action == "Shallower 1/2 in: shank 5"
    assert machine.picture.band.arrow is Arrow.UP


def test_without_a_speed_the_area_stands_and_no_rate_is_told() -> None:
    machine = working(full_rig())
    machine.go(30)
    counted = machine.picture.field.area_m2
    assert counted > 0
    machine.fix = False
    machine.go(15)
    field = machine.picture.field
    assert (field.rate_m2_s, field.finish) == (None, "")
    assert field.area_m2 >= counted


def test_a_shank_that_trips_is_named_with_its_trips() -> None:
    machine = working(full_rig())
    for _ in range(3):
        machine.most = {5: 1.2}
        machine.go(0.1)
        machine.most = {}
        machine.go(4)
    springs = machine.picture.springs
    assert (springs.number, springs.word, springs.framed) == (5, "TRIPS", True)


def test_a_turn_in_the_ground_shows_the_tool_down() -> None:
    machine = working(full_rig())
    machine.turn_dps = 12.0
    machine.go(4)
    depth = machine.picture.depth
    assert machine.picture.band.headline == "STRAIGHTEN"
    assert (depth.word, depth.framed) == ("IN SOIL", True)

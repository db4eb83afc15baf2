"""What a finger found at the running pages of fit-up: springs, switch and tool, by touch alone."""

from dataclasses import replace

import pytest

from cabapp.engine.wire import RigWritten
from cabapp.events import TapKind
from cabapp.fitup.edits import add_sensor, change_sensor
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.signoff import standing_of
from cabapp.paths import shipped
from cabapp.readings import Sample
from cabapp.rig import Sensor
from cabapp.rigcheck import read_rig
from cabapp.screens.pages.fitup_invented import Bench
from cabapp.screens.pictures import layout_of
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem, from_unit
from tests.screens.fitup_hands import TEN, on_disk, plugged_in, reads, words
from tests.screens.ink_on_page import say_box


@pytest.fixture(autouse=True)
def window(cabin):
    """Widgets need the window of the run."""


@pytest.fixture
def bench(tmp_path):
    return plugged_in(tmp_path)


def lifted(bench):
    bench.tap("springs")
    bench.tap("go")
    bench.run(3.5)
    bench.tap("lifted")


def trip(bench, number, newtons):
    bench.tap(f"spring_spring{number}")
    bench.springs[f"SPRING{number}"] = newtons
    bench.run(0.4)
    bench.springs[f"SPRING{number}"] = 900.0 + 40 * number
    bench.run(0.4)
    bench.tap("trip")


def test_the_same_trip_touched_again_proves_nothing(bench):
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.run(3.0)
    bench.tap("trip")
    assert reads(bench, "No new trip of it in the last 10 s")
    bench.tap("back")
    assert reads(bench, "One trip seen, not repeated")
    trip(bench, 1, 17_200.0)
    assert reads(bench, "Lifted is 0, the trips agree")


def test_a_touch_on_accept_is_answered(bench):
    lifted(bench)
    trip(bench, 1, 17_000.0)
    assert reads(bench, "Accept 1")
    bench.tap("accept")
    assert reads(bench, "Accept 0") and reads(bench, f"Accepted {bench.page.work.day}.")


def calibrate_by_loads(bench, number):
    """Five loads and one kept for proof, as the node reads them; accepted."""
    bench.tap(f"calibrate_spring{number}")
    if reads(bench, "Trip load"):
        bench.type("4900")
    if reads(bench, "Before the first point"):
        bench.tap("go")
    for place, lbf in ((0, 0), (0, 1200), (0, 2400), (0, 3600), (0, 4600), (1, 3000)):
        bench.springs[f"SPRING{number}"] = from_unit(lbf, "lbf")
        bench.tap("add")
        bench.tap(f"choice_{place}")
        bench.type(str(lbf))
        bench.run(5.0)
        bench.tap("take_up")
    bench.tap("verdict_0")


def test_a_spring_proven_by_loads_stays_so_when_others_are_accepted(bench):
    lifted(bench)
    bench.tap("full")
    calibrate_by_loads(bench, 2)
    curve = on_disk(bench).sensor("spring2").curve
    bench.tap("back")
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.tap("accept")
    assert on_disk(bench).sensor("spring2").curve == curve
    assert bench.page.leaves[Page.SPRINGS].state() == (Mark.TO_DO, "1 of 7 trips proven")


def test_a_load_is_calibrated_only_where_the_trip_load_is_known(bench):
    """Newtons are no share of an unknown trip: the page asks for it before the first point."""
    bench.tap("calibrate")
    bench.tap("calibrate_spring3")
    assert reads(bench, "Trip load") and reads(bench, "As the maker of the pack gives it")
    bench.tap("back")
    assert not reads(bench, "Before the first point")
    calibrate_by_loads(bench, 3)
    bench.tap("back")
    bench.springs["SPRING3"] = from_unit(2450, "lbf")
    bench.tap("sensors")
    bench.run(3.0)
    rows = [say for say in bench.page.paper.over.says if say.text == "50 %"]
    assert rows and on_disk(bench).sensor("spring3").trip_n == pytest.approx(21_796, abs=1)


def test_the_page_of_a_spring_speaks_of_loads_and_not_of_digging(bench):
    bench.tap("calibrate")
    bench.tap("calibrate_spring3")
    bench.type("4900")
    assert reads(bench, "Hang weights with a safety chain") and not reads(bench, "Dig")
    bench.tap("go")
    assert reads(bench, "Hang weights with a safety chain") and not reads(bench, "Clearance")
    bench.tap("add")
    assert not reads(bench, "clearance")
    bench.tap("choice_0")
    assert not reads(bench, "clearance")
    assert "key_-" not in [target.name for target in bench.page.targets()]  # no pull is below 0


def test_a_trip_load_typed_after_the_trips_were_seen_leaves_them_a_hundred_percent(bench):
    lifted(bench)
    for newtons in (17_000.0, 17_200.0):
        trip(bench, 1, newtons)
        bench.run(2.0)
    bench.tap("accept")
    bench.tap("back")
    bench.tap("sensors")
    bench.tap("sensor_spring1")
    bench.tap("choice_4")
    bench.type("4000")
    sensor = on_disk(bench).sensor("spring1")
    assert sensor.curve.value(17_102.0) / sensor.trip_n == pytest.approx(1.0, abs=0.001)
    proof = bench.page.work.evidence.proof_of("spring1")
    assert standing_of(sensor, bench.page.work.evidence).value == "proven", proof


def test_a_switch_that_goes_the_wrong_way_is_proven_no_more(bench):
    bench.tap("switch")
    for _ in range(6):
        bench.down = 1.0 - bench.down
        bench.run(2.0)
    bench.tap("same")
    assert bench.page.work.evidence.switch is not None
    bench.tap("switch")
    bench.run(7.0)
    bench.tap("wrong")
    assert reads(bench, "Until then the switch is not proven")
    assert bench.page.work.evidence.switch is None


def test_names_swapped_take_nothing_of_the_other_wire_with_them(bench):
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.tap("back")
    work = bench.page.work
    work.keep_direction("spring1", 1)
    bench.page.leaves[Page.FIND]._swap("spring1", "spring2")
    assert not {"spring1", "spring2"} & set(work.witnesses())
    assert "spring3" in work.witnesses() and "spring1" not in work.directions


def move_shank_one(bench):
    bench.tap("tool")
    bench.tap("tab_1")
    bench.tap("shank_one")
    bench.type("1")
    assert reads(bench, "Now 90 in left.")
    bench.type("-95")
    assert reads(bench, "Now 219 3/8 in.")
    bench.type("226")


def test_a_shank_that_stands_by_itself_leaves_the_figures_of_the_others(bench):
    move_shank_one(bench)
    assert "30 in" in words(bench) and "18 in" in words(bench)
    assert words(bench)[words(bench).index("One shank by itself") + 1] == "1"


def test_a_shank_typed_by_itself_is_not_put_back_in_line_unasked(bench):
    move_shank_one(bench)
    bench.tap("shank_step")
    bench.type("20")
    assert reads(bench, "Shank 1 was typed by itself")
    bench.tap("read")
    assert on_disk(bench).tool.shanks[0].across_m == pytest.approx(from_unit(-95, "in"))
    bench.tap("shank_step")
    bench.type("20")
    bench.tap("go")
    assert on_disk(bench).tool.shanks[0].across_m == pytest.approx(from_unit(-90, "in"))


def test_springs_do_not_go_with_their_shanks_unasked(bench):
    bench.tap("tool")
    bench.tap("tab_1")
    bench.tap("shank_count")
    bench.type("5")
    assert reads(bench, "Spring 6 is taken out of the rig with its shank")
    bench.tap("read")
    assert len(on_disk(bench).fitted("spring")) == 7 == len(on_disk(bench).tool.shanks)
    bench.tap("shank_count")
    bench.type("5")
    bench.tap("go")
    assert len(on_disk(bench).fitted("spring")) == 5 == len(on_disk(bench).tool.shanks)


def test_half_a_disc_gang_is_refused(bench):
    bench.tap("tool")
    bench.tap("tab_2")
    bench.tap("tool_front_gangs")
    bench.type("1 1/2")
    assert reads(bench, "They are whole")


def test_a_long_name_of_the_machine_is_read_whole(bench):
    work = bench.page.work
    work.save(replace(work.rig, name="Seven-shank ripper, every sensor"))
    bench.tap("tool")
    bench.tap("tab_5")
    name = next(s for s in bench.page.paper.over.says if s.text.startswith("Seven-shank"))
    assert name.text == "Seven-shank ripper, every sensor"


@pytest.mark.parametrize("day", ["2031-13-45", "2031-02-30", "1"])
def test_a_day_that_no_calendar_has_is_refused(bench, day):
    bench.tap("sign")
    bench.tap("day")
    for _ in range(10):
        bench.tap("key_back")
    bench.spell(day)
    assert reads(bench, "Type a day as 2031-04-09")


def test_the_sheet_does_not_say_that_work_can_begin_over_a_limit_no_sensor_holds(bench):
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.tap("accept")
    bench.tap("back")
    work = bench.page.work
    sensor = work.rig.sensor("spring1")
    doubtful = replace(sensor, words="front row on the left of the hitch, new pack", curve=replace(
        sensor.curve, proven_error=0.9))  # fmt: skip
    work.save(change_sensor(work.rig, doubtful))
    bench.tap("sign")
    assert reads(bench, "Limits no sensor can hold: 1. See page Limits.")
    assert not reads(bench, "You can work")
    work.prove(replace(work.evidence, fitted_by="T. Weller"))
    bench.tap("sign")
    assert reads(bench, "is tighter than Spring 1")


def test_a_wheel_is_not_sent_to_a_calibration_that_does_not_exist(bench):
    work = bench.page.work
    wheel = Sensor("wheel_speed", "WHEELSPEED", "node")
    work.save(add_sensor(work.rig, wheel))
    bench.extra = (Sample("node", "WHEELSPEED", "G", 0.0, "", bench.at),)
    bench.tap("sensors")
    bench.tap("more")
    bench.run(2.0)
    assert words(bench).count("not taken") == 1
    bench.tap("sensor_wheel_speed")
    assert reads(bench, "touch to take its own figure") and not reads(bench, "move it and see")
    bench.tap("choice_3")
    assert reads(bench, "its own figure is taken")
    assert on_disk(bench).sensor("wheel_speed").trusted


def test_a_sensor_with_a_calibration_is_not_said_to_need_one(bench):
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.tap("accept")
    bench.tap("back")
    bench.tap("sensors")
    bench.tap("sensor_spring1")
    assert reads(bench, "no: it is calibrated here") and not reads(bench, "needs a calibration")


def test_a_load_of_five_digits_stands_inside_its_row(bench):
    """In front of its unit it began left of the frame; the unit now stands over the column."""
    work = bench.page.work
    heavy = replace(work.rig.sensor("spring1"), trip_n=90_000.0)
    work.save(change_sensor(work.rig, heavy))
    bench.tap("calibrate")
    bench.tap("calibrate_spring1")
    bench.tap("go")
    bench.tap("add")
    bench.tap("choice_0")
    bench.type("20000")
    bench.run(4.0)
    bench.tap("take_up")
    (row,) = bench.page.leaves[Page.CALIBRATE].view().rows
    boxes = {say.text: say_box(say) for say in bench.page.paper.over.says if say.text}
    head, known, taken = boxes["Known, lbf"], boxes["20000"], boxes[row.up]
    assert min(head[0], known[0]) >= 24 and known[2] + 10 <= taken[0]


def sign(bench):
    work = bench.page.work
    work.prove(replace(work.evidence, fitted_by="T. Weller"))
    bench.tap("sign")
    bench.tap("sign")
    bench.page.to_list()
    assert bench.page.leaves[Page.SIGN].state()[1].startswith("Signed")


def test_what_is_proven_after_signing_is_not_said_to_be_signed(bench):
    sign(bench)
    bench.tap("tool")
    bench.tap("taped")
    assert bench.page.leaves[Page.SIGN].state()[1] == "1 of 9, sign again"
    bench.page.to_list()
    bench.tap("sign")
    bench.tap("sign")
    assert bench.page.leaves[Page.SIGN].state()[1] == "Signed, 1 of 9"
    assert len(bench.page.work.sheets()) == 2


def test_a_rig_changed_after_signing_is_not_said_to_be_signed(bench):
    sign(bench)
    work = bench.page.work
    work.save(work.rig)
    assert bench.page.leaves[Page.SIGN].state()[1].startswith("Signed")
    work.save(replace(work.rig, name="Hill ripper, the second"))
    assert bench.page.leaves[Page.SIGN].state()[1].endswith("sign again")
    sign(bench)
    work.undo()
    assert bench.page.leaves[Page.SIGN].state()[1].endswith("sign again")


@pytest.mark.parametrize("panel", [TEN, "7in-1024x600"])
def test_every_depth_sensor_of_the_drawing_stands_inside_its_frame(tmp_path, panel):
    rig = read_rig(shipped("config", "rig-us-full.toml").read_text(encoding="utf-8"))
    bench = Bench(layout_of(panel), tmp_path, rig)
    bench.enter()
    bench.tap("tool")
    tabs = bench.page.bottom - 88
    squares = [
        s for s in bench.page.paper.over.says if s.text and s.role is Role.GROUND and s.x < 500
    ]
    numbers = [say for say in squares if say.text in "1234"]
    assert len(numbers) == 4 and all(say.y < tabs - 14 for say in numbers)


def test_a_spring_accepted_earlier_is_read_whole_on_a_small_panel(tmp_path):
    bench = Bench(layout_of("7in-1024x600"), tmp_path)
    bench.enter()
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.tap("accept")
    bench.page.work.keep_witnesses({})
    bench.tap("back")
    bench.tap("springs")
    bench.tap("go")
    assert "Trip known" in words(bench) and not reads(bench, "\u2026")


@pytest.mark.parametrize("panel", [TEN, "7in-1024x600"])
def test_the_amber_line_of_a_caution_lies_on_no_key(tmp_path, monkeypatch, panel):
    bench = Bench(layout_of(panel), tmp_path)
    bench.enter()
    filled = []
    fill = bench.page.paper.fill

    def seen(role, *shapes):
        filled.extend(shape for shape in shapes if role is Role.LOOK)
        fill(role, *shapes)

    monkeypatch.setattr(bench.page.paper, "fill", seen)
    bench.tap("springs")
    rules = [shape for shape in filled if shape.contour[1][0] - shape.contour[0][0] > 900]
    tops = {min(y for _, y in rule.contour) for rule in rules}
    assert tops and min(tops) >= 24 + bench.page.head_high


def test_the_units_that_were_chosen_are_there_after_the_next_start(bench):
    sign(bench)
    bench.tap("units")
    assert on_disk(bench).units is UnitSystem.METRIC
    assert (TapKind.UNITS, "metric") in bench.taps
    assert bench.page.leaves[Page.SIGN].state()[1].startswith("Signed")
    bench.page.leave()
    assert RigWritten() in bench.told


def test_a_rig_file_at_fault_is_not_written_over_for_its_units(bench):
    bench.home.rig.write_text('version = 1\nunits = "ells"\n', encoding="utf-8")
    bench.enter()
    bench.tap("units")
    assert "ells" in bench.home.rig.read_text(encoding="utf-8")


def test_a_tool_that_cannot_be_right_is_said_whole_on_its_card(bench):
    work = bench.page.work
    work.save(replace(work.rig, tool=replace(work.rig.tool, lag_m=9.0)))
    bench.page.to_list()
    assert "Cannot be right" in words(bench)


def test_a_calibration_gone_on_with_later_asks_again_whether_it_is_safe(bench):
    """The locks of yesterday are not those of today."""
    bench.tap("calibrate")
    bench.tap("calibrate_depth1")
    bench.tap("go")
    bench.tap("add")
    bench.tap("choice_0")
    bench.type("3")
    bench.run(4.0)
    bench.tap("take_up")
    bench.tap("back")
    bench.tap("calibrate_depth1")
    assert reads(bench, "Locks in, engine off")
    bench.tap("read")
    bench.run(4.0)
    bench.tap("take_down")
    assert reads(bench, "Before the first point")
    bench.tap("go")
    bench.tap("take_down")
    leaf = bench.page.leaves[Page.CALIBRATE]
    assert len(leaf.session.rows[0].takes) == 2
    bench.tap("undo")
    assert len(leaf.session.rows[0].takes) == 1 and leaf.session.safe


def test_a_file_that_the_disk_keeps_is_said_and_ends_nothing(bench, monkeypatch):
    work = bench.page.work
    work.set_pin("1234")

    def refuse(path, missing_ok=False):
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr("pathlib.Path.unlink", refuse)
    assert work.set_pin("") == "pin.json stays: Read-only file system. Nothing else is lost."
    assert work.pin is not None
    assert work.drop("depth1").startswith("calibrate-depth1.json stays")

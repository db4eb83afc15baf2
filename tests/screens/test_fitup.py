"""The installer's pages by touch alone: from an empty rig to a signed sheet, and bad input."""

import json
from dataclasses import replace
from itertools import combinations

import pytest

from cabapp.curve import Curve, CurveKind
from cabapp.engine.wire import (
    Loudness,
    PortLine,
    RigWritten,
    SamplesWanted,
    Spares,
    SparesWanted,
)
from cabapp.events import PortCondition, TapKind
from cabapp.fitup.calibrate_view import Stage
from cabapp.fitup.edits import change_sensor, remove_sensor
from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.fitup.switch import SwitchStanding
from cabapp.readings import FixKind, Sample
from cabapp.record.rigfile import RigFile
from cabapp.rig import Display, Rig
from cabapp.screens.app import layout_for
from cabapp.screens.gallery import STANDING
from cabapp.screens.lettering import CAP_EM, DIGIT_EM
from cabapp.screens.pages.fitup_calibrate_gallery import POINTS, take_points
from cabapp.screens.pages.fitup_gallery import EMPTY, SCENES, SPARES, bring
from cabapp.screens.pages.fitup_invented import GOOD_PORTS, RIG, Bench, depth_volts
from cabapp.screens.pictures import layout_of
from cabapp.screens.ruler import Panel, Rect, arrange
from cabapp.units import INCH_M, UnitSystem
from tests.screens.fitup_hands import TEN, on_disk, plugged_in, reads, words
from tests.screens.ink_on_page import overlap, say_box


@pytest.fixture(autouse=True)
def window(cabin):
    """Widgets need the window of the run."""


@pytest.fixture
def bench(tmp_path):
    return plugged_in(tmp_path)


@pytest.fixture
def fresh(tmp_path):
    made = Bench(layout_of(TEN), tmp_path, None)
    made.enter()
    return made


def touch(bench, name):
    """A real finger on the middle of a key, after a look at it: down, up."""
    bench.at += 0.6
    area = next(t.area for t in bench.page.targets() if t.name == name)
    finger = type("Finger", (), {"uid": 1, "x": area.x + area.w / 2, "y": area.y + area.h / 2})()
    bench.page.on_touch_down(finger)
    bench.at += 0.1
    bench.page.on_touch_up(finger)
    bench.at += 0.5


# -- the whole way ---------------------------------------------------------------------------------


def test_from_an_empty_rig_to_a_signed_sheet_by_touch_alone(fresh):
    bench = fresh
    bench.tap = lambda name: touch(bench, name)
    plug_in(bench)
    type_the_tool(bench)
    add_what_the_node_sends(bench)
    find_the_direction(bench)
    calibrate_the_left_arm(bench)
    witness_two_springs(bench)
    prove_the_switch(bench)
    measure_the_screen(bench)
    hear_the_sounds(bench)
    fire_two_alerts(bench)
    sign(bench)
    the_sheet_says_what_is_open(bench)
    bench.page.leave()
    assert any(isinstance(message, RigWritten) for message in bench.told)


def plug_in(bench):
    bench.tap("plugs")
    bench.tap("add_node")
    assert [port.role for port in on_disk(bench).ports] == ["receiver", "node"]
    bench.tap("listen")
    bench.tap("go")
    assert isinstance(bench.told[-1], RigWritten)
    bench.ports(*GOOD_PORTS)
    bench.run(2.0)
    assert reads(bench, "Position, speed, course") and reads(bench, "pick one")
    bench.tap("back")


def type_the_tool(bench):
    bench.tap("tool")
    bench.tap("tool_width_m")
    bench.type("17 1/2")
    bench.tap("tool_lag_m")
    bench.type("15")
    bench.tap("tab_1")
    bench.tap("shank_count")
    bench.type("7")
    bench.tap("shank_first")
    bench.type("160")
    bench.tap("tab_4")
    bench.tap("tool_adjuster_kind")
    bench.tap("choice_1")
    bench.tap("tool_adjuster_part_m")
    bench.type("3/4")
    bench.tap("taped")
    tool = on_disk(bench).tool
    assert (len(tool.shanks), tool.adjuster.part_m) == (7, pytest.approx(0.75 * INCH_M))
    bench.tap("back")


def add_what_the_node_sends(bench):
    bench.run(1.0)
    bench.tap("sensors")
    bench.run(1.0)
    bench.tap("add_all")
    fitted = [sensor.channel for sensor in on_disk(bench).sensors]
    assert fitted == ["depth1", "depth2", *(f"spring{n}" for n in range(1, 8)), "tool_down"]
    bench.tap("sensor_depth1")
    bench.tap("choice_0")
    bench.spell("left front")
    assert on_disk(bench).sensor("depth1").side == "left"
    bench.tap("back")
    bench.tap("back")


def find_the_direction(bench):
    bench.tap("find")
    bench.run(2.0)
    bench.tap("move_depth1")
    bench.depths["DEPTH1"] += 0.3
    bench.run(1.0)
    assert reads(bench, "Depth 1, left front reads more")
    bench.tap("way_0")
    assert bench.page.work.directions == {"depth1": 1}
    bench.tap("back")


def calibrate_the_left_arm(bench):
    bench.tap("calibrate")
    bench.tap("calibrate_depth1")
    assert reads(bench, "Locks in, engine off")
    bench.tap("go")
    take_points(bench, ((-6.0, "shed"), (-4.0, "shed"), (-2.0, "shed"), (0.0, "shed"),
                        (8.0, "slot"), (14.0, "slot"), (5.0, "proof")))  # fmt: skip
    assert reads(bench, "It holds")
    bench.tap("verdict_0")
    curve = on_disk(bench).sensor("depth1").curve
    assert curve.value(depth_volts(10.0)) == pytest.approx(10 * INCH_M, abs=0.1 * INCH_M)
    assert not (bench.home.root / "fitup" / "calibrate-depth1.json").exists()
    bench.tap("back")


def witness_two_springs(bench):
    bench.tap("springs")
    bench.tap("go")
    bench.run(3.5)
    bench.tap("lifted")
    for n in (1, 2):
        bench.tap(f"spring_spring{n}")
        for _ in range(2):
            bench.springs[f"SPRING{n}"] = 17_000.0
            bench.run(0.4)
            bench.springs[f"SPRING{n}"] = 900.0 + 40 * n
            bench.run(0.4)
            bench.tap("trip")
            bench.run(11.0)
    bench.tap("accept")
    assert [s.channel for s in on_disk(bench).fitted("spring") if s.curve] == ["spring1", "spring2"]
    bench.tap("back")
    assert reads(bench, "2 of 7 trips proven")


def prove_the_switch(bench):
    bench.tap("switch")
    for _ in range(6):
        bench.down = 1.0 - bench.down
        bench.run(2.0)
    bench.tap("same")
    assert bench.page.work.evidence.switch.holds


def measure_the_screen(bench):
    bench.tap("screen")
    bench.tap("width_mm")
    bench.type("217")
    bench.tap("accept")
    assert on_disk(bench).display.confirmed
    bench.tap("back")


def hear_the_sounds(bench):
    bench.tap("sounds")
    bench.tap("play_act")
    bench.tap("play_look")
    assert [kind for kind, _ in bench.taps[-2:]] == [TapKind.FIRE, TapKind.FIRE]
    bench.tap("first_plus")
    assert bench.told[-1] == Loudness(0.7, 1.0)
    bench.tap("stepped_plus")  # full scale is as loud as it gets
    assert bench.told[-1] == Loudness(0.7, 1.0)
    for name in ("engine_running", "act_heard", "look_heard", "told_apart"):
        bench.tap(name)
    bench.tap("accept")
    bench.tap("back")


def fire_two_alerts(bench):
    bench.tap("alerts")
    bench.tap("next")
    for _ in range(2):
        rule = bench.taps[-1][1]
        bench.tap("well")  # not shown by the engine yet: nobody can have seen it
        assert bench.taps[-1][1] == rule
        bench.page.show(replace(STANDING, band=replace(STANDING.band, rule=rule)))
        bench.tap("well")
    assert bench.page.work.evidence.bench_done == 2
    bench.tap("back")
    bench.tap("back")


def sign(bench):
    bench.tap("sign")
    assert reads(bench, "of 10 proven")
    bench.tap("sign")
    assert reads(bench, "Type who fitted it first")
    bench.tap("read")
    bench.tap("fitted_by")
    bench.spell("J. Arden")
    bench.tap("sign")
    assert reads(bench, "Signed: ")


def the_sheet_says_what_is_open(bench):
    (path,) = bench.page.work.sheets()
    html = path.read_text(encoding="utf-8")
    verified, _, open_ = html.partition("<h2>Not verified</h2>")
    assert "Depth 1, left front" in verified and "Tool switch" in verified
    assert "Depth 2" in open_ and "Receiver" in open_ and "2 of" in open_
    assert "J. Arden" in html and "<script" not in html


# -- what goes wrong -------------------------------------------------------------------------------


def test_a_power_cut_between_capture_and_accept_loses_no_point(bench, tmp_path):
    SCENES["calibrate-holds"](bench)
    taken = bench.page.leaves[Page.CALIBRATE].session
    again = Bench(layout_of(TEN), tmp_path, None)
    again.enter()
    again.run(2.0)
    again.tap("calibrate")
    assert reads(again, "under way: 8 taken")
    again.tap("calibrate_depth1")
    again.tap("go")  # whether it is safe is asked anew
    assert again.page.leaves[Page.CALIBRATE].session == taken
    assert on_disk(again).sensor("depth1").curve is None


def test_a_port_pulled_while_a_point_is_taken_says_so_and_keeps_the_points(bench):
    SCENES["calibrate-pulled"](bench)
    assert reads(bench, "Nothing heard for 6 s") and reads(bench, "The points taken are kept.")
    rows = bench.page.leaves[Page.CALIBRATE].session.rows
    bench.tap("take_up")
    assert bench.page.leaves[Page.CALIBRATE].session.rows == rows
    bench.silent = set()
    bench.run(4.0)
    assert reads(bench, "Steady")


def test_a_signal_that_never_settles_is_never_taken(bench):
    SCENES["calibrate-never-still"](bench)
    bench.tap("take_up")
    assert reads(bench, "Not still in")
    assert not bench.page.leaves[Page.CALIBRATE].session.rows[0].takes


def test_one_value_ten_times_too_big_is_named_and_mended_in_one_tap(bench):
    SCENES["calibrate"](bench)
    assert reads(bench, "Point 3 looks mistyped: −20 in") and reads(bench, "Make it −2")
    bench.tap("verdict_0")
    row = bench.page.leaves[Page.CALIBRATE].session.rows[2]
    assert row.known == pytest.approx(-2 * INCH_M)
    bench.tap("undo")
    assert bench.page.leaves[Page.CALIBRATE].session.rows[2].known == pytest.approx(-20 * INCH_M)


def test_centimetres_typed_as_inches_are_named(bench):
    SCENES["calibrate-cautions"](bench)
    bench.tap("go")
    meant = ((-6.0, "shed"), (-4.0, "shed"), (-2.0, "shed"), (0.0, "shed"))
    take_points(bench, meant)
    bench.tap("add")
    bench.tap("choice_0")
    bench.tap("key_-")
    bench.type("12.7")  # five inches by a centimetre tape
    bench.depths["DEPTH1"] = depth_volts(-5.0)
    bench.run(4.0)
    bench.tap("take_up")
    assert reads(bench, "entimetres typed as inches") and reads(bench, "Make it −5")


def test_a_minus_shows_as_soon_as_it_is_touched(bench):
    SCENES["calibrate-cautions"](bench)
    bench.tap("go")
    bench.tap("add")
    bench.tap("choice_0")
    assert "−" not in words(bench)
    bench.tap("key_-")
    assert "−" in words(bench)
    bench.tap("enter")  # and is no figure by itself
    assert not bench.page.leaves[Page.CALIBRATE].session.rows


def test_a_depth_nobody_can_have_dug_is_refused_on_the_keypad(bench):
    SCENES["calibrate-refused"](bench)
    assert reads(bench, "140 in cannot be right") and reads(bench, "mind the unit")
    assert not bench.page.leaves[Page.CALIBRATE].session.rows


def test_a_disk_that_refuses_is_said_and_the_old_rig_stays(bench, tmp_path):
    before = bench.home.rig.read_text()
    (tmp_path / "rig-kept").write_text("not a folder")
    bench.page.go(Page.TOOL)
    bench.tap("tool_width_m")
    bench.type("20")
    assert reads(bench, "not written")
    assert bench.home.rig.read_text() == before


def test_a_switch_that_speaks_only_on_change_is_refused_with_the_reason(bench):
    SCENES["switch-on-change"](bench)
    assert bench.page.leaves[Page.SWITCH].view().standing is SwitchStanding.ON_CHANGE_ONLY
    assert reads(bench, "does not repeat each second") and reads(bench, "a cut cable")
    bench.tap("same")
    assert bench.page.work.evidence.switch is None


def test_swapped_plugs_are_found_by_moving_both_and_mended(bench):
    bench.page.go(Page.FIND)
    for asked, moves in (("depth1", "DEPTH2"), ("depth2", "DEPTH1")):
        bench.run(2.0)
        bench.tap(f"move_{asked}")
        bench.depths[moves] += 0.4
        bench.run(1.0)
        bench.tap("way_0")
    assert reads(bench, "plugs are swapped")
    bench.tap("swap")
    assert on_disk(bench).sensor("depth1").wire_name == "DEPTH2"
    assert on_disk(bench).sensor("depth1").words == "left front"


def test_a_limit_tighter_than_the_proven_error_is_refused_with_the_reason(bench):
    SCENES["limits-refused"](bench)
    assert reads(bench, "1.25 in is tighter than Depth 1, left front was proven, 1.4 in")
    assert on_disk(bench).limits.depth_margin_m == pytest.approx(1.5 * INCH_M)


def test_a_screen_read_from_too_far_is_refused_and_not_confirmed(bench):
    SCENES["screen-refused"](bench)
    assert reads(bench, "at most") and reads(bench, "Mount it nearer")
    assert not on_disk(bench).display.confirmed


def test_a_screen_signed_for_beyond_its_rule_is_kept_in_the_rig_and_laid_out_so(tmp_path):
    wide = Panel(1024, 600, 200.0, 117.2, 690.0)  # between the two pages' sizes
    bench = Bench(arrange(wide), tmp_path, replace(RIG, display=Display(200.0, 117.2, 690.0)))
    bench.enter()
    bench.page.go(Page.SCREEN)
    bench.tap("eye_mm")
    bench.type("800")
    assert not on_disk(bench).display.signed_beyond
    bench.tap("beyond")
    kept = on_disk(bench).display
    assert kept.confirmed and kept.signed_beyond
    assert layout_for(1024, 600, kept).panel.eye_mm == 800.0
    assert layout_for(1024, 600, replace(kept, signed_beyond=False)).panel.eye_mm != 800.0
    bench.tap("eye_mm")
    bench.type("650")  # mounted nearer: what was signed for does not hold for another place
    assert not on_disk(bench).display.signed_beyond


def test_another_loudness_has_to_be_heard_anew(bench):
    hear_the_sounds(bench)
    assert bench.page.work.evidence.sound.holds
    assert bench.page.work.evidence.sound.first == 0.7
    bench.tap("sounds")
    bench.tap("first_minus")
    assert bench.page.work.evidence.sound is None and reads(bench, "60 %")
    bench.tap("accept")
    assert not bench.page.work.evidence.sound.holds


def test_the_loudness_that_the_speaker_has_kept_is_what_the_page_shows(bench):
    bench.home.loudness.write_text('{"first": 0.4, "stepped": 0.9}')
    bench.enter()
    bench.page.go(Page.SOUNDS)
    assert reads(bench, "40 %") and reads(bench, "90 %")


def test_a_receiver_is_proven_at_rest_and_on_a_course_driven_while_the_page_is_away(bench):
    bench.page.go(Page.RECEIVER)
    bench.receiving(5.0)
    bench.tap("keep")
    assert reads(bench, "Stand still for 20 s")
    bench.tap("read")
    bench.receiving(20.0)
    bench.tap("keep")
    bench.tap("length")
    bench.tap("choice_1")
    bench.type("30")
    bench.type("10")
    assert reads(bench, "300 ft")
    bench.tap("start")
    bench.page.leave()
    bench.metres += 92.0  # the engine goes on counting: 300 ft and half a metre
    bench.enter()
    bench.receiving(1.0)
    bench.tap("end")
    assert reads(bench, "Off by 0.6 %: it holds.")
    bench.tap("read")
    evidence = bench.page.work.evidence
    assert evidence.course.holds and evidence.receiver.holds(
        on_disk(bench).receiver.moving_above_mps
    )
    bench.page.go(Page.SIGN)
    lines = {line.what: line for line in bench.page.leaves[Page.SIGN].sheet().lines}
    assert lines["Receiver"].standing.value == "proven"


def test_a_receiver_in_a_steel_shed_stays_open_and_nothing_can_be_kept(bench):
    bench.page.go(Page.RECEIVER)
    bench.receiving(30.0, kind=FixKind.NONE)
    assert reads(bench, "wait for open sky") and reads(bench, "In a shed this stays open")
    bench.tap("keep")
    assert reads(bench, "with a fix first") and bench.page.work.evidence.receiver is None


def test_what_no_port_reads_is_shown_and_taken_by_the_name_that_stays(bench):
    bench.page.go(Page.PLUGS)
    assert SparesWanted() in bench.told
    bench.page.heard(Spares((), looking=True))
    assert reads(bench, "Looking for more")
    bench.page.heard(SPARES)
    assert reads(bench, "A sensor node") and reads(bench, "take it?") and reads(bench, "Nothing")
    bench.tap("plug_/dev/serial/by-id/usb-node-11")
    bench.tap("choice_1")
    port = on_disk(bench).ports[-1]
    assert (port.name, port.role) == ("node2", "node")
    assert port.device == "/dev/serial/by-id/usb-node-11"
    assert not reads(bench, "take it?") and reads(bench, "Touch Listen")
    bench.tap("plug_/dev/ttyUSB7")
    bench.tap("choice_0")
    receiver = next(p for p in on_disk(bench).ports if p.name == on_disk(bench).receiver.port)
    assert (receiver.role, receiver.device) == ("receiver", "auto")  # that name may lead elsewhere


def test_the_letters_of_a_name_are_wide_enough_for_a_glove_on_both_panels(tmp_path):
    for panel in ("10in-1280x800", "7in-1024x600"):
        layout = layout_of(panel)
        bench = bring("name", layout, tmp_path / panel)
        seen = set()
        for _ in range(2):
            for target in bench.page.targets():
                if target.name.startswith("key_"):
                    seen.add(target.name.removeprefix("key_"))
                    wide = target.area.w / layout.panel.px_per_mm
                    high = target.area.h / layout.panel.px_per_mm
                    assert wide >= 14.0 and high >= 14.0, (panel, target.name, wide, high)
            if any(target.name == "part" for target in bench.page.targets()):
                bench.tap("part")
        assert seen >= set("ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") | {"space", "back"}
        bench.spell("J4")
        assert bench.page.work.evidence.fitted_by == "J4"


def test_a_broken_and_a_foreign_file_are_refused_and_the_last_good_one_stays(bench, tmp_path):
    stick = tmp_path / "stick"
    stick.mkdir()
    (stick / "rig.toml").write_text('version = 1\nid = "x"\n[tool]\nwidth = "9"\nwheels = 3\n')
    bench.page.leaves[Page.FILES].find_sticks = lambda: [stick]
    bench.page.go(Page.FILES)
    bench.tap("restore")
    bench.tap("choice_0")
    assert reads(bench, "tool.width") and reads(bench, "tool.wheels")
    bench.tap("read")
    RigFile(stick / "rig.toml").write(replace(RIG, id="rig-40", name="Valley ripper"))
    bench.tap("restore")
    bench.tap("choice_0")
    assert reads(bench, "Valley ripper") and on_disk(bench).id == "rig-21"
    bench.tap("go")
    assert on_disk(bench).id == "rig-40"
    bench.tap("read")
    bench.tap("undo")
    assert on_disk(bench).id == "rig-21"


def test_a_spare_tablet_is_restored_from_the_stick_the_first_one_wrote(bench, tmp_path):
    stick = tmp_path / "stick"
    stick.mkdir()
    bench.page.leaves[Page.FILES].find_sticks = lambda: [stick]
    bench.page.go(Page.FILES)
    bench.tap("copy")
    bench.tap("choice_0")
    spare = Bench(layout_of(TEN), tmp_path / "spare", None)
    spare.page.leaves[Page.FILES].find_sticks = lambda: [stick]
    spare.enter()
    spare.tap("files")
    spare.tap("restore")
    spare.tap("choice_0")
    assert on_disk(spare) == on_disk(bench)


def test_the_pin_stands_before_calibration_and_limits_alone_and_is_no_secret_of_the_rig(bench):
    bench.tap("pin")
    bench.type("2580")
    bench.type("2580")
    bench.page.leave()
    bench.enter()
    bench.tap("tool")
    assert reads(bench, "Working width")
    bench.tap("back")
    bench.tap("limits")
    bench.type("1111")
    assert reads(bench, "That is not the PIN.")
    bench.type("2580")
    assert reads(bench, "Slowest")
    kept = (bench.home.root / "pin.json").read_text()
    assert "2580" not in kept and set(json.loads(kept)) == {"salt_hex", "hash_hex", "n", "r", "p"}
    (bench.home.root / "pin.json").unlink()  # the way back that the page itself tells
    bench.page.leave()
    bench.enter()
    bench.page.to_list()
    bench.tap("limits")
    assert reads(bench, "Slowest")


# -- wires and engine ------------------------------------------------------------------------------


def test_the_engine_is_asked_for_samples_and_again_after_it_was_started_anew(bench):
    asked = [m for m in bench.told if isinstance(m, SamplesWanted)]
    assert asked == [SamplesWanted(True)]
    bench.at += 2.0
    bench.page.show(STANDING)
    assert bench.told[-1] == SamplesWanted(True)
    bench.page.leave()
    assert SamplesWanted(False) in bench.told


def test_silence_garbage_and_a_lost_plug_each_say_what_to_do(bench):
    bench.page.go(Page.PLUGS)
    for condition, said in (
        (PortCondition.SILENT, "see cable"),
        (PortCondition.MISSING, "see plug"),
        (PortCondition.GARBAGE, "pick one"),
        (PortCondition.IN_USE, "In use elsewhere"),
    ):
        bench.ports(GOOD_PORTS[0], PortLine("node", condition))
        assert reads(bench, said), condition


def test_an_unknown_name_is_offered_and_becomes_what_the_person_says(bench):
    bench.extra = (Sample("node", "ADC3", "U", 2.41, "V", bench.at),)
    bench.run(1.0)
    bench.page.go(Page.SENSORS)
    bench.tap("more")
    bench.tap("new_ADC3")
    bench.tap("choice_0")
    sensor = on_disk(bench).sensor("depth3")
    assert (sensor.wire_name, sensor.input) == ("ADC3", "V")
    assert sensor.curve is None and not sensor.trusted


def test_a_place_on_the_tool_reads_as_a_tape_does(bench):
    bench.page.go(Page.SENSORS)
    bench.tap("sensor_depth1")
    assert {"From the middle", "70 7/8 in left", "173 1/4 in"} <= set(words(bench))
    bench.page.go(Page.SENSORS)
    bench.tap("sensor_depth2")
    assert {"70 7/8 in right", "220 1/2 in"} <= set(words(bench))
    bench.page.go(Page.TOOL)
    bench.tap("tab_1")
    assert {"165 3/8 in", "18 in"} <= set(words(bench))
    bench.tap("tab_3")
    assert {"From the middle", "in the middle"} <= set(words(bench))
    bench.tap("receiver_antenna_right_m")
    bench.tap("key_-")
    bench.type("3")
    assert "3 in left" in words(bench)
    bench.page.go(Page.RECEIVER)
    assert reads(bench, "to the shanks, 3 in left")


def test_setting_off_and_parking_again_comes_back_to_the_same_page(bench):
    bench.page.go(Page.TOOL)
    bench.page.leave()
    bench.enter()
    assert reads(bench, "Working width")


def test_nothing_fitted_is_a_way_to_work_and_no_page_insists(fresh):
    for page in Page:
        fresh.page.go(page)
        if fresh.page.over is not None:
            fresh.page.close_over()
        assert words(fresh)
        fresh.page.to_list()
    assert reads(fresh, "Not fitted")
    assert not fresh.home.rig.exists() and fresh.page.work.rig == Rig()


# -- how it looks ----------------------------------------------------------------------------------

LEAST_KEY_MM = 11.0  # standing, without gloves: the keys of the drawn pages
LEAST_ROW_MM = 6.5  # a row of a table is as wide as the page
FLOOR_L, FLOOR_S = 19.0, 24.0


@pytest.mark.parametrize("panel", ["10in-1280x800", "7in-1024x600"])
def test_every_page_keeps_its_floors_targets_and_edges(panel, tmp_path):
    layout = layout_of(panel)
    found = []
    for name in (*QUICK, *EMPTY):
        bench = bring(name, layout, tmp_path / name)
        found += [f"{name}: {fault}" for fault in faults_of(bench.page, layout)]
    assert not found, "\n".join(found)


def faults_of(page, layout):
    """Everything on a page that is too small, cut, off the page or on something else."""
    wide, high = layout.panel.wide_px, layout.panel.high_px
    texts = [(say, say_box(say)) for say in page.paper.over.says if say.text]
    for say, box in texts:
        letters = say.face.size_px * (DIGIT_EM if say.face.digits else CAP_EM)
        if letters < (FLOOR_S if layout.small else FLOOR_L) * layout.scale - 0.6:
            yield f"small: {say.text}"
        if box[0] < -1 or box[1] < -1 or box[2] > wide + 1 or box[3] > high + 1:
            yield f"off the page: {say.text}"
        if say.text.endswith("…"):
            yield f"cut: {say.text}"
    for (one, a), (other, b) in combinations(texts, 2):
        if overlap(a, b):
            yield f"on one another: {one.text} / {other.text}"
    for target in page.targets():
        least = LEAST_ROW_MM if target.area.w > 0.30 * wide else LEAST_KEY_MM
        if target.area.h / layout.panel.px_per_mm < least:
            yield f"low: {target.name}"
    for one, other in combinations(page.targets(), 2):
        if overlap(edges(one.area), edges(other.area)):
            yield f"targets meet: {one.name} / {other.name}"


def edges(area):
    return area.x, area.y, area.x + area.w, area.y + area.h


QUICK = [name for name in SCENES if name != "calibrate-holds"]


def test_the_stages_of_a_calibration_go_one_after_the_other(bench):
    SCENES["calibrate-cautions"](bench)
    leaf = bench.page.leaves[Page.CALIBRATE]
    assert leaf.view().stage is Stage.SAFE
    bench.tap("go")
    assert leaf.view().stage is Stage.POINTS
    take_points(bench, (*(p for p in POINTS if p[0] != -20.0), (14.0, "slot")))
    assert leaf.view().stage is Stage.VERIFY


# -- what a driven window showed -------------------------------------------------------------------


def test_a_limit_that_an_unproven_calibration_makes_too_tight_is_widened_by_touch(bench):
    SCENES["limits-tight"](bench)
    assert reads(bench, "1 in is tighter than Depth 1, left front was proven, 1.5 in")
    for name in ("depth_margin_m", "level_live_m"):
        for _ in range(5):
            touch(bench, f"{name}_plus")
    assert reads(bench, "Every limit can be held")
    assert on_disk(bench).limits.depth_margin_m == pytest.approx(2.25 * INCH_M)


def test_the_signal_of_a_spring_is_read_in_the_unit_of_its_weights(bench):
    SCENES["calibrate-spring"](bench)
    now = bench.page.leaves[Page.CALIBRATE].view().now
    assert (now.value, now.unit) == ("3999", "lbf")
    assert "newton" not in " ".join(words(bench))
    rows = bench.page.leaves[Page.CALIBRATE].view().rows
    assert [row.up for row in rows] == ["−1", "999", "1999", "2999", "3999"]


def test_the_key_that_accepts_says_whole_what_it_accepts(bench):
    SCENES["calibrate-unproven"](bench)
    assert {"Accept", "unproven"} <= set(words(bench))


def test_a_point_left_out_is_said_and_comes_back_with_undo(bench):
    SCENES["calibrate-left-out"](bench)
    assert reads(bench, "Point 3 is left out") and reads(bench, "4 taken, 1 left out")
    touch(bench, "go")
    rows = bench.page.leaves[Page.CALIBRATE].session.rows
    assert not any(row.left_out for row in rows)
    assert reads(bench, "5 taken") and not reads(bench, "left out.")


def test_a_point_left_out_is_never_counted_as_taken(bench):
    SCENES["calibrate-after-left-out"](bench)
    assert reads(bench, "4 of 5 points for the fit") and reads(bench, "4 taken, 1 left out")
    bench.tap("back")
    assert reads(bench, "under way: 4 taken, 1 left out")


def test_a_point_left_out_can_be_taken_again_and_then_counts(bench):
    SCENES["calibrate-after-left-out"](bench)
    touch(bench, "row_3")
    touch(bench, "row_3")
    assert not any(target.name == "choice_2" for target in bench.page.targets())
    touch(bench, "choice_1")
    assert reads(bench, "4 taken, 1 to take")
    bench.depths["DEPTH1"] = depth_volts(8.0)
    bench.run(4.0)
    touch(bench, "take_up")
    assert reads(bench, "5 taken")


def test_a_kept_rest_stays_kept_through_every_course_until_it_is_watched_anew(bench):
    SCENES["receiver-proven"](bench)
    assert reads(bench, "Both are on the sign-off sheet")
    assert rest_row(bench)[3:5] == (Mark.DONE, "kept")
    bench.tap("start")
    bench.receiving(10.0, 2.0)
    bench.receiving(2.0)
    bench.tap("end")  # far too short a course: it proves nothing
    bench.tap("read")
    assert rest_row(bench)[3:5] == (Mark.DONE, "kept")
    bench.receiving(25.0)
    assert not bench.page.leaves[Page.RECEIVER]._to_keep()
    bench.tap("rest_anew")
    bench.receiving(5.0)
    assert rest_row(bench)[4] == "15 s more" and not reads(bench, "Both are on")
    bench.receiving(20.0)
    assert rest_row(bench)[4] == "keep it"
    bench.tap("keep")
    assert rest_row(bench)[3:5] == (Mark.DONE, "kept") and reads(bench, "Both are on")


def rest_row(bench):
    return next(row for row in bench.page.leaves[Page.RECEIVER].rows() if row[0] == "rest")


def test_springs_by_their_nodes_own_figure_are_not_ticked_as_known(bench):
    SCENES["springs-trusted"](bench)
    leaf = bench.page.leaves[Page.SPRINGS]
    assert leaf.state() == (Mark.TO_DO, "7 of 7 unchecked")
    assert {row.verdict for row in leaf.rows()} == {"By its node, not checked"}


def test_one_earlier_rig_file_is_told_as_one(bench):
    work = bench.page.work
    said = []
    for name in ("North ripper", "South ripper"):
        work.save(replace(work.rig, name=name))
        said.append(bench.page.leaves[Page.FILES].state()[1])
    assert said == ["1 earlier one kept", "2 earlier ones kept"]


def depth_card(bench):
    return bench.page.leaves[Page.CALIBRATE].state()


def test_the_calibrate_card_ticks_what_the_sheet_calls_proven_and_nothing_else(bench):
    work = bench.page.work
    work.save(remove_sensor(work.rig, "depth2"))
    assert depth_card(bench) == (Mark.TO_DO, "Depth: 0 of 1 proven")
    SCENES["calibrate-unproven"](bench)
    bench.tap("verdict_0")
    assert on_disk(bench).sensor("depth1").curve is not None
    assert depth_card(bench) == (Mark.TO_DO, "Depth: 0 of 1 proven")
    assert reads(bench, "not proven"), "and so says the list of what can be calibrated"
    bench.page.go(Page.SIGN)
    assert reads(bench, "not proven")


def test_a_calibration_that_holds_is_ticked_until_its_serial_is_another(bench):
    work = bench.page.work
    work.save(remove_sensor(work.rig, "depth2"))
    SCENES["calibrate-holds"](bench)
    bench.tap("verdict_0")
    assert depth_card(bench) == (Mark.DONE, "Depth: 1 of 1 proven")
    work.save(change_sensor(work.rig, replace(work.rig.sensor("depth1"), serial="other")))
    assert depth_card(bench) == (Mark.TO_DO, "Depth: 0 of 1 proven")


def test_a_spring_whose_curve_has_no_proof_is_not_ticked(bench):
    work = bench.page.work
    curve = Curve(CurveKind.LINEAR, 0.0, 30_000.0, coefficients=(0.0, 1.0))
    kept = tuple(
        replace(s, curve=curve) if s.channel.startswith("spring") else s for s in work.rig.sensors
    )
    work.save(replace(work.rig, sensors=kept))
    assert bench.page.leaves[Page.SPRINGS].state() == (Mark.TO_DO, "0 of 7 trips proven")


def test_a_signed_sheet_with_open_lines_is_not_ticked(bench):
    SCENES["list-done"](bench)
    assert bench.page.leaves[Page.SIGN].state()[0] is Mark.TO_DO
    assert reads(bench, "2 too tight")


def test_the_page_with_the_ruler_speaks_of_millimetres_alone(bench):
    SCENES["screen"](bench)
    lengths = [word for word in words(bench) if word[0].isdigit()]
    assert len(lengths) == 4 and all("mm" in word for word in lengths)


def test_a_word_too_wide_for_its_key_takes_two_lines_before_it_is_cut(bench):
    paper = bench.page.paper
    paper.start()
    paper.key("narrow", Rect(24, 24, 150, 88), lambda: None, "Accept unproven")
    paper.done()
    assert set(words(bench)) == {"Accept", "unproven"}


@pytest.mark.parametrize(
    ("panel", "units"), [(TEN, UnitSystem.US), ("7in-1024x600", UnitSystem.METRIC)]
)
def test_whatever_key_is_touched_no_word_of_what_it_opens_is_cut(tmp_path, panel, units):
    bench = Bench(layout_of(panel), tmp_path, replace(RIG, units=units))
    bench.enter(replace(STANDING, units=units))
    bench.ports(*GOOD_PORTS)
    bench.run(4.0)
    found = []
    for page in Page:
        opened(bench, page)
        found += [f"{page.value}: {word}" for word in words(bench) if word.endswith("…")]
        for name in [t.name for t in bench.page.targets() if t.name not in ("back", "undo")]:
            opened(bench, page)
            if any(target.name == name for target in bench.page.targets()):
                bench.tap(name)
                found += [f"{page.value} {name}: {w}" for w in words(bench) if w.endswith("…")]
    assert not found, "\n".join(found)


def opened(bench, page):
    """A page itself, with nothing standing over it."""
    bench.page.go(page)
    if bench.page.over is not None:
        bench.page.close_over()

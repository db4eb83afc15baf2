"""The sign-off sheet says what was verified and, as plainly, what was not."""

from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from cabapp import codec
from cabapp.curve import Curve, CurveKind
from cabapp.fitup.bench import bench_test
from cabapp.fitup.edits import accept_shares
from cabapp.fitup.evidence import (
    CourseProof,
    Evidence,
    ReceiverProof,
    ScreenProof,
    SensorProof,
    SoundProof,
    SwitchProof,
    calibration_proof,
    spring_proof,
)
from cabapp.fitup.findings import Measure
from cabapp.fitup.judge import Verdict, judge_simplest
from cabapp.fitup.pages import PAGES, Page
from cabapp.fitup.pin import PinError, make_pin, opens
from cabapp.fitup.points import Place, rows_from
from cabapp.fitup.scaling import WIRES
from cabapp.fitup.sheet_html import sheet_html
from cabapp.fitup.signoff import Standing, sheet
from cabapp.fitup.springs import Witness, prove_spring
from cabapp.fitup.task import depth_task
from cabapp.readings import FixKind
from cabapp.rig import Rig, Sensor, Shank
from cabapp.rigcheck import read_rig
from cabapp.units import INCH_M, UnitSystem
from cabapp.words import Level, Rule

FULL = read_rig((Path(__file__).parents[2] / "config" / "rig-us-full.toml").read_text())
CURVE = Curve(CurveKind.LINEAR, 0.6, 4.3, coefficients=(-0.2, 0.1), proven_error=0.008)
RIG = replace(
    Rig(name="Ripper"),
    sensors=(
        Sensor("tool_down", "TOOLDOWN", "node", "switch"),
        Sensor("depth1", "DEPTH1", "node", "V", words="left front", serial="D1", curve=CURVE),
        Sensor("spring1", "SPRING1", "node", "V", shank=1),
    ),
    tool=replace(Rig().tool, shanks=(Shank(1, 0.0, 5.0),)),
)
PROOF = SensorProof("depth1", "D1", Verdict.PROVEN, "4 points, off 0.3 in at most", (), CURVE)
ALL = Evidence(
    sensors=(PROOF,),
    receiver=ReceiverProof(("RMC",), 5.0, FixKind.PLAIN, 0.05, 30.0),
    course=CourseProof(91.44, 90.6),
    switch=SwitchProof(5, 5),
    sound=SoundProof(True, True, True, True),
    screen=ScreenProof(True, 889.0, True),
    lengths_taped=True,
    bench_done=40,
    bench_all=40,
    fitted_by="J. Arden",
    seen_by="M. Hollis",
    signed_on="2026-10-14",
)


def lines_of(rig, evidence):
    return {line.what: line for line in sheet(rig, evidence).lines}


def test_nothing_done_is_nothing_proven_and_the_button_says_so():
    made = sheet(RIG, Evidence())
    assert made.proven == 0
    assert made.button == "Sign: 0 of 8 proven"
    assert all(line.meaning for line in made.lines)


def test_a_thing_done_is_proven_with_how_it_was_done():
    lines = lines_of(RIG, ALL)
    taped, rest = lines["Receiver"].how.split(". ")
    assert taped == "Drove 300 ft by tape, off by 0.9 %"
    assert rest == "5 a second, plain, at rest up to 0.11 mph"
    assert lines["Tool switch"].how == "5 of 5 changes went with the tool"
    assert lines["Depth 1, left front"].standing is Standing.PROVEN
    assert lines["Sounds"].standing is Standing.PROVEN
    assert lines["Screen"].how == "Measured, read at 35 in"
    assert lines["Width and lengths"].standing is Standing.TAPED
    assert lines["Alerts"].how == "40 of 40 fired, seen and heard"


def test_a_metric_rig_is_signed_in_metres_and_centimetres():
    lines = lines_of(replace(RIG, units=UnitSystem.METRIC), ALL)
    assert lines["Receiver"].how.startswith("Drove 91.44 m by tape")
    assert lines["Screen"].how == "Measured, read at 89 cm"
    assert lines["Width and lengths"].how == "5.33 m wide, receiver to tool 8 m"
    assert lines_of(RIG, ALL)["Width and lengths"].how == "17 1/2 ft wide, receiver to tool 26 ft"


def test_a_spring_without_a_trip_stays_unproven_and_workable():
    witness = Witness().with_lifted(0.6, 0.6, 0.6)
    proof = prove_spring(witness, WIRES["V"])
    evidence = ALL.with_proof(spring_proof(RIG.sensors[2], witness, proof))
    made = sheet(RIG, evidence)
    (spring,) = [line for line in made.lines if line.what == "Spring 1"]
    assert spring.standing is Standing.NOT_PROVEN
    assert spring.how == "Lifted is 0, no trip seen"
    assert made.bar.startswith("You can work. Spring loads stay unknown until a trip is seen.")
    assert made.button == "Sign: 7 of 8 proven"


def test_a_spring_that_reads_after_one_trip_is_not_called_unknown():
    witness = Witness().with_lifted(0.6, 0.6, 0.6).with_trip(3.6)
    proof = prove_spring(witness, WIRES["V"])
    rig = accept_shares(replace(RIG, sensors=(RIG.sensors[2],)), "spring1", proof.curve)
    made = spring_proof(rig.sensors[0], witness, proof)
    line = lines_of(rig, Evidence(sensors=(made,)))["Spring 1"]
    assert (line.standing, line.meaning) == (
        Standing.NOT_PROVEN, "A spring load that is not proven may mislead."
    )  # fmt: skip


def test_a_depth_sensor_without_a_curve_does_not_mislead_it_reads_nothing():
    rig = replace(RIG, sensors=(replace(RIG.sensors[1], curve=None),))
    line = lines_of(rig, Evidence())["Depth 1, left front"]
    assert line.meaning == "A depth sensor that is not calibrated reads nothing."


def test_a_spring_proven_by_two_trips_is_proven_on_the_sheet_whatever_its_curve_is_written_in():
    witness = Witness().with_lifted(0.6, 0.6, 0.6).with_trip(3.6).with_trip(3.62)
    proof = prove_spring(witness, WIRES["V"])
    for trip_n in (None, 22_000.0):
        rig = replace(RIG, sensors=(replace(RIG.sensors[2], trip_n=trip_n),))
        rig = accept_shares(rig, "spring1", proof.curve)
        made = spring_proof(rig.sensors[0], witness, proof)
        line = lines_of(rig, Evidence(sensors=(made,)))["Spring 1"]
        assert (line.standing, line.how) == (Standing.PROVEN, "Lifted is 0, 2 trips seen")


def test_a_proof_of_another_curve_or_another_sensor_proves_nothing():
    moved = replace(CURVE, offset=0.02)
    rig = replace(RIG, sensors=(replace(RIG.sensors[1], curve=moved),))
    assert lines_of(rig, ALL)["Depth 1, left front"].standing is Standing.NOT_PROVEN
    rig = replace(RIG, sensors=(replace(RIG.sensors[1], serial="D9"),))
    assert lines_of(rig, ALL)["Depth 1, left front"].standing is Standing.NOT_PROVEN


def test_a_calibration_without_slots_is_named_as_unproven_in_soil():
    rows = rows_from([k * INCH_M for k in (-6, -4, -2, 0, 2)], [0.6, 0.97, 1.34, 1.71, 2.08])
    judged = judge_simplest(rows, depth_task("in", deepest_m=2 * INCH_M))
    rig = replace(RIG, sensors=(replace(RIG.sensors[1], curve=judged.curve),))
    proof = calibration_proof(rig.sensors[0], rows, judged, Measure("in"))
    assert proof.how == "5 points in the shed, off 0 in at most"
    made = sheet(rig, Evidence(sensors=(proof,)))
    (line,) = [line for line in made.lines if line.what.startswith("Depth")]
    assert line.standing is Standing.NOT_PROVEN and "Not proven in soil yet" in line.how
    assert made.limits and "Depth 1" in made.limits[0]


def test_slots_and_proof_points_are_told_in_how():
    rows = rows_from([k * INCH_M for k in (-6, -4, -2, 0)], [0.6, 0.97, 1.34, 1.71])
    rows += rows_from([k * INCH_M for k in (8, 14)], [3.19, 4.30], place=Place.SLOT, first=5)
    rows += rows_from([5 * INCH_M], [2.635], place=Place.PROOF, first=7)
    judged = judge_simplest(rows, depth_task("in"))
    proof = calibration_proof(RIG.sensors[1], rows, judged, Measure("in"))
    assert proof.verdict is Verdict.PROVEN
    assert proof.how.startswith("4 points in the shed, 2 dug slots, proven at 5 in, off 0")


def test_not_fitted_is_accepted_and_says_what_the_driver_works_without():
    made = sheet(Rig(), replace(ALL, sensors=(), switch=None))
    lines = {line.what: line for line in made.lines}
    assert lines["Depth"].standing is Standing.NOT_FITTED
    assert lines["Depth"].meaning == "Depth comes from digging."
    assert made.button == "Sign: 5 of 5 proven"


def test_a_node_that_says_it_calibrates_itself_is_never_called_proven():
    lines = lines_of(FULL, ALL)
    springs = [line for what, line in lines.items() if what.startswith("Springs")]
    assert springs and all(line.standing is Standing.TRUSTED for line in springs)
    assert lines["Wheel speed"].standing is Standing.TRUSTED
    assert "Springs: their node's own figures are taken unchecked." in sheet(FULL, ALL).meanings


@pytest.mark.parametrize(
    ("part", "what"),
    [
        ({"course": CourseProof(91.44, 80.0)}, "Receiver"),
        ({"course": CourseProof(20.0, 20.0)}, "Receiver"),
        ({"course": None}, "Receiver"),
        ({"receiver": None}, "Receiver"),
        ({"receiver": ReceiverProof(("RMC",), 5.0, FixKind.PLAIN, 0.5, 30.0)}, "Receiver"),
        ({"receiver": ReceiverProof(("RMC",), 5.0, FixKind.PLAIN, 0.05, 9.0)}, "Receiver"),
        ({"receiver": ReceiverProof(("RMC",), 0.5, FixKind.PLAIN, 0.05, 30.0)}, "Receiver"),
        ({"receiver": ReceiverProof(("RMC",), 5.0, FixKind.ESTIMATED, 0.05, 30.0)}, "Receiver"),
        ({"switch": SwitchProof(4, 5)}, "Tool switch"),
        ({"switch": SwitchProof(2, 2)}, "Tool switch"),
        ({"sound": SoundProof(True, True, True, False)}, "Sounds"),
        ({"sound": SoundProof(True, True, False, True)}, "Sounds"),
        ({"screen": ScreenProof(True, 900.0, True, signed_beyond=True)}, "Screen"),
        ({"screen": ScreenProof(False, 900.0, True)}, "Screen"),
        ({"bench_done": 39}, "Alerts"),
        ({"lengths_taped": False}, "Width and lengths"),
    ],
)
def test_half_done_is_not_proven(part, what):
    line = lines_of(RIG, replace(ALL, **part))[what]
    assert line.standing is Standing.NOT_PROVEN and line.meaning


class _Page(HTMLParser):
    def __init__(self):
        super().__init__()
        self.tags, self.text = [], []

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.text.append(data)


def test_the_sheet_is_one_html_page_that_fetches_nothing_and_escapes_names():
    rig = replace(RIG, name="<script>alert(1)</script> & Sons")
    page = _Page()
    html = sheet_html(sheet(rig, replace(ALL, sensors=())))
    page.feed(html)
    tags = [tag for tag, _ in page.tags]
    assert "script" not in tags and "img" not in tags and "link" not in tags
    assert not any("src" in attrs or "href" in attrs for _, attrs in page.tags)
    text = " ".join(page.text)
    assert "Not verified" in text and "Spring 1" in text and "J. Arden" in text
    assert "not proven" in text and "mechanical locks" in text


def test_evidence_goes_through_a_file_and_back():
    assert codec.from_plain(Evidence, codec.to_plain(ALL)) == ALL


def test_every_rule_can_be_fired_on_the_bench_and_what_sounds_must_be_heard():
    bench = bench_test()
    assert {row.rule for row in bench.rows} == set(Rule)
    assert all(row.headline or row.action for row in bench.rows)
    assert not any("{" in row.headline + row.action for row in bench.rows)
    first = bench.next
    assert first is Rule.BACKING
    assert bench.confirm(first, seen=True, heard=False).next is first
    assert bench.confirm(first, seen=True, heard=True).next is not first
    for row in bench.rows:
        bench = bench.confirm(row.rule, seen=True, heard=True)
    assert bench.next is None and bench.done == len(bench.rows)
    notes = [row for row in bench.rows if row.level is Level.NOTE]
    assert notes and not any(row.heard for row in notes)


def test_the_pin_opens_only_with_its_digits_and_is_kept_hashed():
    record = make_pin("4711", bytes(range(16)))
    assert opens(record, "4711") and not opens(record, "4712") and not opens(record, "")
    assert "4711" not in repr(record)
    assert make_pin("4711", bytes(16)).hash_hex != record.hash_hex
    assert opens(None, "")
    for wrong in ("12", "123456789", "12a4", "", "١٢٣٤"):
        with pytest.raises(PinError):
            make_pin(wrong, bytes(16))
    with pytest.raises(ValueError, match="salt"):
        make_pin("4711", b"short")


def test_only_calibration_and_limits_stand_behind_the_pin():
    assert set(PAGES) == set(Page)
    locked = {page for page, words in PAGES.items() if words.locked}
    assert locked == {Page.CALIBRATE, Page.SPRINGS, Page.LIMITS}
    assert any("Locks in" in text for text in PAGES[Page.CALIBRATE].cautions)

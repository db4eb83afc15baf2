"""What is plugged in, and every sensor raw and converted."""

from dataclasses import replace

import pytest

from cabapp.curve import Curve, CurveKind
from cabapp.events import PortCondition
from cabapp.fitup.heard import MOST_NAMES, Ears, heard_when, how_often
from cabapp.fitup.plugs import Mark, PlugState, plug_rows, trouble_of
from cabapp.fitup.sensors import sensor_rows, sensor_words
from cabapp.readings import Quality, Sample
from cabapp.rig import Port, Rig, Sensor, Shank

CURVE = Curve(CurveKind.LINEAR, 0.6, 4.3, coefficients=(-0.2, 0.1), proven_error=0.008)
DEPTH1 = Sensor("depth1", "DEPTH1", "node", "V", words="left front", cable=2, curve=CURVE)
DEPTH2 = Sensor("depth2", "DEPTH2", "node", "V", words="right rear", cable=3)
SWITCH = Sensor("tool_down", "TOOLDOWN", "switch", "switch", cable=5)
SPRINGS = tuple(
    Sensor(f"spring{n}", f"SPRING{n}", "springs", "si", shank=n, trusted=True) for n in range(1, 8)
)
RIG = replace(
    Rig(),
    ports=(*(Port(n, role="node") for n in ("node", "switch", "springs")), Port("gnss")),
    sensors=(DEPTH1, DEPTH2, SWITCH, *SPRINGS),
    tool=replace(Rig().tool, shanks=tuple(Shank(n, n - 4.0, 4.0) for n in range(1, 8))),
)


def volts(name, value, at, port="node"):
    return Sample(port, name, "U", value, "V", at)


def ears_with(*samples):
    ears = Ears()
    for sample in samples:
        ears.hear(sample)
    return ears


def ok(*names):
    return tuple(PlugState(name, PortCondition.OK) for name in names)


def test_a_depth_node_says_its_name_value_and_rate():
    ears = ears_with(*(volts("DEPTH1", 2.83, n / 10) for n in range(40)))
    rig = replace(RIG, sensors=(DEPTH1,))
    (row,) = plug_rows(ok("node"), ears, rig, 4.0)
    assert row.sends == "Depth, left front 2.83 V"
    assert (row.how_often, row.heard, row.belongs) == ("10 a second", "now", "Depth")
    assert (row.mark, row.verdict) == (Mark.DONE, "known")


def test_seven_springs_are_one_line():
    samples = [
        Sample("springs", f"SPRING{n}{end}", "N", 9000.0, "N", t / 10)
        for t in range(20)
        for n in range(1, 8)
        for end in ("", "MAX", "MIN")
    ]
    (row,) = plug_rows(ok("springs"), ears_with(*samples), RIG, 2.0)
    assert row.sends == "Spring 1 to 7" and row.belongs == "Spring 1 to 7"


def test_a_receiver_says_position_speed_and_course():
    plug = PlugState("gnss", PortCondition.OK, "", ("GGA", "RMC"), 5.0, 0.2)
    (row,) = plug_rows((plug,), ears_with(), RIG, 2.0)
    assert row.sends == "Position, speed, course" and row.belongs == "Receiver"
    assert row.how_often == "5 a second"


def test_a_switch_reads_down_or_up_and_an_empty_field_reads_empty():
    down = ears_with(Sample("switch", "TOOLDOWN", "G", 1.0, "", 1.0))
    assert plug_rows(ok("switch"), down, RIG, 1.0)[0].sends == "Tool switch down"
    empty = ears_with(Sample("switch", "TOOLDOWN", "G", None, "", 1.0))
    assert plug_rows(ok("switch"), empty, RIG, 1.0)[0].sends == "empty".join(("Tool switch ", ""))


def test_an_uncalibrated_sensor_is_not_proven():
    ears = ears_with(volts("DEPTH1", 2.8, 1.0), volts("DEPTH2", 2.6, 1.0))
    (row,) = plug_rows(ok("node"), ears, RIG, 1.0)
    assert (row.mark, row.verdict) == (Mark.TO_DO, "not proven")
    assert row.sends == "Depth 1 to 2"


def test_a_plug_that_fell_silent_is_the_trouble_at_the_foot():
    ears = ears_with(volts("DEPTH1", 2.8, 1.0))
    rows = plug_rows(ok("node"), ears, RIG, 41.0)
    trouble = trouble_of(rows)
    assert trouble is not None and trouble.name == "node"
    assert trouble.heard == "40 s ago" and "loose" in trouble.mend


@pytest.mark.parametrize("condition", [c for c in PortCondition if c is not PortCondition.OK])
def test_every_bad_condition_of_a_port_has_words_and_a_mend(condition):
    (row,) = plug_rows((PlugState("node", condition, "dialout"),), Ears(), RIG, 0.0)
    assert row.sends and row.verdict and row.mend
    assert row.mark is not Mark.DONE
    if condition is PortCondition.DENIED:
        assert "dialout" in row.mend


def test_a_strange_plug_belongs_to_nobody_and_asks_to_be_picked():
    (row,) = plug_rows(ok("new"), ears_with(volts("ADC1", 1.0, 0.0, port="new")), RIG, 0.5)
    assert (row.belongs, row.verdict, row.mark) == ("Nobody", "pick one", Mark.TO_DO)


def test_raw_and_converted_stand_side_by_side_with_least_and_most_since_reset():
    ears = ears_with(
        volts("DEPTH1", 1.0, 0.0), volts("DEPTH1", 4.0, 0.1), volts("DEPTH1", 3.0, 0.2)
    )
    row = sensor_rows(RIG, ears, 0.3)[0]
    assert (row.raw, row.unit, row.least, row.most) == (3.0, "V", 1.0, 4.0)
    assert row.converted == pytest.approx(0.1)
    ears.reset()
    ears.hear(volts("DEPTH1", 2.0, 0.4))
    row = sensor_rows(RIG, ears, 0.5)[0]
    assert (row.least, row.most) == (2.0, 2.0)


@pytest.mark.parametrize(
    ("sample", "now", "quality"),
    [
        (volts("DEPTH2", 2.0, 0.0), 0.1, Quality.NOT_CALIBRATED),
        (volts("DEPTH2", 0.02, 0.0), 0.1, Quality.WIRE_FAULT),
        (volts("DEPTH2", None, 0.0), 0.1, Quality.WIRE_FAULT),
        (volts("DEPTH2", float("nan"), 0.0), 0.1, Quality.WIRE_FAULT),
        (volts("DEPTH2", 2.0, 0.0), 4.0, Quality.SILENT),
    ],
)
def test_what_is_not_known_has_no_converted_value_and_says_why(sample, now, quality):
    row = sensor_rows(RIG, ears_with(sample), now)[1]
    assert row.quality is quality and row.converted is None


@pytest.mark.parametrize(("trip_n", "share"), [(None, None), (20_000.0, pytest.approx(0.0469))])
def test_newtons_of_a_node_are_no_share_of_a_trip_that_nobody_knows(trip_n, share):
    sensors = tuple(replace(s, trip_n=trip_n) for s in SPRINGS)
    ears = ears_with(Sample("springs", "SPRING1", "N", 938.0, "N", 0.0))
    row = sensor_rows(replace(RIG, sensors=sensors), ears, 0.1)[0]
    assert row.raw == 938.0 and row.converted == share
    assert (row.quality is Quality.GOOD) is (share is not None)


def test_a_sensor_never_heard_is_silent_and_named():
    row = sensor_rows(RIG, Ears(), 0.0)[0]
    assert row.quality is Quality.SILENT and row.words == "Depth 1, left front"
    assert sensor_words(SWITCH) == "Tool switch"


def test_a_wire_that_invents_names_does_not_fill_the_memory():
    ears = Ears()
    for n in range(5 * MOST_NAMES):
        ears.hear(volts(f"X{n}", 1.0, 0.0))
    assert len(ears.all()) == MOST_NAMES


def test_rates_and_ages_read_as_people_say_them():
    assert how_often(10.2) == "10 a second" and how_often(1.0) == "1 a second"
    assert how_often(0.2) == "1 each 5 s" and how_often(0.0) == ""
    assert heard_when(0.4) == "now" and heard_when(40) == "40 s ago"
    assert heard_when(300) == "5 min ago"

"""Sensor nodes: XDR groups, calibration, and every way in which a sensor can be unknown."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.curve import Curve, CurveKind
from cabapp.hear.lines import Line, Lines
from cabapp.hear.transducers import Transducers, read_samples
from cabapp.readings import Quality, Reading, Sample
from cabapp.rig import Sensor
from tests.sentences import sentence

# 0.5 V at -0.15 m, 4.5 V at 0.35 m.
ARM = Curve(CurveKind.LINEAR, 0.6, 4.4, (-0.2125, 0.125))
DEPTH = Sensor("depth1", "DEPTH1", "node", input="V", curve=ARM)
DEPTH_SI = Sensor("depth2", "DEPTH2", "node", trusted=True)
SPRING = Sensor("spring1", "SPRING1", "node", trusted=True, trip_n=22_000.0)
SWITCH = Sensor("tool_down", "TOOLDOWN", "node", input="switch")
HITCH = Sensor("hitch", "HITCH", "node", trusted=True)
SENSORS = (DEPTH, DEPTH_SI, SPRING, SWITCH, HITCH)


class Node:
    """A node's wire played into the rig's sensors."""

    def __init__(self, *sensors: Sensor) -> None:
        self.sensors = Transducers(sensors or SENSORS)
        self._lines = Lines()

    def say(self, at: float, groups: str) -> list[Reading]:
        return [
            reading
            for line in self._lines.feed(sentence(f"YXXDR,{groups}"), at)
            for reading in self.sensors.hear("node", line)
        ]

    def now(self, channel: str, at: float) -> Reading:
        return self.sensors.reading(channel, at)


@pytest.fixture
def node() -> Node:
    return Node()


def test_groups_of_four_become_samples():
    line = Line("XDR", "YXXDR,D,0.145,M,DEPTH1,N,-250,N,SPRING1,G,1,,TOOLDOWN", 3.0)
    assert read_samples("node", line) == [
        Sample("node", "DEPTH1", "D", 0.145, "M", 3.0),
        Sample("node", "SPRING1", "N", -250.0, "N", 3.0),
        Sample("node", "TOOLDOWN", "G", 1.0, "", 3.0),
    ]


@pytest.mark.parametrize(
    ("text", "samples"),
    [
        ("WIXDR,C,022.0,C,,", [("", "C", 22.0, "C")]),
        ("IIXDR,G,200,,ENGHRS", [("ENGHRS", "G", 200.0, "")]),
        (
            "IIXDR,C,,C,AIRTEMP,A,-1.0,D,HEEL",
            [("AIRTEMP", "C", None, "C"), ("HEEL", "A", -1.0, "D")],
        ),
        ("YXXDR,D,0.1,M,A,D,0.2", [("A", "D", 0.1, "M"), ("", "D", 0.2, "")]),
        ("YXXDR,D,nan,M,A", [("A", "D", None, "M")]),
        ("YXXDR", []),
        ("YXXDR,,,,", []),
    ],
)
def test_other_makers_forms_are_read_for_what_they_hold(text: str, samples: list):
    found = read_samples("node", Line("XDR", text, 0.0))
    assert [(s.name, s.kind, s.value, s.unit) for s in found] == samples


def test_a_line_gives_the_fresh_readings_of_the_sensors_it_speaks_of(node: Node):
    fresh = node.say(0.0, "N,11000,N,SPRING1,G,7,,SEQ,D,0.3,M,DEPTH2,D,0.3,M,NOBODY")
    assert [reading.channel for reading in fresh] == ["spring1", "depth2"]
    assert fresh[0] == node.now("spring1", 0.0)


def test_volts_go_through_the_curve(node: Node):
    node.say(0.0, "U,2.500,V,DEPTH1")
    assert node.now("depth1", 0.0).value == pytest.approx(0.1)


def test_v_is_volume_in_the_standard_and_never_volts(node: Node):
    node.say(0.0, "V,2.500,M,DEPTH1")
    reading = node.now("depth1", 0.0)
    assert (reading.quality, reading.cause) == (Quality.WIRE_FAULT, "wrong_unit")


@pytest.mark.parametrize("volts", ["0.00", "0.24", "4.76", "5.00", ""])
def test_a_broken_or_shorted_wire_is_a_fault_at_once(node: Node, volts: str):
    node.say(0.0, "U,2.500,V,DEPTH1")
    node.say(0.1, f"U,{volts},V,DEPTH1")
    reading = node.now("depth1", 0.1)
    assert (reading.value, reading.quality, reading.cause) == (None, Quality.WIRE_FAULT, "cable")
    node.say(0.2, "U,2.510,V,DEPTH1")
    assert node.now("depth1", 0.2).quality is Quality.GOOD


def test_a_spring_is_its_share_of_the_trip_with_its_most_and_least(node: Node):
    node.say(0.0, "N,11000,N,SPRING1,N,19800,N,SPRING1MAX,N,-220,N,SPRING1MIN")
    reading = node.now("spring1", 0.0)
    assert reading.value == pytest.approx(0.5)
    assert reading.most == pytest.approx(0.9)
    assert reading.least == pytest.approx(-0.01)


def test_bounds_in_a_sentence_of_their_own_belong_to_the_mean_before(node: Node):
    node.say(0.0, "N,11000,N,SPRING1")
    node.say(0.0, "N,19800,N,SPRING1MAX,N,2200,N,SPRING1MIN")
    reading = node.now("spring1", 0.0)
    assert (reading.most, reading.least) == (pytest.approx(0.9), pytest.approx(0.1))
    node.say(0.1, "N,11000,N,SPRING1")
    assert node.now("spring1", 0.1).most is None, "bounds do not outlive their window"


def test_without_curve_trust_or_trip_a_value_is_not_calibrated():
    bare = Node(
        Sensor("depth1", "A", "node", input="V"),
        Sensor("depth2", "B", "node"),
        Sensor("spring1", "C", "node", trusted=True),
    )
    bare.say(0.0, "U,2.5,V,A,D,0.1,M,B,N,5000,N,C")
    for channel in ("depth1", "depth2", "spring1"):
        assert bare.now(channel, 0.0).quality is Quality.NOT_CALIBRATED


def test_a_value_outside_what_the_channel_can_be_is_a_fault(node: Node):
    node.say(0.0, "D,1.50,M,DEPTH2")
    assert node.now("depth2", 0.0).quality is Quality.WIRE_FAULT


def test_a_jump_is_refused_and_a_lasting_new_value_taken(node: Node):
    for n in range(5):
        node.say(n / 10, "D,0.30,M,DEPTH2")
    qualities = []
    for n in range(5, 9):
        node.say(n / 10, "D,-0.50,M,DEPTH2")
        qualities.append(node.now("depth2", n / 10).quality)
    assert qualities[0] is Quality.IMPLAUSIBLE
    assert qualities[-1] is Quality.GOOD


def test_a_lift_at_full_speed_is_no_jump(node: Node):
    for n in range(20):
        node.say(n / 10, f"D,{max(0.35 - 0.06 * n, -0.3):.3f},M,DEPTH2")
        assert node.now("depth2", n / 10).quality is Quality.GOOD


@pytest.mark.parametrize(("value", "quality"), [("1", Quality.GOOD), ("0", Quality.GOOD),
                                                ("7", Quality.IMPLAUSIBLE),
                                                ("", Quality.WIRE_FAULT)])  # fmt: skip
def test_a_switch_is_on_or_off_or_unknown(node: Node, value: str, quality: Quality):
    node.say(0.0, f"G,{value},,TOOLDOWN")
    assert node.now("tool_down", 0.0).quality is quality


def test_a_percentage_becomes_a_share(node: Node):
    node.say(0.0, "G,72.5,P,HITCH")
    assert node.now("hitch", 0.0).value == pytest.approx(0.725)


def test_silence_follows_the_learned_pace(node: Node):
    for n in range(20):
        node.say(n / 10, "D,0.30,M,DEPTH2")
    assert node.now("depth2", 1.9 + 1.49).quality is Quality.GOOD
    silent = node.now("depth2", 1.9 + 1.51)
    assert (silent.quality, silent.cause) == (Quality.SILENT, "cable")


def test_one_sensor_falls_silent_alone(node: Node):
    for n in range(40):
        both = "D,0.30,M,DEPTH2,N,5000,N,SPRING1"
        node.say(n / 10, both if n < 20 else "N,5000,N,SPRING1")
    assert node.now("depth2", 3.9).quality is Quality.SILENT
    assert node.now("spring1", 3.9).quality is Quality.GOOD


@pytest.mark.parametrize("first_at", [0.0, 60.0])
def test_a_node_lost_again_is_lost_again_and_so_is_one_that_came_late(first_at: float):
    node = Node()
    for begun in (first_at, first_at + 100.0, first_at + 200.0):
        for tick in range(100):
            node.say(begun + tick / 10, "D,0.30,M,DEPTH2,N,5000,N,SPRING1")
            assert node.now("spring1", begun + tick / 10).quality is Quality.GOOD
        for tick in range(100, 900):
            now = begun + tick / 10
            lost = node.now("spring1", now).quality is Quality.SILENT
            assert lost is (now - (begun + 9.9) > 1.5), now


@given(
    st.lists(
        st.tuples(
            st.sampled_from((1, 3, 12, 17, 40, 90)),
            st.sampled_from(("D,0.30,M,DEPTH2", "N,5000,N,SPRING1", "G,1,,TOOLDOWN")),
        ),
        max_size=40,
    )
)
def test_silence_is_looked_for_seldom_and_found_as_if_looked_for_at_every_tick(
    said: list[tuple[int, str]],
):
    """Gaps in ticks, and what is said after each; a twin looks at every tick."""
    seldom, twin, tick = Node(), Node(), 0
    for gap, groups in said:
        for _ in range(gap):
            tick += 1
            twin.sensors._look(tick / 10)
            assert seldom.sensors.readings(tick / 10) == twin.sensors.readings(tick / 10)
        seldom.say(tick / 10, groups)
        twin.say(tick / 10, groups)


def test_a_sensor_never_heard_is_starting_then_silent_and_an_unknown_one_not_fitted(node: Node):
    node.say(0.0, "G,1,,SEQ")
    assert node.now("depth1", 2.9).quality is Quality.STARTING
    assert node.now("depth1", 3.1).quality is Quality.SILENT
    assert node.now("depth4", 0.0).quality is Quality.NOT_FITTED
    assert len(node.sensors.readings(0.0)) == len(SENSORS)


def test_the_same_name_on_another_wire_is_another_sensor():
    two = Transducers((Sensor("depth1", "D1", "left", trusted=True),
                       Sensor("depth2", "D1", "right", trusted=True)))  # fmt: skip
    two.hear("right", Line("XDR", "YXXDR,D,0.2,M,D1", 0.0))
    assert two.reading("depth1", 0.0).value is None
    assert two.reading("depth2", 0.0).value == pytest.approx(0.2)


def test_lost_lines_are_counted_and_a_restart_is_no_loss(node: Node):
    for count in (9997, 9998, 10, 11, 14, 15, 0, 1, 6000, 6001):
        node.say(0.0, f"G,{count},,SEQ")
    assert node.sensors.lost("node") == 2


@given(st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=90))
def test_no_xdr_raises(text: str):
    sensors = Transducers(SENSORS)
    sensors.hear("node", Line("XDR", f"YXXDR,{text}", 0.0))
    for reading in sensors.readings(0.0).values():
        assert (reading.value is None) == (reading.quality is not Quality.GOOD)

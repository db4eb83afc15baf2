"""The rig file: every fault at once, none of them a traceback."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.codec import from_plain, to_plain
from cabapp.rig import AdjusterKind, Rig
from cabapp.rigcheck import read_rig
from cabapp.rigfault import RigError
from cabapp.units import UnitSystem

CONFIG = Path(__file__).parent.parent / "config"
EXAMPLES = sorted(CONFIG.glob("rig-*.toml"))


def faults_of(text: str) -> dict[str, str]:
    with pytest.raises(RigError) as caught:
        read_rig(text, "shed.toml")
    return {fault.key: str(fault) for fault in caught.value.faults}


def test_the_two_example_rigs_read_and_differ_as_they_say() -> None:
    full, bare = (read_rig(path.read_text()) for path in reversed(EXAMPLES))
    assert (full.units, bare.units) == (UnitSystem.US, UnitSystem.METRIC)
    assert len(full.fitted("spring")) == len(full.tool.shanks) == 7
    assert len(full.fitted("depth")) == 4
    assert bare.sensors == ()
    assert bare.tool.adjuster.kind is AdjusterKind.COLLARS
    assert full.tool.width_m == pytest.approx(17.5 * 0.3048)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_a_rig_survives_the_trip_through_plain_values(path: Path) -> None:
    rig = read_rig(path.read_text())
    assert from_plain(Rig, to_plain(rig)) == rig


def test_every_fault_of_a_file_is_named_at_once_with_its_mend() -> None:
    faults = faults_of(
        'version = 1\nid = 3\nunits = "furlongs"\nextra = 1\n'
        '[limits]\nspeed_low = "9 mph"\nspeed_high = "7 mph"\ndepth_margin = "0.5 in"\n'
        '[[sensor]]\nchannel = "depth"\n[[sensor]]\nchannel = "spring1"\nport = "gnss"\n'
    )
    assert set(faults) == {
        "id", "units", "extra", "limits.speed_low", "limits.depth_margin", "sensor[1].channel",
        "sensor[1].port", "sensor[2].shank",
    }  # fmt: skip
    assert "swap the two" in faults["limits.speed_low"]
    assert "cannot be under 1 in" in faults["limits.depth_margin"]


def test_a_bare_number_is_refused_because_inches_and_centimetres_look_alike() -> None:
    assert (
        "with its unit" in faults_of('version = 1\nid = "r"\n[tool]\nwidth = 5.3\n')["tool.width"]
    )


def test_a_length_in_the_wrong_unit_is_out_of_bounds_and_not_guessed() -> None:
    key = "limits.depth_target"
    faults = faults_of('version = 1\nid = "r"\n[limits]\ndepth_target = "14 ft"\n')
    assert "5 to 75 cm (1.97 to 29.5 in)" in faults[key]


def test_a_curve_that_is_no_curve_is_refused() -> None:
    base = (
        'version = 1\nid = "r"\n[[sensor]]\nchannel = "depth1"\nport = "gnss"\n[sensor.curve]\n'
        "x_least = 0.5\nx_most = 4.5\n"
    )
    assert "2 numbers" in faults_of(base + "coefficients = [1.0]\n")["sensor[1].curve.coefficients"]
    knots = 'kind = "monotone"\nknots = [[2.0, 0.1], [1.0, 0.2]]\n'
    assert "rising x" in faults_of(base + knots)["sensor[1].curve.knots"]
    assert (
        "list of numbers"
        in faults_of(base + "coefficients = [0.1, nan]\n")["sensor[1].curve.coefficients"]
    )


def test_two_sensors_on_one_wire_are_refused() -> None:
    twice = '[[sensor]]\nchannel = "depth{n}"\nwire_name = "DEPTH1"\nport = "gnss"\n'
    text = 'version = 1\nid = "r"\n' + twice.format(n=1) + twice.format(n=2)
    assert "twice" in faults_of(text)["(file)"]


def test_a_file_that_is_not_toml_names_the_line() -> None:
    assert "line 2" in faults_of("version = 1\nid = = 3\n")["(file)"]


@given(st.text(max_size=300))
def test_no_text_whatever_raises_anything_but_a_rig_error(text: str) -> None:
    try:
        read_rig(text)
    except RigError as error:
        assert error.faults


@given(st.sampled_from(EXAMPLES), st.data())
def test_a_torn_rig_file_is_refused_in_words(path: Path, data: st.DataObject) -> None:
    text = path.read_text()
    cut = data.draw(st.integers(0, len(text)))
    junk = data.draw(st.text(max_size=8))
    try:
        read_rig(text[:cut] + junk + text[cut + len(junk) :])
    except RigError as error:
        assert all(fault.mend for fault in error.faults)


def told(text: str) -> list[str]:
    """Every fault of a text, one string each."""
    with pytest.raises(RigError) as caught:
        read_rig(text, "shed.toml")
    return [str(fault) for fault in caught.value.faults]


def test_brackets_in_brackets_are_a_fault_and_no_endless_descent() -> None:
    (fault,) = told("a = " + "[" * 5000 + "]" * 5000)
    assert fault.startswith("(file): found brackets in brackets")


FULL = (CONFIG / "rig-us-full.toml").read_text()


@pytest.mark.parametrize(
    ("right", "wrong", "says"),
    [
        ("version = 1", "version = 99", "version: found 99, expected a whole number 1;"),
        ("shank = 1", "shank = 99", "sensor[5].shank: found 99, expected a whole number 1 to 60"),
        ('width = "17 1/2 ft"', "width = 4.0", 'write "4.0 ft" or "4.0 m"'),
        ('width = "17 1/2 ft"', 'width = "40 m"', "expected 0.5 to 20 m (1.64 to 65.6 ft)"),
        ('made = "2026-03-11"', 'made = "2026-13-45"', "sensor[1].curve.made: found '2026-13-45'"),
        ('role = "node"', 'role = "receiver"', "port[2].role: found 'receiver' for 'node'"),
    ],
)
def test_one_slip_is_one_fault_in_units_that_fit(right: str, wrong: str, says: str) -> None:
    assert right in FULL
    (fault,) = told(FULL.replace(right, wrong, 1))
    assert says in fault


def test_a_rig_of_springs_without_shanks_is_one_fault() -> None:
    lines = FULL.splitlines(keepends=True)
    at = [n for n, line in enumerate(lines) if line.startswith("[[tool.shank]]")]
    for n in reversed(at):
        del lines[n : n + 3]
    (fault,) = told("".join(lines))
    assert fault.startswith("tool.shank: found none")


def test_a_node_may_share_the_wire_of_the_receiver() -> None:
    shared = FULL.replace('port = "node"', 'port = "gnss"')
    assert read_rig(shared).sensors[0].port == "gnss"

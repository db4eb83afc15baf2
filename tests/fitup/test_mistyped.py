"""The one slip of the keypad is found, named and put right by what the other points say."""

import pytest

from cabapp.fitup.findings import Fault, Measure
from cabapp.fitup.mistype import find_mistyped
from cabapp.fitup.points import rows_from
from cabapp.units import INCH_M

IN = Measure("in")
QUARTER = 0.25 * INCH_M


def found_in(known_in, signals, allowed=QUARTER):
    rows = rows_from([k * INCH_M for k in known_in], signals)
    return find_mistyped(rows, allowed, IN)


SLIPS = [
    # typed instead of 4 at the third of five points, what is said, what it should have been
    (40.0, "ten times too big", 4.0),
    (0.4, "ten times too small", 4.0),
    (-4.0, "sign", 4.0),
    (-40.0, "ten times too big, and sign", 4.0),
    (400.0, "a hundred times too big", 4.0),
    (10.16, "centimetres typed as inches", 4.0),
    (4 / 2.54, "inches typed as centimetres", 4.0),
]


@pytest.mark.parametrize(("typed", "slip", "meant"), SLIPS)
def test_each_slip_of_the_keypad_is_named_with_the_value_meant(typed, slip, meant):
    (finding,) = found_in([0, 2, typed, 6, 8], [1.0, 1.5, 2.0, 2.5, 3.0])
    assert finding.rows == (3,)
    assert finding.suggestion is not None
    assert finding.suggestion.slip == slip
    assert finding.suggestion.value == pytest.approx(meant * INCH_M)
    assert finding.suggestion.text == "Make it 4"


def test_minus_twenty_for_minus_two_reads_as_a_person_would_say_it():
    signals = [0.612, 0.981, 1.352, 1.718]
    (finding,) = found_in([-6, -4, -20, 0], signals)
    assert finding.what == "Point 3 looks mistyped: −20 in"
    assert finding.mend == "Others say −2. Without it 0 in at most."


def test_swapped_digits_are_named():
    (finding,) = found_in([0, 3, 6, 9, 21, 15], [1.0, 1.5, 2.0, 2.5, 3.0, 3.5])
    assert finding.suggestion is not None and finding.suggestion.slip == "digits swapped"
    assert finding.suggestion.text == "Make it 12"


def test_a_wrongly_written_reading_is_found_and_never_typed_to_fit():
    """Counts 460 written for 400: no slip of the value explains it, so no value is offered."""
    (finding,) = found_in([0, 2, 4, 6, 8], [100, 200, 300, 460, 500])
    assert finding.rows == (4,)
    assert finding.suggestion is not None
    assert finding.suggestion.text == "Take it again"
    assert finding.suggestion.signal == pytest.approx(400)


def test_centimetres_typed_as_inches_say_so():
    (finding,) = found_in([0, 2, 10.16, 6, 8], [1.0, 1.5, 2.0, 2.5, 3.0])
    assert finding.fault is Fault.OTHER_UNIT
    assert finding.what == "Point 3: centimetres typed as inches"
    assert "The others say 4 in" in finding.mend


def test_two_slips_among_seven_points_are_both_found():
    findings = found_in([0, 20, 4, 6, 80, 10, 12], [1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0])
    assert {f.rows for f in findings} == {(2,), (5,)}
    assert [f.suggestion.text for f in findings if f.suggestion] == ["Make it 2", "Make it 8"]


@pytest.mark.parametrize("count", [4, 5, 6, 9])
def test_a_bent_but_honest_sensor_is_never_called_mistyped(count):
    known = [0.9 * k * k for k in range(count)]
    assert found_in(known, [0.5 + 0.4 * k for k in range(count)]) == ()


def test_noise_within_what_is_allowed_is_no_slip():
    assert found_in([0, 2.1, 3.9, 6.1, 8], [1.0, 1.5, 2.0, 2.5, 3.0]) == ()


def test_a_slip_on_a_bent_sensor_is_found_when_there_are_rows_to_spare():
    known = [k + 0.15 * k * k for k in range(8)]
    known[3] *= 10
    (finding,) = found_in(known, [0.5 + 0.5 * k for k in range(8)])
    assert finding.rows == (4,)


def test_a_metric_tape_names_the_slip_the_other_way_round():
    rows = rows_from([k * 0.01 for k in (0, 5, 4, 15, 20)], [1.0, 1.5, 2.016, 2.5, 3.0])
    (finding,) = find_mistyped(rows, QUARTER, Measure("cm"))
    assert finding.what == "Point 3: inches typed as centimetres"
    assert finding.suggestion is not None and finding.suggestion.text == "Make it 10.2"

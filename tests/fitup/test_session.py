"""A calibration under way: undo, a power cut, and what may be accepted."""

import json

import pytest

from cabapp.curve import CurveKind
from cabapp.fitup.findings import Fault, Finding
from cabapp.fitup.points import Approach, Place
from cabapp.fitup.session import CalibrationSession, SessionError, from_plain, to_plain
from cabapp.fitup.stillness import Look, Standing
from cabapp.fitup.task import depth_task
from cabapp.units import INCH_M


def steady(volts):
    return Look(Standing.STEADY, volts, volts - 0.002, volts + 0.002, 3.0)


def opened(session, inches, place=Place.SHED):
    result = session.open_row(inches * INCH_M, place)
    assert isinstance(result, CalibrationSession)
    return result


def begun():
    return CalibrationSession("depth1", "4417", depth_task("in")).confirm_safety()


def full():
    session = begun()
    values = [(k, Place.SHED) for k in (-6, -4, -2, 0)]
    values += [(8, Place.SLOT), (14, Place.SLOT), (5, Place.PROOF)]
    for number, (inches, place) in enumerate(values, start=1):
        session = opened(session, inches, place)
        session = session.take(number, steady(1.72 + 0.185 * inches), Approach.UP)
    return session


def test_nothing_is_taken_before_locks_in_and_people_clear():
    session = opened(CalibrationSession("depth1", "4417", depth_task("in")), 0)
    with pytest.raises(SessionError, match="locks in"):
        session.take(1, steady(1.7), Approach.UP)


@pytest.mark.parametrize(
    "standing", [Standing.MOVING, Standing.SILENT, Standing.LISTENING, Standing.NEVER_STILL]
)
def test_nothing_is_taken_unless_it_stands_still(standing):
    session = opened(begun(), 0)
    with pytest.raises(SessionError, match="nothing taken"):
        session.take(1, Look(standing, 1.7, 1.6, 1.8, 0.5), Approach.UP)


def test_a_value_that_cannot_be_right_is_refused_as_it_is_typed():
    result = begun().open_row(140 * INCH_M, Place.SHED)
    assert isinstance(result, Finding) and result.fault is Fault.NOT_BELIEVABLE
    assert result.what == "140 in cannot be right here"


def test_undo_takes_back_one_step_at_a_time_to_the_very_start():
    session = full()
    assert session.undo().rows[-1].takes == ()
    assert len(session.undo().undo().rows) == 6
    for _ in range(40):
        session = session.undo()
    assert session.steps == () and not session.safe


def test_a_corrected_value_moves_the_row_and_undo_brings_the_old_one_back():
    session = full().correct(3, -20 * INCH_M)
    assert isinstance(session, CalibrationSession)
    assert session.judged().findings[0].rows == (3,)
    assert session.undo().judged().findings[0].fault is not Fault.MISTYPED


def test_a_power_cut_between_capture_and_accept_loses_nothing():
    session = full().leave_out(2).choose(CurveKind.LINEAR)
    again = from_plain(json.loads(json.dumps(to_plain(session))))
    assert again == session
    assert again.judged() == session.judged()
    assert again.accept("2026-10-14", "J. A.") == session.accept("2026-10-14", "J. A.")


def test_an_accepted_curve_carries_who_and_when_and_its_error():
    curve = full().accept("2026-10-14", "J. A.")
    assert (curve.made, curve.by) == ("2026-10-14", "J. A.")
    assert curve.value(1.72 + 0.185 * 10) == pytest.approx(10 * INCH_M, abs=1e-6)


def test_a_refused_calibration_cannot_be_accepted_and_says_why():
    session = full().correct(3, -20 * INCH_M)
    assert isinstance(session, CalibrationSession)
    with pytest.raises(SessionError, match="Point 3 looks mistyped"):
        session.accept("2026-10-14", "J. A.")


@pytest.mark.parametrize(
    ("damage", "key"),
    [
        ({"version": 99}, "version"),
        ({"channel": None}, "channel"),
        ({"steps": "torn"}, "steps"),
        ({"steps": [{"step": "danced"}]}, r"steps\[1\]"),
        ({"steps": [{"step": "row_opened", "known": 1.0, "place": "moon"}]}, r"steps\[1\]"),
        ({"steps": [{"step": "row_opened", "known": "one", "place": "shed"}]}, r"steps\[1\]"),
        ({"steps": [{"step": "row_left_out", "row": 1}]}, r"steps\[1\].row"),
        ({"task": None}, "task"),
        ({"task": {}}, "task"),
    ],
)
def test_a_damaged_kept_session_names_the_key(damage, key):
    plain = {**to_plain(full()), **damage}
    with pytest.raises(SessionError, match=key):
        from_plain(plain)


def test_a_kept_session_in_an_unknown_unit_is_refused():
    plain = to_plain(full())
    plain["task"]["measure"]["unit"] = "furlong"
    with pytest.raises(SessionError, match=r"task.measure.unit: found 'furlong'"):
        from_plain(plain)

"""The page Calibrate: what an installer reads at each moment."""

import pytest

from cabapp.curve import CurveKind
from cabapp.fitup.calibrate_view import Act, Button, Drawn, Stage, calibrate_view
from cabapp.fitup.points import Approach, Place
from cabapp.fitup.session import CalibrationSession, from_plain, to_plain
from cabapp.fitup.stillness import Look, Standing
from cabapp.fitup.task import depth_task
from cabapp.units import INCH_M

SILENT = Look(Standing.SILENT, None, None, None, 0.0)


def steady(volts):
    return Look(Standing.STEADY, volts, volts - 0.002, volts + 0.002, 2.9)


def taken(values, safe=True):
    session = CalibrationSession("depth1", "4417", depth_task("in"))
    session = session.confirm_safety() if safe else session
    for number, (inches, volts, place) in enumerate(values, start=1):
        session = session.open_row(inches * INCH_M, place)
        if volts is not None:
            session = session.take(number, steady(volts), Approach.UP)
            session = session.take(number, steady(volts + 0.008), Approach.DOWN)
    return session


SHED = [(-6, 0.612, Place.SHED), (-4, 0.981, Place.SHED), (-2, 1.352, Place.SHED)]
SHED += [(0, 1.718, Place.SHED)]
SLOTS = [(8, 3.199, Place.SLOT), (11, 3.752, Place.SLOT)]
LAST = [(14, 4.306, Place.SLOT)]
PROOF = [(5, 2.645, Place.PROOF)]


def view(session, look=SILENT, row=None):
    return calibrate_view(session, look, row, Approach.UP)


def test_the_page_opens_on_the_caution_and_takes_nothing():
    shown = view(taken([], safe=False), steady(1.0))
    assert shown.stage is Stage.SAFE and shown.done == ()
    assert shown.headline == "Locks in, engine off, people clear?"
    assert not shown.now.may_take


def test_the_next_row_is_ready_to_take_with_its_value_on_the_button():
    session = taken([*SHED, *SLOTS, (14, None, Place.SLOT)])
    shown = view(session, steady(4.306), row=7)
    assert shown.stage is Stage.POINTS and shown.done == (Stage.SAFE,)
    assert shown.rows[6].drawn is Drawn.NOW and shown.rows[6].note == "dug slot, take now"
    assert shown.now.take == "Take 14 in, up" and shown.now.may_take
    assert shown.now.value == "4.306" and shown.now.bounds == "4.304 to 4.308"
    assert shown.now.by_fit == "13.98 in past points"
    assert view(session, steady(3.2), row=7).now.by_fit == "7.98 in by the fit"
    assert shown.taken == "6 taken, 1 to take"


@pytest.mark.parametrize(
    ("standing", "word"),
    [
        (Standing.MOVING, "Moving"),
        (Standing.LISTENING, "Wait"),
        (Standing.NEVER_STILL, "Never still"),
    ],
)
def test_a_moving_signal_is_shown_and_not_offered(standing, word):
    shown = view(taken([*SHED, (8, None, Place.SLOT)]), Look(standing, 3.0, 2.5, 3.5, 0.3), 5)
    assert (shown.now.word, shown.now.may_take) == (word, False)
    assert shown.now.filled == pytest.approx(0.1)


def test_a_pulled_plug_shows_no_number_and_keeps_the_points():
    shown = view(taken([*SHED, (8, None, Place.SLOT)]), SILENT, 5)
    assert (shown.now.value, shown.now.bounds, shown.now.word) == ("", "", "Silent")
    assert shown.rows[0].up == "0.612" and shown.rows[0].down == "0.620"


def test_the_mistyped_row_is_amber_and_both_ways_out_are_offered():
    rows = list(SHED)
    rows[2] = (-20, 1.352, Place.SHED)
    shown = view(taken([*rows, *SLOTS, *LAST]))
    assert shown.stage is Stage.FIT and shown.refused
    assert shown.rows[2].drawn is Drawn.ODD and shown.rows[2].known == "−20"
    assert float(shown.rows[2].off) == pytest.approx(18.0, abs=0.1)
    assert shown.headline == "Point 3 looks mistyped: −20 in"
    assert shown.buttons[0].text == "Make it −2" and shown.buttons[0].act is Act.CORRECT
    assert shown.buttons[0].value == pytest.approx(-2 * INCH_M)
    assert shown.buttons[1] == Button("Leave out", Act.LEAVE_OUT, 3)
    assert [y for _, y in shown.plot.odd] == [pytest.approx(-20)]


def test_without_a_proof_point_the_page_asks_to_verify_and_offers_it_unproven():
    shown = view(taken([*SHED, *SLOTS, *LAST]))
    assert shown.stage is Stage.VERIFY and not shown.refused
    assert shown.headline == "No point was kept for proof"
    assert shown.buttons == (Button("Accept unproven", Act.ACCEPT),)


def test_all_done_it_holds_and_the_curve_runs_dotted_a_tenth_past_the_last_point():
    shown = view(taken([*SHED, *SLOTS, *LAST, *PROOF]))
    assert shown.stage is Stage.ACCEPT and shown.headline == "It holds"
    assert shown.buttons == (Button("Accept", Act.ACCEPT),)
    assert shown.plot.beyond[0] == shown.plot.line[-1]
    assert shown.plot.beyond[1][1] == pytest.approx(14 + 0.1 * 20, abs=0.1)
    assert all(abs(share) < 1 for _, share in shown.off)


def test_a_point_that_disagrees_without_a_slip_is_taken_again():
    rows = [*SHED, (2, 2.3, Place.SHED)]
    session = taken([*rows, *SLOTS, *LAST, *PROOF])
    shown = view(session)
    again = shown.buttons[0]
    assert (again.act, again.row) == (Act.TAKE_AGAIN, 5)
    emptied = session.empty_row(again.row)
    assert view(emptied, row=5).rows[4].note == "shed, take now"
    assert emptied.undo() == session
    assert from_plain(to_plain(emptied)) == emptied


def test_a_bent_sensor_forced_on_a_line_is_offered_the_curve():
    known = [-6, -4, -2, 0, 2, 4]
    values = [(k, 1.6 + 0.18 * k + 0.0014 * k * k, Place.SHED) for k in known]
    shown = view(taken(values).choose(CurveKind.LINEAR))
    assert Button("Use the curve", Act.USE_SHAPE, kind=CurveKind.QUADRATIC) in shown.buttons


def test_a_row_left_out_is_drawn_so_and_not_counted_against():
    rows = list(SHED)
    rows[2] = (-20, 1.352, Place.SHED)
    shown = view(taken([*rows, *SLOTS, *LAST, *PROOF]).leave_out(3))
    assert shown.rows[2].drawn is Drawn.LEFT_OUT and shown.headline == "It holds"

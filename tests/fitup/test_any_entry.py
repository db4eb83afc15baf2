"""Whatever is typed and taken, the judgement comes back, and "proven" means within its limits."""

from hypothesis import given, settings
from hypothesis import strategies as st

from cabapp.curve import CurveKind
from cabapp.fitup.calibrate_view import calibrate_view
from cabapp.fitup.judge import Verdict, judge, judge_simplest
from cabapp.fitup.points import Approach, Place, Row, Take
from cabapp.fitup.session import CalibrationSession, PointTaken, RowOpened, from_plain, to_plain
from cabapp.fitup.stillness import Look, Standing
from cabapp.fitup.task import depth_task
from cabapp.units import INCH_M

TASK = depth_task("in")
KNOWN = st.one_of(
    st.integers(-8, 16).map(lambda n: n * INCH_M),
    st.floats(-1e3, 1e3),
    st.just(0.0),
)
SIGNAL = st.one_of(
    st.floats(0.25, 4.75),
    st.sampled_from([0.25, 1.0, 1.0 + 1e-9, 2.0, 4.75]),
    st.floats(allow_nan=True, allow_infinity=True),
)
TAKE = st.builds(Take, SIGNAL, st.sampled_from(Approach), SIGNAL, SIGNAL)
ROWS = st.lists(
    st.builds(
        Row,
        st.just(0),
        KNOWN,
        st.sampled_from(Place),
        st.lists(TAKE, max_size=4).map(tuple),
        st.booleans(),
    ),
    max_size=10,
).map(
    lambda rows: tuple(Row(n, r.known, r.place, r.takes, r.left_out) for n, r in enumerate(rows, 1))
)


@given(ROWS, st.sampled_from(CurveKind))
@settings(max_examples=300, deadline=None)
def test_no_entry_makes_the_judgement_raise(rows, kind):
    judged = judge(rows, TASK, kind)
    assert judged.verdict is not Verdict.PROVEN or judged.curve is not None


def _honest(draw_known, slope, zero, jitter):
    return tuple(
        Row(n, k * INCH_M, place, (Take(zero + slope * k + j, Approach.UP, 0.0, 0.0),))
        for n, ((k, place), j) in enumerate(zip(draw_known, jitter, strict=True), 1)
    )


PLACES = [(k, Place.SHED) for k in (-6, -4, -2, 0)]
PLACES += [(8, Place.SLOT), (14, Place.SLOT), (5, Place.PROOF)]


@given(
    st.floats(0.1, 0.2),
    st.sampled_from([1, -1]),
    st.lists(st.floats(-0.05, 0.05), min_size=7, max_size=7),
)
@settings(max_examples=200, deadline=None)
def test_proven_means_every_point_is_within_what_is_allowed(slope, way, jitter):
    rows = _honest(PLACES, way * slope, 2.0, jitter)
    judged = judge_simplest(rows, TASK)
    if judged.verdict is Verdict.PROVEN:
        assert judged.curve is not None
        places = {row.number: row.place for row in rows}
        for number, off in judged.off:
            allowed = TASK.off if places[number] is Place.SHED else TASK.slot_off
            assert abs(off) <= allowed + 1e-12
        assert judged.curve.proven_error <= TASK.slot_off


@given(
    st.lists(
        st.one_of(
            st.builds(
                RowOpened, st.integers(-8, 20).map(lambda n: n * INCH_M), st.sampled_from(Place)
            ),
            st.builds(
                PointTaken,
                st.just(1),
                st.floats(0.25, 4.75),
                st.sampled_from(Approach),
                st.just(1.0),
                st.just(1.0),
            ),
        ),
        max_size=12,
    )
)
@settings(max_examples=100, deadline=None)
def test_any_session_is_shown_kept_and_read_back(steps):
    session = CalibrationSession("depth1", "4417", TASK, (RowOpened(0.0, Place.SHED), *steps))
    assert from_plain(to_plain(session)) == session
    look = Look(Standing.STEADY, 2.0, 1.99, 2.01, 3.0)
    rows = session.rows
    taken = calibrate_view(session, look, 1, Approach.UP).taken
    assert sum(int(part.split()[0]) for part in taken.split(", ")) == len(rows)

"""The receiver proven: still at rest, each second, and its metres against a tape."""

import pytest

from cabapp.fitup.evidence import CourseProof
from cabapp.fitup.receiver import Driven, RestWatch, course_length, ended
from cabapp.readings import FixKind
from cabapp.rig import Receiver
from cabapp.units import UnitSystem

STANDING = Receiver().standing_below_mps
US, METRIC = UnitSystem.US, UnitSystem.METRIC


def watched(*speeds: float | None) -> RestWatch:
    rest = RestWatch()
    for n, speed in enumerate(speeds):
        rest.hear(speed, 100.0 + n)
    return rest


def proof(rest: RestWatch):
    return rest.proof(("GGA", "RMC"), 5.0, FixKind.SATELLITE_CORRECTED)


def test_a_look_of_a_few_seconds_at_rest_proves_nothing():
    assert proof(watched(*[0.02] * 15)) is None
    assert proof(watched(*[0.02] * 25)).holds(STANDING)


def test_one_reading_of_walking_pace_at_rest_is_kept_as_what_it_is():
    kept = proof(watched(*[0.02] * 12, 0.6, *[0.02] * 12))
    assert kept.rest_most_mps == 0.6 and not kept.holds(STANDING)


def test_a_lost_fix_begins_the_watch_anew():
    rest = watched(*[0.02] * 19, None, *[0.02] * 5)
    assert rest.seconds == 4.0 and proof(rest) is None


def test_a_course_that_agrees_with_the_tape_is_proven_and_one_that_is_off_is_not():
    start = Driven(12.0, 3.0, 7.0)
    found = ended(100.0, start, Driven(111.0, 3.5, 7.0), METRIC)
    assert found == CourseProof(100.0, 99.0) and found.holds
    assert not ended(100.0, start, Driven(104.0, 3.0, 7.0), METRIC).holds


@pytest.mark.parametrize(
    ("end", "said"),
    [
        (Driven(0.0, 0.0, 8.0), "started anew"),
        (Driven(108.0, 9.0, 7.0), "No speed came for 6 s"),
        (Driven(12.3, 3.0, 7.0), "Nothing was driven"),
        (Driven(72.0, 3.0, 7.0), "mark to mark"),
        (Driven(12.0 + 100 * 0.3048, 3.0, 7.0), "feet typed as metres"),
        (Driven(12.0 + 100 / 0.3048, 3.0, 7.0), "metres typed as feet"),
    ],
)
def test_a_course_that_proves_nothing_says_why(end, said):
    answer = ended(100.0, Driven(12.0, 3.0, 7.0), end, METRIC)
    assert isinstance(answer, str) and said in answer


def test_a_course_shorter_than_sixty_metres_or_of_another_unit_is_refused_when_typed():
    assert course_length(91.44, US) == course_length(91.44, METRIC) == ""
    assert "At least 60 m" in course_length(30.0, METRIC)
    assert "Mind the unit" in course_length(3000.0, METRIC)


def test_every_length_of_a_course_is_said_in_the_units_of_the_rig():
    start, far = Driven(12.0, 3.0, 7.0), Driven(117.0, 3.0, 7.0)
    assert "By its speed 344 ft, by the tape 200 ft" in ended(60.96, start, far, US)
    assert "By its speed 105 m, by the tape 61 m" in ended(60.96, start, far, METRIC)
    assert course_length(30.48, US) == "Found 100 ft. At least 200 ft, or a step decides it."
    assert " m" not in course_length(3000.0, US).replace("at most", "").replace("Mind", "")

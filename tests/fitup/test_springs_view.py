"""The springs page: a trip that was just seen, and one line a shank."""

import math
from dataclasses import replace

import pytest

from cabapp.curve import Curve, CurveKind
from cabapp.fitup.edits import accept_shares, change_sensor
from cabapp.fitup.moving import Moved, moved_words
from cabapp.fitup.plugs import Mark
from cabapp.fitup.springs import Witness
from cabapp.fitup.springs_view import PeakCatcher, spring_rows
from cabapp.rig import Rig, Sensor

RIG = replace(
    Rig(),
    sensors=(
        Sensor("spring1", "SPRING1", "node", "V", shank=1),
        Sensor("spring2", "SPRING2", "node", "si", shank=2, trip_n=22_000.0),
        Sensor("spring3", "SPRING3", "node", "V", shank=3),
    ),
)


@pytest.mark.parametrize("way", [1, -1])
def test_a_trip_between_two_means_is_caught_whichever_way_the_sensor_goes(way):
    catcher = PeakCatcher()
    for n in range(80):
        catcher.hear(2.0 + way * 0.3 * math.sin(n), n / 10)
    catcher.hear(2.0 + way * 1.6, 4.05)
    assert catcher.furthest(lifted=2.0 - way * 0.4, now=8.0) == pytest.approx(2.0 + way * 1.6)


def test_a_trip_seen_too_long_ago_is_not_taken():
    catcher = PeakCatcher()
    catcher.hear(3.6, 0.0)
    catcher.hear(1.0, 9.0)
    assert catcher.furthest(0.6, 9.0) == 3.6
    assert catcher.furthest(0.6, 11.0) == 1.0
    assert catcher.furthest(0.6, 30.0) is None


def test_one_trip_is_no_second_one_however_often_it_is_touched():
    catcher = PeakCatcher()
    for at, value in enumerate((0.6, 3.6, 3.2)):
        catcher.hear(value, at / 10)
    assert catcher.furthest(0.6, 0.3) == 3.6
    catcher.taken(0.6, 3.6)
    catcher.hear(2.9, 0.4)  # still coming back
    assert catcher.furthest(0.6, 0.4) is None
    catcher.hear(0.7, 0.5)
    assert catcher.furthest(0.6, 0.5) == 0.7
    catcher.hear(3.5, 2.0)
    assert catcher.furthest(0.6, 2.0) == 3.5


def test_an_empty_value_is_no_trip():
    catcher = PeakCatcher()
    for broken in (None, math.nan, math.inf):
        catcher.hear(broken, 0.0)
    assert catcher.furthest(0.6, 0.0) is None


def test_each_shank_says_what_it_still_needs():
    witnesses = {
        "spring1": Witness().with_lifted(0.6, 0.6, 0.6).with_trip(3.6).with_trip(3.62),
        "spring2": Witness().with_lifted(150.0, 140.0, 160.0),
    }
    first, second, third = spring_rows(RIG, witnesses)
    assert (first.mark, first.trips) == (Mark.TO_DO, "3.60, 3.62")  # nothing reads by it yet
    assert first.next == "Accept it."
    assert second.mark is Mark.TO_DO and second.verdict == "No trip has been seen yet"
    assert second.lifted == "34"  # 150 N, in pounds on a rig of these units
    assert third.mark is Mark.TO_DO and third.verdict == "No reading with the tool lifted"


@pytest.mark.parametrize("trip_n", [None, 22_000.0])
def test_what_was_accepted_is_said_so_and_offered_no_more(trip_n):
    rig = change_sensor(RIG, replace(RIG.sensors[0], trip_n=trip_n))
    witnesses = {"spring1": Witness().with_lifted(0.6, 0.6, 0.6).with_trip(3.6)}
    (before, *_) = spring_rows(rig, witnesses)
    assert before.ready is not None and before.next == "See a second trip to know how close it is."
    made = replace(before.ready, made="2031-04-09", by="T. Weller")
    (after, *_) = spring_rows(accept_shares(rig, "spring1", made), witnesses)
    assert after.ready is None
    assert after.next == "Accepted 2031-04-09. See a second trip to know how close it is."
    again = {"spring1": witnesses["spring1"].with_trip(3.62)}
    (third, *_) = spring_rows(accept_shares(rig, "spring1", made), again)
    assert third.ready is not None and third.next == "Accept it."
    made = replace(third.ready, made="2031-04-10")
    (done, *_) = spring_rows(accept_shares(rig, "spring1", made), again)
    assert (done.mark, done.next) == (Mark.DONE, "Accepted 2031-04-10.")


def test_a_spring_read_by_loads_lacks_no_trip_when_all_are_taken_lifted():
    loads = Curve(CurveKind.LINEAR, 0.6, 3.4, coefficients=(-4400.0, 7333.0), made="2031-04-09")
    rig = change_sensor(RIG, replace(RIG.sensors[1], curve=loads))
    (_, row, _) = spring_rows(rig, {"spring2": Witness().with_lifted(150.0, 140.0, 160.0)})
    assert (row.mark, row.verdict) == (Mark.DONE, "Trip known, accepted 2031-04-09")
    assert row.next == "To take it anew: lifted now, then a trip that you see."


def test_a_spring_with_a_broken_wire_or_trips_that_differ_is_in_trouble():
    broken = Witness().with_lifted(0.1, 0.1, 0.1).with_trip(3.6)
    apart = Witness().with_lifted(0.6, 0.6, 0.6).with_trip(3.6).with_trip(2.6)
    first, _, third = spring_rows(RIG, {"spring1": broken, "spring3": apart})
    assert first.mark is Mark.TROUBLE and "wire fault" in first.verdict
    assert third.mark is Mark.TROUBLE and third.verdict.startswith("Trips differ")


NAMES = {"depth1": "Depth 1, left", "depth2": "Depth 2, right"}


def test_the_page_says_which_one_moved_and_when_the_wrong_one_answered():
    right = Moved("depth1", 0.4, (("depth1", 90.0), ("depth2", 1.0)))
    assert moved_words(right, "depth1", NAMES)[0] == "Depth 1, left reads more"
    headline, mend = moved_words(right, "depth2", NAMES)
    assert headline == "Depth 1, left answered, reads more" and "Depth 2, right" in mend


def test_the_page_says_when_two_moved_and_when_none_did():
    both = Moved(None, 0.0, (("depth1", 90.0), ("depth2", 80.0)))
    assert (
        moved_words(both, "", NAMES)[0] == "More than one moved: Depth 1, left and Depth 2, right"
    )
    assert moved_words(Moved(None, 0.0, ()), "", NAMES)[0] == "Nothing moved yet"

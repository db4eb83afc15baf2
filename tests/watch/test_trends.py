"""Slow trends: twenty minutes of work now against twenty minutes when the tool was set."""

from cabapp.units import INCH_M
from cabapp.watch.reminders import Trends

SET_M = 14 * INCH_M
EVEN = {"left": 0.50, "right": 0.50}


def worked(
    trends: Trends,
    minutes: int,
    depth_m: float | None = SET_M,
    sides: dict[str, float | None] | None = None,
    slip: float | None = 0.06,
) -> Trends:
    """So many minutes of armed work, a second at a time."""
    for _ in range(minutes * 60):
        trends.step(depth_m, EVEN if sides is None else sides, slip, 1.0)
    return trends


def test_depth_that_lost_more_than_half_an_inch_is_creeping() -> None:
    trends = worked(worked(Trends(), 20), 20, SET_M - 0.6 * INCH_M)
    assert trends.creeping


def test_depth_that_lost_less_than_half_an_inch_is_not() -> None:
    trends = worked(worked(Trends(), 20), 20, SET_M - 0.4 * INCH_M)
    assert not trends.creeping


def test_depth_that_runs_deeper_creeps_nowhere_a_shank_could_stay_shallow() -> None:
    assert not worked(worked(Trends(), 20), 20, SET_M + INCH_M).creeping


def test_nothing_is_said_before_there_are_twenty_minutes_to_compare_with() -> None:
    trends = worked(worked(Trends(), 10), 10, SET_M - 4 * INCH_M)
    assert not trends.creeping, "this is the mean that later ones are compared with"


def test_ten_minutes_a_little_shallower_are_not_yet_twenty() -> None:
    assert not worked(worked(Trends(), 20), 10, SET_M - 0.6 * INCH_M).creeping


def test_a_hard_minute_is_not_a_trend() -> None:
    trends = worked(worked(Trends(), 20), 1, SET_M - 4 * INCH_M)
    assert not trends.creeping


def test_minutes_in_which_depth_is_not_read_count_for_nothing() -> None:
    trends = worked(worked(Trends(), 20), 40, None)
    assert not trends.creeping
    assert worked(trends, 20, SET_M - 0.6 * INCH_M).creeping


def test_a_tool_set_anew_is_a_new_question() -> None:
    trends = worked(worked(Trends(), 20), 20, SET_M - 0.6 * INCH_M)
    trends.reset()
    assert not trends.creeping
    assert not worked(trends, 45, SET_M - 0.6 * INCH_M).creeping


def test_one_side_that_pulls_harder_than_it_did_is_named() -> None:
    left = worked(worked(Trends(), 20), 20, sides={"left": 0.60, "right": 0.51})
    assert left.rising == {"left": True, "right": False, "slip": False}
    right = worked(worked(Trends(), 20), 20, sides={"left": 0.51, "right": 0.60})
    assert right.rising == {"left": False, "right": True, "slip": False}


def test_both_sides_harder_is_the_ground_and_not_a_side() -> None:
    harder = worked(worked(Trends(), 20), 20, sides={"left": 0.62, "right": 0.62})
    assert harder.rising == {"left": False, "right": False, "slip": False}


def test_a_side_up_by_a_tenth_is_nothing_yet() -> None:
    assert not worked(worked(Trends(), 20), 20, sides={"left": 0.55, "right": 0.5}).rising["left"]


def test_slip_up_by_a_fifth_of_itself_is_rising() -> None:
    assert worked(worked(Trends(), 20), 20, slip=0.072).rising["slip"]
    assert not worked(worked(Trends(), 20), 20, slip=0.066).rising["slip"]


def test_no_slip_at_all_when_set_gives_nothing_to_compare_with() -> None:
    assert not worked(worked(Trends(), 20, slip=0.0), 20, slip=0.05).rising["slip"]

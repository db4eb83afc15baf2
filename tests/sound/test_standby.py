"""The speaker on its own, when the engine says nothing."""

from itertools import pairwise

from cabapp.sound.standby import Standby


def times(standby: Standby, silent_from: float, until: float, heard: bool = True) -> list[float]:
    """When the pattern begins, asked 50 times a second."""
    steps = [silent_from + n / 50 for n in range(int((until - silent_from) * 50))]
    return [round(t - silent_from, 2) for t in steps if standby.due(t, t - silent_from, heard)]


def test_a_silent_engine_is_told_by_ear_within_three_seconds_and_again() -> None:
    began = times(Standby(), 100.0, 110.0)
    assert began[0] <= 3.0
    assert [round(b - a, 1) for a, b in pairwise(began)] == [2.5, 2.5, 2.5]


def test_an_engine_that_never_spoke_is_no_alarm() -> None:
    assert times(Standby(), 100.0, 130.0, heard=False) == []


def test_nobody_is_left_to_quiet_it_so_after_half_a_minute_it_only_insists() -> None:
    began = times(Standby(), 100.0, 220.0)
    assert len([t for t in began if t > 40]) <= 3


def test_an_engine_that_speaks_again_ends_it_and_a_later_silence_begins_anew() -> None:
    standby = Standby()
    assert times(standby, 100.0, 104.0)
    assert not standby.due(104.5, 0.1, True)
    assert times(standby, 200.0, 203.0)[0] <= 3.0

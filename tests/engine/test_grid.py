"""Ticks on their grid, and events in the order of their time."""

from hypothesis import given
from hypothesis import strategies as st

from cabapp.engine.grid import CATCH_UP_S, Clock, Feed
from cabapp.events import TICK_S, Bytes, Tick


def test_every_tick_of_the_grid_comes_once_and_before_what_is_later() -> None:
    feed = Feed(10.02)
    told = feed.before(Bytes(10.25, "gnss", b"x"))
    assert told == [Tick(10.1), Tick(10.2), Bytes(10.25, "gnss", b"x")]
    assert feed.ticks(10.29) == []
    assert feed.ticks(10.3) == [Tick(10.3)]


def test_bytes_of_a_slower_thread_do_not_turn_time_back() -> None:
    feed = Feed(10.02)
    feed.before(Bytes(10.05, "gnss", b"a"))
    assert feed.before(Bytes(10.04, "node", b"b")) == [Bytes(10.05, "node", b"b")]


def test_after_a_long_stop_only_the_last_second_is_caught_up() -> None:
    feed = Feed(10.0)
    feed.ticks(10.0)
    ticks = feed.ticks(40.0)
    assert ticks[0].now >= 40.0 - CATCH_UP_S
    assert ticks[-1] == Tick(40.0)
    assert feed.next_tick == 40.1


@given(st.lists(st.floats(0.0, 0.4), min_size=1, max_size=60), st.floats(0.0, 1e6))
def test_whatever_comes_when_time_never_runs_back_and_no_tick_is_missed_or_twice(
    steps: list[float], start: float
) -> None:
    feed, now, told = Feed(start), start, []
    for step in steps:
        now += step
        told += feed.before(Bytes(now, "gnss", b""))
    times = [event.now for event in told]
    assert times == sorted(times)
    ticks = [event.now for event in told if isinstance(event, Tick)]
    numbers = [round(at / TICK_S) for at in ticks]
    assert numbers == list(range(numbers[0], numbers[0] + len(numbers))) if numbers else True
    assert not ticks or now - ticks[-1] < TICK_S + 1e-6


def test_a_demo_clock_runs_faster_and_waits_shorter() -> None:
    clock = Clock(20.0)
    assert clock.real_s(1.0) == 0.05
    first = clock.now()
    assert clock.now() >= first
    assert abs(first / 20.0 - clock.real_now()) < 1.0

"""Each process stopped, then killed: the others go on, and the driver sees and hears the truth."""

import os
import signal
import time
from collections.abc import Iterator
from itertools import pairwise

import pytest

from tests.faults.cabin import ACT_PULSES_S, Cabin, driving, is_number, until

MODULES = {
    "engine": "tests.faults.plain_engine",
    "screen": "tests.faults.plain_screen",
    "speaker": "cabapp.sound.speaker",
}
BOTH = (signal.SIGSTOP, signal.SIGKILL)


@pytest.fixture(scope="module")
def cabin(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cabin]:
    with driving(tmp_path_factory.mktemp("cab"), MODULES) as made:
        yield made


@pytest.fixture
def driven(cabin: Cabin) -> Cabin:
    """The cab, well again after whatever the test before did to it."""
    cabin.speed_kn = 5.0
    since = time.monotonic()
    until(lambda: cabin.shows(since, lambda e: is_number(e) and e["sound"] == "sound_on"), 8.0,
          "well again")  # fmt: skip
    return cabin


def longest_gap(times: list[float]) -> float:
    return max(b - a for a, b in pairwise(times))


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_without_a_screen_the_shift_goes_on_and_the_screen_is_back_in_three_seconds(
    driven: Cabin, how: signal.Signals
) -> None:
    old = driven.pid("screen")
    begun = time.monotonic()
    os.kill(old, how)
    driven.speed_kn = 25.0
    until(
        lambda: driven.shows(begun, lambda e: is_number(e) and e["pid"] != old), 3.0, "a new screen"
    )
    heard = driven.ear.wait_for(ACT_PULSES_S, begun, 2.5)
    assert heard - begun < 1.0
    assert longest_gap(driven.rows(begun - 2.0)) < 1.3


def test_a_screen_wedged_inside_a_drawing_call_is_replaced_in_three_seconds(driven: Cabin) -> None:
    old = driven.pid("screen")
    begun = time.monotonic()
    (driven.home / "stall").touch()
    driven.speed_kn = 6.0  # a window is drawn only when something on it changes
    until(lambda: not (driven.home / "stall").exists(), 1.0, "wedged")
    until(
        lambda: driven.shows(begun, lambda e: is_number(e) and e["pid"] != old), 3.2, "a new screen"
    )
    assert driven.pids("screen") != [old]
    assert longest_gap(driven.rows(begun - 2.0)) < 1.3


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_a_lost_speaker_is_shown_or_back_within_three_seconds_and_sounds_again(
    driven: Cabin, how: signal.Signals
) -> None:
    old = driven.pid("speaker")
    begun = time.monotonic()
    os.kill(old, how)
    until(lambda: driven.pids("speaker") not in ([old], []), 3.0, "a new speaker")
    time.sleep(0.5)
    driven.speed_kn = 25.0
    asked = time.monotonic()
    assert driven.ear.wait_for(ACT_PULSES_S, asked, 3.0) - asked < 1.0
    assert longest_gap(driven.rows(begun - 2.0)) < 1.3


def test_while_no_speaker_can_be_started_the_screen_says_no_sound_within_three_seconds(
    driven: Cabin,
) -> None:
    os.kill(driven.keeper.pid, signal.SIGSTOP)
    begun = time.monotonic()
    os.kill(driven.pid("speaker"), signal.SIGKILL)
    until(lambda: driven.shows(begun, lambda e: e["sound"] == "no_sound"), 3.0, "no sound, shown")
    os.kill(driven.keeper.pid, signal.SIGCONT)
    back = time.monotonic()
    until(lambda: driven.shows(back, lambda e: e["sound"] == "sound_on"), 3.0, "sound again")


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_a_dead_engine_is_shown_within_two_seconds_heard_within_three_and_comes_back(
    driven: Cabin, how: signal.Signals
) -> None:
    """The keeper is held still, so that the engine stays dead for as long as it takes to look."""
    os.kill(driven.keeper.pid, signal.SIGSTOP)
    begun = time.monotonic()
    os.kill(driven.pid("engine"), how)
    until(lambda: driven.shows(begun, lambda e: e["text"] == "ENGINE STOPPED"), 2.0, "said so")
    said = time.monotonic()
    assert driven.ear.wait_for(ACT_PULSES_S, begun, 4.5) - begun < 3.0
    assert not driven.shows(said, is_number)
    os.kill(driven.keeper.pid, signal.SIGCONT)
    back = time.monotonic()
    until(lambda: driven.shows(back, is_number), 4.0, "a speed again")
    until(lambda: driven.rows(back), 2.0, "rows again")


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_an_engine_that_stops_or_dies_is_started_again_into_the_same_record(
    driven: Cabin, how: signal.Signals
) -> None:
    old = driven.pid("engine")
    begun = time.monotonic()
    os.kill(old, how)
    until(lambda: driven.pids("engine") not in ([old], []), 3.0, "a new engine")
    until(lambda: len(driven.rows(begun)) >= 3, 6.0, "rows again")
    assert longest_gap(driven.rows(begun - 2.0)) < 4.0


def test_a_keeper_held_still_stops_nothing_and_kills_nothing_when_it_wakes(driven: Cabin) -> None:
    before = [driven.pid(part) for part in MODULES]
    begun = time.monotonic()
    os.kill(driven.keeper.pid, signal.SIGSTOP)
    time.sleep(3.0)
    os.kill(driven.keeper.pid, signal.SIGCONT)
    time.sleep(1.0)
    assert [driven.pid(part) for part in MODULES] == before
    assert longest_gap(driven.rows(begun - 1.0)) < 1.3


def test_without_a_keeper_the_three_go_on_until_the_next_one_takes_over(driven: Cabin) -> None:
    orphans = {part: driven.pid(part) for part in MODULES}
    begun = time.monotonic()
    driven.keeper.kill()
    driven.keeper.wait()
    time.sleep(2.0)
    assert {part: driven.pid(part) for part in MODULES} == orphans
    assert longest_gap(driven.rows(begun - 1.0)) < 1.3
    driven.keeper = driven.start_keeper()
    again = time.monotonic()
    until(lambda: all(driven.pids(part) not in ([], [orphan]) for part, orphan in orphans.items()),
          3.0, "three new processes, and the old ones gone")  # fmt: skip
    until(lambda: driven.shows(again, is_number), 5.0, "a speed")
    assert longest_gap(driven.rows(begun - 1.0)) < 4.0

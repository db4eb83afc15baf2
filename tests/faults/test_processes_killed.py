"""Each process stopped, then killed: the others go on, and the driver sees and hears the truth."""

import os
import signal
import time
from collections.abc import Iterator
from itertools import pairwise

import pytest

from tests.faults.cabin import (
    ACT_PULSES_S,
    PATIENCE_S,
    Cabin,
    Fits,
    driving,
    go_first,
    is_number,
    until,
)

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
    cabin.when(since, lambda e: is_number(e) and e["sound"] == "sound_on", "well again")
    return cabin


def longest_gap(times: list[float]) -> float:
    return max(b - a for a, b in pairwise(times))


def of_another(old: int) -> Fits:
    """A speed that a later screen shows."""
    return lambda entry: is_number(entry) and entry["pid"] != old


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_without_a_screen_the_shift_goes_on_and_the_screen_is_back_in_three_seconds(
    driven: Cabin, how: signal.Signals
) -> None:
    old = driven.pid("screen")
    begun = time.monotonic()
    os.kill(old, how)
    driven.speed_kn = 25.0
    back = driven.when(begun, of_another(old), "a new screen")
    assert back - begun - driven.starved_s("screen") < 3.0
    assert driven.ear.wait_for(ACT_PULSES_S, begun) - begun < 1.0
    assert longest_gap(driven.rows(begun - 2.0)) < 1.3


def test_a_screen_wedged_inside_a_drawing_call_is_replaced_in_three_seconds(driven: Cabin) -> None:
    old = driven.pid("screen")
    (driven.home / "stall").touch()
    driven.speed_kn = 6.0  # a window is drawn only when something on it changes
    until(lambda: not (driven.home / "stall").exists(), PATIENCE_S, "wedged")
    wedged = driven.entries("wedged.jsonl")[-1]["at"]
    back = driven.when(wedged, of_another(old), "a new screen")
    assert back - wedged - driven.starved_s("screen") < 3.0
    assert driven.pids("screen") != [old]
    assert longest_gap(driven.rows(wedged - 2.0)) < 1.3


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_a_lost_speaker_is_shown_or_heard_again_within_three_seconds_and_comes_back(
    driven: Cabin, how: signal.Signals
) -> None:
    old = driven.pid("speaker")
    begun = time.monotonic()
    os.kill(old, how)
    driven.speed_kn = 25.0
    heard = driven.ear.wait_for(ACT_PULSES_S, begun)
    silent = [entry["at"] for entry in driven.shown(begun) if entry["sound"] == "no_sound"]
    assert min([heard, *silent]) - begun < 3.0
    assert driven.successor("speaker", old) - begun < 3.0
    assert longest_gap(driven.rows(begun - 2.0)) < 1.3


def test_while_no_speaker_can_be_started_the_screen_says_no_sound_within_three_seconds(
    driven: Cabin,
) -> None:
    os.kill(driven.keeper.pid, signal.SIGSTOP)
    begun = time.monotonic()
    os.kill(driven.pid("speaker"), signal.SIGKILL)
    no_sound = driven.when(begun, lambda e: e["sound"] == "no_sound", "no sound, shown")
    assert no_sound - begun < 3.0
    os.kill(driven.keeper.pid, signal.SIGCONT)
    back = time.monotonic()
    assert driven.when(back, lambda e: e["sound"] == "sound_on", "sound again") - back < 3.0


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_a_dead_engine_is_shown_within_two_seconds_heard_within_three_and_comes_back(
    driven: Cabin, how: signal.Signals
) -> None:
    """The keeper is held still, so that the engine stays dead for as long as it takes to look."""
    os.kill(driven.keeper.pid, signal.SIGSTOP)
    begun = time.monotonic()
    os.kill(driven.pid("engine"), how)
    said = driven.when(begun, lambda e: e["text"] == "ENGINE STOPPED", "said so")
    assert said - begun < 2.0
    assert driven.ear.wait_for(ACT_PULSES_S, begun) - begun < 3.0
    assert not driven.shows(said, is_number)
    os.kill(driven.keeper.pid, signal.SIGCONT)
    back = time.monotonic()
    number = driven.when(back, is_number, "a speed again")
    until(lambda: driven.rows(back), PATIENCE_S, "rows again")
    starved = driven.starved_s("engine")
    assert max(number, driven.rows(back)[0]) - back - starved < 4.0


@pytest.mark.parametrize("how", BOTH, ids=["stopped", "killed"])
def test_an_engine_that_stops_or_dies_is_started_again_into_the_same_record(
    driven: Cabin, how: signal.Signals
) -> None:
    old = driven.pid("engine")
    begun = time.monotonic()
    os.kill(old, how)
    assert driven.successor("engine", old) - begun < 3.0
    until(lambda: len(driven.rows(begun)) >= 3, PATIENCE_S, "rows again")
    assert longest_gap(driven.rows(begun - 2.0)) - driven.starved_s("engine") < 4.0


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
    go_first(driven.keeper.pid)
    again = time.monotonic()
    for part, orphan in orphans.items():
        assert driven.successor(part, orphan) - again < 3.0
        until(lambda: orphan not in driven.pids(part), PATIENCE_S, f"{part} left")  # noqa: B023
    shown = driven.when(again, of_another(orphans["screen"]), "a speed")
    assert shown - again - driven.starved_s("screen") < 5.0
    until(lambda: driven.rows(shown), PATIENCE_S, "rows again")
    assert longest_gap(driven.rows(begun - 1.0)) - driven.starved_s("engine") < 4.0

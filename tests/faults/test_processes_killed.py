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


@pytest.mark.parametrize("signal_sent", BOTH, ids=["stopped", "killed"])
def test_without_a_screen_the_shift_goes_on_and_the_screen_is_back_in_three_seconds(
    driven: Cabin, signal_sent: signal.Signals
) -> None:
    old = driven.pid("screen")
    begun = time.monotonic()
    os.kill(old, signal_sent)
    driven.speed_kn = 25.0
    took = until(
        lambda: driven.shows(begun, lambda e: is_number(e) and e["pid"] != old), 3.0, "a new screen"
    )
    until(lambda: driven.ear.heard(ACT_PULSES_S, begun), 4.0 - min(took, 3.0), "the act sound")
    assert driven.ear.heard(ACT_PULSES_S, begun) - begun < 1.0
    until(lambda: len(driven.rows(begun)) >= 3, 3.0, "three rows")
    assert longest_gap(driven.rows(begun - 2.0)) < 1.3

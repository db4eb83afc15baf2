"""Both cables pulled and plugged in under other names while processes die; and a busy machine."""

import multiprocessing
import os
import signal
import time
from collections.abc import Iterator
from itertools import cycle

import pytest

from cabapp.units import KNOT_MPS
from tests.faults.cabin import ACT_PULSES_S, Cabin, driving
from tests.faults.test_processes_killed import MODULES, longest_gap

ROUNDS = 1000 if os.environ.get("CABAPP_LONG") else 8
BUSY_S = 5.0


@pytest.fixture(scope="module")
def cabin(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Cabin]:
    with driving(tmp_path_factory.mktemp("cab"), MODULES) as made:
        yield made


def test_cables_that_come_back_under_other_names_are_read_again_whoever_was_killed_meanwhile(
    cabin: Cabin,
) -> None:
    """A receiver is plainly not read while it is out, and is read again within 4 s of its return,
    of which a new engine and a new screen take the larger part."""
    starved = [0.0]
    for count, part in zip(range(ROUNDS), cycle(("screen", "engine", "speaker", None))):
        names = [wire.device for wire in (cabin.gnss, cabin.node)]
        cabin.gnss.pull()
        cabin.node.pull()
        if part:
            os.kill(cabin.pid(part), signal.SIGKILL)
        time.sleep(0.2)
        cabin.speed_kn = 5.0 + count % 100 / 10  # so that the speed shown is known to be new
        cabin.gnss.plug_in()
        cabin.node.plug_in()
        assert all(w.device != n for w, n in zip((cabin.gnss, cabin.node), names, strict=True))
        plugged, text = time.monotonic(), f"{cabin.speed_kn * KNOT_MPS:.2f}"
        read = cabin.when(plugged, lambda e: e["text"] == text, f"speed {text}")  # noqa: B023
        starved.append(cabin.starved_s(part) if part in ("engine", "screen") else 0.0)
        assert read - plugged - starved[-1] < 4.0
    assert longest_gap(cabin.rows()) - max(starved) < 2.5


def spin(until_s: float) -> None:
    """Keep a core busy."""
    while time.monotonic() < until_s:
        sum(range(10_000))


def test_a_busy_machine_delays_neither_rows_nor_sound_and_nothing_is_taken_for_hung(
    cabin: Cabin,
) -> None:
    before = [cabin.pid(part) for part in MODULES]
    begun = time.monotonic()
    spinners = [
        multiprocessing.Process(target=spin, args=(begun + BUSY_S,))
        for _ in range(2 * (os.cpu_count() or 1))
    ]
    for spinner in spinners:
        spinner.start()
    time.sleep(1.0)
    asked = time.monotonic()
    cabin.speed_kn = 25.0
    assert cabin.ear.wait_for(ACT_PULSES_S, asked) - asked < 1.5
    for spinner in spinners:
        spinner.join()
    cabin.speed_kn = 5.0
    assert [cabin.pid(part) for part in MODULES] == before
    assert longest_gap(cabin.rows(begun)) < 1.5

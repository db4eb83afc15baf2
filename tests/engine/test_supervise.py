"""The keeper's decisions, with processes that do nothing and a clock of its own."""

import itertools
import os
import socket
import subprocess
import sys
from pathlib import Path

import pytest

from cabapp.engine.supervise import REST_MOST_S, ROLES, Keeper, Kept, waited_s
from cabapp.engine.wire import Part
from tests.faults.cabin import until

SLEEPER = [sys.executable, "-S", "-c", "import time; time.sleep(60)"]
ENDS = [sys.executable, "-S", "-c", ""]
SCREEN = next(role for role in ROLES if role.part is Part.SCREEN)


@pytest.fixture
def kept() -> Kept:
    one = Kept(SCREEN, SLEEPER, (), waited=lambda pid: 0.0)
    yield one
    if one.process is not None:
        one.process.kill()
        one.process.wait()


def pid(kept: Kept) -> int:
    assert kept.process is not None
    return kept.process.pid


def test_a_process_that_beats_is_left_alone(kept: Kept) -> None:
    kept.look(0.0)
    first = pid(kept)
    for tenth in range(100):
        kept.beat(tenth / 10)
        kept.look(tenth / 10)
    assert pid(kept) == first
    assert kept.well(9.9)


def test_a_silent_process_is_killed_and_started_again_within_two_seconds(kept: Kept) -> None:
    kept.look(0.0)
    kept.beat(0.5)
    first, now = pid(kept), 0.5
    while kept.process is not None and pid(kept) == first:
        now += 0.1
        kept.look(now)
    while kept.process is None:
        now += 0.1
        kept.look(now)
    assert now - 0.5 < 2.0
    assert kept.starts == 2


def test_a_process_that_got_no_core_is_not_taken_for_hung(kept: Kept) -> None:
    starved = [3.0]
    kept.waited = lambda pid: starved[0]
    kept.look(0.0)
    kept.beat(0.5)
    first = pid(kept)
    starved[0] += 1.0
    kept.look(0.5 + SCREEN.silent_s + 0.9)
    assert pid(kept) == first
    kept.look(0.5 + SCREEN.silent_s + 1.1)
    assert kept.process is None or pid(kept) != first


def test_one_that_can_not_die_before_its_disk_thaws_does_not_hold_up_the_keeper(kept: Kept) -> None:
    class Frozen:
        """A killed process that waits for its disk: it ends when that thaws."""

        pid, returncode, kills = 1, -9, 0
        thawed = False

        def kill(self) -> None:
            self.kills += 1

        def poll(self) -> int | None:
            return self.returncode if self.thawed else None

    kept.look(0.0)
    kept.beat(0.5)
    own, frozen = kept.process, Frozen()
    kept.process = frozen  # type: ignore[assignment]
    kept.look(2.5)
    assert (frozen.kills, kept.starts) == (1, 2)  # the next one runs already
    for tenth in range(25, 600):
        kept.beat(tenth / 10)
        kept.look(tenth / 10)
    assert (frozen.kills, kept.starts, kept.dying) == (1, 2, [frozen])
    frozen.thawed = True
    kept.look(60.0)
    assert kept.dying == []
    assert own is not None
    own.kill()
    own.wait()


def test_a_loop_that_stands_ready_without_a_core_is_counted_as_waiting() -> None:
    """Two busy loops on one core: about half of the time of each is waiting."""
    core = {next(iter(os.sched_getaffinity(0)))}
    spin = [sys.executable, "-S", "-c", "while True: pass"]
    spinners = [subprocess.Popen(spin, preexec_fn=lambda: os.sched_setaffinity(0, core))
                for _ in range(2)]  # fmt: skip
    try:
        until(lambda: all(waited_s(one.pid) > 0.2 for one in spinners), 20.0, "waiting, counted")
    finally:
        for one in spinners:
            one.kill()
            one.wait()
    assert waited_s(2**22 + 1) == 0.0  # no such process


def test_a_slow_start_is_given_its_time(kept: Kept) -> None:
    kept.look(0.0)
    first = pid(kept)
    kept.look(SCREEN.start_s - 0.1)
    assert pid(kept) == first
    assert not kept.well(1.0)  # but it is not well before its first beat
    kept.look(SCREEN.start_s + 0.1)
    assert kept.process is None


def test_one_that_never_gets_going_is_tried_less_and_less_often_but_for_ever() -> None:
    kept = Kept(SCREEN, ENDS, (), waited=lambda pid: 0.0)
    starts, now = [], 0.0
    while now < 60.0:
        before = kept.starts
        if kept.process is not None:
            kept.process.wait()
        kept.look(now)
        if kept.starts > before:
            starts.append(now)
        now += 0.1
    if kept.process is not None:
        kept.process.wait()
    gaps = [b - a for a, b in itertools.pairwise(starts)]
    assert gaps[0] < 0.5
    assert max(gaps) <= REST_MOST_S + 0.3
    assert starts[-1] > 50.0


def test_the_service_manager_is_fed_only_while_engine_and_screen_are_both_alive(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NOTIFY_SOCKET", str(tmp_path / "n"))
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(str(tmp_path / "n"))
        manager.setblocking(False)
        keeper = Keeper(tmp_path)
        for kept in keeper.kept.values():
            kept.words, kept.waited = SLEEPER, lambda pid: 0.0
        told: list[tuple[float, bytes]] = []

        def beat(now: float, *parts: Part) -> None:
            for part in parts:
                keeper.kept[part].beat(now)
            keeper.look(now)
            try:
                told.append((now, manager.recv(100)))
            except BlockingIOError:
                return

        try:
            keeper.look(0.0)
            for half in range(1, 11):
                beat(half / 2, Part.ENGINE, Part.SCREEN)
            for half in range(11, 21):  # the screen hangs, is killed, and never gets going again
                beat(half / 2, Part.ENGINE)
        finally:
            for kept in keeper.kept.values():
                if kept.process is not None:
                    kept.process.kill()
                    kept.process.wait()
    assert told[0][1] == b"READY=1"
    assert {word for _, word in told[1:]} == {b"WATCHDOG=1"}
    assert len(told) >= 3
    assert max(now for now, _ in told) < 5.0 + SCREEN.silent_s + 0.5


def test_every_process_is_started_by_the_interpreter_we_run_in(tmp_path: Path) -> None:
    for kept in Keeper(tmp_path).kept.values():
        assert kept.words[:2] == [sys.executable, "-m"]
        assert subprocess.list2cmdline(kept.words).count("--wire") == len(kept.role.links) + 1

"""The screen as a process of its own: it draws what comes down the pipe and says that it lives."""

import os
import subprocess
import sys
import time
from dataclasses import replace

import pytest

from cabapp.engine.pipes import LineSplitter
from cabapp.engine.wire import Alive, Part, decode, encode
from cabapp.screens.gallery import IN_BAND, STANDING


@pytest.fixture
def screen(tmp_path):
    """A started screen: where to write to it, and a reader of what it says."""
    to_read, to_write = os.pipe()
    from_read, from_write = os.pipe()
    beat_read, beat_write = os.pipe()
    (tmp_path / "keeper").write_text("here")
    words = ["--home", str(tmp_path), "--keeper", "here"]
    words += ["--wire", f"engine:{to_read}:{from_write}", "--wire", f"keeper:-1:{beat_write}"]
    process = subprocess.Popen(
        [sys.executable, "-m", "cabapp.screens.app", *words],
        pass_fds=(to_read, from_write, beat_write),
        env={**os.environ, "SDL_VIDEODRIVER": "offscreen", "CABAPP_WINDOWED": "1"},
        stderr=subprocess.PIPE,
    )
    os.set_blocking(from_read, False)
    yield to_write, from_read, process, tmp_path
    process.terminate()
    process.wait(5)
    for fd in (to_read, to_write, from_read, from_write, beat_read, beat_write):
        os.close(fd)


def heard(fd: int, splitter: LineSplitter) -> list[object]:
    try:
        data = os.read(fd, 1 << 16)
    except BlockingIOError:
        return []
    found = [decode(line) for line in splitter.feed(data)]
    return [received.message for received in found if received is not None]


def wait_for(check, fd: int, splitter: LineSplitter, limit_s: float = 20.0) -> bool:
    until = time.monotonic() + limit_s
    while time.monotonic() < until:
        if any(check(message) for message in heard(fd, splitter)):
            return True
        time.sleep(0.02)
    return False


def test_the_screen_draws_a_snapshot_and_says_which(screen):
    write, read, process, _ = screen
    splitter = LineSplitter()
    assert wait_for(lambda m: isinstance(m, Alive) and m.part is Part.SCREEN, read, splitter)
    os.write(write, encode(replace(IN_BAND, number=41), time.monotonic()))
    os.write(write, b'{"type":"snapshot","torn\n')
    os.write(write, encode(replace(STANDING, number=42), time.monotonic()))
    assert wait_for(lambda m: isinstance(m, Alive) and m.drawn == 42, read, splitter)
    assert process.poll() is None


def test_the_screen_leaves_when_another_keeper_is_in_charge(screen):
    _, read, process, home = screen
    assert wait_for(lambda m: isinstance(m, Alive), read, LineSplitter())
    (home / "keeper").write_text("another")
    assert process.wait(5) == 0


def test_a_fault_in_a_frame_is_counted_and_the_next_frame_comes(cabin):
    from kivy.base import ExceptionManager

    from cabapp.screens.kiosk import MOST_FAULTS, Faults

    faults = Faults()
    answers = [faults.handle_exception(ValueError("drawn wrong")) for _ in range(MOST_FAULTS)]
    assert set(answers[:-1]) == {ExceptionManager.PASS}
    assert answers[-1] == ExceptionManager.RAISE
    assert faults.handle_exception(SystemExit()) == ExceptionManager.RAISE


def test_of_many_snapshots_only_the_newest_is_drawn(cabin):
    from cabapp.screens.kiosk import Inbox

    inbox = Inbox()
    for number in range(100):
        inbox.put(replace(IN_BAND, number=number))
    snapshot, others = inbox.take()
    assert snapshot is not None
    assert (snapshot.number, others) == (99, [])
    assert inbox.take() == (None, [])


def test_drive_starts_without_reading_the_other_pages():
    """A screen that was killed has to be back in three seconds; the pages come after it."""
    ask = ("import sys; from cabapp.screens.pages.registry import pages; "
           "from cabapp.engine.home import Home; from pathlib import Path; "
           "pages(Home(Path('/nowhere'))); "
           "print([m for m in sys.modules if m.startswith('cabapp.screens.pages.')])")  # fmt: skip
    said = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert said.stdout.strip() == "['cabapp.screens.pages.registry']"


def test_every_page_of_the_menu_can_be_made(cabin):
    from importlib import import_module

    from cabapp.screens.fronts import PAGES as IN_MENU
    from cabapp.screens.pages.registry import PAGES, get_ready

    get_ready()
    assert set(PAGES) == set(IN_MENU)
    for module, page in PAGES.values():
        assert callable(getattr(import_module(module), page))

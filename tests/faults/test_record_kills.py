"""Kills of a real writer at random moments, and WALs torn at many places.

Short by default; CABAPP_LONG=1 runs the full count.
"""

import os
import random
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from dataclasses import dataclass
from pathlib import Path

import pytest

from cabapp.events import Tick
from cabapp.record.capture import Capture, CaptureError
from cabapp.record.disk import Disk
from cabapp.record.reader import open_run
from cabapp.record.resume import close, unended
from cabapp.record.runfile import Batch, RunFile
from tests.record.making import FACTS, alert, row

LONG = os.environ.get("CABAPP_LONG") == "1"
KILLS = 1_000 if LONG else 4  # those of the whole program are in test_whole_cut
SIDE_BY_SIDE = 4
TEAR_EACH = 1 if LONG else 40
WRITER = Path(__file__).with_name("record_writer.py")


@dataclass
class Killed:
    """What was left of one killed writer."""

    folder: Path
    acknowledged: tuple[int, int]


def kill_one(folder: Path, after_s: float) -> Killed:
    process = subprocess.Popen(
        [sys.executable, str(WRITER), str(folder), "0.003"], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    said = [process.stdout.readline()]  # it writes

    def listen() -> None:
        assert process.stdout is not None
        said.extend(process.stdout)

    ears = threading.Thread(target=listen)
    ears.start()
    time.sleep(after_s)
    process.send_signal(signal.SIGKILL)
    process.wait(10.0)
    ears.join(10.0)
    whole = [line for line in said if line.endswith("\n")]
    rows, moments = map(int, whole[-1].split())
    return Killed(folder, (rows, moments))


def kill_many(folder: Path, count: int) -> list[Killed]:
    dice, found = random.Random(41), []
    for first in range(0, count, SIDE_BY_SIDE):
        threads = []
        for index in range(first, min(count, first + SIDE_BY_SIDE)):
            after_s = dice.uniform(0.0, 1.5)
            place = folder / str(index)
            threads.append(
                threading.Thread(
                    target=lambda place=place, after_s=after_s: found.append(
                        kill_one(place, after_s)
                    )
                )
            )
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    return found


def test_a_kill_at_any_moment_loses_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    killed = kill_many(tmp_path, KILLS)
    assert len(killed) == KILLS
    for one in killed:
        (run,) = unended(one.folder, Disk())
        rows, moments = one.acknowledged
        assert run.rows >= rows > 0
        assert close(run, Disk())
        with open_run(run.path) as read:
            kept = [int(found["t_s"]) for found in read.rows()]  # type: ignore[call-overload]
            assert kept == list(range(len(kept)))  # no hole
            assert len(read.moments()) >= moments
            assert read.page.ended == "power lost"
        with sqlite3.connect(run.path) as connection:
            assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_the_capture_of_a_killed_writer_decodes_to_its_last_second(tmp_path: Path) -> None:
    killed = kill_one(tmp_path, 2.5)
    (path,) = killed.folder.glob("*.cap")
    seconds = [event.now for event in Capture(path).events() if isinstance(event, Tick)]
    assert seconds == [float(second) for second in range(len(seconds))]
    # One write of 3 ms stands for a second; the flush comes each real second.
    assert len(seconds) >= killed.acknowledged[0] - 1.5 / 0.003
    assert len(seconds) > 100


@pytest.fixture
def cut_off(tmp_path: Path) -> Path:
    """A run as a kill leaves it: rows still in the WAL."""
    live = RunFile.begin(tmp_path / "live.gpkg", FACTS, Disk())
    for second in range(60):
        live.write(Batch([row(second)], [alert(second)]))
    folder = tmp_path / "left"
    folder.mkdir()
    for ending in ("", "-wal"):
        shutil.copy(f"{live.path}{ending}", folder / f"shift-0001.gpkg{ending}")
    live.leave()
    return folder / "shift-0001.gpkg"


def prefix_of(path: Path) -> int:
    """How many rows survived; asserts that they are the first ones and the file is whole."""
    connection = sqlite3.connect(path)
    try:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        if not connection.execute("SELECT 1 FROM sqlite_master WHERE name = 'track'").fetchone():
            return 0
        rows = [found[0] for found in connection.execute("SELECT t_s FROM track ORDER BY fid")]
        alerts = connection.execute("SELECT count(*) FROM moment").fetchone()[0]
    finally:
        connection.close()
    assert rows == [float(second) for second in range(len(rows))]
    assert alerts == len(rows)  # each second's row and alert came in one commit
    return len(rows)


@pytest.mark.parametrize("filler", [b"", b"\x00" * 4096, b"\xa5" * 512])
def test_a_wal_torn_anywhere_gives_a_clean_prefix(cut_off: Path, filler: bytes) -> None:
    base, wal = cut_off.read_bytes(), Path(f"{cut_off}-wal").read_bytes()
    frame = 4096 + 24
    places = range(32, len(wal), frame // 3)
    survived = []
    for place in [*places[::TEAR_EACH], len(wal)]:
        for leftover in cut_off.parent.iterdir():
            leftover.unlink()
        cut_off.write_bytes(base)
        Path(f"{cut_off}-wal").write_bytes(wal[:place] + filler)
        survived.append(prefix_of(cut_off))
    assert survived == sorted(survived)
    assert survived[-1] == 60


def test_a_capture_cut_at_random_is_never_a_traceback(tmp_path: Path) -> None:
    killed = kill_one(tmp_path, 1.2)
    (path,) = killed.folder.glob("*.cap")
    whole, dice = path.read_bytes(), random.Random(7)
    for _ in range(200):
        path.write_bytes(whole[: dice.randrange(len(whole))])
        try:
            list(Capture(path).events())
        except CaptureError as error:
            assert str(path) in str(error)

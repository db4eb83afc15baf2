"""Real file systems that freeze and fill: a small loop mount where root allows it.

Without root the same stories are told through the seam in tests/record/test_writer.py.
"""

import os
import threading
import time
import tracemalloc
from collections.abc import Iterator
from pathlib import Path

import pytest

from cabapp.events import Tick
from cabapp.outcome import Outcome
from cabapp.record.disk import Disk
from cabapp.record.writer import Writer
from tests.faults.mounts import MIB, call, own_ext4
from tests.record.making import FACTS, alert, row, rows_in, until

LONG = os.environ.get("CABAPP_LONG") == "1"
FREEZE_S = 60.0 if LONG else 6.0


class Unrationed(Disk):
    """The real disk, said to be roomy: on a small mount the rations would thin the rows."""

    def free_bytes(self, folder: Path) -> int:
        return 10 * 1024**3


@pytest.fixture
def mounted(tmp_path: Path) -> Iterator[Path]:
    """An ext4 of 24 MiB of its own."""
    with own_ext4(tmp_path, 24 * MIB) as place:
        yield place


def test_a_frozen_disk_holds_up_nobody_and_loses_no_row(mounted: Path) -> None:
    writer = Writer(mounted, disk=Unrationed())
    writer.begin(FACTS)
    writer.put(Outcome(rows=(row(0),)))
    assert until(lambda: writer.saved == (1, 0))
    if not call("fsfreeze", "-f", str(mounted)):
        writer.stop()
        pytest.skip("fsfreeze is not allowed here")
    thaw = threading.Timer(FREEZE_S, call, ("fsfreeze", "-u", str(mounted)))
    thaw.start()
    slowest, second, told, frozen_at = 0.0, 0, [], time.monotonic()
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    while time.monotonic() - frozen_at < FREEZE_S:
        second += 1
        began = time.monotonic()
        writer.event(Tick(float(second)))
        writer.put(Outcome(rows=(row(second),), moments=(alert(second),)))
        if (news := writer.health()) is not None:
            told.append(news.cause)
        slowest = max(slowest, time.monotonic() - began)
        time.sleep(0.1)
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    thaw.join()
    assert slowest < 0.5
    assert "disk_slow" in told
    assert grown < 20_000 * second  # only what waits
    assert until(lambda: writer.saved == (second + 1, second), within_s=20.0)
    assert writer.end()
    writer.stop()
    assert writer.path is not None
    assert rows_in(writer.path) == [float(number) for number in range(second + 1)]


def test_a_full_disk_is_told_and_goes_on_when_there_is_room(mounted: Path) -> None:
    writer = Writer(mounted, disk=Unrationed())
    writer.begin(FACTS)
    writer.put(Outcome(rows=(row(0),)))
    assert until(lambda: writer.saved == (1, 0))
    filler = mounted / "filler"
    with open(filler, "wb") as file:
        try:
            while True:
                file.write(b"x" * 65_536)
                file.flush()
        except OSError:
            pass
    causes, count = [], 0
    while "disk_full" not in causes and count < 3_000:
        count += 1
        writer.put(Outcome(rows=(row(count, note="x" * 900),), moments=(alert(count),)))
        time.sleep(0.002)
        if (news := writer.health()) is not None:
            causes.append(news.cause)
    assert "disk_full" in causes
    filler.unlink()
    assert until(lambda: writer.saved[1] == count, within_s=20.0)
    assert writer.end()
    writer.stop()
    assert writer.path is not None
    assert rows_in(writer.path, "moment") == [float(number) for number in range(1, count + 1)]
    assert rows_in(writer.path) == [float(number) for number in range(count + 1)]

"""Key off at any moment of work, key on again: the whole program killed at once, nothing stood in.

The tractor drives on while the power is off, as the world outside does. What is left after each
kill is copied and looked at: against what was there before, and against its own capture played
again. ``CABAPP_LONG=1`` makes a thousand kills of it.
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
from contextlib import closing
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import pytest
from pyproj import Geod

from cabapp.cab import Cab
from cabapp.cab.later import later
from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.known import Known, write_known
from cabapp.events import TICK_S, Resumed, Tick
from cabapp.ground.worked import GAP_S
from cabapp.outcome import Card, Moment, Row
from cabapp.paths import shipped
from cabapp.record.capture import Capture, CaptureError
from cabapp.record.folder import captures_of
from cabapp.record.reader import moments_of, rows_of
from cabapp.record.totals import columns_of
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World
from tests.faults.cabin import go_first, until

SIDE_BY_SIDE = 2
LONG = os.environ.get("CABAPP_LONG") == "1"
KILLS_EACH = 20 if LONG else 4  # a shift cut twenty times has to go on as well
BATCHES = 25 if LONG else 1
AT_WORK_S = 2.1  # the row being filled, and one commit
RIG = "rig-us-full.toml"
EARTH = Geod(ellps="WGS84")


@dataclass
class Left:
    """What a kill left: a copy of the runs, and when it came on the machine's own clock."""

    runs: Path
    killed_at: float


class Tractor:
    """An invented tractor at work with the real program on it."""

    def __init__(self, home: Path) -> None:
        self.home = home
        home.mkdir()
        text = shipped("config", RIG).read_text()
        rig = read_rig(text)
        (home / "rig.toml").write_text(text)
        chunks = World(SCENARIOS["short_demo"], rig).chunks()
        self.wires = DemoWires(chunks, [port.name for port in rig.ports], home / "wires")
        known = {name: Known(path, 38400) for name, path in self.wires.devices.items()}
        write_known(home / "ports.json", known)
        self.wires.start()
        self.keeper: subprocess.Popen[bytes] | None = None

    def key_on(self) -> None:
        """Start as a service manager does."""
        environment = {
            **os.environ, "SDL_VIDEODRIVER": "offscreen", "SDL_AUDIODRIVER": "dummy",
            "CABAPP_STATE": str(self.home),
        }  # fmt: skip
        with (self.home / "stderr").open("ab") as errors:
            self.keeper = subprocess.Popen(
                [sys.executable, "-m", "cabapp", "drive", "--windowed"],
                env=environment, stderr=errors, start_new_session=True,
            )  # fmt: skip
        go_first(self.keeper.pid)

    def key_off(self) -> float:
        """Every process of it at once, without a word; returns when."""
        assert self.keeper is not None
        os.killpg(self.keeper.pid, signal.SIGKILL)
        at = time.monotonic()
        self.keeper.wait()
        return at

    def starts(self) -> int:
        """How many starts have a capture of their own: the shift was begun or gone on with."""
        return len(list((self.home / "runs").glob("*.cap")))

    def drive(self, kills: int, dice: random.Random) -> list[Left]:
        """Work, and lose power so many times; then once more, long enough to go on."""
        try:
            return self._lose_power(kills, dice)
        finally:  # what failed leaves nothing running
            if self.keeper is not None and self.keeper.poll() is None:
                self.key_off()
            self.wires.stop()

    def _lose_power(self, kills: int, dice: random.Random) -> list[Left]:
        found = []
        for number in range(kills + 1):
            before = self.starts()
            self.key_on()
            if number in (0, kills):
                until(lambda: self.starts() > before, 30.0, "at work")  # noqa: B023
                time.sleep(3.0)
            else:
                time.sleep(dice.uniform(0.3, 6.0))
            killed_at = self.key_off()
            copy = self.home / f"left-{number}"
            shutil.copytree(self.home / "runs", copy)
            found.append(Left(copy, killed_at))
        return found


@pytest.mark.parametrize("batch", range(BATCHES))
def test_key_off_at_any_moment_of_work_and_the_same_shift_goes_on(
    tmp_path: Path, batch: int
) -> None:
    tractors = [Tractor(tmp_path / str(number)) for number in range(SIDE_BY_SIDE)]
    found: list[list[Left]] = [[] for _ in tractors]

    def work(number: int) -> None:
        dice = random.Random(f"{batch} {number}")
        found[number] = tractors[number].drive(KILLS_EACH, dice)

    threads = [threading.Thread(target=work, args=(n,)) for n in range(SIDE_BY_SIDE)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    for tractor, kills in zip(tractors, found, strict=True):
        assert len(kills) == KILLS_EACH + 1, (tractor.home / "stderr").read_text()
        nothing_is_lost(kills)
        the_driver_sees_it_go_on(kills[-1])


def nothing_is_lost(kills: list[Left]) -> None:
    """One whole file that only grows, complete to the last second of each start."""
    before: tuple[list[object], list[object]] = [], []
    captures = 0
    for left in kills:
        (path,) = left.runs.glob("*.gpkg")
        rows, moments = read(path)
        assert rows[: len(before[0])] == before[0]
        assert moments[: len(before[1])] == before[1]
        before = rows, moments
        caps = captures_of(path)
        if len(caps) > captures:
            captures = len(caps)
            complete_to_its_last_second(caps[-1], rows, moments, left.killed_at)


def read(path: Path) -> tuple[list[object], list[object]]:
    """Rows (place, times and speed) and moments of a run as a kill left it, found to be whole."""
    with closing(sqlite3.connect(path)) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        rows = rows_of(connection, columns_of(connection, "track"))
        kept = [plain_row(row["t_s"], row["utc"], row["speed_mps"]) for row in rows]
        return kept, [plain_moment(moment) for moment in moments_of(connection)]


def complete_to_its_last_second(
    path: Path, rows: list[object], moments: list[object], killed_at: float
) -> None:
    """The capture reaches the kill, and all that its cab had said by then is in the file."""
    try:
        capture = Capture(path)
    except CaptureError:  # killed in its first second: nothing was pushed out yet
        return
    cab = Cab(capture.head.rig, capture.head.plan, None, False)
    first = last = None
    for event in capture.events():
        first, last = (event.now if first is None else first), event.now
        told = later(cab.step(event), capture.head.offset_s)
        due = event.now < killed_at - 1.1
        for row in told.rows:
            assert not due or row_of(row) in rows
        for moment in told.moments:
            assert not due or plain_moment(moment) in moments, moment
    assert first is not None and last is not None
    assert killed_at - last < AT_WORK_S
    newest = float(str(rows[-1][0])) - capture.head.offset_s + first  # type: ignore[index]
    if last - first > AT_WORK_S:
        assert killed_at - newest < AT_WORK_S


def the_driver_sees_it_go_on(left: Left) -> None:
    """At the last start: the card says so, and the ground is that of the whole shift."""
    (path,) = left.runs.glob("*.gpkg")
    capture = Capture(captures_of(path)[-1])
    cab, card, last_s = Cab(capture.head.rig, capture.head.plan, None, False), None, 0.0
    for event in capture.events():
        if isinstance(event, Resumed):
            last_s = event.last_t_s
            cab.step(event)
            cab.step(Tick(event.now + TICK_S))  # a picture is that of a tick
            card = cab.picture().card.card
            break
        cab.step(event)
    assert card is Card.CONTINUED
    with closing(sqlite3.connect(path)) as connection:
        found = list(rows_of(connection, columns_of(connection, "track")))
    rows = [row for row in found if float(str(row["t_s"])) <= last_s]
    ways_m = [way_m(*pair) for pair in pairwise(rows) if are_one_stretch(*pair)]
    width_m = capture.head.rig.tool.width_m
    # A row is a whole second, and ground begins and ends inside one: a second of it may be off.
    a_second_m2 = width_m * max(float(str(row["speed_mps"] or 0.0)) for row in rows)
    worked_m2 = cab.field.worked.gross_m2
    assert worked_m2 == pytest.approx(width_m * sum(ways_m), rel=0.1, abs=a_second_m2)


def are_one_stretch(first: dict[str, object], second: dict[str, object]) -> bool:
    """Whether the tool worked from one row to the next, by what the ground takes for a gap.

    A power cut of two seconds is no longer than a lost epoch, and is no gap either.
    """
    near = float(str(second["t_s"])) - float(str(first["t_s"])) <= GAP_S
    return near and first["phase"] == second["phase"] == "working"


def way_m(first: dict[str, object], second: dict[str, object]) -> float:
    """Metres between the places of two rows."""
    ends = [float(str(row[name])) for row in (first, second) for name in ("lon_deg", "lat_deg")]
    return float(EARTH.inv(*ends)[2])


def row_of(row: Row) -> object:
    return plain_row(row.t_s, row.utc, row.values["speed_mps"])


def plain_row(t_s: object, utc: object, speed_mps: object) -> object:
    return t_s, utc or "", speed_mps


def plain_moment(moment: Moment) -> object:
    """What tells one moment from another."""
    return moment.t_s, moment.what, moment.rule, moment.value, moment.detail

"""The real engine at work on a real storage that fills, freezes and has room again.

An ext4 of its own holds the whole state folder, as on a tablet; what the driver is shown is noted
elsewhere. The clock is run faster, so that the looks at the free storage come soon.
"""

import contextlib
import json
import os
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.known import Known, write_known
from cabapp.outcome import Moment, Row, What
from cabapp.paths import shipped
from cabapp.plan import default_plan
from cabapp.record.capture import Capture, CaptureError
from cabapp.record.makerun import HurriedDisk
from cabapp.record.reader import open_run
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World
from tests.faults.cabin import go_first, processes, until
from tests.faults.mounts import MIB, call, fill_up, leave_free, own_ext4
from tests.record.making import rows_in

LONG = os.environ.get("CABAPP_LONG") == "1"
PACE = 3.0 if LONG else 10.0
FREEZE_S = 60.0 if LONG else 3.0
STAY_S = 30.0 / PACE  # what each state of the storage is given: three looks at it
PARTS = ("cabapp.engine.main", "cabapp.sound.speaker", "tests.faults.noting_screen")
LATE_S = 1.0  # a picture comes each 0.2 s; a core that others hold may make it wait


class AtWork:
    """The real engine under its keeper, an invented tractor, and a screen that notes."""

    def __init__(self, home: Path, beside: Path, pace: float = PACE) -> None:
        self.home = home
        self.beside = beside
        text = shipped("config", "rig-us-full.toml").read_text(encoding="utf-8")
        rig = read_rig(text)
        (home / "rig.toml").write_text(text, encoding="utf-8")
        chunks = World(SCENARIOS["plain_passes"], rig).chunks()
        names = [port.name for port in rig.ports]
        self.wires = DemoWires(chunks, names, beside / "wires", pace)
        known = {name: Known(path, 38400) for name, path in self.wires.devices.items()}
        write_known(home / "ports.json", known)
        self.wires.start()
        environment = {**os.environ, "SDL_AUDIODRIVER": "dummy", "NOTED": str(beside / "noted")}
        with (beside / "stderr").open("ab") as errors:
            self.keeper = subprocess.Popen(
                [sys.executable, "-m", "tests.faults.keeper", "--speed", str(pace), str(home),
                 "screen=tests.faults.noting_screen"],
                env=environment, stderr=errors, start_new_session=True,
            )  # fmt: skip
        go_first(self.keeper.pid)

    def shown(self, since: float = 0.0) -> list[dict[str, object]]:
        """What the driver saw since, each with the engine's own stamp."""
        file = self.beside / "noted"
        lines = file.read_text().split("\n")[:-1] if file.exists() else []
        found = [json.loads(line) for line in lines]
        return [one for one in found if one["at"] >= since]

    def told(self, since: float, action: str) -> bool:
        """Whether NOT SAVING was in front since, with this next step."""
        return any((one["headline"], one["action"]) == ("NOT SAVING", action)
                   for one in self.shown(since))  # fmt: skip

    def say(self, words: str) -> None:
        """The driver enters a note."""
        (self.beside / "new").write_text(words)
        (self.beside / "new").rename(self.beside / f"say-{words}")

    def rows(self) -> int:
        """Rows that a power cut now would leave; none while the file is only being made."""
        with contextlib.suppress(sqlite3.Error):
            return len(rows_in(self.run))
        return 0

    @property
    def run(self) -> Path:
        """The one run file."""
        [path] = (self.home / "runs").glob("*.gpkg")
        return path

    def capture_stopped(self) -> str:
        """Why the capture was given up; "" while it goes on."""
        [path] = (self.home / "runs").glob("*.cap")
        try:
            capture = Capture(path)
            for _ in capture.events():
                pass
        except CaptureError:
            return ""
        return capture.stopped

    def stop(self) -> None:
        """End it as a service manager does."""
        self.keeper.terminate()
        try:
            self.keeper.wait(30.0)
        finally:
            self.keeper.kill()
            for part in (
                "cabapp.engine.main",
                "cabapp.sound.speaker",
                "tests.faults.noting_screen",
            ):
                for pid in processes(part, self.home):
                    os.kill(pid, 9)
            self.wires.stop()


@pytest.fixture
def at_work(tmp_path: Path) -> Iterator[AtWork]:
    with own_ext4(tmp_path, 1_400 * MIB) as place:
        work = AtWork(place, tmp_path)
        try:
            until(lambda: any(one["recording"] for one in work.shown()), 30.0, "a run")
            until(lambda: work.rows() > 5, 20.0, "rows")
            yield work
        finally:
            call("fsfreeze", "-u", str(place))
            work.stop()


def test_a_cut_at_the_end_of_a_long_day_is_gone_on_with_at_once(tmp_path: Path) -> None:
    """Thirteen hours on record: to lay their ground again takes longer than a hang may last."""
    home = tmp_path / "state"
    leave_a_long_day(home / "runs")
    work = AtWork(home, tmp_path, 1.0)
    try:
        until(lambda: any(one["recording"] for one in work.shown()), 30.0, "it goes on")
        [engine] = processes("cabapp.engine.main", home)
        time.sleep(8.0)
        assert processes("cabapp.engine.main", home) == [engine]
        judged_without_a_pause(work, 0.0)
    finally:
        work.stop()
    with sqlite3.connect(work.run) as connection:
        told = connection.execute("SELECT detail FROM moment WHERE what = 'run'").fetchall()
    assert ("resumed",) in told


def leave_a_long_day(runs: Path) -> None:
    """A run of passes of 450 m beside the invented field, cut off a minute before it begins."""
    runs.mkdir(parents=True)
    rig = read_rig(shipped("config", "rig-us-full.toml").read_text(encoding="utf-8"))
    run = RunFile.begin(runs / "shift-0001.gpkg", RunFacts(rig, default_plan(rig)), HurriedDisk())
    begun = datetime(2027, 4, 21, 12, 29) - timedelta(hours=13)
    rows = []
    for second in range(13 * 3600):
        lap, within = divmod(second, 200)
        along_m = 2.5 * min(within, 180)
        values = {"phase": "working" if within < 180 else "turning", "fix": "fixed",
                  "course_deg": 180.0 * (lap % 2)}  # fmt: skip
        lat = 44.0 + (450.0 - along_m if lap % 2 else along_m) / 111_100.0
        utc = (begun + timedelta(seconds=second)).isoformat() + "Z"
        rows.append(Row(float(second), utc, lat, -30.0 + lap * 5.0 / 80_000.0, values))
    run.write(Batch(rows))
    run.leave()


def judged_without_a_pause(work: AtWork, since: float) -> None:
    """No picture was late, by the engine's own stamps."""
    stamps = [float(str(one["at"])) for one in work.shown(since)]
    assert max(b - a for a, b in pairwise(stamps)) < LATE_S


def test_a_filling_storage_takes_capture_then_rows_and_never_a_word_or_a_judgement(
    at_work: AtWork,
) -> None:
    begun = time.monotonic()
    leave_free(at_work.home, 150 * MIB)
    until(lambda: at_work.capture_stopped() == "storage short", 15.0, "no capture any more")
    assert not at_work.told(0.0, "Storage full"), "every row is kept still"
    rows = at_work.rows()
    until(lambda: at_work.rows() > rows + 3, 15.0, "rows go on")

    leave_free(at_work.home, 30 * MIB)
    until(lambda: at_work.told(begun, "Storage full"), 15.0, "told that rows are left out")
    at_work.say("thin")
    time.sleep(STAY_S)

    leave_free(at_work.home, 8 * MIB)
    time.sleep(STAY_S)
    at_work.say("moments-only")

    fill_up(at_work.home)
    time.sleep(STAY_S / 3)
    at_work.say("full")
    time.sleep(STAY_S)

    leave_free(at_work.home, 1_200 * MIB)
    freed = time.monotonic()
    until(lambda: at_work.shown(freed) and not at_work.told(time.monotonic() - 0.5, "Storage full"),
          20.0, "well again")  # fmt: skip
    rows = at_work.rows()
    until(lambda: at_work.rows() > rows + 20, 20.0, "every row again")
    judged_without_a_pause(at_work, begun)
    at_work.stop()
    as_it_is_told(at_work.run)


def as_it_is_told(path: Path) -> None:
    """One whole file: rows thin while room was short, moments all there, losses counted."""
    with open_run(path.parent / path.name) as run:
        rows = list(run.rows())
        moments = run.moments()
    times = [float(str(row["t_s"])) for row in rows]
    seconds = seconds_of(rows)
    said = {str(m.value): m.t_s for m in moments if m.what is What.NOTE}
    assert list(said) == ["thin", "moments-only", "full"]
    thin = [int(t_s) for t_s in times if said["thin"] < t_s < said["thin"] + 25.0]
    assert thin and all(second % 10 == 0 for second in thin)
    none = said["moments-only"] - 12.0, said["moments-only"] - 2.0  # the last ones wait for room
    assert not [t_s for t_s in times if none[0] < t_s < none[1]]
    missing = (seconds[-1] - seconds[0]).total_seconds() + 1 - len(rows)
    assert abs(lost(moments) - missing) <= 3, "a second without a fix is cut by our own clock"
    health = [m for m in moments if m.what is What.HEALTH]
    assert len(health) < 20, "a full storage is not filled with words about it"


def lost(moments: list[Moment]) -> float:
    """Rows not kept, as the record itself says."""
    return sum(float(str(m.value)) for m in moments if m.what is What.DROPPED and m.rule == "rows")


def seconds_of(rows: list[dict[str, object]]) -> list[datetime]:
    """The receiver's second of each row that has one."""
    return [datetime.fromisoformat(str(row["utc"])) for row in rows if row["utc"]]


def test_a_frozen_storage_stops_no_judgement_and_costs_no_row(at_work: AtWork) -> None:
    begun = time.monotonic()
    if not call("fsfreeze", "-f", str(at_work.home)):
        pytest.skip("fsfreeze is not allowed here")
    try:
        at_work.say("frozen")
        time.sleep(FREEZE_S)
    finally:
        call("fsfreeze", "-u", str(at_work.home))
    until(lambda: at_work.told(begun, "Storage is stuck"), 5.0, "told")
    thawed = time.monotonic()
    until(lambda: at_work.shown(thawed) and not at_work.told(time.monotonic() - 0.5,
          "Storage is stuck"), 20.0, "well again")  # fmt: skip
    rows = at_work.rows()
    until(lambda: at_work.rows() > rows + 3, 20.0, "rows again")
    judged_without_a_pause(at_work, begun)
    at_work.stop()
    with open_run(at_work.run) as run:
        seconds = seconds_of(list(run.rows()))
        assert [m.value for m in run.moments() if m.what is What.NOTE] == ["frozen"]
    assert {b - a for a, b in pairwise(seconds)} == {timedelta(seconds=1)}

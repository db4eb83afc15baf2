"""From bytes to file: what the cab said is what the run holds, and the capture says it again."""

import sqlite3
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

import pytest

from cabapp.cab import Cab
from cabapp.cli import main
from cabapp.events import Bytes, Event, TapKind, Tick
from cabapp.outcome import Outcome
from cabapp.plan import default_plan
from cabapp.record.capture import Capture
from cabapp.record.makerun import RunMaker
from cabapp.record.reader import RunFileError, open_run
from cabapp.record.runfile import RunFacts
from cabapp.record.writer import Writer
from tests.cab.drive import Machine, full_rig, receiver_rig, sentence


class Kept(Machine):
    """The small machine, with a writer told of every event and answer."""

    writer: Writer

    def step(self, event: Event) -> Outcome:
        self.writer.event(event)
        outcome = super().step(event)
        self.writer.put(outcome)
        return outcome


@pytest.fixture(scope="module")
def shift(tmp_path_factory: pytest.TempPathFactory) -> tuple[Kept, Path]:
    """Two passes and a headland, an alert, a trip, a peg and a hand check; ended."""
    machine = Kept(full_rig())
    machine.writer = Writer(tmp_path_factory.mktemp("runs"))
    machine.writer.begin(RunFacts(machine.rig, default_plan(machine.rig)))
    machine.lift().go(5)
    machine.work().go(60)
    machine.tap(TapKind.PEG)
    machine.depth_in = 10.0
    machine.go(30)
    machine.work().go(20)
    machine.share = {n: 1.2 if n == 3 else 0.55 for n in range(1, 8)}
    machine.go(1)
    machine.work().go(5)
    machine.lift()
    machine.turn_dps = 15.0
    machine.go(12)
    machine.work().go(60)
    machine.stop().go(10)
    machine.tap(TapKind.DUG, 0.35)
    machine.lift().go(3)
    assert machine.writer.end()
    machine.writer.stop()
    path = machine.writer.path
    assert path is not None
    return machine, path


def tables(path: Path) -> list[tuple[object, ...]]:
    """Every value of track and moment, as stored."""
    with sqlite3.connect(path) as connection:
        return [
            row
            for table in ("track", "moment")
            for row in connection.execute(f"SELECT * FROM {table} ORDER BY fid")
        ]


def test_every_moment_is_in_the_run_as_the_cab_said_it(shift: tuple[Kept, Path]) -> None:
    machine, path = shift
    with open_run(path) as run:
        assert run.moments() == machine.moments
    assert {moment.what.value for moment in machine.moments} >= {
        "onset", "end", "phase", "peg", "check", "run",
    }  # fmt: skip


def test_every_row_is_in_the_run_with_its_place_and_values(shift: tuple[Kept, Path]) -> None:
    machine, path = shift
    with open_run(path) as run:
        rows = list(run.rows())
    assert len(rows) == len(machine.rows)
    for kept, said in zip(rows, machine.rows, strict=True):
        assert (kept["t_s"], kept["lat_deg"], kept["lon_deg"]) == (
            said.t_s, said.lat_deg, said.lon_deg,
        )  # fmt: skip
        assert {name: kept[name] for name in said.values} == said.values


def test_the_capture_makes_the_same_run_to_the_byte(
    shift: tuple[Kept, Path], tmp_path: Path
) -> None:
    _, path = shift
    capture = Capture(path.with_suffix(".cap"))
    cab = Cab(capture.head.rig, capture.head.plan, snapshots=False)
    maker = RunMaker(tmp_path / "again.gpkg", RunFacts(capture.head.rig, capture.head.plan))
    for event in capture.events():
        maker.put(cab.step(event))
    again = maker.end()
    assert not capture.torn
    assert tables(again) == tables(path)
    with open_run(again) as run, open_run(path) as first:
        assert run.summary() == first.summary()


def test_a_quiet_replay_makes_the_run_and_says_nothing(
    shift: tuple[Kept, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capture, out = shift[1].with_suffix(".cap"), tmp_path / "again.gpkg"
    assert main(["replay", str(capture), "--run", str(out), "--quiet"]) == 0
    assert capsys.readouterr().out == ""
    with open_run(out) as run:
        *moments, ended = run.moments()
    assert moments == shift[0].moments
    assert ended.detail == "ended"


def test_the_stored_area_is_the_one_the_driver_saw(shift: tuple[Kept, Path]) -> None:
    machine, path = shift
    with open_run(path) as run:
        sums = run.summary()
    assert sums["gross_m2"] == pytest.approx(machine.cab.field.worked.gross_m2, abs=0.01)
    assert sums["net_m2"] == pytest.approx(machine.cab.field.worked.net_m2, abs=0.01)
    assert sums["gross_m2"] > 1_000.0


def test_a_run_being_made_is_not_there_until_it_is_whole(tmp_path: Path) -> None:
    out = tmp_path / "out.gpkg"
    maker = RunMaker(out, RunFacts(receiver_rig(), default_plan(receiver_rig())))
    assert not out.exists()
    assert maker.end() == out
    assert [path.name for path in tmp_path.iterdir()] == ["out.gpkg"]


def test_a_place_where_no_run_can_be_made_is_said_in_one_sentence(tmp_path: Path) -> None:
    facts = RunFacts(receiver_rig(), default_plan(receiver_rig()))
    with pytest.raises(RunFileError, match="not made") as caught:
        RunMaker(tmp_path / "unplugged" / "out.gpkg", facts)
    assert "\n" not in str(caught.value)


def test_a_drifting_clock_makes_no_false_gap() -> None:
    """One fix a second of the receiver, our clock 1 % off: three seconds' drift in five minutes."""
    rig = receiver_rig()
    cab, rows = Cab(rig, default_plan(rig)), []
    ticks = 0
    for second in range(300):
        at = second * 1.01
        while ticks * 0.1 < at:
            rows += cab.step(Tick(round(ticks * 0.1, 3))).rows
            ticks += 1
        hms = f"10{second // 60:02d}{second % 60:02d}.00"
        line = f"GNRMC,{hms},A,5200.0000,N,00500.{second * 2:04d},E,5.0,90.0,210526,,,D"
        rows += cab.step(Bytes(at, "gnss", sentence(line))).rows
    dated = [datetime.fromisoformat(row.utc) for row in rows if row.utc]
    assert len(dated) > 290
    steps = {after - before for before, after in pairwise(dated)}
    assert steps == {timedelta(seconds=1)}

"""Key off at any moment, key on: the shift goes on, or is closed, by a rule that can be said."""

import sqlite3
from datetime import UTC, datetime
from pathlib import Path

import pytest

from cabapp.cab.run import WITHDRAWN
from cabapp.ground.kept import take_up
from cabapp.outcome import Moment, What
from cabapp.record.disk import Disk
from cabapp.record.reader import open_run
from cabapp.record.resume import Unended, close, memory, unended, verdict
from cabapp.record.runfile import Batch, RunFile
from tests.record.making import FACTS, RIG, alert, row


def left(folder: Path, number: int = 1, rows: int = 10) -> Path:
    """A run whose power was lost."""
    path = folder / f"shift-{number:04d}.gpkg"
    run = RunFile.begin(path, FACTS, Disk())
    if rows:
        run.write(Batch([row(second) for second in range(rows)], [alert(3)]))
    run.leave()
    return path


def found(folder: Path) -> Unended:
    (run,) = unended(folder, Disk())
    return run


def at(hour: int, minute: int = 0) -> datetime:
    return datetime(2026, 4, 18, hour, minute, tzinfo=UTC)


def test_a_run_whose_power_was_lost_is_found_with_its_last_time_and_place(tmp_path: Path) -> None:
    left(tmp_path)
    run = found(tmp_path)
    assert (run.rows, run.last_utc, run.last_utc_t_s) == (10, "2026-04-18T13:00:09Z", 9.0)
    assert run.lat_deg == pytest.approx(52.0002, abs=1e-4)


def test_an_ended_run_is_not(tmp_path: Path) -> None:
    path = left(tmp_path)
    RunFile.resume(path, Disk()).end("ended")
    assert unended(tmp_path, Disk()) == []


def test_a_run_cut_while_it_was_being_ended_becomes_a_plain_file(tmp_path: Path) -> None:
    path = left(tmp_path)
    RunFile.resume(path, Disk()).end("ended")
    Disk().connect(path).close()  # ended, and still in WAL mode
    assert unended(tmp_path, Disk()) == []
    with sqlite3.connect(path) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)


def test_the_run_in_hand_cannot_be_taken_for_a_lost_one(tmp_path: Path) -> None:
    live = RunFile.begin(tmp_path / "shift-0001.gpkg", FACTS, Disk())
    live.write(Batch([row(0)]))
    assert unended(tmp_path, Disk()) == []
    live.write(Batch([row(1)]))
    live.leave()
    assert found(tmp_path).rows == 2


def test_a_broken_file_does_not_hide_the_others(tmp_path: Path) -> None:
    left(tmp_path)
    (tmp_path / "shift-0009.gpkg").write_bytes(b"\x00" * 4096)
    assert [run.path.name for run in unended(tmp_path, Disk())] == ["shift-0001.gpkg"]


@pytest.mark.parametrize(
    ("utc", "lat_deg", "go_on", "why"),
    [
        (at(13, 1), 52.0, True, "same day and place"),
        (at(16, 59), 52.0, True, "same day and place"),
        (at(17, 1), 52.0, False, "the gap is over 4 h"),
        (at(13, 30), 52.1, False, "more than 3 km"),
        (at(12, 0), 52.0, False, "later than now"),
        (None, 52.0, False, "no date"),
    ],
)
def test_gap_and_distance_decide(
    tmp_path: Path, utc: datetime | None, lat_deg: float, go_on: bool, why: str
) -> None:
    left(tmp_path)
    said = verdict(found(tmp_path), utc, lat_deg, 5.0)
    assert said.go_on is go_on
    assert why in said.why


def test_an_empty_run_is_closed(tmp_path: Path) -> None:
    left(tmp_path, rows=0)
    assert not verdict(found(tmp_path), at(13), 52.0, 5.0).go_on


def test_closing_says_that_power_was_lost_and_keeps_the_sums(tmp_path: Path) -> None:
    path = left(tmp_path)
    assert close(found(tmp_path), Disk())
    with open_run(path) as run:
        assert (run.page.ended, run.page.ended_utc) == ("power lost", "2026-04-18T13:00:09Z")
        assert run.summary()["rows"] == 10
    assert [file.name for file in tmp_path.iterdir()] == [path.name]


def test_memory_is_what_the_cab_needs_to_go_on(tmp_path: Path) -> None:
    path = left(tmp_path)
    peg = Moment("", 5.0, What.PEG, value=1.0, lat_deg=52.0, lon_deg=5.0, detail="stone")
    run = RunFile.resume(path, Disk())
    run.write(Batch(moments=[peg]))
    run.leave()
    known = memory(found(tmp_path), Disk())
    assert [moment.what for moment in known.moments] == [What.PEG]
    ground = take_up(RIG.tool, RIG.receiver, known.ground(RIG))
    assert ground.gross_m2 == pytest.approx(9 * 2.5 * RIG.tool.width_m, rel=0.01)


def test_a_lane_that_was_taken_back_is_not_worked_ground_after_a_cut(tmp_path: Path) -> None:
    path = left(tmp_path)
    run = RunFile.resume(path, Disk())
    run.write(Batch(moments=[Moment("", 20.0, What.RUN, value=0.0, detail=WITHDRAWN)]))
    run.leave()
    known = memory(found(tmp_path), Disk())
    assert take_up(RIG.tool, RIG.receiver, known.ground(RIG)).gross_m2 == 0.0

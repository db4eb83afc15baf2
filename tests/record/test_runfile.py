"""A run file: one plain GeoPackage that says all of a shift."""

import json
import sqlite3
from pathlib import Path

import pytest

from cabapp.outcome import Moment, What
from cabapp.record.disk import Disk
from cabapp.record.geopackage import place, point
from cabapp.record.reader import open_run
from cabapp.record.runfile import Batch, RunFile
from tests.record.making import FACTS, PLAN, RIG, alert, blind_row, row


@pytest.fixture
def ended(tmp_path: Path) -> Path:
    run = RunFile.begin(tmp_path / "shift-0001.gpkg", FACTS, Disk())
    run.write(Batch([row(second) for second in range(60)], [alert(5)]))
    run.write(Batch([blind_row(60), row(61, spring1_ratio=0.6)]))
    run.end("ended")
    return run.path


def test_an_ended_run_is_one_plain_file(ended: Path) -> None:
    assert [path.name for path in ended.parent.iterdir()] == [ended.name]
    with sqlite3.connect(ended) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)


def test_where_there_was_no_fix_the_geometry_is_null(ended: Path) -> None:
    with sqlite3.connect(ended) as connection:
        found = connection.execute("SELECT t_s, utc FROM track WHERE geom IS NULL").fetchall()
    assert found == [(60.0, None)]


def test_a_sensor_first_heard_later_gets_its_column_then(ended: Path) -> None:
    with open_run(ended) as run:
        spring = run.numbers(["spring1_ratio"])["spring1_ratio"]
    assert spring[-1] == 0.6
    assert all(spring[:-1] != spring[:-1])  # NaN until then


def test_a_run_says_who_where_and_with_what(ended: Path) -> None:
    with open_run(ended) as run:
        assert run.page.rig == RIG
        assert run.page.plan == PLAN
        assert (run.page.shift, run.page.ended) == ("shift-0001", "ended")
        assert (run.page.begun_utc, run.page.ended_utc) == (
            "2026-04-18T13:00:00Z", "2026-04-18T13:01:01Z",
        )  # fmt: skip


def test_the_stored_sums_are_the_sums_made_again(ended: Path) -> None:
    with open_run(ended) as run:
        stored, again = run.summary(), run.totals()
    assert stored == {
        key: value if isinstance(value, bytes) else json.loads(json.dumps(value))
        for key, value in again.items()
    }
    assert stored["gross_m2"] == pytest.approx(59 * 2.5 * 5.0, rel=0.002)
    assert stored["seconds_by_phase"] == {"unknown": 1, "working": 61}


def test_contents_name_the_bounds_of_the_track(ended: Path) -> None:
    with sqlite3.connect(ended) as connection:
        bounds = connection.execute(
            "SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = 'track'"
        ).fetchone()
    assert bounds == pytest.approx((5.0, 52.0, 5.0, 52.0 + 61 * 2.5 / 111_270.0))


def test_a_run_left_by_a_kill_goes_on_in_the_same_file(tmp_path: Path) -> None:
    path = tmp_path / "shift-0001.gpkg"
    first = RunFile.begin(path, FACTS, Disk())
    first.write(Batch([row(0), row(1)]))
    first.leave()
    second = RunFile.resume(path, Disk())
    second.write(Batch([row(2)]))
    second.end("ended")
    with open_run(path) as run:
        assert [found["t_s"] for found in run.rows()] == [0.0, 1.0, 2.0]
        assert run.page.begun_utc == "2026-04-18T13:00:00Z"


def test_each_commit_is_synced_before_it_is_acknowledged(tmp_path: Path) -> None:
    connection = Disk().connect(tmp_path / "run.gpkg")
    assert connection.execute("PRAGMA synchronous").fetchone() == (2,)  # FULL
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    connection.close()


def test_a_lane_that_was_taken_back_is_not_in_the_sums(tmp_path: Path) -> None:
    run = RunFile.begin(tmp_path / "shift-0001.gpkg", FACTS, Disk())
    lane = [row(second) for second in range(40)]
    road = [row(second, phase="road") for second in range(40, 60)]
    field = [row(second) for second in range(60, 100)]
    taken_back = Moment("", 45.0, What.RUN, value=0.4, detail="withdrawn")
    run.write(Batch([*lane, *road, *field], [taken_back]))
    run.end("ended")
    with open_run(run.path) as read:
        assert read.summary()["gross_m2"] == pytest.approx(39 * 2.5 * 5.0, rel=0.01)


def test_a_column_name_cannot_carry_sql(tmp_path: Path) -> None:
    run = RunFile.begin(tmp_path / "shift-0001.gpkg", FACTS, Disk())
    with pytest.raises(ValueError, match="letters, digits"):
        run.write(Batch([row(0, **{'x"; DROP TABLE track; --': 1.0})]))
    run.write(Batch([row(1)]))
    run.end("ended")


def test_points_go_there_and_back() -> None:
    assert place(point(52.25, -93.5)) == (52.25, -93.5)
    assert point(None, 5.0) is None
    assert place(None) is None


@pytest.mark.parametrize("blob", [b"", b"GP", b"XX" + bytes(40), b"GP\x00\x01" + bytes(6)])
def test_a_geometry_that_is_no_point_is_refused(blob: bytes) -> None:
    with pytest.raises(ValueError, match=r"geometry|point"):
        place(blob)

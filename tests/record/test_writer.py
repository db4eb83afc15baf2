"""The writer: nothing waits for it, nothing is lost without being said."""

import json
import sqlite3
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from cabapp.events import Bytes, Health, HealthKind, Tick
from cabapp.outcome import Outcome, What
from cabapp.record import waiting
from cabapp.record.capture import Capture
from cabapp.record.disk import Disk
from cabapp.record.reader import open_run
from cabapp.record.resume import close, unended
from cabapp.record.writer import Writer
from tests.record.making import (
    FACTS,
    TroubledDisk,
    alert,
    phase,
    row,
    rows_in,
    second_of,
    until,
)


@pytest.fixture
def disk() -> TroubledDisk:
    return TroubledDisk()


@pytest.fixture
def writer(tmp_path: Path, disk: TroubledDisk) -> Iterator[Writer]:
    made = Writer(tmp_path, disk=disk)
    yield made
    disk.trouble.thawed.set()
    made.stop()


def record_news(writer: Writer) -> list[Health]:
    """Everything new about the record (the storage's fill is left out)."""
    found = []
    while (news := writer.health()) is not None:
        if news.kind is HealthKind.RECORD:
            found.append(news)
    return found


def test_a_closed_second_is_on_disk_at_once(writer: Writer) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0), within_s=0.5)
    assert writer.path is not None and rows_in(writer.path) == [0.0]


def test_an_alert_does_not_wait_for_its_second(writer: Writer) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    time.sleep(0.02)  # the writer rests again
    writer.put(Outcome(moments=(alert(0),)))
    assert until(lambda: writer.saved == (1, 1), within_s=0.5)


def test_a_phase_change_shares_the_commit_of_its_second(writer: Writer, disk: TroubledDisk) -> None:
    writer.begin(FACTS)
    assert until(lambda: writer.path is not None)
    before = disk.trouble.commits
    writer.put(Outcome(moments=(phase(0),)))
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 1))
    assert disk.trouble.commits - before <= 2  # one of them may be the making of the file


def test_what_came_before_the_shift_was_known_is_in_it(writer: Writer) -> None:
    writer.event(Tick(0.0))
    writer.put(second_of(0))
    time.sleep(0.02)
    writer.begin(FACTS)
    writer.put(second_of(1))
    assert writer.end()
    assert writer.path is not None
    assert rows_in(writer.path) == [0.0, 1.0]
    assert list(Capture(writer.path.with_suffix(".cap")).events()) == [Tick(0.0)]


def test_files_are_named_by_the_receivers_date_and_never_by_the_tablets(
    writer: Writer, tmp_path: Path
) -> None:
    writer.begin(FACTS)
    writer.event(Bytes(0.1, "gnss", b"$GP"))
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    assert {path.suffix for path in tmp_path.glob("shift-0001*")} >= {".gpkg", ".cap"}
    assert writer.end()
    names = sorted(path.name for path in tmp_path.iterdir())
    assert names == ["2026-04-18-1300-shift-0001.cap", "2026-04-18-1300-shift-0001.gpkg"]


def test_a_frozen_disk_holds_up_nobody_and_loses_nothing(
    writer: Writer, disk: TroubledDisk
) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    disk.trouble.thawed.clear()
    started = time.monotonic()
    for second in range(1, 61):
        writer.put(Outcome(rows=(row(second),), moments=(alert(second),)))
        writer.event(Tick(float(second)))
        writer.health()
    assert time.monotonic() - started < 1.0
    disk.trouble.thawed.set()
    assert writer.end()
    assert writer.path is not None
    assert rows_in(writer.path) == [float(second) for second in range(61)]
    assert len(rows_in(writer.path, "moment")) == 60


def test_a_disk_that_does_not_answer_is_told_and_its_return_too(tmp_path: Path) -> None:
    disk, now = TroubledDisk(), [0.0]
    writer = Writer(tmp_path, lambda: now[0], disk)
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    assert record_news(writer) == []
    disk.trouble.thawed.clear()
    writer.put(second_of(1))
    now[0] = 2.5
    assert [(news.well, news.cause) for news in record_news(writer)] == [(False, "disk_slow")]
    assert record_news(writer) == []
    disk.trouble.thawed.set()
    assert until(lambda: writer.saved == (2, 0))
    assert [(news.well, news.cause) for news in record_news(writer)] == [(True, "")]
    writer.stop()


def test_more_than_the_queue_holds_is_counted_told_and_put_on_record(
    writer: Writer, disk: TroubledDisk, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(waiting, "MOST_MOMENTS", 10)
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    disk.trouble.thawed.clear()
    for second in range(1, 31):
        writer.put(Outcome(moments=(alert(second),)))
    (news,) = record_news(writer)
    assert news.value == 20.0
    disk.trouble.thawed.set()
    assert writer.end()
    assert writer.path is not None
    with open_run(writer.path) as run:
        told = [moment for moment in run.moments() if moment.what.value == "dropped"]
        assert len([moment for moment in run.moments() if moment.rule == "hooked"]) == 10
    assert [(moment.rule, moment.value) for moment in told] == [("moments", 20.0)]


def test_a_failed_sync_leaves_the_file_begins_another_and_tells(
    writer: Writer, disk: TroubledDisk, tmp_path: Path
) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    first = writer.path
    disk.trouble.fail_at = frozenset({disk.trouble.commits + 1})
    writer.put(second_of(1))
    assert until(lambda: writer.saved == (2, 0))
    assert first is not None and writer.path is not None and writer.path != first
    assert [(news.well, news.cause) for news in record_news(writer)] == [(False, "disk_failed")]
    writer.put(second_of(2))
    assert writer.end()
    assert rows_in(first) == [0.0]
    assert rows_in(writer.path) == [1.0, 2.0]
    with open_run(writer.path) as run:
        assert run.page.shift == "shift-0001"  # the same shift, in a second file, which says so
        said = [(moment.t_s, moment.detail, moment.value) for moment in run.moments()
                if moment.what is What.RUN]  # fmt: skip
    assert said == [(1.0, "goes on from", first.name)]


@pytest.mark.parametrize("failing", range(1, 12))
def test_an_io_error_at_any_commit_loses_no_row(tmp_path: Path, failing: int) -> None:
    disk = TroubledDisk()
    disk.trouble.fail_at = frozenset({failing})
    writer = Writer(tmp_path, disk=disk)
    writer.begin(FACTS)
    for second in range(8):
        writer.put(Outcome(rows=(row(second),), moments=(alert(second),)))
        assert until(lambda want=second: writer.saved == (want + 1, want + 1))
    writer.end()
    writer.stop()
    found = sorted(t_s for path in tmp_path.glob("*.gpkg") for t_s in rows_in(path))
    assert found == [float(second) for second in range(8)]


@pytest.mark.parametrize("pages", [12, 13, 14, 16, 20, 25])
def test_a_full_disk_keeps_everything_waiting_until_there_is_room(
    tmp_path: Path, pages: int
) -> None:
    """SQLite itself says full at the given page, as it does when the storage is."""
    disk, limit = TroubledDisk(), [pages]

    class Small(sqlite3.Connection):
        def execute(self, sql: str, *more: object) -> sqlite3.Cursor:
            if sql.startswith("BEGIN"):
                super().execute(f"PRAGMA max_page_count = {limit[0]}")
            return super().execute(sql, *more)

    disk.connection_class = Small
    now = [0.0]
    writer = Writer(tmp_path, lambda: now[0], disk)
    writer.begin(FACTS)
    long = "x" * 1000
    for second in range(60):
        writer.put(Outcome(rows=(row(second, note=long),)))
    assert until(lambda: (news := record_news(writer)) != [] and news[-1].cause == "disk_full")
    limit[0], now[0] = 100_000, 5.0
    writer.put(Outcome(rows=(row(60, note=long),)))
    assert until(lambda: writer.saved == (61, 0))
    assert writer.end()
    assert writer.path is not None
    assert rows_in(writer.path) == [float(second) for second in range(61)]
    writer.stop()


def test_when_storage_runs_short_the_capture_goes_first(tmp_path: Path, disk: TroubledDisk) -> None:
    disk.free = 100 * 1024**2
    writer = Writer(tmp_path, disk=disk)
    writer.event(Tick(0.0))
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert writer.end()
    assert not list(tmp_path.glob("*.cap"))
    assert writer.path is not None and rows_in(writer.path) == [0.0]
    writer.stop()


def test_a_capture_in_hand_is_closed_when_storage_runs_short_and_says_why(
    tmp_path: Path, disk: TroubledDisk
) -> None:
    now = [0.0]
    writer = Writer(tmp_path, lambda: now[0], disk)
    writer.begin(FACTS)
    writer.event(Tick(0.0))
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    disk.free, now[0] = 100 * 1024**2, 20.0
    writer.put(second_of(1))
    assert until(lambda: writer.saved == (2, 0))
    assert writer.end()
    (path,) = tmp_path.glob("*.cap")
    capture = Capture(path)
    assert list(capture.events()) == [Tick(0.0)]
    assert capture.stopped == "storage short"
    writer.stop()


def test_then_rows_thin_and_moments_stay(tmp_path: Path, disk: TroubledDisk) -> None:
    disk.free = 30 * 1024**2
    writer = Writer(tmp_path, disk=disk)
    writer.begin(FACTS)
    for second in range(30):
        writer.put(Outcome(rows=(row(second),), moments=(alert(second),)))
    assert writer.end()
    assert writer.path is not None
    assert rows_in(writer.path) == [0.0, 10.0, 20.0]
    with open_run(writer.path) as run:
        assert len([moment for moment in run.moments() if moment.rule == "hooked"]) == 30
    writer.stop()


def test_rows_that_are_left_out_are_told_once_and_counted_to_the_last(
    tmp_path: Path, disk: TroubledDisk
) -> None:
    disk.free = 30 * 1024**2
    writer = Writer(tmp_path, disk=disk)
    writer.begin(FACTS)
    news: list[Health] = []
    for second in range(30):
        writer.put(second_of(second))
        assert until(lambda: writer.saved[0] > second // 10)  # noqa: B023
        news += record_news(writer)
    assert {(one.well, one.cause) for one in news} == {(False, "disk_full")}
    assert len(news) <= 2  # each is a moment too
    assert writer.end()
    assert writer.path is not None
    with open_run(writer.path) as run:
        lost = [moment.value for moment in run.moments() if moment.what is What.DROPPED]
    assert sum(float(str(count)) for count in lost) == 27.0
    writer.stop()


def test_a_reader_gets_a_copy_of_the_run_in_hand(writer: Writer, tmp_path: Path) -> None:
    writer.begin(FACTS)
    for second in range(5):
        writer.put(second_of(second))
    assert until(lambda: writer.saved == (5, 0))
    copy = writer.copy_to(tmp_path / "copies.gpkg").result(5.0)
    with open_run(copy) as run:
        assert len(list(run.rows())) == 5
        assert run.page.ended == ""
    writer.put(second_of(5))
    assert writer.end()


def test_a_copy_without_a_run_says_so(writer: Writer, tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError, match="no run"):
        writer.copy_to(tmp_path / "copy.gpkg").result(5.0)


def test_a_copy_to_a_place_that_is_gone_does_not_end_the_run(
    writer: Writer, tmp_path: Path
) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    with pytest.raises((OSError, sqlite3.Error)):
        writer.copy_to(tmp_path / "unplugged" / "copy.gpkg").result(5.0)
    writer.put(second_of(1))
    assert writer.end()
    assert writer.path is not None and rows_in(writer.path) == [0.0, 1.0]


def test_the_next_shift_has_the_next_number(writer: Writer, tmp_path: Path) -> None:
    for _ in range(2):
        writer.begin(FACTS)
        writer.put(second_of(0))
        assert writer.end()
    names = sorted(path.name for path in tmp_path.glob("*.gpkg"))
    assert names == ["2026-04-18-1300-shift-0001.gpkg", "2026-04-18-1300-shift-0002.gpkg"]


def test_a_stopped_program_leaves_a_run_that_goes_on(tmp_path: Path) -> None:
    writer = Writer(tmp_path)
    writer.begin(FACTS)
    writer.put(second_of(0))
    writer.stop()
    path = writer.path
    assert path is not None and rows_in(path) == [0.0]
    again = Writer(tmp_path)
    again.event(Tick(1.0))
    again.begin(FACTS, go_on=path)
    again.put(second_of(1))
    assert again.end()
    again.stop()
    assert again.path is not None and rows_in(again.path) == [0.0, 1.0]
    assert len(list(tmp_path.glob("*.cap"))) == 2  # one a start


@pytest.mark.parametrize("spoil", ["DELETE FROM run", "UPDATE track SET geom = x'0102'"])
def test_a_run_that_cannot_go_on_is_left_and_another_begun(tmp_path: Path, spoil: str) -> None:
    first = Writer(tmp_path)
    first.begin(FACTS)
    first.put(second_of(0))
    first.stop()
    assert first.path is not None
    connection = sqlite3.connect(first.path)
    connection.execute(spoil)
    connection.commit()
    connection.close()
    again = Writer(tmp_path)
    again.begin(FACTS, go_on=first.path)
    again.put(second_of(1))
    assert again.end()
    again.stop()
    assert again.path is not None and again.path != first.path
    assert (rows_in(first.path), rows_in(again.path)) == ([0.0], [1.0])


def test_a_run_that_storage_does_not_let_end_stays_to_be_closed_later(
    tmp_path: Path, disk: TroubledDisk
) -> None:
    writer = Writer(tmp_path, disk=disk)
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert until(lambda: writer.saved == (1, 0))
    disk.trouble.fail_at = frozenset({disk.trouble.commits + 1})
    assert not writer.end()
    assert [(news.well, news.cause) for news in record_news(writer)] == [(False, "disk_failed")]
    (left,) = unended(tmp_path, Disk())
    assert close(left, Disk())
    writer.stop()


def test_driver_and_field_are_on_the_runs_page(writer: Writer) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    writer.who("North forty", "Jo")
    assert writer.end()
    assert writer.path is not None
    with open_run(writer.path) as run:
        assert (run.page.field, run.page.driver) == ("North forty", "Jo")


def test_sums_given_at_the_end_are_stored_beside_its_own(writer: Writer) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert writer.end({"alerts": {"look": 3}})
    assert writer.path is not None
    with sqlite3.connect(writer.path) as connection:
        stored = dict(connection.execute("SELECT key, value FROM summary"))
    assert json.loads(stored["alerts"]) == {"look": 3}
    assert json.loads(stored["rows"]) == 1


def test_sums_that_are_no_numbers_do_not_stop_the_writer(writer: Writer, tmp_path: Path) -> None:
    writer.begin(FACTS)
    writer.put(second_of(0))
    assert not writer.end({"share": float("nan")})
    writer.begin(FACTS)
    writer.put(second_of(1))
    assert writer.end()
    assert close(unended(tmp_path, Disk())[0], Disk())


def test_a_value_that_no_file_can_hold_is_counted_and_the_next_row_is_kept(
    writer: Writer,
) -> None:
    writer.begin(FACTS)
    writer.put(Outcome(rows=(row(0, odd=object()),)))  # type: ignore[arg-type]
    assert until(lambda: record_news(writer) != [])
    writer.put(second_of(1))
    assert writer.end()
    assert writer.path is not None and rows_in(writer.path) == [1.0]

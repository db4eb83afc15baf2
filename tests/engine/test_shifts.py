"""Which file a row goes into: a shift begun with the work, gone on with, or ended."""

import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from cabapp.engine.home import Home
from cabapp.engine.names import Names, names_known
from cabapp.engine.pegbook import pegs_known
from cabapp.engine.shifts import BEGIN_AFTER_S, DATE_WITHIN_S, Facts, Shifts
from cabapp.engine.tapbook import kept_in_book
from cabapp.engine.wire import RunCopied
from cabapp.events import Event, Health, HealthKind, Peg, PegsKnown, PlanChanged, Resumed, Tick
from cabapp.outcome import Moment, Outcome, Row, What
from cabapp.plan import Plan, default_plan
from cabapp.record.disk import Disk
from cabapp.record.reader import open_run
from cabapp.record.writer import Writer
from cabapp.rig import Rig


class Power:
    """One time that the engine is started on a folder: ``off`` cuts it as a restart does."""

    def __init__(self, folder: Path, plan: Plan | None = None, made: Plan | None = None) -> None:
        self.folder = folder
        self.now = 1000.0
        self.plan = plan or default_plan(Rig())
        self.posted: list[Event] = []
        self.ends = 0
        self.writer = Writer(folder / "runs", lambda: self.now)
        facts = Facts(Rig(), "", lambda: self.plan, made or self.plan)
        self.shifts = Shifts(
            self.writer, Home(folder), facts, self.posted.append, self._ended, lambda: self.now
        )
        self.shifts.event(Tick(1000.0))

    def _ended(self) -> None:
        self.ends += 1

    def row(self, t_s: float, utc: str = "", lat: float | None = 51.5, for_s: float = 1.0) -> None:
        """A row of this start, closed by the next second's fix after ``for_s``."""
        self.shifts.event(Tick(1000.0 + t_s + for_s))
        stamp = f"2027-04-21T{utc}.000Z" if utc else ""
        row = Row(t_s, stamp, lat if utc else None, 10.5 if utc else None, {"speed_mps": 2.5})
        self.shifts.put(Outcome(rows=(row,)))

    def run_moment(self, t_s: float, detail: str) -> None:
        self.shifts.put(Outcome(moments=(Moment("", t_s, What.RUN, detail=detail),)))

    def copied(self) -> RunCopied:
        """Ask for a copy of the live run and wait for the answer."""
        told: list[RunCopied] = []
        self.shifts.copy(told.append)
        until(lambda: told)
        return told[0]

    def off(self) -> None:
        self.writer.stop()

    def files(self) -> list[Path]:
        return sorted((self.folder / "runs").glob("*.gpkg"))


def until(true: Callable[[], object]) -> None:
    end = time.monotonic() + 5.0
    while not true():
        assert time.monotonic() < end
        time.sleep(0.005)


def times(path: Path) -> list[float]:
    with open_run(path) as run:
        return [float(str(row["t_s"])) for row in run.rows()]


def work(power: Power, begun: str) -> None:
    """Three seconds of work from a dated fix on."""
    hour_minute = begun[:6]
    for second in range(3):
        power.row(float(second), f"{hour_minute}{int(begun[6:]) + second:02d}")
        if second == 0:
            power.run_moment(0.5, "started")
    until(lambda: power.writer.saved[0] >= 3)


def test_standing_in_the_yard_makes_no_file_and_work_keeps_what_came_before_it(
    tmp_path: Path,
) -> None:
    power = Power(tmp_path)
    power.row(0.0, "12:00:00")
    power.row(1.0, "12:00:01")
    until(lambda: power.shifts._looked_back)
    assert power.files() == []
    power.run_moment(1.5, "started")
    power.row(2.0, "12:00:02")
    until(lambda: power.writer.saved[0] == 3)
    power.off()
    [file] = power.files()
    assert times(file) == [0.0, 1.0, 2.0]


def test_what_a_person_says_is_on_record_before_any_work_and_drive_is_told_of_the_file(
    tmp_path: Path,
) -> None:
    power = Power(tmp_path)
    power.row(0.0, "12:00:00")
    until(lambda: power.shifts._looked_back)
    assert power.posted == []
    power.shifts.put(Outcome(moments=(Moment("", 0.5, What.CHECK, value=0.35, detail="dug"),)))
    until(lambda: power.writer.saved == (1, 1))
    assert power.posted == [Health(1000.0, HealthKind.RUN, True)]
    power.off()


def test_a_long_wait_without_work_is_on_record_all_the_same(tmp_path: Path) -> None:
    power = Power(tmp_path)
    power.row(0.0, "12:00:00")
    power.now += BEGIN_AFTER_S + 1
    power.row(BEGIN_AFTER_S + 1, "12:10:01")
    until(lambda: power.writer.saved[0] == 2)
    power.off()


def test_after_a_restart_the_same_file_goes_on_and_its_time_runs_on(tmp_path: Path) -> None:
    first = Power(tmp_path)
    work(first, "12:00:00")
    first.off()
    second = Power(tmp_path)
    work(second, "12:01:02")
    second.off()
    [file] = second.files()
    assert times(file) == [0.0, 1.0, 2.0, 62.0, 63.0, 64.0]
    until(lambda: any(isinstance(event, Resumed) for event in second.posted))
    [resumed] = [event for event in second.posted if isinstance(event, Resumed)]
    assert (resumed.last_t_s, resumed.gap_s) == (2.0, 60.0)


def test_times_run_on_by_the_receivers_clock_however_late_it_finds_its_first_fix(
    tmp_path: Path,
) -> None:
    first = Power(tmp_path)
    work(first, "12:00:00")
    first.off()
    second = Power(tmp_path)
    for t_s in range(30):
        second.row(float(t_s))
    second.row(30.0, "12:01:00")
    second.row(31.0, "12:01:01")
    until(lambda: second.writer.saved[0] == 32)
    second.off()
    assert times(second.files()[0])[-2:] == [60.0, 61.0]
    assert times(second.files()[0])[3] == 30.0  # and what was held since the key was turned


def test_an_engine_started_inside_a_second_shortens_no_interruption(tmp_path: Path) -> None:
    """Or ground is laid across one of just over the longest gap that counts as none."""
    first = Power(tmp_path)
    work(first, "12:00:00")
    first.off()
    second = Power(tmp_path)
    second.row(0.0, "12:00:04", for_s=0.2)
    second.row(0.2, "12:00:05")
    until(lambda: second.writer.saved[0] == 2)
    second.off()
    assert times(second.files()[0])[2:] == pytest.approx([2.0, 4.8, 5.0])


def test_work_before_the_first_dated_fix_still_goes_on_in_the_old_file(tmp_path: Path) -> None:
    first = Power(tmp_path)
    work(first, "12:00:00")
    first.off()
    second = Power(tmp_path)
    second.run_moment(0.0, "started")
    second.row(0.0)
    second.row(1.0, "12:01:03")
    until(lambda: second.writer.saved[0] == 2)
    second.off()
    assert len(second.files()) == 1


def test_the_next_day_closes_the_shift_that_was_cut_off_and_begins_another(tmp_path: Path) -> None:
    first = Power(tmp_path)
    work(first, "06:00:00")
    first.off()
    second = Power(tmp_path)
    work(second, "18:00:00")
    second.off()
    old, new = second.files()
    with open_run(old) as run:
        assert run.page.ended == "power lost"
    assert times(new) == [0.0, 1.0, 2.0]


def test_without_a_date_in_time_the_old_shift_is_closed_and_work_is_kept_in_a_new_one(
    tmp_path: Path,
) -> None:
    first = Power(tmp_path)
    work(first, "06:00:00")
    first.off()
    second = Power(tmp_path)
    second.run_moment(0.0, "started")
    second.row(0.0)
    second.now += DATE_WITHIN_S + 1
    second.row(DATE_WITHIN_S + 1)
    until(lambda: second.writer.saved[0] == 2)
    second.off()
    assert len(second.files()) == 2


def test_end_of_shift_leaves_one_whole_file_and_asks_for_a_fresh_start(tmp_path: Path) -> None:
    power = Power(tmp_path)
    work(power, "12:00:00")
    power.run_moment(3.0, "ended")
    until(lambda: power.ends)
    power.off()
    [file] = power.files()
    with open_run(file) as run:
        assert run.page.ended == "ended"
    assert not list((tmp_path / "runs").glob("*-wal"))


def test_this_mornings_plan_holds_after_a_restart_and_yesterdays_does_not(tmp_path: Path) -> None:
    plan = Plan(field="Home", speed_low_mps=2.0, speed_high_mps=3.0, set_today=True)
    first = Power(tmp_path, plan)
    first.row(0.0, "06:00:00")
    first.shifts.put(Outcome(moments=(Moment("", 0.0, What.PLAN, detail="set up"),)))
    until(lambda: (tmp_path / "plan.json").exists())
    first.off()
    noon, night = Power(tmp_path), Power(tmp_path)
    noon.row(0.0, "12:00:00")
    until(lambda: noon.posted)
    assert [event.plan for event in noon.posted if isinstance(event, PlanChanged)] == [plan]
    night.row(0.0, "23:00:00")
    until(lambda: night.shifts._looked_back)
    assert night.posted == []
    noon.off()
    night.off()


def test_what_the_driver_moved_by_a_tap_holds_after_a_restart_unless_the_rig_was_changed(
    tmp_path: Path,
) -> None:
    made = default_plan(Rig())
    moved = replace(made, speed_low_mps=made.speed_low_mps + 0.2, driver="Ada")
    first = Power(tmp_path, moved, made)
    first.row(0.0, "06:00:00")
    first.shifts.put(Outcome(moments=(Moment("", 0.0, What.PLAN, detail="speed_target"),)))
    until(lambda: (tmp_path / "plan.json").exists())
    first.off()
    again = Power(tmp_path, made, made)
    again.row(0.0, "06:01:00")
    until(lambda: again.posted)
    assert [event.plan for event in again.posted if isinstance(event, PlanChanged)] == [moved]
    again.off()
    other = replace(made, speed_high_mps=made.speed_high_mps + 1.0)
    refitted = Power(tmp_path, other, other)
    refitted.row(0.0, "06:02:00")
    until(lambda: refitted.shifts._looked_back)
    assert refitted.posted == []
    refitted.off()


def test_who_drives_is_in_the_book_as_soon_as_drive_was_told(tmp_path: Path) -> None:
    power = Power(tmp_path, Plan(driver="Ada", field="North"))
    for what, name in (("driver", "Ada"), ("field", "North")):
        told = Moment("", 1.0, What.TAP, value=name, detail=what)
        power.shifts.put(Outcome(moments=(told,)))
    until(lambda: names_known(tmp_path / "book.gpkg") == Names(("Ada",), ("North",)))
    power.off()


def test_asking_the_menu_for_the_known_names_tells_the_book_nothing() -> None:
    for what in ("driver", "field"):
        assert not kept_in_book(Moment("", 1.0, What.TAP, detail=what))
        assert kept_in_book(Moment("", 1.0, What.TAP, value="Ada", detail=what))
    assert kept_in_book(Moment("", 1.0, What.TAP, detail="rain")), "rain needs no name"


def test_a_peg_set_last_season_speaks_again_with_its_kind_and_number(tmp_path: Path) -> None:
    first = Power(tmp_path)
    for kind in ("other", "pipe"):
        peg = Moment("2027-04-21T12:00:00.000Z", 1.0, What.PEG, value=7.0, lat_deg=51.5,
                     lon_deg=10.5, detail=kind)  # fmt: skip
        first.shifts.put(Outcome(moments=(peg,)))
    until(lambda: [p.kind for p in pegs_known(tmp_path / "book.gpkg")] == ["pipe"])
    first.off()
    second = Power(tmp_path)
    until(lambda: second.posted)
    assert second.posted == [PegsKnown(1000.0, (Peg(7, "pipe", 51.5, 10.5),))]
    second.off()


def test_the_run_being_written_is_read_through_a_copy_and_is_itself_not_touched(
    tmp_path: Path,
) -> None:
    power = Power(tmp_path)
    work(power, "12:00:00")
    [file] = power.files()
    before = {path: path.stat() for path in file.parent.glob(f"{file.name}*")}
    assert len(before) >= 2, "the file and its log"
    copied = power.copied()
    assert (Path(copied.run), copied.fault) == (file, "")
    assert times(Path(copied.copy)) == [0.0, 1.0, 2.0], "as of the last commit"
    assert power.files() == [file], "no season finds the shift twice"
    for path, was in before.items():
        now = path.stat()
        assert (now.st_size, now.st_mtime_ns) == (was.st_size, was.st_mtime_ns), path.name
    power.row(3.0, "12:00:03")
    until(lambda: power.writer.saved[0] == 4)
    assert times(Path(power.copied().copy)) == [0.0, 1.0, 2.0, 3.0]
    power.off()


def test_without_a_run_the_answer_is_that_there_is_none(tmp_path: Path) -> None:
    power = Power(tmp_path)
    assert power.copied() == RunCopied()
    power.off()


def test_a_copy_goes_with_the_next_start_and_none_is_made_on_short_storage(tmp_path: Path) -> None:
    first = Power(tmp_path)
    work(first, "12:00:00")
    copy = Path(first.copied().copy)
    assert copy.exists()
    first.off()
    second = Power(tmp_path)
    until(lambda: not copy.exists())

    class Full(Disk):
        def free_bytes(self, folder: Path) -> int:
            return 150 << 20

    second.shifts._disk = Full()
    work(second, "12:01:02")
    copied = second.copied()
    assert copied.copy == "" and "storage is short" in copied.fault
    second.off()

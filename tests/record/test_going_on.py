"""Key off in the middle of a pass, key on: one shift, one file, one area."""

import json
import time
from itertools import pairwise
from pathlib import Path

import pytest

from cabapp.cab import Cab
from cabapp.engine.home import Home
from cabapp.engine.shifts import Facts, Shifts
from cabapp.events import Event, Resumed, TapKind
from cabapp.outcome import Outcome
from cabapp.record.folder import captures_of
from cabapp.record.reader import open_run
from cabapp.record.writer import Writer
from cabapp.replay import moment_line, told
from cabapp.review.again import Bands, in_full
from cabapp.sources import Source, sources
from tests.cab.drive import Machine, receiver_rig
from tests.record.making import until


class Shift(Machine):
    """The small machine with the engine's own keeping of shifts; faster than the clock."""

    def in_folder(self, folder: Path) -> "Shift":
        self.posted: list[Event] = []
        home = Home(folder)
        self.writer = Writer(home.runs)
        facts = Facts(self.rig, "", lambda: self.cab.plan, self.cab.plan)
        self.shifts = Shifts(
            self.writer, home, facts, self.posted.append, lambda: None, lambda: self.now
        )
        return self

    def step(self, event: Event) -> Outcome:
        self.shifts.event(event)
        outcome = super().step(event)
        self.shifts.put(outcome)
        return outcome

    def settled(self) -> None:
        """Let the writer's thread catch up with the faster clock, then take what it posted."""
        assert until(lambda: self.writer.saved[0] > 0)
        time.sleep(0.1)
        while self.posted:
            self.step(self.posted.pop(0))


@pytest.fixture
def cut_off(tmp_path: Path) -> tuple[Path, float]:
    """A minute of work, then the power goes; the gross area worked."""
    first = Shift(receiver_rig()).in_folder(tmp_path)
    first.go(5).work().go(90)  # type: ignore[attr-defined]
    first.settled()
    first.writer.stop()
    return tmp_path, first.cab.field.worked.gross_m2


def test_the_same_shift_goes_on_in_the_same_file(cut_off: tuple[Path, float]) -> None:
    folder, before_m2 = cut_off
    second = Shift(receiver_rig(), tow_s=8 * 3600.0 + 300.0).in_folder(folder)
    second.go(3)
    assert until(lambda: any(isinstance(event, Resumed) for event in second.posted))
    (said,) = [event for event in second.posted if isinstance(event, Resumed)]
    assert said.gap_s == pytest.approx(205.0, abs=15.0)
    second.settled()
    assert second.cab.field.worked.gross_m2 == pytest.approx(before_m2, abs=15.0)
    second.work().go(90)
    second.settled()
    assert second.writer.end()
    second.writer.stop()
    (path,) = Home(folder).runs.glob("*.gpkg")
    with open_run(path) as run:
        times = [row["t_s"] for row in run.rows()]
        sums = run.summary()
        assert "resumed" in [moment.detail for moment in run.moments()]
    assert all(after > before for before, after in pairwise(times))  # type: ignore[operator]
    assert sums["gross_m2"] == pytest.approx(second.cab.field.worked.gross_m2, rel=0.005)
    assert sums["gross_m2"] > 1.8 * before_m2


def test_each_capture_of_an_interrupted_shift_gives_its_part_of_the_record_again(
    cut_off: tuple[Path, float], tmp_path: Path
) -> None:
    folder, _ = cut_off
    second = Shift(receiver_rig(), tow_s=8 * 3600.0 + 300.0).in_folder(folder)
    second.go(3)
    assert until(lambda: any(isinstance(event, Resumed) for event in second.posted))
    second.settled()
    second.tap(TapKind.PEG)
    second.work().go(60)
    second.settled()
    assert second.writer.end()
    second.writer.stop()
    (path,) = Home(folder).runs.glob("*.gpkg")
    played = [line for source in sources(captures_of(path), None, 9600) for line in plays(source)]
    with open_run(path) as run:
        kept = [moment_line(moment) for moment in run.moments()]
    assert [json.dumps(line) for line in played] == [json.dumps(line) for line in kept]
    again = in_full(path, Bands(), tmp_path / "again.gpkg")
    with open_run(again) as twice, open_run(path) as once:
        assert list(twice.rows()) == list(once.rows())


def plays(source: Source) -> list[dict[str, object]]:
    """The moments that ``replay`` tells of one capture."""
    cab = Cab(source.rig, source.plan, None, False, source.drivers, source.fields)
    return [line for line in told(cab, source.events, offset_s=source.offset_s)
            if line["kind"] == "moment"]  # fmt: skip


def test_a_day_later_it_is_another_shift_and_the_first_is_closed(
    cut_off: tuple[Path, float],
) -> None:
    folder, _ = cut_off
    second = Shift(receiver_rig(), tow_s=8 * 3600.0 + 5 * 3600.0).in_folder(folder)
    second.go(5).work().go(60)
    second.settled()
    assert not [event for event in second.posted if isinstance(event, Resumed)]
    assert second.writer.end()
    second.writer.stop()
    pages = []
    for path in sorted(Home(folder).runs.glob("*.gpkg"), key=lambda path: path.name[-9:]):
        with open_run(path) as run:
            pages.append(run.page.ended)
    assert pages == ["power lost", "ended"]


def test_a_lane_after_the_interruption_is_taken_back_alone(cut_off: tuple[Path, float]) -> None:
    folder, before_m2 = cut_off
    second = Shift(receiver_rig(), tow_s=8 * 3600.0 + 300.0).in_folder(folder)
    second.go(3)
    assert until(lambda: any(isinstance(event, Resumed) for event in second.posted))
    second.settled()
    second.lift().go(20)
    second.work().go(90)
    second.lift().mph = 20.0
    second.go(60)
    second.settled()
    assert [moment.detail for moment in second.moments if moment.detail == "withdrawn"]
    assert second.writer.end()
    second.writer.stop()
    (path,) = Home(folder).runs.glob("*.gpkg")
    with open_run(path) as run:
        assert run.summary()["gross_m2"] == pytest.approx(before_m2, rel=0.05)
    assert second.cab.field.worked.gross_m2 == pytest.approx(before_m2, rel=0.05)

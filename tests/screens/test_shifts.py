"""The Shifts pages with real widgets: what an owner reads, taps and is told."""

import time
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cabapp.engine.home import Home
from cabapp.engine.wire import Message, RunCopied, RunWanted
from cabapp.record.book import Book, Kind
from cabapp.record.disk import Disk
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.review.figures import figures
from cabapp.review.pegs import pegs_of
from cabapp.review.phrases import headline
from cabapp.review.pieces import pieces_of
from cabapp.screens.fronts import Way
from cabapp.screens.pages import shifts_gallery as gallery
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.shifts import Room, ShiftsPage
from cabapp.screens.pages.shifts_list import spans
from cabapp.screens.pages.shifts_work import MOST_PLACES
from cabapp.screens.pictures import layout_of
from cabapp.units import UnitSystem


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("shifts")
    gallery.make_runs(folder / "runs")
    (folder / "runs" / "shift-0099.gpkg").write_bytes(b"no run at all")
    return folder


@pytest.fixture(scope="module")
def pages(home: Path) -> dict[str, Any]:
    return {}


def page_on(cabin: Any, pages: dict[str, Any], home: Path, panel: str) -> Any:
    """The page of a panel, made once, on its list."""
    if panel not in pages:
        pages[panel] = gallery.page_for(layout_of(panel), home)
    page = pages[panel]
    if page.parent is None:
        cabin.stage.show(page, page.layout.panel.wide_px, page.layout.panel.high_px)
    page.clock = lambda: cabin.stage.time
    page.to_list()
    page.enter(gallery.standing())
    return page


@pytest.fixture
def page(cabin: Any, pages: dict[str, Any], home: Path) -> Any:
    return page_on(cabin, pages, home, "10in-1280x800")


def words(page: Any) -> list[str]:
    return [say.text for tile in (page.paper.over,) for say in tile.says if say.text]


def test_the_list_is_newest_first_with_unknown_beside_every_share(page: Any) -> None:
    said = words(page)
    days = [word for word in said if word.endswith(" Oct")]
    assert days == ["14 Oct", "13 Oct", "12 Oct", "10 Oct", "9 Oct"]
    for line in page.listing.season.lines:
        share = line.shares["all"].percents()
        assert f"{share['in']} %" in said and f"{share['unknown']} %" in said


def test_one_key_sorts_the_list_by_field_by_driver_and_by_date_again(cabin: Any, page: Any) -> None:
    def column(of: str) -> list[str]:
        return [getattr(line, of) for line in page.listing.on_page(5)]

    by_date = column("day")
    assert by_date == sorted(by_date, reverse=True)
    cabin.tap_key(page, "order")
    assert "By field" in words(page)
    fields = column("field")
    assert [f for f in fields if f] == sorted(f for f in fields if f)
    cabin.tap_key(page, "order")
    drivers = column("driver")
    assert [d for d in drivers if d] == sorted(d for d in drivers if d)
    for driver in set(drivers):
        days = [line.day for line in page.listing.on_page(5) if line.driver == driver]
        assert days == sorted(days, reverse=True), "newest first within one driver"
    cabin.tap_key(page, "order")
    assert column("day") == by_date


def test_a_file_that_is_no_run_is_told_and_keeps_no_other_back(page: Any) -> None:
    assert "1 file could not be read" in words(page)
    assert len(page.listing.season.lines) == 5


def test_a_tap_on_a_row_opens_that_shift(cabin: Any, page: Any) -> None:
    cabin.tap_key(page, "shift_2031-10-12-shift-0003")
    assert page.room is Room.ONE
    assert "Long acre, 12 Oct 2031" in words(page)


def test_slow_ground_is_called_slow_by_head_and_key(page: Any) -> None:
    gallery.SCENES["one"](page)
    said = words(page)
    assert said.count("slow") == 2 and "hard" not in said


def test_one_shift_shows_the_report_s_own_figures(page: Any) -> None:
    gallery.SCENES["one"](page)
    said, summary = words(page), page.one.summary
    assert set(headline(summary.shift.sums)) <= set(said)
    page.to_figures()
    said = words(page)
    printed = {f.key: f.text for f in figures(summary, page.units)}
    for key in ("area_gross", "area_net", "rate", "efficiency", "trips", "draft"):
        assert printed[key] in said, key


def test_units_change_the_figures_and_not_the_record(page: Any) -> None:
    gallery.SCENES["figures"](page)
    before = page.one.shift.sums
    page.units = UnitSystem.METRIC
    page.again()
    assert any(word.endswith("ha/h") for word in words(page))
    assert page.one.shift.sums is before
    page.units = UnitSystem.US


def test_two_shifts_stand_side_by_side_and_what_is_unlike_is_said(cabin: Any, page: Any) -> None:
    gallery.SCENES["one"](page)
    page.to_beside()
    assert "Beside which?" in words(page)
    cabin.tap_key(page, "shift_2031-10-13-shift-0004")
    assert page.room is Room.TWO
    said = words(page)
    assert "North field, 14 October" in said and "Long acre, 13 October" in said
    assert "Not alike: field" in said
    page.to_one()
    assert "North field, 14 Oct 2031" in words(page), "back to the first of the two"


def test_a_range_of_days_sums_only_those(cabin: Any, page: Any) -> None:
    page.to_season()
    assert page.listing.chosen().whole.shifts == 5
    cabin.tap_key(page, "first_more")
    cabin.tap_key(page, "last_less")
    assert page.listing.chosen().whole.shifts == 3
    assert "10 to 13 October 2031" in words(page)


def test_another_band_is_judged_and_the_record_stays(cabin: Any, page: Any) -> None:
    gallery.SCENES["one"](page)
    page.to_again()
    recorded = page.one.shift.sums.shares["speed"].percents()
    for _ in range(2):
        cabin.tap_key(page, "speed_high_less")
    assert page.judging.found.shift.sums.shares["speed"].percents()["out"] > recorded["out"]
    cabin.tap_key(page, "recorded")
    assert page.judging.found is None
    assert page.one.shift.sums.shares["speed"].percents() == recorded


def test_another_depth_is_judged_by_steps_of_the_person_s_unit(cabin: Any, page: Any) -> None:
    gallery.SCENES["one"](page)
    page.to_again()
    recorded = page.one.shift.sums.shares["depth"].percents()
    low, high = page.judging.band("depth")
    cabin.tap_key(page, "depth_low_more")
    assert page.judging.band("depth") == (low, high), "narrower than live depth is good for"
    assert any("under 1 in each way" in word for word in words(page))
    for end in ("depth_high_more", "depth_low_more") * 2:
        cabin.tap_key(page, end)
    assert page.judging.band("depth") == pytest.approx((low + 0.0254, high + 0.0254))
    assert page.judging.found.shift.sums.shares["depth"].percents()["out"] > recorded["out"]
    assert page.one.shift.sums.shares["depth"].percents() == recorded


def test_without_a_stick_the_copy_says_what_to_do(
    page: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cabapp.screens.pages.shifts_work.sticks", list)
    gallery.SCENES["no-stick"](page)
    assert any("plug one in" in word for word in words(page))


def test_a_copy_takes_the_run_and_its_report_and_says_so(
    page: Any, home: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cabapp.screens.pages.shifts_work.sticks", lambda: [tmp_path])
    report = home / "runs" / "2031-10-14-shift-0005-report.html"
    report.write_text("<!DOCTYPE html>")
    gallery.SCENES["one"](page)
    page.copy_one()
    report.unlink()
    assert any(word.startswith("2 files") for word in words(page))
    assert any("Safe to pull" in word for word in words(page))
    assert {path.suffix for path in (tmp_path / "shifts").iterdir()} == {".gpkg", ".html"}


@pytest.mark.parametrize("gone_to", ["one", "places", "list", "report"])
def test_a_report_that_is_made_while_one_reads_elsewhere_says_so_and_leads_back_there(
    cabin: Any, page: Any, gone_to: str
) -> None:
    cabin.tap_key(page, "shift_2031-10-12-shift-0003")
    page.to_report()
    {"one": page.to_one, "places": page.to_places, "list": page.to_list, "report": page.to_report}[
        gone_to
    ]()
    there = words(page)
    page._made(SimpleNamespace(fault="", path=Path("shift-0001-report.html")))
    assert any("shift-0001-report.html" in word for word in words(page))
    cabin.tap_key(page, "back")
    assert words(page) == there
    assert "back" in {target.name for target in page.targets()}


def test_a_run_that_went_bad_since_the_list_was_read_is_told_in_one_sentence(
    page: Any, home: Path
) -> None:
    page.choose(home / "runs" / "shift-0099.gpkg")
    assert page.room is Room.SAID
    assert any("shift-0099" in word for word in words(page))


def test_the_map_draws_every_stretch_in_few_enough_places(page: Any) -> None:
    gallery.SCENES["one"](page)
    drawn = page.one.pieces
    assert sum(len(piece.x_m) for piece in drawn) <= MOST_PLACES
    assert len(drawn) == len(pieces_of(page.one.shift))


def test_pegs_stand_on_the_map_with_their_numbers_and_in_the_legend(page: Any) -> None:
    gallery.SCENES["one"](page)
    shift = page.one.shift
    assert [peg.text() for peg in pegs_of(shift)] == ["1 stone", "2 wet place"]
    assert {"1", "2", "peg"} <= set(words(page))
    page.one = replace(
        page.one, summary=replace(page.one.summary, shift=replace(shift, moments=()))
    )
    page.again()
    assert "peg" not in words(page)


def test_a_note_is_kept_with_name_and_date_and_put_right_beside_its_first_wording(
    cabin: Any, page: Any
) -> None:
    gallery.SCENES["one"](page)
    page.snapshot = replace(page.snapshot, utc="2031-10-15T07:00:00Z")
    book = Book(page.home.book)
    book.add(Kind.DRIVER, {"name": "K. Tarn"}, "K. Tarn", "")
    page.to_notes()
    cabin.tap_key(page, "add_note")
    for key in "WET":
        cabin.tap_key(page, f"key_{key}")
    cabin.tap_key(page, "enter")
    assert "Wet (K. Tarn, 2031-10-15)" in words(page)
    number = page.pad.notes[-1].number
    cabin.tap_key(page, f"note_{number}")
    cabin.tap_key(page, "key_S")
    cabin.tap_key(page, "enter")
    assert "Wets (K. Tarn, 2031-10-15, corrected)" in words(page)
    assert [line.value["text"] for line in book.history(number)] == ["Wet", "Wets"]
    book.close()


@pytest.mark.parametrize("scene", list(gallery.SCENES))
def test_nothing_leaves_the_panel_and_targets_are_large_enough(
    cabin: Any, pages: dict[str, Any], home: Path, panel: str, scene: str
) -> None:
    page = page_on(cabin, pages, home, panel)
    gallery.SCENES[scene](page)
    for say in page.paper.over.says:
        if say.text:
            assert say.high >= page.paper.floor
            assert say.left >= -1 and say.left + say.wide <= page.paper.wide + 1, say.text
            assert 0 < say.y <= page.paper.high, say.text
    for target in page.targets():
        scale = page.layout.scale
        assert min(target.area.w, target.area.h) / scale >= 88, target.name


@pytest.mark.parametrize("scene", ["list", "one", "places", "figures", "season", "again", "two"])
def test_no_word_stands_on_another(
    cabin: Any, pages: dict[str, Any], home: Path, panel: str, scene: str
) -> None:
    page = page_on(cabin, pages, home, panel)
    gallery.SCENES[scene](page)
    said = [s for s in page.paper.over.says if s.text and len(s.text) > 1]
    for n, one in enumerate(said):
        for other in said[:n]:
            apart_x = one.left >= other.left + other.wide or other.left >= one.left + one.wide
            apart_y = abs(one.y - other.y) >= min(one.high, other.high) * 0.95
            assert apart_x or apart_y, f"{one.text!r} on {other.text!r}"


@pytest.fixture
def driven(tmp_path: Path) -> Any:
    """A home with two ended shifts and one being written, and the page on it with its messages."""
    for day in gallery.DAYS[:2]:
        (tmp_path / "runs").mkdir(exist_ok=True)
        gallery.make_run(tmp_path / "runs" / f"{day.utc[:10]}-shift-000{day.utc[9]}.gpkg", day)
    day = gallery.DAYS[4]
    path = tmp_path / "runs" / f"{day.utc[:10]}-shift-0005.gpkg"
    plan = replace(gallery.default_plan(gallery.rig()), field=day.field, driver=day.driver)
    live = RunFile.begin(path, RunFacts(gallery.rig(), plan, shift=path.stem), Disk())
    rows = list(gallery._rows(day, gallery.rig()))
    live.write(Batch(rows[:1500], []))
    told: list[Message] = []
    page = gallery.page_for(layout_of("10in-1280x800"), tmp_path)
    page.way = replace(page.way, tell=told.append)
    yield page, live, told, rows
    live.leave()


def copied(page: Any, live: RunFile) -> RunCopied:
    page.home.live.mkdir(exist_ok=True)
    copy = page.home.live / live.path.name
    live.copy_to(copy)
    return RunCopied(str(live.path), str(copy))


def test_the_shift_being_driven_stands_first_with_its_figures_so_far(driven: Any) -> None:
    page, live, told, rows = driven
    stat = live.path.stat()
    page.clock = lambda: 100.0
    page.enter(gallery.standing())
    assert told == [RunWanted()]
    page.heard(copied(page, live))
    first = page.listing.on_page(5)[0]
    assert (first.field, page.listing.is_live(first)) == ("North field", True)
    assert any(word.startswith("being driven") for word in words(page))
    assert not any("could not be read" in word for word in words(page))
    page.choose(first.path)
    assert len(page.one.shift.track) == 1500
    said = set(words(page))
    assert set(headline(page.one.shift.sums)) <= said
    assert any("so far" in word for word in said)
    live.write(Batch(rows[1500:2000], []))
    page.heard(copied(page, live))
    page.choose(first.path)
    assert len(page.one.shift.track) == 2000
    assert live.path.stat().st_size == stat.st_size, "only its log grew: nothing touched the file"


def test_an_engine_that_was_started_anew_is_asked_again_until_it_answers(driven: Any) -> None:
    page, _, told, _ = driven
    now = [50.0]
    page.clock = lambda: now[0]
    page.enter(gallery.standing())
    for _ in range(100):
        now[0] += 0.1
        page.show(gallery.standing())
    assert told == [RunWanted()] * 3
    page.heard(RunCopied())
    now[0] += 60.0
    page.show(gallery.standing())
    assert len(told) == 3 and not any(page.listing.is_live(x) for x in page.listing.on_page(9))


def test_why_there_is_no_copy_is_said_and_the_other_shifts_are_there(driven: Any) -> None:
    page, live, *_ = driven
    page.enter(gallery.standing())
    page.heard(RunCopied(str(live.path), "", "shift-0005: storage is short, no copy"))
    assert any("storage is short" in word for word in words(page))
    assert len(page.listing.season.lines) == 2


def test_the_list_is_read_away_from_the_window(tmp_path: Path) -> None:
    gallery.make_runs(tmp_path / "runs")
    page = ShiftsPage(
        layout_of("10in-1280x800"),
        Way(lambda kind, value: None, lambda name: None, ()),
        lambda: None,
        Home(tmp_path),
    )
    page.enter(gallery.standing())
    assert "Reading the shifts" in words(page) and not page.listing.read
    until = time.monotonic() + 20.0
    while not page.listing.read:
        assert time.monotonic() < until
        time.sleep(0.02)
        page.desk.look()
    assert "14 Oct" in words(page)


@pytest.mark.parametrize("panel", ["10in-1280x800", "7in-1024x600"])
@pytest.mark.parametrize(
    "days", [("2026-11-25", "2027-04-21"), ("2031-09-30", "2031-10-14"), ("2031-10-01",)]
)
def test_the_days_of_the_list_always_have_a_wording_that_fits(
    cabin: Any, panel: str, days: tuple[str, ...]
) -> None:
    paper = Paper(layout_of(panel))
    room = paper.wide - 24 - 624 - 242 - 18
    said = paper.fitting(spans(SimpleNamespace(days=days, lines=())), room, 24, False)
    assert paper.cut(said, room, 24, False) == said


@pytest.mark.parametrize("panel", ["10in-1280x800", "7in-1024x600"])
def test_no_word_of_any_room_is_cut(
    cabin: Any, pages: dict[str, Any], home: Path, panel: str
) -> None:
    page = page_on(cabin, pages, home, panel)
    cut = []
    for name, scene in gallery.SCENES.items():
        page.to_list()
        page.enter(gallery.standing(False))
        scene(page)
        cut += [f"{name}: {say.text}" for say in page.paper.over.says if say.text.endswith("…")]
    assert not cut, "\n".join(cut)

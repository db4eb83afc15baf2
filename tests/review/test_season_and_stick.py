"""Many runs together, in flat memory; and copies that are proven."""

import os
import tracemalloc
from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.review import stick
from cabapp.review.season import HEADS, between, season_of, table_of, trips_words
from cabapp.review.stick import StickError, copy_to, sticks
from cabapp.units import UnitSystem
from tests.review.runs import hand_made, row, two_passes


def fill(folder: Path, count: int) -> None:
    for n in range(count):
        state = "out" if n % 4 == 0 else "in"
        made = hand_made(f"shift-{n:04d}.gpkg", [row(s, state) for s in range(40)])
        os.replace(made, folder / made.name)


def test_a_season_s_shares_are_of_the_area_of_all_shifts(tmp_path: Path) -> None:
    fill(tmp_path, 8)
    season = season_of(tmp_path)
    assert len(season.lines) == 8
    assert season.whole.share().percents() == {
        "in": 75, "out": 25, "raised": 0, "hard": 0, "unknown": 0,
    }  # fmt: skip


def test_a_season_of_two_rigs_has_a_line_for_each(tmp_path: Path) -> None:
    fill(tmp_path, 2)
    os.link(two_passes(), tmp_path / "shift-0100.gpkg")
    season = season_of(tmp_path)
    assert sorted(group.shifts for group in season.rigs) == [1, 2]
    assert season.whole.trips == {3: 3}


def test_trips_stand_in_their_own_column_and_none_is_not_said_where_none_are_counted(
    tmp_path: Path,
) -> None:
    fill(tmp_path, 2)
    blind = table_of(season_of(tmp_path), UnitSystem.US)
    trips, worst = HEADS.index("trips"), HEADS.index("worst")
    assert {line[trips] for line in blind} == {"–"}, "no spring sensor: nobody knows"
    os.link(two_passes(), tmp_path / "shift-0100.gpkg")
    season = season_of(tmp_path)
    *shifts, _, _, whole = table_of(season, UnitSystem.US)
    assert sorted(line[trips] for line in shifts) == ["3, most on shank 3", "–", "–"]
    assert (whole[trips], whole[worst]) == ("3, most on shank 3", "")
    assert trips_words({}) == "none"


def test_dates_choose_shifts(tmp_path: Path) -> None:
    fill(tmp_path, 2)
    os.link(two_passes(), tmp_path / "shift-0100.gpkg")
    season = season_of(tmp_path)
    assert len(between(season, "2026-04-18", "2026-04-18").lines) == 2
    assert len(between(season, "2026-05-01", "2026-05-31").lines) == 1


def test_a_bad_file_is_named_and_the_others_are_read(tmp_path: Path, capsys) -> None:  # type: ignore[no-untyped-def]
    fill(tmp_path, 3)
    (tmp_path / "shift-0009.gpkg").write_bytes(b"this is no run")
    assert main(["season", str(tmp_path)]) == 1
    said = capsys.readouterr()
    assert "3 shifts" in said.out
    assert said.err.count("\n") == 1 and "shift-0009.gpkg" in said.err


def test_memory_does_not_grow_with_the_number_of_shifts(tmp_path: Path) -> None:
    few, many = tmp_path / "few", tmp_path / "many"
    few.mkdir(), many.mkdir()
    fill(few, 10)
    fill(many, 40)
    season_of(few)
    peaks = []
    for folder in (few, many):
        tracemalloc.start()
        season_of(folder)
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    # What a line keeps is a few kilobytes; a run's rows would be far more.
    assert peaks[1] - peaks[0] < 30 * 16_000


def test_a_copy_is_whole_and_says_what_was_copied(tmp_path: Path) -> None:
    copied = copy_to(tmp_path / "stick", [two_passes()])
    assert (tmp_path / "stick" / "two-passes.gpkg").read_bytes() == two_passes().read_bytes()
    assert "1 file" in copied.words() and "Safe to pull" in copied.words()
    assert not list((tmp_path / "stick").glob("*.part"))


def test_a_stick_that_gives_back_other_bytes_is_found_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    honest = stick.read_back

    def lying(path: Path) -> bytes:
        with open(path, "r+b") as file:  # a cell of the stick has died since it was written
            file.seek(100)
            file.write(b"\xff")
        return honest(path)

    monkeypatch.setattr(stick, "read_back", lying)
    with pytest.raises(StickError, match="other than written"):
        copy_to(tmp_path / "stick", [two_passes()])
    assert not (tmp_path / "stick" / "two-passes.gpkg").exists(), "a bad copy takes no name"


def test_reading_back_does_not_come_from_the_page_cache(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[int] = []
    real = os.posix_fadvise

    def noted(handle: int, start: int, size: int, how: int) -> None:
        asked.append(how)
        real(handle, start, size, how)

    monkeypatch.setattr(os, "posix_fadvise", noted)
    copy_to(tmp_path / "stick", [two_passes()])
    assert asked == [os.POSIX_FADV_DONTNEED]


def test_only_writable_sticks_are_offered(tmp_path: Path) -> None:
    mounts = tmp_path / "mounts"
    mounts.write_text(
        "/dev/sda1 / ext4 rw,relatime 0 0\n"
        "/dev/sdb1 /media/kiosk/BLUE\\040STICK vfat rw,nosuid 0 0\n"
        "/dev/sdc1 /media/kiosk/LOCKED vfat ro,nosuid 0 0\n"
        "tmpfs /run/media tmpfs rw 0 0\n"
    )
    assert sticks(mounts) == [Path("/media/kiosk/BLUE STICK")]

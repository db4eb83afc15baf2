"""Names of files, and what is written while storage runs short."""

from pathlib import Path

import pytest

from cabapp.record.folder import captures_of, dated, next_stem, runs_in
from cabapp.record.space import MIB, ration


def test_the_first_shift_without_a_date_is_number_one(tmp_path: Path) -> None:
    assert next_stem(tmp_path, "") == "shift-0001"


def test_numbers_go_on_whatever_is_dated(tmp_path: Path) -> None:
    for name in ("2026-04-18-1310-shift-0007.gpkg", "shift-0002.gpkg", "book.gpkg"):
        (tmp_path / name).touch()
    assert next_stem(tmp_path, "2026-04-19T06:05:00.000Z") == "2026-04-19-0605-shift-0008"


def test_a_capture_alone_keeps_its_number_from_being_used_again(tmp_path: Path) -> None:
    (tmp_path / "shift-0003.cap").touch()
    assert next_stem(tmp_path, "") == "shift-0004"


def test_a_dated_name_stays(tmp_path: Path) -> None:
    assert dated("2026-04-18-1310-shift-0007", "2026-04-19T06:05:00Z") == (
        "2026-04-18-1310-shift-0007"
    )
    assert dated("shift-0007", "") == "shift-0007"


def test_runs_come_in_the_order_they_were_made_though_the_date_was_not_known(
    tmp_path: Path,
) -> None:
    names = [
        "shift-0003.gpkg",
        "2026-04-18-1310-shift-0001.gpkg",
        "2025-01-01-0000-shift-0002.gpkg",
    ]
    for name in names:
        (tmp_path / name).touch()
    assert [path.name[-15:-5] for path in runs_in(tmp_path)] == [
        "shift-0001", "shift-0002", "shift-0003",
    ]  # fmt: skip


def test_captures_of_a_run_come_in_order_of_its_starts(tmp_path: Path) -> None:
    for name in ("shift-0001.gpkg", "shift-0001-10.cap", "shift-0001-2.cap", "shift-0001.cap"):
        (tmp_path / name).touch()
    assert [path.name for path in captures_of(tmp_path / "shift-0001.gpkg")] == [
        "shift-0001.cap", "shift-0001-2.cap", "shift-0001-10.cap",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("free_mib", "capture", "row_every_s", "well"),
    [
        (50_000, True, 1, True),
        (1_000, True, 1, False),
        (199, False, 1, False),
        (49, False, 10, False),
        (14, False, 0, False),
        (0, False, 0, False),
    ],
)
def test_capture_goes_first_then_rows(
    free_mib: int, capture: bool, row_every_s: int, well: bool
) -> None:
    held = ration(free_mib * MIB)
    assert (held.capture, held.row_every_s, held.well) == (capture, row_every_s, well)

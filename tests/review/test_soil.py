"""The draft estimate rests on the soil that the set-up walk was told, or says that it assumes."""

from pathlib import Path

import pytest

from cabapp.plan import Plan
from cabapp.record.book import Book, Kind
from cabapp.review.report import Options, report_html
from cabapp.review.shift import load_shift
from cabapp.review.summary import Summary, summarize
from cabapp.trade.draft import Soil
from cabapp.units import UnitSystem
from tests.review.runs import hand_made, row

FIELD = "North field"


def driven(place: Path) -> Path:
    """A minute of work on a named field, in a folder of its own."""
    made = hand_made("soil.gpkg", [row(n) for n in range(60)],
                     plan=Plan(field=FIELD, speed_low_mps=2.2, speed_high_mps=3.1,
                               depth_target_m=0.35))  # fmt: skip
    run = place / "runs" / "shift-0001.gpkg"
    run.parent.mkdir()
    run.write_bytes(made.read_bytes())
    return run


def told(place: Path, soil: str, field: str, when: str) -> None:
    book = Book(place / "book.gpkg")
    answer = {"step": "will_it_pull", "key": "soil", "text": soil, "unit": "", "value": None}
    book.add(Kind.HAND_CHECK, answer, "K. Tarn", when, field=field)
    book.close()


def words(summary: Summary) -> str:
    return report_html(summary, Options(UnitSystem.US))


def test_clay_that_was_said_pulls_harder_than_the_loam_that_is_assumed(tmp_path: Path) -> None:
    run = driven(tmp_path)
    assumed = summarize(load_shift(run))
    told(tmp_path, "fine", FIELD, "2026-04-18T12:00:00Z")
    known = summarize(load_shift(run))
    assert known.shift.soil is Soil.FINE
    assert known.estimate and assumed.estimate
    assert known.estimate.draft_n.value > 1.05 * assumed.estimate.draft_n.value
    assert "taken as loam" in words(assumed)
    assert "clay, as said at set-up" in words(known)


def test_another_field_s_soil_is_not_this_one_s(tmp_path: Path) -> None:
    run = driven(tmp_path)
    told(tmp_path, "coarse", "Long acre", "2026-04-18T12:00:00Z")
    assert load_shift(run).soil is None


def test_the_last_word_counts_even_if_it_was_said_undated(tmp_path: Path) -> None:
    run = driven(tmp_path)
    told(tmp_path, "coarse", FIELD, "2026-04-18T12:00:00Z")
    told(tmp_path, "fine", FIELD, "")
    assert load_shift(run).soil is Soil.FINE


@pytest.mark.parametrize("rubbish", [b"no book at all", b""])
def test_a_book_that_is_none_keeps_no_shift_back(tmp_path: Path, rubbish: bytes) -> None:
    run = driven(tmp_path)
    (tmp_path / "book.gpkg").write_bytes(rubbish)
    assert load_shift(run).soil is None

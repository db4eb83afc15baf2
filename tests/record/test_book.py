"""The book: added to, never changed."""

import sqlite3
from pathlib import Path

import pytest

from cabapp.record.book import Book, BookError, Kind


@pytest.fixture
def book(tmp_path: Path) -> Book:
    return Book(tmp_path / "state" / "book.gpkg")


def test_what_was_added_is_there_with_who_when_and_where(book: Book) -> None:
    number = book.add(
        Kind.PIT, {"top_m": 0.23, "bottom_m": 0.31}, "Jo", "2026-04-18T13:10:00Z",
        (52.1, 5.2), "North forty",
    )  # fmt: skip
    (entry,) = book.entries(Kind.PIT, "North forty")
    assert (entry.number, entry.value["bottom_m"], entry.who) == (number, 0.31, "Jo")
    assert (entry.made_utc, entry.lat_deg, entry.lon_deg) == ("2026-04-18T13:10:00Z", 52.1, 5.2)


def test_it_is_still_there_after_a_restart(tmp_path: Path) -> None:
    path = tmp_path / "book.gpkg"
    first = Book(path)
    first.add(Kind.DRIVER, {"name": "Jo"}, "Jo", "")
    first.close()
    assert [entry.value["name"] for entry in Book(path).entries(Kind.DRIVER)] == ["Jo"]


def test_a_correction_stands_and_the_first_word_is_kept(book: Book) -> None:
    number = book.add(Kind.HAND_CHECK, {"depth_m": 0.30}, "Jo", "2026-04-18T13:10:00Z")
    book.correct(number, {"depth_m": 0.33}, "Ann", "2026-04-18T14:00:00Z")
    (now,) = book.entries(Kind.HAND_CHECK)
    assert (now.number, now.value, now.who, now.corrected) == (number, {"depth_m": 0.33}, "Ann", 1)
    assert [(line.value["depth_m"], line.who) for line in book.history(number)] == [
        (0.30, "Jo"), (0.33, "Ann"),
    ]  # fmt: skip


def test_what_is_taken_back_no_longer_stands_but_stays_written(book: Book) -> None:
    number = book.add(Kind.PEG, {"kind": "stone"}, "Jo", "", (52.0, 5.0), "North forty")
    book.take_back(number, "Ann", "2026-04-19T08:00:00Z")
    assert book.entries(Kind.PEG) == []
    assert len(book.history(number)) == 2
    with pytest.raises(KeyError):
        book.entry(number)


def test_latest_is_the_newest_of_its_field(book: Book) -> None:
    book.add(Kind.PLAN, {"target_m": 0.35}, "Jo", "", field="North forty")
    book.add(Kind.PLAN, {"target_m": 0.40}, "Jo", "", field="River piece")
    found = book.latest(Kind.PLAN, "North forty")
    assert found is not None and found.value["target_m"] == 0.35
    assert book.latest(Kind.WEAR) is None
    assert book.fields() == ["North forty", "River piece"]


def test_nobody_can_change_or_remove_a_line(book: Book) -> None:
    book.add(Kind.PIT, {"top_m": 0.2}, "Jo", "")
    with sqlite3.connect(book.path) as other:
        for sql in ("UPDATE entry SET value = '{}'", "DELETE FROM entry"):
            with pytest.raises(sqlite3.IntegrityError, match="never changed"):
                other.execute(sql)


def test_two_programs_may_add_to_it(book: Book) -> None:
    other = Book(book.path)
    book.add(Kind.NOTE, {"words": "one"}, "Jo", "")
    other.add(Kind.NOTE, {"words": "two"}, "Ann", "")
    assert [entry.value["words"] for entry in book.entries(Kind.NOTE)] == ["one", "two"]


def test_not_a_number_is_not_put_in(book: Book) -> None:
    with pytest.raises(ValueError, match="unknown is None"):
        book.add(Kind.PIT, {"top_m": float("nan")}, "Jo", "")
    assert book.entries(Kind.PIT) == []


def test_a_correction_of_nothing_is_refused(book: Book) -> None:
    with pytest.raises(KeyError):
        book.correct(7, {}, "Jo", "")


def test_a_file_that_is_no_book_is_refused_in_words(tmp_path: Path) -> None:
    path = tmp_path / "book.gpkg"
    path.write_bytes(b"not a database at all, but long enough to look like a page" * 40)
    with pytest.raises(BookError, match="restore a kept copy"):
        Book(path)
    other = tmp_path / "other.gpkg"
    with sqlite3.connect(other) as connection:
        connection.execute("CREATE TABLE x (y)")
    with pytest.raises(BookError, match="not a book"):
        Book(other)

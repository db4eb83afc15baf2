"""Names from the book, offered in one tap."""

from pathlib import Path

from cabapp.engine.names import Names, names_known
from cabapp.record.book import Book, Kind


def test_the_newest_driver_and_field_come_first_and_each_once(tmp_path: Path) -> None:
    book = Book(tmp_path / "book.gpkg")
    for driver in ("Ada", "Ben", "Ada"):
        book.add(Kind.DRIVER, {"name": driver}, driver, "")
    for field in ("North", "South"):
        book.add(Kind.FIELD, {"name": field}, "Ada", "", field=field)
    book.close()
    assert names_known(tmp_path / "book.gpkg") == Names(("Ada", "Ben"), ("South", "North"))


def test_without_a_book_or_with_a_damaged_one_the_engine_starts_without_names(
    tmp_path: Path,
) -> None:
    assert names_known(tmp_path / "book.gpkg") == Names()
    (tmp_path / "book.gpkg").write_bytes(b"no book at all" * 100)
    assert names_known(tmp_path / "book.gpkg") == Names()

"""Pegs in the book: those of earlier seasons for the cab, and new ones put in as they are set.

Opens the book for each use; not for the driving path. Raises BookError when the storage refuses.
"""

from pathlib import Path

from cabapp.events import Peg
from cabapp.outcome import Moment
from cabapp.record.book import Book, Entry, Kind


def pegs_known(path: Path) -> tuple[Peg, ...]:
    """Every peg of the book that has a number and a place; nothing where there is no book."""
    if not path.exists():
        return ()
    book = Book(path)
    try:
        return tuple(peg for entry in book.entries(Kind.PEG) if (peg := _peg(entry)) is not None)
    finally:
        book.close()


def keep_peg(path: Path, moment: Moment, field: str, who: str) -> None:
    """Put a peg's moment into the book: a new one, or the kind of one already there."""
    if not isinstance(moment.value, float) or moment.lat_deg is None or moment.lon_deg is None:
        return
    value = {"number": int(moment.value), "kind": moment.detail}
    book = Book(path)
    try:
        numbers = {entry.value.get("number"): entry.number for entry in book.entries(Kind.PEG)}
        if value["number"] in numbers:
            book.correct(numbers[value["number"]], value, who, moment.utc)
        else:
            place = (moment.lat_deg, moment.lon_deg)
            book.add(Kind.PEG, value, who, moment.utc, place, field)
    finally:
        book.close()


def _peg(entry: Entry) -> Peg | None:
    number, kind = entry.value.get("number"), entry.value.get("kind")
    if not isinstance(number, int) or entry.lat_deg is None or entry.lon_deg is None:
        return None
    return Peg(number, str(kind or "other"), entry.lat_deg, entry.lon_deg, entry.field)

"""Notes and corrections to a shift: lines of the book, with name and date; the run stays."""

from dataclasses import dataclass
from pathlib import Path

from cabapp.record.book import Book, BookError, Kind
from cabapp.record.reader import RunFileError
from cabapp.review.beside import entries_of
from cabapp.review.shift import Brief


@dataclass(frozen=True)
class Note:
    """One note as it stands; ``corrected`` says how often it was put right."""

    number: int
    text: str
    who: str
    made_utc: str
    corrected: int

    def text_for_people(self) -> str:
        """``Shank 3 had a new point. (K. Tarn, 2026-10-15)``."""
        again = ", corrected" if self.corrected else ""
        return f"{self.text} ({self.who}, {self.made_utc[:10] or 'no date'}{again})"


def notes_of(brief: Brief, book: Path) -> tuple[Note, ...]:
    """Notes on a shift, oldest first; none without a book. RunFileError if it is damaged."""
    return tuple(
        Note(entry.number, str(entry.value.get("text", "")), entry.who, entry.made_utc,
             entry.corrected)
        for entry in entries_of(book, Kind.NOTE)
        if entry.value.get("shift") == key_of(brief)
    )  # fmt: skip


def add_note(
    brief: Brief, book: Path, text: str, who: str, when_utc: str, corrects: int | None = None
) -> int:
    """Add a note, or a correction of one; its number. RunFileError where the book refuses.

    The same words by the same person on one shift are one note, however often they are said.
    """
    value = {"shift": key_of(brief), "text": text}
    try:
        opened = Book(book)
        try:
            if corrects is not None:
                return opened.correct(corrects, value, who, when_utc)
            for entry in opened.entries(Kind.NOTE):
                if entry.value == value and entry.who == who:
                    return entry.number
            return opened.add(Kind.NOTE, value, who, when_utc, field=brief.page.field)
        finally:
            opened.close()
    except (BookError, KeyError) as error:
        raise RunFileError(f"{error}") from None


def key_of(brief: Brief) -> str:
    """What names a shift in the book: its own name and when it began."""
    return f"{brief.page.shift} {brief.page.begun_utc}".strip()

"""Notes on a shift: those in the book, and one typed here, added or put right by name and date."""

from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from cabapp.record.book import Kind
from cabapp.review.beside import book_path, entries_of
from cabapp.review.notes import Note, add_note, notes_of
from cabapp.review.shift import Brief
from cabapp.screens.pages.keypad import letters, spelled
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role

if TYPE_CHECKING:
    from cabapp.screens.pages.shifts import ShiftsPage

MOST = 80  # characters of a note
PITCH = 102.0


class Notepad:
    """The notes on one shift, and the one being typed. RunFileError from a book at fault."""

    def __init__(self, brief: Brief, home_book: Path) -> None:
        self._brief, self._home_book = brief, home_book
        self.notes: tuple[Note, ...] = ()
        self.correcting: Note | None = None
        self.text, self.part = "", 0

    def read(self) -> None:
        """What the book holds about the shift."""
        self.notes = notes_of(self._brief, book_path(self._brief.path))

    def begin(self, note: Note | None) -> None:
        """Type a new note, or put one right."""
        self.correcting, self.part = note, 0
        self.text = note.text if note else ""

    def press(self, key: str) -> None:
        """A key of the letters."""
        self.part += key == "part"
        self.text = typed(self.text, key)

    def keep(self, utc: str) -> None:
        """Put the note into the book, with who was said to drive."""
        drivers = entries_of(self._home_book, Kind.DRIVER)  # the last one named drives
        who = str(drivers[-1].value.get("name", "")) if drivers else ""
        number = self.correcting.number if self.correcting else None
        add_note(self._brief, book_path(self._brief.path), self.text.strip(),
                 who or "no name given", utc, number)  # fmt: skip


def write_notes(page: "ShiftsPage", paper: Paper) -> None:
    """The newest notes, each a row to tap and put right."""
    page.head("Notes", "Tap one to put it right; the first wording is kept", "Shift", page.to_one,
              page.right - 208)  # fmt: skip
    page.side_key(0, "add_note", partial(page.to_note, None), "Add")
    if not page.pad.notes:
        paper.say("None", 24, 190, 26, Role.SOFT, False)
    y = 150.0
    for note in list(reversed(page.pad.notes))[: int((page.bottom - y) // PITCH)]:
        paper.fill(Role.SOFT, round_frame(24, y, page.right - 24, 92, 14, 3))
        paper.touch(f"note_{note.number}", Rect(24, y, page.right - 24, 92),
                    partial(page.to_note, note))  # fmt: skip
        paper.say(note.text_for_people(), 40, y + 56, 26, limit=page.right - 56)
        y += PITCH


def write_typing(page: "ShiftsPage", paper: Paper) -> None:
    """The letters, and above them what stands so far."""
    pad = page.pad
    word = "Put the note right" if pad.correcting else "Add a note"
    page.head(word, pad.text[-60:] or "For the owner", "Notes", page.to_notes)
    place = Rect(24, 140, page.right - 24, page.bottom - 140)
    letters(paper, pad.text, page.press_note, page.keep_note, place, "Keep", pad.part)


def typed(text: str, key: str) -> str:
    """A note after one key; longer than a name may be."""
    if key not in ("back", "part") and len(text) >= MOST:
        return text
    return text[:-20] + spelled(text[-20:], key)

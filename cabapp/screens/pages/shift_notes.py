"""Notes on a shift: those in the book, and one typed here, added or put right by name and date."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.screens.pages.keypad import letters, spelled
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role

if TYPE_CHECKING:
    from cabapp.screens.pages.shifts import ShiftsPage

MOST = 80  # characters of a note
PITCH = 102.0


def write_notes(page: "ShiftsPage", paper: Paper) -> None:
    """The newest notes, each a row to tap and put right."""
    page.head("Notes", "Tap one to put it right; the first wording is kept", "Shift", page.to_one,
              page.right - 208)  # fmt: skip
    page.side_key(0, "add_note", partial(page.to_note, None), "Add")
    if not page.notes:
        paper.say("None", 24, 190, 26, Role.SOFT, False)
    y = 150.0
    for note in list(reversed(page.notes))[: int((page.bottom - y) // PITCH)]:
        paper.fill(Role.SOFT, round_frame(24, y, page.right - 24, 92, 14, 3))
        paper.touch(f"note_{note.number}", Rect(24, y, page.right - 24, 92),
                    partial(page.to_note, note))  # fmt: skip
        paper.say(note.text_for_people(), 40, y + 56, 26, limit=page.right - 56)
        y += PITCH


def write_typing(page: "ShiftsPage", paper: Paper) -> None:
    """The letters, and above them what stands so far."""
    word = "Put the note right" if page.correcting else "Add a note"
    page.head(word, page.note_text[-60:] or "For the owner", "Notes", page.to_notes)
    place = Rect(24, 140, page.right - 24, page.bottom - 140)
    letters(paper, page.note_text, page.press_note, page.keep_note, place, "Keep", page.note_part)


def typed(text: str, key: str) -> str:
    """A note after one key; longer than a name may be."""
    if key not in ("back", "part") and len(text) >= MOST:
        return text
    return text[:-20] + spelled(text[-20:], key)

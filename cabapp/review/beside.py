"""The book that lies beside a run: where it is, and its lines, read warily."""

from pathlib import Path

from cabapp.record.book import Book, BookError, Entry, Kind
from cabapp.record.reader import MISPLACED, RunFileError

BOOK = "book.gpkg"
RUNS, LIVE = "runs", "live"  # of the tablet's own folder, where the book lies beside both
AGAIN = "again"  # beside a run: the same shift judged again, with the same book


def book_path(run: Path) -> Path:
    """The book that belongs to a run: beside it, or beside the folder ``runs`` that it lies in.

    A book beside the run itself comes first, also in such a folder: it was copied there with it.
    """
    if run.absolute().parent.name == AGAIN:
        return book_path(run.parent.parent / run.name)
    beside = run.parent / BOOK
    kept_apart = run.absolute().parent.name in (RUNS, LIVE)
    return run.parent.parent / BOOK if kept_apart and not beside.exists() else beside


def entries_of(book: Path, kind: Kind) -> list[Entry]:
    """Entries of a kind as they stand, oldest first; none without a book, RunFileError if damaged.

    A book may have come on a stick like a run: a line that is none of ours is damage too.
    """
    if not book.exists():
        return []
    try:
        opened = Book(book)
        try:
            return [entry for entry in opened.entries(kind) if isinstance(entry.value, dict)]
        finally:
            opened.close()
    except BookError as error:
        raise RunFileError(str(error)) from None
    except (ValueError, TypeError):
        raise RunFileError(f"{book}: damaged ({MISPLACED}); restore a kept copy") from None

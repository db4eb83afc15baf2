"""Names of drivers and fields from the book, to be offered in one tap."""

import logging
from dataclasses import dataclass
from pathlib import Path

from cabapp.record.book import Book, BookError, Kind

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Names:
    """Newest first, each once."""

    drivers: tuple[str, ...] = ()
    fields: tuple[str, ...] = ()


def names_known(path: Path) -> Names:
    """The names in the book; none where there is no book, or none that can be read."""
    if not path.exists():
        return Names()
    try:
        book = Book(path)
    except BookError as error:
        log.error("%s", error)
        return Names()
    try:
        named = [str(entry.value.get("name", "")) for entry in book.entries(Kind.DRIVER)]
        return Names(_newest_first(named), _newest_first(book.fields()))
    except BookError as error:
        log.error("%s", error)
        return Names()
    finally:
        book.close()


def _newest_first(named: list[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name for name in reversed(named) if name))

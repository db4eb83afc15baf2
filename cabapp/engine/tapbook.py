"""Driver, field and rain told on Drive, put into the book as the walk puts in its own answers.

So the names are offered again, and the walk knows field and rain without being told twice. What
Set up has just put in itself, and only tells the cab, is not put in again. Opens the book for each
use; not for the driving path. Raises BookError when the storage refuses.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cabapp.events import TapKind
from cabapp.outcome import Moment, What
from cabapp.plan import Plan
from cabapp.record.book import Book, Entry, Kind
from cabapp.rig import Rig

_NAMED = (TapKind.DRIVER.value, TapKind.FIELD.value)
SAME_RAIN = timedelta(minutes=1)  # rain told again so soon is the same rain


@dataclass(frozen=True)
class Told:
    """A tap as the cab took it, and the plan in force since."""

    moment: Moment
    plan: Plan
    rig: Rig

    @property
    def day(self) -> str:
        """The date at the place; "" while none is known."""
        if not self.moment.utc:
            return ""
        offset = timedelta(minutes=self.rig.locale.utc_offset_min)
        return (datetime.fromisoformat(self.moment.utc) + offset).date().isoformat()

    @property
    def place(self) -> tuple[float, float] | None:
        """Where it was told; None while not known."""
        if self.moment.lat_deg is None or self.moment.lon_deg is None:
            return None
        return self.moment.lat_deg, self.moment.lon_deg


def kept_in_book(moment: Moment) -> bool:
    """Whether a moment is a tap that belongs into the book; one that only asks for names is not."""
    asks = moment.detail in _NAMED and not moment.value
    return moment.what is What.TAP and moment.detail in _PUT and not asks


def keep_tap(path: Path, told: Told) -> None:
    """Put such a tap into the book, with its date, place and driver."""
    book = Book(path)
    try:
        _PUT[told.moment.detail](book, told)
    finally:
        book.close()


def _driver(book: Book, told: Told) -> None:
    last, name = book.latest(Kind.DRIVER), told.plan.driver
    if last is None or last.value.get("name") != name:
        book.add(Kind.DRIVER, {"name": name}, name, told.moment.utc, told.place)


def _field(book: Book, told: Told) -> None:
    if told.plan.field != _field_now(book):
        _add(book, Kind.CHECKLIST, ("checks", "field", told.plan.field), told)


def _rain(book: Book, told: Told) -> None:
    rains = [line for line in book.entries(Kind.NOTE) if line.value.get("key") == "rain"]
    if not rains or not _is_same(rains[-1], told.moment):
        _add(book, Kind.NOTE, ("happening", "rain", "rain"), told)


_PUT: dict[str, Callable[[Book, Told], None]] = {
    TapKind.DRIVER.value: _driver,
    TapKind.FIELD.value: _field,
    TapKind.RAIN.value: _rain,
}


def _add(book: Book, kind: Kind, words: tuple[str, str, str], told: Told) -> None:
    """An answer in the walk's own form: step, key and text."""
    value = {**dict(zip(("step", "key", "text"), words, strict=True)), "unit": "", "value": None,
             "day": told.day}  # fmt: skip
    book.add(kind, value, told.plan.driver, told.moment.utc, told.place, told.plan.field)


def _field_now(book: Book) -> str:
    """The field named last, on either page; "" while none was."""
    named = [line for line in book.entries(Kind.CHECKLIST) if line.value.get("key") == "field"]
    return named[-1].field if named else ""


def _is_same(rain: Entry, moment: Moment) -> bool:
    if not (rain.made_utc and moment.utc):
        return rain.made_utc == moment.utc
    since = datetime.fromisoformat(moment.utc) - datetime.fromisoformat(rain.made_utc)
    return abs(since) < SAME_RAIN

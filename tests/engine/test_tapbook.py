"""Driver, field and rain told on Drive are in the book, once, and nothing in it is changed."""

from dataclasses import replace
from pathlib import Path

from cabapp.cab import Cab
from cabapp.engine.names import Names, names_known
from cabapp.engine.tapbook import Told, keep_tap, kept_in_book
from cabapp.events import Tap, TapKind, Tick
from cabapp.plan import default_plan
from cabapp.record.book import Book, Kind
from cabapp.rig import Locale, Rig
from cabapp.screens.pages.setup_ledger import Ledger

RIG = replace(Rig(), locale=Locale(utc_offset_min=-300))
EVENING = "2027-04-22T01:30:00.000Z"  # of the 21st, five hours west of Greenwich


class Seat:
    """A driver who tells Drive things, and the book beside it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / "book.gpkg"
        self.cab = Cab(RIG, default_plan(RIG))
        self.now = 0.0

    def tap(self, kind: TapKind, value: str | None = None, utc: str = EVENING) -> None:
        self.now += 1.0
        self.cab.step(Tick(self.now))
        for moment in self.cab.step(Tap(self.now, kind, value)).moments:
            if kept_in_book(moment):
                keep_tap(self.path, Told(replace(moment, utc=utc), self.cab.plan, RIG))

    def lines(self) -> list[tuple[str, str, str]]:
        """Every line of the book as it was put in: kind, field and who."""
        book = Book(self.path)
        found = sorted(
            (line.number, kind.value, line.field, line.who)
            for kind in Kind
            for line in book.entries(kind)
        )
        book.close()
        return [line[1:] for line in found]


def test_what_is_told_on_drive_is_in_the_book_and_offered_at_the_next_start(
    tmp_path: Path,
) -> None:
    seat = Seat(tmp_path)
    seat.tap(TapKind.DRIVER, " Ada ")
    seat.tap(TapKind.FIELD, "North")
    seat.tap(TapKind.RAIN)
    seat.tap(TapKind.DRIVER, "Ben")
    assert seat.lines() == [
        ("driver", "", "Ada"),
        ("checklist", "North", "Ada"),
        ("note", "North", "Ada"),
        ("driver", "", "Ben"),
    ]
    assert names_known(seat.path) == Names(("Ben", "Ada"), ("North",))


def test_set_up_knows_field_and_rain_that_were_told_on_drive_on_the_places_own_day(
    tmp_path: Path,
) -> None:
    seat = Seat(tmp_path)
    seat.tap(TapKind.FIELD, "North")
    seat.tap(TapKind.RAIN)
    ledger = Ledger(seat.path, RIG)
    assert ledger.field == "North"
    [rain] = [entry for entry in ledger.entries if entry.key == "rain"]
    assert (rain.step, rain.day, rain.field) == ("happening", "2027-04-21", "North")


def test_what_set_up_put_in_and_then_told_the_cab_is_not_put_in_again(tmp_path: Path) -> None:
    seat = Seat(tmp_path)
    ledger = Ledger(seat.path, RIG)
    ledger.utc = EVENING
    ledger.day = "2027-04-21"
    ledger.name_driver("Ada")
    ledger.answer("checks", "field", "North", "", None)
    ledger.happen("rain")
    before = seat.lines()
    seat.tap(TapKind.DRIVER, "Ada")
    seat.tap(TapKind.FIELD, "North")
    seat.tap(TapKind.RAIN, utc="2027-04-22T01:30:01.000Z")
    assert seat.lines() == before
    seat.tap(TapKind.RAIN, utc="2027-04-22T03:00:00.000Z")
    assert len(seat.lines()) == len(before) + 1, "it rained again"


def test_a_tap_that_was_refused_is_not_in_the_book(tmp_path: Path) -> None:
    seat = Seat(tmp_path)
    seat.tap(TapKind.DRIVER, "   ")
    seat.tap(TapKind.FIELD)
    assert not seat.path.exists()

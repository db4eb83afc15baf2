"""Which soil a shift was driven in: what the set-up walk was told about its field, if anything."""

from pathlib import Path

from cabapp.record.book import Kind
from cabapp.record.reader import RunFileError, RunPage
from cabapp.review.beside import book_path, entries_of
from cabapp.trade.draft import Soil

STEP, KEY = "will_it_pull", "soil"  # how the walk puts the answer into the book
ASSUMED = Soil.MEDIUM
WORDS = {Soil.FINE: "clay", Soil.MEDIUM: "loam", Soil.COARSE: "sand"}


def soil_of(run: Path, page: RunPage) -> Soil | None:
    """The last answer for the run's field given before its end; None where there is none.

    Without a date on either side the last answer counts. A book that cannot be read answers
    nothing: the estimate then says that it assumes.
    """
    try:
        entries = entries_of(book_path(run), Kind.HAND_CHECK)
    except RunFileError:
        return None
    found = [
        str(entry.value.get("text", ""))
        for entry in entries
        if (entry.value.get("step"), entry.value.get("key")) == (STEP, KEY)
        and entry.field == page.field
        and not (page.ended_utc and entry.made_utc > page.ended_utc)
    ]
    known = {soil.value: soil for soil in Soil}
    return known.get(found[-1]) if found else None

"""The walk's answers in the book: what is read back, and what is added, with who, when and where.

The day is that of the receiver's UTC moved to local time. While no date is known days are counted
("day 3"), so that a shed without sky works; once a date comes while such a day is in use, the book
notes which date it was.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from cabapp.outcome import Snapshot
from cabapp.record.book import Book, Kind
from cabapp.rig import Rig
from cabapp.walk.dug import Pair
from cabapp.walk.entries import Entry
from cabapp.walk.progress import HAPPENING, NEW_POINTS
from cabapp.walk.wear import WearLine

KINDS: dict[str, Kind] = {
    "checks": Kind.CHECKLIST,
    "road": Kind.CHECKLIST,
    "hard_layer": Kind.PIT,
    HAPPENING: Kind.NOTE,
}  # every other step is a hand check
DAY_WORD = "day "
IS_DAY = "is_day"


@dataclass(frozen=True)
class Moment:
    """Who enters something, when and where; texts are "" and the place None while unknown."""

    who: str
    utc: str
    place: tuple[float, float] | None


class Ledger:
    """The book as the walk sees it. Methods raise BookError where the storage refuses."""

    def __init__(self, path: Path, rig: Rig) -> None:
        self.book = Book(path)
        self.rig = rig
        self.entries: list[Entry] = []
        self.days: dict[str, str] = {}  # a counted day to its date, where that became known
        self.day = ""
        self.used = False  # something was entered on this day while this program runs
        self.utc = ""
        self.place: tuple[float, float] | None = None
        self.read()

    def read(self) -> None:
        """Read everything the walk needs back from the book."""
        found = []
        for kind in (*dict.fromkeys(KINDS.values()), Kind.HAND_CHECK):
            found += [line for line in self.book.entries(kind) if "step" in line.value]
        found.sort(key=lambda line: line.number)
        self.days = {
            str(line.value["text"]): str(line.value["day"])
            for line in found
            if line.value["key"] == IS_DAY
        }
        self.entries = [
            Entry(
                step=str(line.value["step"]), key=str(line.value["key"]),
                text=str(line.value["text"]), unit=str(line.value.get("unit", "")),
                value=line.value.get("value"), who=line.who, when_utc=line.made_utc,
                day=self.dated(str(line.value.get("day", ""))), field=line.field,
                lat_deg=line.lat_deg, lon_deg=line.lon_deg, order=line.number,
            )
            for line in found
        ]  # fmt: skip

    def dated(self, day: str) -> str:
        """The date of a counted day where it became known, else the day as it is."""
        return self.days.get(day, day)

    # -- who, when, where ----------

    def moment(self, snapshot: Snapshot | None) -> None:
        """Take date and place from the engine's newest word; the tablet's clock names nothing."""
        self.utc = snapshot.utc if snapshot else ""
        self.place = snapshot.place if snapshot else None
        date = self._date()
        if date:
            if self.day.startswith(DAY_WORD) and self.used:
                self._note_day(self.day, date)
            self.day = date
        elif not self.day:
            self.day = self._counted_day()

    def _date(self) -> str:
        if not self.utc:
            return ""
        local = datetime.fromisoformat(self.utc) + timedelta(minutes=self.rig.locale.utc_offset_min)
        return local.date().isoformat()

    def _counted_day(self) -> str:
        """The counted day in use when the program last ran, or the next one."""
        last = self.entries[-1].day if self.entries else ""
        if last.startswith(DAY_WORD):
            return last
        return f"{DAY_WORD}{len(self.days) + 1}"

    def next_day(self) -> None:
        """A new day begins while no date is known: a person says so."""
        if self.day.startswith(DAY_WORD):
            self.day = f"{DAY_WORD}{int(self.day.removeprefix(DAY_WORD)) + 1}"
            self.used = False

    def _note_day(self, counted: str, date: str) -> None:
        self._add(HAPPENING, IS_DAY, counted, day=date)
        self.read()

    # -- what is known ----------

    @property
    def field(self) -> str:
        """The field named last, "" while none was."""
        named = [e.text for e in self.entries if e.step == "checks" and e.key == "field"]
        return named[-1] if named else ""

    @property
    def driver(self) -> str:
        """The driver named last, "" while none was."""
        named = self.drivers()
        return named[-1] if named else ""

    def drivers(self) -> list[str]:
        """Every driver, the one named last at the end."""
        named = [str(line.value.get("name", "")) for line in self.book.entries(Kind.DRIVER)]
        return list(dict.fromkeys(reversed([name for name in named if name])))[::-1]

    def fields(self) -> list[str]:
        """Every field that was ever named, the one named last first."""
        named = [e.text for e in self.entries if e.step == "checks" and e.key == "field"]
        return list(dict.fromkeys([*reversed(named), *self.book.fields()]))

    def pairs(self) -> list[Pair]:
        """The digs of this field and day: dug against what the sensors said there."""
        lines = self.book.entries(Kind.HAND_CHECK, self.field)
        return [
            Pair(line.value["dug_m"], line.value.get("sensor_m"))
            for line in lines
            if "dug_m" in line.value and self.dated(line.value.get("day", "")) == self.day
            and not line.value.get("used", False)
        ]  # fmt: skip

    def wear(self) -> list[WearLine]:
        """Every line of the wear book, oldest first."""
        return [
            WearLine(str(v["part"]), bool(v["fitted"]), v.get("length_m"), v.get("area_m2"),
                     v.get("hours"), self.dated(str(v.get("day", ""))))
            for line in self.book.entries(Kind.WEAR)
            if "part" in (v := line.value)
        ]  # fmt: skip

    def last_plan(self) -> dict[str, object] | None:
        """The newest plan on record as plain values, None where there is none."""
        line = self.book.latest(Kind.PLAN)
        return None if line is None else line.value

    # -- what is added ----------

    def answer(self, step: str, key: str, text: str, unit: str, value: float | None) -> None:
        """Put an answer into the book; an earlier one stays in it."""
        self.put_answer(step, key, text, unit, value)
        self.read()

    def put_answer(self, step: str, key: str, text: str, unit: str, value: float | None) -> None:
        """The same without reading the book back: for many at once, then ``read``."""
        self._add(step, key, text, unit, value)
        self.used = True

    def happen(self, what: str, text: str = "") -> None:
        """Put in that something happened: rain, a long stop, new points."""
        self._add(HAPPENING, what, text or what)
        self.used = True
        self.read()

    def _add(
        self, step: str, key: str, text: str, unit: str = "", value: float | None = None,
        day: str = "",
    ) -> None:  # fmt: skip
        field = text if (step, key) == ("checks", "field") else self.field
        self._put(
            KINDS.get(step, Kind.HAND_CHECK),
            {"step": step, "key": key, "text": text, "unit": unit, "value": value,
             "day": day or self.day},
            field,
        )  # fmt: skip

    def name_driver(self, name: str) -> None:
        """Put in who drives from now on."""
        self.book.add(Kind.DRIVER, {"name": name}, name, self.utc, self.place)

    def keep_plan(self, plan: dict[str, object]) -> None:
        """Put in a plan that was sent to Drive."""
        self._put(Kind.PLAN, {**plan, "day": self.day}, self.field)

    def dig(self, pair: Pair) -> None:
        """Put in a dig of the day."""
        self._put(
            Kind.HAND_CHECK,
            {"dug_m": pair.dug_m, "sensor_m": pair.sensor_m, "day": self.day},
            self.field,
        )

    def offset_used(self, offset_m: float) -> None:
        """Put in that the sensors were moved by an offset; the digs behind it count no more."""
        for line in self.book.entries(Kind.HAND_CHECK, self.field):
            if "dug_m" in line.value and not line.value.get("used", False):
                self.book.correct(line.number, {**line.value, "used": True}, self.driver, self.utc)
        self._put(Kind.NOTE, {"note": "field_offset", "offset_m": offset_m, "day": self.day}, "")

    def worn(self, line: WearLine) -> None:
        """Put a line into the wear book; new points make digs due again."""
        self._put(
            Kind.WEAR,
            {"part": line.part, "fitted": line.fitted, "length_m": line.length_m,
             "area_m2": line.area_m2, "hours": line.hours, "day": self.day},
            self.field,
        )  # fmt: skip
        if line.fitted and line.part == "points":
            self.happen(NEW_POINTS)

    def _put(self, kind: Kind, value: dict[str, object], field: str) -> None:
        self.book.add(kind, value, self.driver, self.utc, self.place, field)

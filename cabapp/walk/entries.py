"""What a person types or taps: read in the unit shown, doubted when it looks like another unit.

A value is never converted behind anybody's back: the entry keeps its text and unit beside the SI
value, and a doubtful figure is asked about, not guessed.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from cabapp.units import UNITS, UnitError, from_unit, parse_number
from cabapp.walk.steps import Ask, AskKind


@dataclass(frozen=True)
class Entry:
    """One answer on record. ``key`` carries its repeat number: ``pit2_bottom``, ``dig1_shank4``.

    ``order`` grows with each entry and happening of the book, so that "since" has a meaning
    without a clock. ``day`` is the date text that the record gave it.
    """

    step: str
    key: str
    text: str
    unit: str = ""
    value: float | None = None
    who: str = ""
    when_utc: str = ""
    day: str = ""
    field: str = ""
    lat_deg: float | None = None
    lon_deg: float | None = None
    order: int = 0


class EntryFault(ValueError):
    """An answer that cannot be taken: found, expected and mend. The earlier value stays."""


@dataclass(frozen=True)
class Doubt:
    """An answer to ask about before it is taken: the words, and the value each button means."""

    words: str
    keep: str  # "Yes, 40 in"
    instead: str  # "No, 40 cm"
    instead_unit: str


def read_value(ask: Ask, text: str, unit: str) -> float | str:
    """The SI value of a quantity, a count, or the words of a choice or text.

    Raises EntryFault saying what was found, what was expected and the mend.
    """
    if ask.kind is AskKind.CHOICE:
        if ask.choice(text) is None:
            known = ", ".join(choice.words for choice in ask.choices)
            raise EntryFault(f"{ask.words}: choose one of: {known}")
        return text
    if ask.kind is AskKind.TEXT:
        if not text.strip():
            raise EntryFault(f"{ask.words}: nothing written; write a word or two")
        return text.strip()
    try:
        number = parse_number(text)
    except UnitError as error:
        raise EntryFault(f"{ask.words}: {error}") from None
    if ask.kind is AskKind.QUANTITY:
        return _quantity(ask, number, unit)
    return _number(ask, number, whole=ask.kind is AskKind.COUNT)


def _number(ask: Ask, number: float, *, whole: bool) -> float:
    if (whole and number != int(number)) or not ask.least <= number <= ask.most:
        kind = "a whole number" if whole else "a number"
        raise EntryFault(
            f"{ask.words}: found {number:g}, expected {kind} {ask.least:g} to {ask.most:g}"
        )
    return number


def _quantity(ask: Ask, number: float, unit: str) -> float:
    if unit not in UNITS or UNITS[unit].quantity != ask.quantity:
        raise EntryFault(f"{ask.words}: {unit or 'no unit'} does not measure this; choose its unit")
    value = from_unit(number, unit)
    if not ask.least - 1e-12 <= value <= ask.most + 1e-12:
        scale = UNITS[unit].si_per_unit
        raise EntryFault(
            f"{ask.words}: found {number:g} {unit}, expected {ask.least / scale:.3g} to "
            f"{ask.most / scale:.3g} {unit}; measure again, and look at the unit"
        )
    return value


def doubt_of(ask: Ask, text: str, unit: str) -> Doubt | None:
    """Whether the figure is odd in its unit and usual in the other one; None if it is not.

    Call it after ``read_value`` took the answer; ``text`` is what was typed.
    """
    others = {ask.unit_us, ask.unit_metric} - {unit}
    if ask.kind is not AskKind.QUANTITY or not ask.usual_least < ask.usual_most or not others:
        return None
    number = parse_number(text)
    if ask.usual_least <= from_unit(number, unit) <= ask.usual_most:
        return None
    for other in sorted(others):
        if ask.usual_least <= from_unit(number, other) <= ask.usual_most:
            return Doubt(
                f"{text} {unit} is unusual here. Is it {text} {other}?",
                f"Yes, {text} {unit}",
                f"No, {text} {other}",
                other,
            )
    return None


class Answers:
    """The answers that count for one step: the newest of each key, in the order given."""

    def __init__(self, entries: Iterable[Entry]) -> None:
        self._newest: dict[str, Entry] = {}
        for entry in sorted(entries, key=lambda each: each.order):
            self._newest[entry.key] = entry

    def entry(self, key: str) -> Entry | None:
        """The newest entry of a key."""
        return self._newest.get(key)

    def value(self, key: str) -> float | None:
        """The SI value of a quantity or count, None while unanswered."""
        entry = self._newest.get(key)
        return None if entry is None else entry.value

    def choice(self, key: str) -> str:
        """The key of the chosen answer (or the text written), "" while unanswered."""
        entry = self._newest.get(key)
        return "" if entry is None else entry.text

    def numbers(self, stem: str, ending: str) -> tuple[int, ...]:
        """The repeat numbers n for which ``{stem}{n}{ending}`` was answered, rising."""
        found = set()
        for key in self._newest:
            if key.startswith(stem) and key.endswith(ending):
                middle = key[len(stem) : len(key) - len(ending) or None]
                if middle.isdigit():
                    found.add(int(middle))
        return tuple(sorted(found))

    @property
    def answered(self) -> tuple[str, ...]:
        """Every answered key."""
        return tuple(self._newest)

    @property
    def last_order(self) -> int:
        """The order of the newest answer, -1 where there is none."""
        return max((entry.order for entry in self._newest.values()), default=-1)

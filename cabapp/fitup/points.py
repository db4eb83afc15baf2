"""Calibration points: rows of known values, and the signals taken at each, up and down."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


class Approach(Enum):
    """Which way the known value was moving before it stood: play shows as a difference."""

    UP = "up"
    DOWN = "down"


class Place(Enum):
    """Where a row's known value comes from, which decides what it proves."""

    SHED = "shed"  # blocks, clearances or weights: slope and shape
    SLOT = "slot"  # dug in the field: offset and its spread
    PROOF = "proof"  # kept out of the fit, to test it


@dataclass(frozen=True)
class Take:
    """One signal taken while still, in wire units, with the least and most of its window."""

    signal: float
    approach: Approach
    least: float
    most: float


@dataclass(frozen=True)
class Row:
    """One known value (SI; depth negative for clearance) and everything taken at it."""

    number: int
    known: float
    place: Place
    takes: tuple[Take, ...] = ()
    left_out: bool = False

    @property
    def usable(self) -> bool:
        """Whether the row has a signal and is not left out."""
        return bool(self.takes) and not self.left_out

    @property
    def mean_signal(self) -> float:
        """Mean of the takes, up and down weighing the same."""
        means = [mean for mean in map(self.signal_of, Approach) if mean is not None]
        return math.fsum(means) / len(means)

    def signal_of(self, approach: Approach) -> float | None:
        """Mean signal of one direction, None where it was not taken."""
        signals = [take.signal for take in self.takes if take.approach is approach]
        return math.fsum(signals) / len(signals) if signals else None

    def repeats(self, approach: Approach) -> tuple[float, ...]:
        """The signals taken the same way at this value."""
        return tuple(take.signal for take in self.takes if take.approach is approach)


def usable(rows: Iterable[Row], *places: Place) -> tuple[Row, ...]:
    """The rows that count, of the given places (all if none is given)."""
    return tuple(row for row in rows if row.usable and (not places or row.place in places))


def pairs(rows: Iterable[Row]) -> tuple[list[float], list[float], list[int]]:
    """Signals, known values and row numbers, one entry a take."""
    flat = [(take.signal, row.known, row.number) for row in rows for take in row.takes]
    return [s for s, _, _ in flat], [k for _, k, _ in flat], [n for _, _, n in flat]


def rows_from(
    known: Iterable[float],
    up: Iterable[float],
    down: Iterable[float] | None = None,
    place: Place = Place.SHED,
    first: int = 1,
) -> tuple[Row, ...]:
    """Rows from plain columns: known values, signals going up, and coming down if taken."""
    values, ups = list(known), list(up)
    downs: list[float | None] = list(down) if down is not None else [None] * len(values)
    rows = []
    for number, (value, rising, falling) in enumerate(
        zip(values, ups, downs, strict=True), start=first
    ):
        takes = [Take(rising, Approach.UP, rising, rising)]
        if falling is not None:
            takes.append(Take(falling, Approach.DOWN, falling, falling))
        rows.append(Row(number, value, place, tuple(takes)))
    return tuple(rows)

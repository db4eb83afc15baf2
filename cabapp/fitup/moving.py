"""Which sensor is this: move one part of the tool and see which signal went with it.

The commonest mistakes of a fitting are a pair of plugs swapped left for right and a slope turned
round, so both are asked before any curve is made.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from cabapp.fitup.findings import Fault, Finding, finding

STANDS_OUT = 8.0  # times its own noise before a signal counts as moved
CLEAR_LEAD = 3.0  # times the runner-up before one is named
LEAST_BASE = 5  # samples before a base is known


@dataclass(frozen=True)
class Moved:
    """The channel that moved most against its own noise; None where none is clearly first.

    ``change`` is its signed movement in wire units; ``scores`` ranks all channels, most first.
    """

    channel: str | None
    change: float
    scores: tuple[tuple[str, float], ...]


@dataclass
class _Base:
    values: list[float] = field(default_factory=list)

    @property
    def mean(self) -> float:
        return math.fsum(self.values) / len(self.values)

    def noise(self, floor: float) -> float:
        mean = self.mean
        squares = math.fsum((value - mean) ** 2 for value in self.values)
        return max(math.sqrt(squares / (len(self.values) - 1)), floor)


class MoveFinder:
    """Gathers a base of each channel, then, after ``armed``, how far each has gone from it.

    ``floors`` is the least believable noise of a channel in wire units (a converter that repeats
    one count has none of its own): a tenth of the still span serves.
    """

    def __init__(self, floors: Mapping[str, float]) -> None:
        self._floors = dict(floors)
        self._bases = {channel: _Base() for channel in floors}
        self._furthest: dict[str, float] = {}
        self.armed = False

    def hear(self, channel: str, value: float | None) -> None:
        """One sample; channels not asked about and empty values are passed over."""
        if channel not in self._bases or value is None or not math.isfinite(value):
            return
        base = self._bases[channel]
        if not self.armed:
            base.values.append(value)
        elif len(base.values) >= LEAST_BASE:
            change = value - base.mean
            if abs(change) > abs(self._furthest.get(channel, 0.0)):
                self._furthest[channel] = change

    def arm(self) -> bool:
        """End the base, ready for the move; False while no channel has enough samples."""
        self.armed = any(len(base.values) >= LEAST_BASE for base in self._bases.values())
        return self.armed

    def found(self) -> Moved:
        """What moved since ``arm``."""
        scores = sorted(
            (
                (name, abs(change) / self._bases[name].noise(self._floors[name]))
                for name, change in self._furthest.items()
            ),
            key=lambda pair: -pair[1],
        )
        first = scores[0] if scores else ("", 0.0)
        second = scores[1][1] if len(scores) > 1 else 0.0
        if first[1] < STANDS_OUT or first[1] < CLEAR_LEAD * second:
            return Moved(None, 0.0, tuple(scores))
        return Moved(first[0], self._furthest[first[0]], tuple(scores))


def swapped(moves: Mapping[str, str | None]) -> tuple[Finding, ...]:
    """Pairs that answered for each other: asked left and right moved, asked right and left moved.

    ``moves`` maps the channel that was asked for to the one that moved. One wrong answer alone is
    named too: where it belongs is not known until the other has been moved.
    """
    wrong = {asked: went for asked, went in moves.items() if went is not None and went != asked}
    pairs = sorted({tuple(sorted((a, b))) for a, b in wrong.items() if wrong.get(b) == a})
    found = [finding(Fault.SWAPPED, where=f"{a} and {b}") for a, b in pairs]
    in_pairs = {name for pair in pairs for name in pair}
    found += [
        finding(Fault.WRONG_ONE, where=asked, found=went)
        for asked, went in wrong.items()
        if asked not in in_pairs
    ]
    return tuple(found)


def direction(change: float, went_deeper: bool) -> int:
    """Expected slope from one move: +1 where deeper reads more, -1 where deeper reads less."""
    rising = change > 0
    return 1 if rising == went_deeper else -1


def moved_words(moved: Moved, asked: str, names: Mapping[str, str]) -> tuple[str, str]:
    """What the page "Which one is this" says: a headline and what to do.

    ``names`` are the channels' own words; ``asked`` is the one the person was to move, "" if any.
    """
    if moved.channel is None:
        if moved.scores and moved.scores[0][1] >= STANDS_OUT:
            both = " and ".join(names.get(name, name) for name, _ in moved.scores[:2])
            return f"More than one moved: {both}", "Move one part alone."
        return "Nothing moved yet", "Move one part by hand, or raise one side."
    name = names.get(moved.channel, moved.channel)
    way = "more" if moved.change > 0 else "less"
    if asked and moved.channel != asked:
        return (
            f"{name} answered, reads {way}",
            f"Asked for {names.get(asked, asked)}: swapped plugs?",
        )
    return f"{name} reads {way}", "Is that the one? Which way did it go?"

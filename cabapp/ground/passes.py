"""Passes: from tool in to tool out, each with its times, way and area."""

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass in the ground. ``end_s`` is its last counted fix; ``new_m2`` ground worked first."""

    number: int
    start_s: float
    end_s: float
    length_m: float
    gross_m2: float
    new_m2: float


@dataclass(slots=True)
class _Open:
    """A pass while it grows."""

    start_s: float
    end_s: float
    length_m: float = 0.0
    gross_m2: float = 0.0
    new_m2: float = 0.0


class Passes:
    """All passes so far; the last one may be open."""

    def __init__(self) -> None:
        self._all: list[_Open] = []
        self._kept = 0
        self.open = False

    def __len__(self) -> int:
        return len(self._all)

    def take_up(self, passes: Iterable[Pass]) -> None:
        """Begin with passes from before an interruption; all have ended."""
        self._all = [
            _Open(one.start_s, one.end_s, one.length_m, one.gross_m2, one.new_m2) for one in passes
        ]

    def begin(self, t_s: float) -> None:
        """The tool goes in."""
        self._all.append(_Open(t_s, t_s))
        self.open = True

    def lay(self, t_s: float, way_m: float, gross_m2: float) -> None:
        """The open pass grew up to ``t_s``."""
        grown = self._all[-1]
        grown.end_s = t_s
        grown.length_m += way_m
        grown.gross_m2 += gross_m2

    def painted(self, new_m2: float) -> None:
        """So much of the last pass was worked for the first time."""
        if self._all:
            self._all[-1].new_m2 += new_m2

    def end(self) -> None:
        """The tool comes out."""
        self.open = False

    def keep(self) -> None:
        """No pass so far can be withdrawn any more."""
        self._kept = len(self._all)

    def withdraw(self, since_s: float) -> None:
        """Forget passes, not kept yet, that went on after a time."""
        kept, rest = self._all[: self._kept], self._all[self._kept :]
        self._all = kept + [one for one in rest if one.end_s <= since_s]
        self.open = False

    def all(self) -> tuple[Pass, ...]:
        """Every pass as it stands, the open one last."""
        return tuple(
            Pass(number, one.start_s, one.end_s, one.length_m, one.gross_m2, one.new_m2)
            for number, one in enumerate(self._all, start=1)
        )

"""Passes: from tool in to tool out, each with its times, way and area."""

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
        self.open = False

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

    def end(self) -> float:
        """The tool comes out; the pass's last counted time."""
        self.open = False
        return self._all[-1].end_s

    def keep_until(self, since_s: float) -> float:
        """Forget passes that went on after a time; the end of the last one kept."""
        self._all = [one for one in self._all if one.end_s <= since_s]
        self.open = False
        return max((one.end_s for one in self._all), default=float("-inf"))

    def all(self) -> tuple[Pass, ...]:
        """Every pass as it stands, the open one last."""
        return tuple(
            Pass(number, one.start_s, one.end_s, one.length_m, one.gross_m2, one.new_m2)
            for number, one in enumerate(self._all, start=1)
        )

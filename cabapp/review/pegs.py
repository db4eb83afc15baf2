"""Pegs set in a shift, where they stand on the plane of its map."""

from dataclasses import dataclass

from cabapp.outcome import What
from cabapp.review.pieces import plane_of
from cabapp.review.shift import Shift
from cabapp.words import peg_words


@dataclass(frozen=True)
class Pegged:
    """One peg: its number, what it marks ("" where nobody said), its place in metres."""

    number: int
    words: str
    x_m: float
    y_m: float

    def text(self) -> str:
        """``3 stone``, or the number alone."""
        return f"{self.number} {self.words}".strip()


def pegs_of(shift: Shift) -> tuple[Pegged, ...]:
    """Every peg of the shift that has a place, by number; the last word on its kind counts."""
    plane = plane_of(shift)
    if plane is None:
        return ()
    places: dict[int, tuple[float, float]] = {}
    kinds: dict[int, str] = {}
    for moment in shift.moments:
        if moment.what is not What.PEG or not isinstance(moment.value, float):
            continue
        number = int(moment.value)
        kinds[number] = moment.detail
        if moment.lat_deg is not None and moment.lon_deg is not None:
            places.setdefault(number, (moment.lat_deg, moment.lon_deg))
    return tuple(
        Pegged(n, peg_words(kinds[n]).lower(), *map(float, plane.to_xy(*places[n])))
        for n in sorted(places)
    )


def pegs_words(pegs: tuple[Pegged, ...]) -> str:
    """``Pegs: 1 stone, 2 wet place.``, "" without any."""
    return f"Pegs: {', '.join(peg.text() for peg in pegs)}." if pegs else ""

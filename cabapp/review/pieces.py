"""The passes as drawn and exported: pieces of one state, with no piece drawn over a gap."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from cabapp.ground.worked import GAP_S
from cabapp.review.shift import CODES, Floats, Shift, Track
from cabapp.review.sums import ALL, THINGS
from cabapp.trade.geodesy import LocalPlane

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Piece:
    """Part of a pass in one state: rows ``first`` to ``last`` and the way to the row after.

    ``x_m``, ``y_m`` and ``heading_rad`` have one place more than it has rows. ``out`` names what
    was in that state besides "all".
    """

    pass_number: int
    state: str
    first: int
    last: int
    area_m2: float
    x_m: Floats
    y_m: Floats
    heading_rad: Floats
    out: tuple[str, ...]

    @property
    def length_m(self) -> float:
        """Way of the tool's middle along the piece."""
        return float(np.hypot(np.diff(self.x_m), np.diff(self.y_m)).sum())

    def with_next(self, other: "Piece") -> "Piece":
        """This and the piece that follows on it as one, in the worse of their states."""
        worse = max(self, other, key=lambda piece: CODES.index(piece.state))
        return Piece(
            self.pass_number,
            worse.state,
            self.first,
            other.last,
            self.area_m2 + other.area_m2,
            np.concatenate([self.x_m, other.x_m[1:]]),
            np.concatenate([self.y_m, other.y_m[1:]]),
            np.concatenate([self.heading_rad, other.heading_rad[1:]]),
            worse.out,
        )


def pieces_of(shift: Shift, by: str = ALL) -> list[Piece]:
    """All pieces in the order worked; ``by`` is the thing whose state cuts and names them."""
    track = shift.track
    numbers = pass_numbers(shift)
    found = []
    for first, last in _runs(track, numbers, track.codes[by]):
        part = slice(first, last + 2)
        state = CODES[int(track.codes[by][first])]
        found.append(
            Piece(
                int(numbers[first]),
                state,
                first,
                last,
                float(track.area_m2[first : last + 1].sum()),
                track.x_m[part],
                track.y_m[part],
                track.heading_rad[part],
                _in_that_state(track, state, first, last),
            )
        )
    return found


def pass_numbers(shift: Shift) -> Ints:
    """The pass that each row's ground belongs to, 0 for none."""
    passes, t_s = shift.sums.passes, shift.track.t_s
    numbers = np.zeros(len(t_s), np.int64)
    if not passes:
        return numbers
    starts = np.array([one.start_s for one in passes])
    ends = np.array([one.end_s for one in passes])
    place = np.searchsorted(starts, t_s + 1e-6, side="right") - 1
    inside = (place >= 0) & (t_s < ends[place] - 1e-6)
    numbers[inside] = np.array([one.number for one in passes])[place[inside]]
    return numbers


def _runs(track: Track, numbers: Ints, codes: npt.NDArray[np.int8]) -> Iterator[tuple[int, int]]:
    """Rows of one pass and one state whose way to the next row is known."""
    if len(track) < 2:
        return
    placed = np.isfinite(track.x_m)
    joined = placed[:-1] & placed[1:] & (np.diff(track.t_s) <= GAP_S) & (numbers[:-1] > 0)
    rows = np.nonzero(joined)[0]
    if not len(rows):
        return
    same = (
        (np.diff(rows) == 1) & (np.diff(numbers[rows]) == 0) & (codes[rows][1:] == codes[rows][:-1])
    )
    breaks = np.nonzero(~same)[0]
    firsts = rows[np.concatenate([[0], breaks + 1])]
    lasts = rows[np.concatenate([breaks, [len(rows) - 1]])]
    yield from zip(firsts.tolist(), lasts.tolist(), strict=True)


def _in_that_state(track: Track, state: str, first: int, last: int) -> tuple[str, ...]:
    code = CODES.index(state)
    return tuple(
        thing
        for thing in THINGS
        if thing != ALL and (track.codes[thing][first : last + 1] == code).any()
    )


def swath_of(piece: Piece, width_m: float) -> Floats:
    """The ground of a piece as a closed ring of places, shape (n, 2), anticlockwise."""
    half = width_m / 2
    across = np.column_stack([np.cos(piece.heading_rad), -np.sin(piece.heading_rad)]) * half
    middle = np.column_stack([piece.x_m, piece.y_m])
    ring = np.concatenate([middle + across, (middle - across)[::-1]])
    ring = np.concatenate([ring, ring[:1]])
    return ring if _area(ring) >= 0 else ring[::-1]


def _area(ring: Floats) -> float:
    x, y = ring[:, 0], ring[:, 1]
    return float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() / 2)


def plane_of(shift: Shift) -> LocalPlane | None:
    """The plane of the tool's places; None where there was no work."""
    plane = shift.sums.plane_deg
    return None if plane is None else LocalPlane.at(*plane)


def thinned(pieces: list[Piece], most: int = 4_000) -> list[Piece]:
    """The same pieces with at most ``most`` places in all; none is lost.

    Ends are kept; in between, places that stray least from the line through their neighbours go
    first (Douglas and Peucker 1973), by a distance that grows until it fits. Where there are more
    pieces than that, neighbours in a pass are drawn as one, in the worse of their states.
    """
    while 2 * len(pieces) > most and len(fewer := _paired(pieces)) < len(pieces):
        pieces = fewer
    reach = 0.1
    thin = pieces
    while sum(len(piece.x_m) for piece in thin) > max(most, 2 * len(pieces)):
        thin = [_simpler(piece, reach) for piece in pieces]
        reach *= 2
    return thin


def _simpler(piece: Piece, reach_m: float) -> Piece:
    keep = _kept(piece.x_m, piece.y_m, reach_m)
    return Piece(
        piece.pass_number, piece.state, piece.first, piece.last, piece.area_m2,
        piece.x_m[keep], piece.y_m[keep], piece.heading_rad[keep], piece.out,
    )  # fmt: skip


def _kept(x: Floats, y: Floats, reach_m: float) -> npt.NDArray[np.bool_]:
    keep = np.zeros(len(x), np.bool_)
    keep[[0, -1]] = True
    waiting = [(0, len(x) - 1)]
    while waiting:
        first, last = waiting.pop()
        if last - first < 2:
            continue
        dx, dy = x[last] - x[first], y[last] - y[first]
        length = float(np.hypot(dx, dy)) or 1.0
        between = slice(first + 1, last)
        away = np.abs(dx * (y[between] - y[first]) - dy * (x[between] - x[first])) / length
        far = int(away.argmax())
        if away[far] > reach_m:
            middle = first + 1 + far
            keep[middle] = True
            waiting += [(first, middle), (middle, last)]
    return keep


def _paired(pieces: list[Piece]) -> list[Piece]:
    """Neighbours of a pass two by two; all in one pass after the other."""
    found: list[Piece] = []
    waiting: Piece | None = None
    for piece in pieces:
        if waiting is None:
            waiting = piece
        elif waiting.pass_number == piece.pass_number and waiting.last + 1 == piece.first:
            found.append(waiting.with_next(piece))
            waiting = None
        else:
            found.append(waiting)
            waiting = piece
    return [*found, waiting] if waiting else found

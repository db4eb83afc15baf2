"""When the bytes of a recorded log came, worked out from the log itself.

A log of plain NMEA sentences holds no arrival times. Time goes on by the receiver's own clock
where it makes a step of up to 60 s, else by the bytes at a given speed of the wire (10 bits a
byte). Between two receiver times the bytes take their time on the wire, but never longer than the
receiver says; so a wrong speed of the wire can't stretch a shift.
"""

from collections.abc import Iterable, Iterator

from cabapp.hear.lines import Line, Lines
from cabapp.hear.plausible import seconds_on
from cabapp.hear.sentences import DAY_S, time_of_day

DEFAULT_BAUD = 9600
LONGEST_STEP_S = 60.0
# A second talker may lag behind the first by a few seconds: that is no step back in time.
LATE_S = 5.0
LONGEST_PIECE = 512
_TIME_FIELD = {"RMC": 1, "GGA": 1, "GNS": 1, "ZDA": 1, "GLL": 5}


def timed_chunks(
    blocks: Iterable[bytes], baud: int = DEFAULT_BAUD
) -> Iterator[tuple[bytes, float]]:
    """The same bytes, a line at a time, each with the second it came, counted from the first byte.

    ``blocks`` are the log's bytes cut anywhere: the cuts change nothing. A line's time is that of
    its last byte; a long stretch without newline comes in pieces. What waits for the receiver's
    next time is at most what the wire carries in 60 s.
    """
    clock = _Clock(10.0 / baud)
    for piece in _pieces(blocks):
        yield from clock.take(piece)
    yield from clock.rest()


def _pieces(blocks: Iterable[bytes]) -> Iterator[bytes]:
    """Lines with their newline; LONGEST_PIECE bytes at a time where none comes."""
    kept = b""
    for block in blocks:
        *lines, kept = (kept + block).split(b"\n")
        for line in lines:
            if len(line) < LONGEST_PIECE:
                yield line + b"\n"
            else:
                yield from _cut(line + b"\n")
        *whole, kept = _cut(kept)
        yield from whole
    if kept:
        yield kept


def _cut(stretch: bytes) -> list[bytes]:
    starts = range(0, max(len(stretch), 1), LONGEST_PIECE)
    return [stretch[start : start + LONGEST_PIECE] for start in starts]


def _receiver_time(line: Line) -> float | None:
    place = _TIME_FIELD.get(line.kind)
    if place is None:
        return None
    fields = line.text.split(",", place + 1)
    return time_of_day(fields[place]) if len(fields) > place else None


class _Clock:
    """Holds lines back until the receiver's next time says how long they took."""

    def __init__(self, byte_s: float) -> None:
        self._byte_s = byte_s
        self._lines = Lines(_TIME_FIELD)
        self._anchor_s = 0.0  # when the last receiver time came
        self._sent_s: float | None = None  # that receiver time
        self._bytes = 0  # since then
        self._waiting: list[tuple[bytes, float]] = []

    def take(self, piece: bytes) -> Iterator[tuple[bytes, float]]:
        """Time one piece, and what waited for it."""
        self._bytes += len(piece)
        by_bytes_s = round(self._anchor_s + self._bytes * self._byte_s, 6)
        self._waiting.append((piece, by_bytes_s))
        for line in self._lines.feed(piece, 0.0):
            sent_s = _receiver_time(line)
            if sent_s is not None:
                yield from self._meet(sent_s, by_bytes_s)
        if by_bytes_s - self._anchor_s > LONGEST_STEP_S:
            self._sent_s = None
            yield from self._release(by_bytes_s)

    def rest(self) -> Iterator[tuple[bytes, float]]:
        """What still waits at the end of the log goes by its bytes."""
        yield from self._waiting

    def _meet(self, sent_s: float, by_bytes_s: float) -> Iterator[tuple[bytes, float]]:
        step_s = 0.0 if self._sent_s is None else seconds_on(self._sent_s, sent_s)
        if self._sent_s is not None and (step_s == 0.0 or step_s > DAY_S - LATE_S):
            return
        self._sent_s = sent_s
        known = 0.0 < step_s <= LONGEST_STEP_S
        yield from self._release(round(self._anchor_s + step_s, 6) if known else by_bytes_s)

    def _release(self, until_s: float) -> Iterator[tuple[bytes, float]]:
        """Give out what waited; the last piece came at ``until_s``, the others not later."""
        waiting, self._waiting = self._waiting, []
        self._anchor_s, self._bytes = until_s, 0
        for piece, by_bytes_s in waiting[:-1]:
            yield piece, min(by_bytes_s, until_s)
        if waiting:  # a second receiver time in one piece finds it given out already
            yield waiting[-1][0], until_s

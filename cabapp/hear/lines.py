"""Bytes from a wire to checked NMEA 0183 sentences, whatever else the wire carries.

A receiver's wire also brings binary blocks, reboot text, NULs, half lines and two sentences run
into one. Nothing here raises on any bytes: what is not a checked sentence is counted.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

# NMEA 0183 allows 82 characters a sentence; receivers with more digits send up to about 120.
# Twice that leaves room for binary glued in front, and bounds what a wire without newlines costs.
LONGEST_LINE = 256

_HEX = {f"{n:02X}".encode(): n for n in range(256)} | {f"{n:02x}".encode(): n for n in range(256)}


class Line(NamedTuple):
    """One sentence whose checksum is right. ``text`` lies between ``$`` and ``*``.

    ``kind`` is the three-letter sentence name (``RMC``) of a sentence with a two-letter talker,
    and "" for a maker's own sentence (``$P...``). ``at`` is the time of the line's last byte.
    """

    kind: str
    text: str
    at: float


@dataclass(frozen=True, slots=True)
class LineCounts:
    """What a wire has brought so far. Every terminated line that held bytes is in one count.

    ``sentences`` counts checked sentences, of which one line may hold several. ``junk`` lines held
    no ``$`` at all, ``other`` ones begin with a kind that was not asked for, ``bad_text`` ones had
    a right checksum over bytes that NMEA 0183 does not allow, and ``too_long`` ones lost all but
    their last LONGEST_LINE bytes.
    """

    bytes: int = 0
    sentences: int = 0
    no_checksum: int = 0
    bad_checksum: int = 0
    bad_text: int = 0
    junk: int = 0
    other: int = 0
    too_long: int = 0


def checksum(body: bytes) -> int:
    """XOR of all bytes (NMEA 0183 checksum), by folding one long integer onto itself.

    Half the cost of a byte-by-byte loop: halves of 1024, 512, ... 8 bits laid over each other.
    """
    if len(body) > 256:
        return checksum(body[:256]) ^ checksum(body[256:])
    folded = int.from_bytes(body, "big")
    if len(body) > 64:
        folded ^= folded >> 1024
        folded ^= folded >> 512
    folded ^= folded >> 256
    folded ^= folded >> 128
    folded ^= folded >> 64
    folded ^= folded >> 32
    folded ^= folded >> 16
    return (folded ^ folded >> 8) & 0xFF


@lru_cache(maxsize=128)  # a wire has a few sentences, over and over
def _kind(address: str) -> str:
    """Sentence name of an address field with its comma, "" for a maker's own or a broken one."""
    named = address[5:] == "," and address[0] != "P" and address[:5].isupper()
    return address[2:5] if named else ""


class Lines:
    """Splits a stream of bytes into checked sentences; any split of the same bytes is the same.

    A line ends at CR, LF or both. All bytes of one ``feed`` share its ``at``, so a line takes the
    time of the chunk that brought its terminator: hand each byte the same ``at`` and the lines
    are identical however the bytes were cut. With ``wanted`` the sentences of all other kinds are
    counted and left unread, checksum included: a satellite list is most of what a receiver sends.
    """

    __slots__ = (
        "_bad_checksum",
        "_bad_text",
        "_bytes",
        "_junk",
        "_no_checksum",
        "_other",
        "_sentences",
        "_tail",
        "_tail_length",
        "_too_long",
        "_wanted",
    )

    def __init__(self, wanted: Iterable[str] | None = None) -> None:
        self._wanted = None if wanted is None else frozenset(kind.encode() for kind in wanted)
        self._tail = b""
        self._tail_length = 0  # as sent; the tail itself keeps its last LONGEST_LINE bytes
        self._bytes = self._sentences = self._no_checksum = self._bad_checksum = 0
        self._bad_text = self._junk = self._other = self._too_long = 0

    @property
    def counts(self) -> LineCounts:
        """What the wire has brought so far."""
        return LineCounts(
            self._bytes,
            self._sentences,
            self._no_checksum,
            self._bad_checksum,
            self._bad_text,
            self._junk,
            self._other,
            self._too_long,
        )

    def feed(self, data: bytes, at: float) -> list[Line]:
        """The sentences that ``data`` completes, in order; ``at`` in seconds, for all its bytes."""
        self._bytes += len(data)
        pieces = data.replace(b"\r\n", b"\n").replace(b"\r", b"\n").split(b"\n")
        last = pieces.pop()
        out: list[Line] = []
        wanted, other = self._wanted, 0
        for piece in pieces:
            if self._tail_length:
                self._keep(piece)
                piece, self._tail, self._tail_length = self._tail, b"", 0
            elif len(piece) > LONGEST_LINE:
                self._too_long += 1
                piece = piece[-LONGEST_LINE:]
            if piece:
                start = piece.rfind(b"$")
                if start > 0:
                    self._glued(piece[:start], at, out)
                if start < 0:
                    self._junk += 1
                elif wanted is None or piece[start + 3 : start + 6] in wanted:
                    self._sentence(piece[start + 1 :], at, out)
                else:
                    other += 1
        self._other += other
        if last:
            self._keep(last)
        return out

    def _glued(self, before: bytes, at: float, out: list[Line]) -> None:
        """Whole sentences that ran into the last one of their line."""
        for piece in before.split(b"$")[1:]:
            if piece[-3:-2] == b"*" and (self._wanted is None or piece[2:5] in self._wanted):
                self._sentence(piece, at, out)

    def _keep(self, piece: bytes) -> None:
        was_long = self._tail_length > LONGEST_LINE
        self._tail_length += len(piece)
        self._tail = (self._tail + piece[-LONGEST_LINE:])[-LONGEST_LINE:]
        if self._tail_length > LONGEST_LINE and not was_long:
            self._too_long += 1

    def _sentence(self, sentence: bytes, at: float, out: list[Line]) -> None:
        if sentence[-3:-2] != b"*":
            sentence = sentence.rstrip(b" \x00")
            if sentence[-3:-2] != b"*":
                self._no_checksum += 1
                return
        body = sentence[:-3]
        if _HEX.get(sentence[-2:]) != checksum(body):
            self._bad_checksum += 1
            return
        text = body.decode("latin-1")
        # Printable 7-bit only: a comma turned into a high byte shifts every field after it, and
        # the 8-bit checksum lets about one such line in 290 through.
        if not (body.isascii() and text.isprintable()):
            self._bad_text += 1
            return
        self._sentences += 1
        out.append(Line(_kind(text[:6]), text, at))

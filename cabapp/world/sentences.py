"""NMEA 0183 sentences by the thousand: fields as columns of bytes, checksums as one XOR.

A column is a (rows, width) array of bytes in which 0 means "no byte here", so numbers may be of
any length and whole sentences may be left out of a row.
"""

import numpy as np
from numpy.typing import NDArray

from cabapp.world.noise import Floats

Columns = NDArray[np.uint8]

_HEX = np.frombuffer(b"0123456789ABCDEF", dtype=np.uint8)


def text(words: str, rows: int) -> Columns:
    """The same words in each row."""
    return np.tile(np.frombuffer(words.encode("ascii"), dtype=np.uint8), (rows, 1))


def letters(codes: NDArray[np.bool_], yes: str, no: str) -> Columns:
    """One of two letters a row."""
    return np.where(codes, ord(yes), ord(no)).astype(np.uint8)[:, None]


def number(values: Floats, decimals: int = 0, whole: int = 1) -> Columns:
    """Decimal numbers, at least ``whole`` digits before the point; an empty field for NaN."""
    known = np.isfinite(values)
    scaled = np.rint(np.abs(np.where(known, values, 0.0)) * 10.0**decimals).astype(np.int64)
    most = max(whole, len(str(int(scaled.max(initial=0)))) - decimals)
    sign = np.where((values < 0) & (scaled > 0), ord("-"), 0).astype(np.uint8)[:, None]
    head = _digits(scaled // 10**decimals, most)
    leading = np.cumsum(head != ord("0"), axis=1) == 0
    leading[:, most - whole :] = False
    head[leading] = 0
    parts = [sign, head]
    if decimals:
        parts += [text(".", len(values)), _digits(scaled % 10**decimals, decimals)]
    column = np.hstack(parts)
    column[~known] = 0
    return column


def _digits(values: NDArray[np.int64], width: int) -> Columns:
    powers = 10 ** np.arange(width - 1, -1, -1, dtype=np.int64)
    return (values[:, None] // powers % 10 + ord("0")).astype(np.uint8)


def sentence(parts: list[Columns]) -> Columns:
    """A body made whole: dollar sign, checksum (XOR of the body), CR LF."""
    body = np.hstack(parts)
    rows = len(body)
    check = np.bitwise_xor.reduce(body, axis=1)
    tail = np.stack([_HEX[check >> 4], _HEX[check & 15]], axis=1)
    return np.hstack([text("$", rows), body, text("*", rows), tail, text("\r\n", rows)])


def only(column: Columns, keep: NDArray[np.bool_]) -> Columns:
    """The same column, left out of the rows that are not kept."""
    return np.where(keep[:, None], column, 0).astype(np.uint8)


def rows_of(columns: list[Columns]) -> list[bytes]:
    """The bytes of each row, all its sentences one after another."""
    table = np.hstack(columns)
    present = table != 0
    flat = table[present].tobytes()
    ends = np.cumsum(present.sum(axis=1)).tolist()
    return [flat[start:end] for start, end in zip([0, *ends[:-1]], ends, strict=True)]

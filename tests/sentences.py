"""Sentences with their checksum, for every test that says something on a wire."""

from functools import reduce
from operator import xor


def sentence(body: str) -> bytes:
    """``$body*hh`` and a line end: the XOR of all between $ and * (NMEA 0183)."""
    return f"${body}*{reduce(xor, body.encode(), 0):02X}\r\n".encode()

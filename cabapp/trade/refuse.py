"""Refusals shared by the arithmetic: what was found, what was expected, and the mend.

A wrong number put into a formula comes out looking like a right one, so the formulas of this
room check what they are given and raise ValueError with one plain sentence.
"""

import math
from collections.abc import Sequence

DEEPEST_M = 1.5  # deeper than any tillage: a depth given in centimetres or inches by mistake


def _refuse(name: str, value: object, expected: str, mend: str) -> ValueError:
    return ValueError(f"{name}: found {value!r}, expected {expected}; {mend}")


def need_finite(name: str, value: float, mend: str) -> float:
    """The value itself, or ValueError if it is NaN or infinite."""
    if not math.isfinite(value):
        raise _refuse(name, value, "a finite number", mend)
    return value


def need_positive(name: str, value: float, mend: str) -> float:
    """The value itself, or ValueError unless it is finite and above zero."""
    if not math.isfinite(value) or value <= 0:
        raise _refuse(name, value, "a number above zero", mend)
    return value


def need_not_negative(name: str, value: float, mend: str) -> float:
    """The value itself, or ValueError unless it is finite and zero or more."""
    if not math.isfinite(value) or value < 0:
        raise _refuse(name, value, "zero or a number above it", mend)
    return value


def need_between(name: str, value: float, least: float, most: float, mend: str) -> float:
    """The value itself, or ValueError unless it is finite and within the two bounds."""
    if not math.isfinite(value) or not least <= value <= most:
        raise _refuse(name, value, f"{least:g} to {most:g}", mend)
    return value


def need_some(name: str, values: Sequence[object], least: int, mend: str) -> None:
    """ValueError unless there are at least ``least`` values."""
    if len(values) < least:
        raise ValueError(f"{name}: found {len(values)}, expected at least {least}; {mend}")

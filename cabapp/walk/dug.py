"""Digs during the day: what was dug against what the sensor said there, and when to believe it."""

from collections.abc import Sequence
from dataclasses import dataclass

from cabapp.units import INCH_M, UnitSystem
from cabapp.walk.findings import length_words

AGREE = 3  # digs
WITHIN_M = 0.5 * INCH_M  # a slot cannot be measured better; our own default
WORTH_M = 0.25 * INCH_M  # a smaller offset is not worth a change; our own default
MOST_M = 4.0 * INCH_M  # more than tyres sink: something else is wrong; our own default


@dataclass(frozen=True)
class Pair:
    """One dig: metres dug, and metres shown by the sensors there, None where they showed none."""

    dug_m: float
    sensor_m: float | None

    @property
    def off_m(self) -> float | None:
        """How much deeper the slot is than the sensor said."""
        return None if self.sensor_m is None else self.dug_m - self.sensor_m


@dataclass(frozen=True)
class Agreement:
    """What the last digs say together: an offset to offer (None: none to offer), and words."""

    offset_m: float | None
    words: str


def agreement(pairs: Sequence[Pair], system: UnitSystem) -> Agreement:
    """Whether the last three digs agree on an offset of the depth sensors.

    They agree when they lie within half an inch of one another. Nothing is offered under a quarter
    inch, or beyond what tyres sink: that is a fault and not an offset. Our own rule.
    """
    offs = [off for pair in pairs if (off := pair.off_m) is not None][-AGREE:]
    if not offs:
        return Agreement(None, "No live depth beside a dig yet")
    if len(offs) < AGREE:
        left = AGREE - len(offs)
        return Agreement(None, f"{left} more dig{'s' if left > 1 else ''} before an offset counts")
    spread, mean = max(offs) - min(offs), sum(offs) / len(offs)
    if spread > WITHIN_M + 1e-9:
        return Agreement(None, f"The last three differ by {length_words(spread, system)}: no "
                               "offset, look at points and level")  # fmt: skip
    if abs(mean) < WORTH_M - 1e-9:
        return Agreement(None, "Three digs agree with the sensor")
    words = f"Three digs agree: sensor {length_words(abs(mean), system)} {way_of(mean)}"
    if abs(mean) > MOST_M:
        return Agreement(None, f"{words}. Too much for an offset: have it looked at")
    return Agreement(mean, words)


def way_of(off_m: float) -> str:
    """What is wrong with a sensor that is off by so much."""
    return "too shallow" if off_m > 0 else "too deep"


def off_words(pair: Pair, system: UnitSystem) -> str:
    """Dug against sensor in one line."""
    dug = length_words(pair.dug_m, system)
    if pair.sensor_m is None or pair.off_m is None:
        return f"Dug {dug}; no live depth here"
    shown = length_words(pair.sensor_m, system)
    if abs(pair.off_m) < 1 / 8 * INCH_M:
        return f"Dug {dug}, sensor {shown}: alike"
    off = f"{length_words(abs(pair.off_m), system)} {way_of(pair.off_m)}"
    return f"Dug {dug}, sensor {shown}: {off}"

"""From the wire's electricity to a share of a sensor's range, and what a sound wire can carry."""

from dataclasses import dataclass

CURRENT_ZERO_MA = 4.0  # live zero of the 4 to 20 mA loop (IEC 60381-1)
CURRENT_SPAN_MA = 16.0
RATIOMETRIC_ZERO = 0.1  # 0.5 V of 5 V
RATIOMETRIC_SPAN = 0.8  # 4.0 V of 5 V


@dataclass(frozen=True)
class Wire:
    """What a sound wire carries: its unit, bounds, and how still it must stand to be taken."""

    unit: str
    least: float
    most: float
    still_span: float

    def is_sound(self, value: float) -> bool:
        """Whether a value can come from a whole wire; False for NaN."""
        return self.least <= value <= self.most


WIRES: dict[str, Wire] = {
    # Common practice for a 0.5 to 4.5 V sensor: half of the dead zone at each end is a fault.
    "V": Wire("V", 0.25, 4.75, 0.02),
    # Below 3.6 or above 21 mA is a fault, by the usual signal-level recommendation for current
    # transmitters (from memory, not read again).
    "mA": Wire("mA", 3.6, 21.0, 0.08),
    # Nodes that send their own figure in SI: a quarter of what a shed point may be off.
    "M": Wire("m", -0.60, 0.90, 0.0015),
    "N": Wire("N", -5_000.0, 200_000.0, 100.0),
}


def current_share(current_ma: float) -> float:
    """Share of range of a 4 to 20 mA signal: 4 is 0, 12 is 0.5; 3.5 is below 0, a fault."""
    return (current_ma - CURRENT_ZERO_MA) / CURRENT_SPAN_MA


def ratiometric_share(volts: float, supply_v: float) -> float:
    """Share of range of a 0.5 to 4.5 V sensor by its own supply, which must be measured too.

    Such a sensor sends a share of its supply, so that 2.4 V of 4.8 V is still half.
    """
    return (volts / supply_v - RATIOMETRIC_ZERO) / RATIOMETRIC_SPAN


def converter_counts(volts: float, bits: int, reference_v: float) -> float:
    """Counts of an ideal converter whose full scale (2^bits - 1) is its reference voltage."""
    return volts / reference_v * float(2**bits - 1)


def span_per_count(span: float, span_v: float, bits: int, reference_v: float) -> float:
    """What one count is worth, in the unit of ``span``, where ``span`` covers ``span_v``."""
    return span / converter_counts(span_v, bits, reference_v)

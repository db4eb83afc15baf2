"""What a sound wire can carry, and how still it must stand to be taken."""

from dataclasses import dataclass

from cabapp.fitup.findings import DECIMALS
from cabapp.units import UNITS


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
    # Nodes that send their own figure in SI: a quarter of what a shed point may be off.
    "M": Wire("m", -0.60, 0.90, 0.0015),
    "N": Wire("N", -5_000.0, 200_000.0, 100.0),
}


@dataclass(frozen=True)
class Signal:
    """How what a wire carries is shown: its unit, and that many decimals, always all of them."""

    unit: str
    decimals: int

    def number(self, value: float) -> str:
        """A value in wire units, shown: ``4.306``, ``3997``."""
        text = f"{value / UNITS[self.unit].si_per_unit:.{self.decimals}f}"
        return (text if float(text) else text.lstrip("-")).replace("-", "−")

    def text(self, value: float) -> str:
        """The value with its unit: ``3997 lbf``."""
        return f"{self.number(value)} {self.unit}"


VOLTS = Signal("V", 3)


def signal_in(wire: Wire, unit: str) -> Signal:
    """Volts as they are; what a node sends as a length or a force in the person's ``unit``."""
    return VOLTS if wire.unit == "V" else Signal(unit, DECIMALS[unit])

"""What a sound wire can carry, and how still it must stand to be taken."""

from dataclasses import dataclass


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

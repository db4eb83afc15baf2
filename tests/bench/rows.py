"""What a benchmark answers: measured against allowed, as one row of the table."""

from dataclasses import dataclass


@dataclass(frozen=True)
class BenchRow:
    """One budget: the measured figure may not be more than the allowed one."""

    name: str
    measured: float
    allowed: float
    unit: str = "times"
    note: str = ""

    @property
    def kept(self) -> bool:
        return self.measured <= self.allowed

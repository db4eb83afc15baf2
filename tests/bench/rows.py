"""What a benchmark answers: measured against allowed, as one row of the table."""

import time
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class BenchRow:
    """One budget: the measured figure may not be more than the allowed one.

    ``measured`` is None where nothing could be measured; then ``note`` says why, and the budget
    counts as missed.
    """

    name: str
    measured: float | None
    allowed: float
    unit: str = "times"
    note: str = ""

    @property
    def kept(self) -> bool:
        return self.measured is not None and self.measured <= self.allowed


def least_cpu_s(*works: Callable[[], object], rounds: int = 5) -> list[float]:
    """CPU seconds of the quickest round of each work, the works by turns.

    Noise only adds, and what slows the machine for a while slows both sides of a ratio.
    """
    least = [float("inf")] * len(works)
    for _ in range(rounds):
        for number, work in enumerate(works):
            begun = time.process_time()
            work()
            least[number] = min(least[number], time.process_time() - begun)
    return least

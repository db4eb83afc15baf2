"""Means over time and over metres, of values that come unevenly and sometimes not at all."""

import math
from collections import deque


class TimeMean:
    """Mean of what came in the last ``window_s`` seconds; None when nothing did."""

    MOST = 256  # 20 Hz over the longest window used, with room
    AFRESH = 512  # sums are made anew so often: what rounding leaves behind never adds up

    __slots__ = ("_added", "_samples", "_sum", "_window_s")

    def __init__(self, window_s: float) -> None:
        self._window_s = window_s
        self._samples: deque[tuple[float, float]] = deque()
        self._sum = 0.0
        self._added = 0

    def add(self, value: float, at: float) -> None:
        """Take one value (finite) at a time not before the last."""
        samples = self._samples
        samples.append((at, value))
        self._sum += value
        if len(samples) > self.MOST:
            self._sum -= samples.popleft()[1]
        self._added += 1
        if self._added >= self.AFRESH:
            self._added = 0
            self._sum = math.fsum(value for _, value in samples)

    def clear(self) -> None:
        """Forget everything: what comes next has nothing to do with what was."""
        self._samples.clear()
        self._sum = 0.0

    def mean(self, now: float) -> float | None:
        """The mean at ``now``."""
        samples, oldest = self._samples, now - self._window_s + 1e-6
        while samples and samples[0][0] < oldest:
            self._sum -= samples.popleft()[1]
        if not samples:
            self._sum = 0.0
            return None
        return self._sum / len(samples)

    def highest(self) -> float | None:
        """The highest value that the window still held when ``mean`` was last asked for."""
        return max((value for _, value in self._samples), default=None)


class MetreMean:
    """Mean of a value over the last ``window_m`` metres driven, in cells of a fifteenth of it."""

    CELLS = 15

    def __init__(self, window_m: float) -> None:
        self._cell_m = window_m / self.CELLS
        self._cells: deque[float] = deque(maxlen=self.CELLS)
        self._sum = 0.0
        self._metres = 0.0
        self._mean: float | None = None

    def add(self, value: float, step_m: float) -> None:
        """Weigh a value by the metres it held for."""
        self._sum += value * step_m
        self._metres += step_m
        if self._metres >= self._cell_m:
            self._cells.append(self._sum / self._metres)
            self._sum = self._metres = 0.0
            if len(self._cells) == self.CELLS:
                self._mean = math.fsum(self._cells) / self.CELLS

    def clear(self) -> None:
        """Begin anew, as after the tool was set differently."""
        self._cells.clear()
        self._sum = self._metres = 0.0
        self._mean = None

    @property
    def mean(self) -> float | None:
        """The mean, None until the whole way has been driven once."""
        return self._mean

"""The note line, and alerts fired on the bench: what passes by itself after some seconds."""

from collections import deque

from cabapp.outcome import BandView

PASSING_S = 5.0
BENCH_S = 6.0


class Notes:
    """Passing notes stand before the standing ones; a bench alert stands in the band."""

    def __init__(self) -> None:
        self._passing: deque[tuple[float, str]] = deque(maxlen=8)
        self._bench: tuple[float, BandView] | None = None

    def passing(self, words: str, at: float) -> None:
        """Say something for a few seconds."""
        self._passing.append((at + PASSING_S, words))

    def line(self, standing: list[str], at: float) -> str:
        """The one note that is shown."""
        while self._passing and self._passing[0][0] <= at:
            self._passing.popleft()
        if self._passing:
            return self._passing[-1][1]
        return standing[0] if standing else ""

    def fire(self, view: BandView, at: float) -> None:
        """Show an alert that nothing has raised."""
        self._bench = at + BENCH_S, view

    def quiet_bench(self) -> bool:
        """End the bench alert; True if there was one."""
        was, self._bench = self._bench is not None, None
        return was

    def bench(self, at: float) -> BandView | None:
        """The bench alert while it lasts."""
        if self._bench is not None and at >= self._bench[0]:
            self._bench = None
        return None if self._bench is None else self._bench[1]

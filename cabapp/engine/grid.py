"""The engine's time: one clock, ticks on a fixed grid, and events in the order of their time."""

import math
import time
from dataclasses import dataclass, replace

from cabapp.events import TICK_S, Bytes, Event, Tick

CATCH_UP_S = 1.0  # ticks missed for longer are left out: nobody can be told then any more


@dataclass(frozen=True)
class Clock:
    """Monotonic seconds, run faster for a demo. The same in every process of the machine."""

    speed: float = 1.0

    def now(self) -> float:
        """Seconds on this clock."""
        return time.monotonic() * self.speed

    def real_now(self) -> float:
        """Seconds on the machine's own clock, by which processes judge one another."""
        return time.monotonic()

    def real_s(self, span_s: float) -> float:
        """How long a span of this clock takes on the wall."""
        return max(0.0, span_s) / self.speed


class Feed:
    """Puts the ticks of the grid before each event and keeps time from running back. Pure."""

    def __init__(self, now: float) -> None:
        self._next = math.ceil(now / TICK_S)
        self._last = now

    @property
    def next_tick(self) -> float:
        """When the next tick is due."""
        return round(self._next * TICK_S, 3)

    def ticks(self, now: float) -> list[Event]:
        """The ticks due by ``now``, oldest first."""
        first = max(self._next, math.ceil((now - CATCH_UP_S) / TICK_S))
        found: list[Event] = []
        while (at := round(first * TICK_S, 3)) <= now:
            found.append(Tick(at))
            first += 1
        if found:
            self._next = first
            self._last = max(self._last, found[-1].now)
        return found

    def before(self, event: Event) -> list[Event]:
        """The ticks due before an event, then the event, never earlier than the one before it."""
        found = self.ticks(event.now)
        self._last = max(self._last, event.now)
        return [*found, event if event.now == self._last else _at(event, self._last)]


def _at(event: Event, now: float) -> Event:
    """The same event at another time."""
    if isinstance(event, Bytes | Tick):  # these come by the thousand, and are plain tuples
        return event._replace(now=now)
    return replace(event, now=now)

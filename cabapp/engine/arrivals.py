"""The one queue into the engine's loop: everything that happens, in the order it happened."""

import threading
from collections import deque

from cabapp.events import Bytes, Event

# A stalled loop of 60 s with two wires at 460800 baud is 5.5 MB; more than that is stale anyway.
MOST_EVENTS = 8192
MOST_BYTES = 4 << 20


class Arrivals:
    """Bounded; ``put`` never blocks. When full the oldest bytes are dropped, and nothing else is.

    Taps, port states and plans are few and are never dropped; bytes of a wire are worth less the
    older they are, and the splitter resyncs. ``dropped_bytes`` counts what was lost.
    """

    def __init__(self, most_events: int = MOST_EVENTS, most_bytes: int = MOST_BYTES) -> None:
        self._most_events, self._most_bytes = most_events, most_bytes
        self._waiting: deque[Event] = deque()
        self._bytes = 0
        self._changed = threading.Condition()
        self.dropped_bytes = 0

    def put(self, event: Event) -> None:
        """Add an event; callable from any thread."""
        with self._changed:
            self._waiting.append(event)
            if isinstance(event, Bytes):
                self._bytes += len(event.data)
            while len(self._waiting) > self._most_events or self._bytes > self._most_bytes:
                if not self._drop_oldest_bytes():
                    break
            self._changed.notify()

    def take(self, within_s: float) -> list[Event]:
        """Everything that waits, in order; waits up to ``within_s`` for the first."""
        with self._changed:
            if not self._waiting:
                self._changed.wait(within_s)
            events = list(self._waiting)
            self._waiting.clear()
            self._bytes = 0
            return events

    def _drop_oldest_bytes(self) -> bool:
        for place, event in enumerate(self._waiting):
            if isinstance(event, Bytes):
                del self._waiting[place]
                self._bytes -= len(event.data)
                self.dropped_bytes += len(event.data)
                return True
        return False

"""What the installer's pages show of the wires: how each port is, what it sends and how often.

Port conditions are always kept; bytes are only read here while such a page is open. Pure.
"""

from collections import Counter, deque
from dataclasses import dataclass, field

from cabapp.engine.odometer import Odometer
from cabapp.engine.wire import PortLine, Ports, Receiving, Samples
from cabapp.events import Bytes, Event, PortCondition, PortState
from cabapp.hear.gnss import Gnss
from cabapp.hear.lines import Lines
from cabapp.hear.transducers import read_samples
from cabapp.readings import Fix, Quality, Sample

WINDOW_S = 3.0
MOST_SAMPLES = 500
MAKERS_OWN = "own"


@dataclass
class _Heard:
    condition: PortCondition = PortCondition.SEARCHING
    detail: str = ""
    lines: Lines = field(default_factory=Lines)
    recent: deque[tuple[float, str]] = field(default_factory=lambda: deque(maxlen=1000))
    heard_at: float | None = None


class Listening:
    """All ports of the rig. ``open`` is whether a page wants to know what the bytes say."""

    def __init__(self) -> None:
        self.open = False
        self._ports: dict[str, _Heard] = {}
        self._samples: deque[Sample] = deque(maxlen=MOST_SAMPLES)
        self._gnss: dict[str, Gnss] = {}
        self._fix: Fix | None = None

    def hear(self, event: Event) -> bool:
        """Take an event; True if a port's condition changed."""
        if isinstance(event, PortState):
            port = self._ports.setdefault(event.port, _Heard())
            port.condition, port.detail = event.condition, event.detail
            return True
        if isinstance(event, Bytes) and self.open:
            self._read(event)
        return False

    def _read(self, event: Bytes) -> None:
        port = self._ports.setdefault(event.port, _Heard())
        for line in port.lines.feed(event.data, event.now):
            port.heard_at = event.now
            port.recent.append((event.now, line.kind or MAKERS_OWN))
            if line.kind == "XDR":
                self._samples.extend(read_samples(event.port, line))
            elif fixes := self._gnss.setdefault(event.port, Gnss()).hear(line):
                self._fix = fixes[-1]

    def ports(self, now: float) -> Ports:
        """How every port is at ``now``."""
        return Ports(tuple(_line(name, port, now) for name, port in sorted(self._ports.items())))

    def receiving(self, driven: Odometer, since: float) -> Receiving | None:
        """The newest epoch with what was driven since the engine began; None before the first."""
        fix = self._fix
        if fix is None:
            return None
        return Receiving(
            fix.kind,
            fix.speed_mps if fix.speed_quality is Quality.GOOD else None,
            fix.speed_quality,
            fix.satellites,
            fix.hdop,
            fix.at,
            driven.metres,
            driven.lost_s,
            since,
        )

    def samples(self) -> Samples:
        """What came since it was last asked for, the newest MOST_SAMPLES of it."""
        found = Samples(tuple(self._samples))
        self._samples.clear()
        return found


def _line(name: str, port: _Heard, now: float) -> PortLine:
    counts = Counter(kind for at, kind in port.recent if now - at < WINDOW_S)
    rate_hz = max(counts.values(), default=0) / WINDOW_S
    silent_s = None if port.heard_at is None else max(0.0, now - port.heard_at)
    return PortLine(name, port.condition, port.detail, tuple(sorted(counts)), rate_hz, silent_s)

"""What the wires said lately, a value a wire name: newest, least and most, and how often."""

import math
from collections import deque
from dataclasses import dataclass, field

from cabapp.readings import Sample

RATE_WINDOW_S = 5.0
NOW_S = 1.5  # heard within this long is "now"
MOST_NAMES = 200  # a wire that invents names without end cannot fill the memory


@dataclass(frozen=True)
class Heard:
    """One wire name: its newest value (None for an empty field), bounds since reset, and rate."""

    port: str
    name: str
    kind: str
    unit: str
    value: float | None
    least: float | None
    most: float | None
    at: float
    per_second: float

    def silent_s(self, now: float) -> float:
        return now - self.at


@dataclass
class _Track:
    sample: Sample
    least: float | None = None
    most: float | None = None
    times: deque[float] = field(default_factory=deque)


class Ears:
    """Keeps the newest of each wire name; least and most run since ``reset``."""

    def __init__(self) -> None:
        self._tracks: dict[tuple[str, str], _Track] = {}

    def hear(self, sample: Sample) -> None:
        """One sample; beyond MOST_NAMES new names are passed over."""
        key = (sample.port, sample.name)
        track = self._tracks.get(key)
        if track is None:
            if len(self._tracks) >= MOST_NAMES:
                return
            track = self._tracks[key] = _Track(sample)
        track.sample = sample
        track.times.append(sample.at)
        while track.times[0] < sample.at - RATE_WINDOW_S:
            track.times.popleft()
        value = sample.value
        if value is not None and math.isfinite(value):
            track.least = value if track.least is None else min(track.least, value)
            track.most = value if track.most is None else max(track.most, value)

    def reset(self) -> None:
        """Least and most begin anew at the next sample."""
        for track in self._tracks.values():
            track.least = track.most = None

    def all(self, port: str = "") -> tuple[Heard, ...]:
        """Everything heard, of one port or of all, in the order first heard."""
        return tuple(_heard(track) for (at, _), track in self._tracks.items() if port in ("", at))

    def of(self, port: str, name: str) -> Heard | None:
        track = self._tracks.get((port, name))
        return None if track is None else _heard(track)


def _heard(track: _Track) -> Heard:
    sample, times = track.sample, track.times
    span = times[-1] - times[0]
    rate = (len(times) - 1) / span if len(times) > 1 and span > 0 else 0.0
    value = sample.value if sample.value is not None and math.isfinite(sample.value) else None
    return Heard(
        sample.port,
        sample.name,
        sample.kind,
        sample.unit,
        value,
        track.least,
        track.most,
        sample.at,
        rate,
    )


def how_often(per_second: float) -> str:
    """``10 a second``, ``1 each 5 s``, "" while not known."""
    if per_second <= 0:
        return ""
    if per_second >= 0.75:
        return f"{per_second:.0f} a second"
    return f"1 each {1 / per_second:.0f} s"


def heard_when(silent_s: float) -> str:
    """``now`` or ``40 s ago``, then minutes."""
    if silent_s <= NOW_S:
        return "now"
    return f"{silent_s:.0f} s ago" if silent_s < 120 else f"{silent_s / 60:.0f} min ago"

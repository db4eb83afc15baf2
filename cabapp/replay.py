"""Recorded bytes through the cab as fast as possible: what it heard, judged and would have said.

Pure: takes events and yields plain dicts. The times of a log of sentences come from the sentences
themselves (hear/replay_clock); a capture brings its own events.
"""

from collections.abc import Callable, Iterable, Iterator

from cabapp.cab import Cab
from cabapp.cab.later import later
from cabapp.codec import to_plain
from cabapp.events import TICK_S, Bytes, Event, Tick
from cabapp.hear.replay_clock import DEFAULT_BAUD, timed_chunks
from cabapp.outcome import Moment, Outcome
from cabapp.readings import Fix, Reading


def log_events(blocks: Iterable[bytes], port: str, baud: int = DEFAULT_BAUD) -> Iterator[Event]:
    """The bytes of one receiver's log as events, with a tick on every 0.1 s of the grid."""
    ticks = 0
    for data, at in timed_chunks(blocks, baud):
        while ticks * TICK_S < at:
            yield Tick(round(ticks * TICK_S, 3))
            ticks += 1
        yield Bytes(at, port, data)
    yield Tick(round(ticks * TICK_S, 3))


def told(
    cab: Cab,
    events: Iterable[Event],
    readings: bool = False,
    keep: Callable[[Outcome], None] | None = None,
    offset_s: float = 0.0,
) -> Iterator[dict[str, object]]:
    """One dict for each epoch and moment in order; with ``readings`` also each channel at a tick.

    ``keep`` is handed every outcome as well, for a run file made on the way. ``offset_s`` is what
    the cab's times are short of the shift's: a capture says so in its head.
    """
    for event in events:
        outcome = later(cab.step(event), offset_s)
        if keep is not None:
            keep(outcome)
        for fix in cab.take_epochs():
            yield epoch_line(fix, cab.phase.value)
        for moment in outcome.moments:
            yield moment_line(moment)
        if readings and isinstance(event, Tick):
            for reading in cab.readings(event.now):
                yield reading_line(reading, event.now)
    for fix in cab.ears.lost():  # the log's last epoch has no next one to close it
        yield epoch_line(fix, cab.phase.value)


def epoch_line(fix: Fix, phase: str) -> dict[str, object]:
    """What one epoch of the receiver said, the raw speed included where it is not believed."""
    return {
        "kind": "epoch",
        "utc": _utc(fix),
        "lat_deg": fix.lat_deg,
        "lon_deg": fix.lon_deg,
        "speed_mps": fix.speed_mps,
        "speed_quality": fix.speed_quality.value,
        "course_deg": fix.course_deg,
        "phase": phase,
    }


def moment_line(moment: Moment) -> dict[str, object]:
    """A moment, every field of it, with its kind first."""
    return {"kind": "moment", **to_plain(moment)}


def reading_line(reading: Reading, now: float) -> dict[str, object]:
    """One channel at one tick."""
    return {
        "kind": "reading",
        "t_s": now,
        "channel": reading.channel,
        "value": reading.value,
        "quality": reading.quality.value,
        "cause": reading.cause,
    }


def _utc(fix: Fix) -> str | None:
    if fix.utc is None:
        return None
    return fix.utc.isoformat(timespec="milliseconds").replace("+00:00", "Z")

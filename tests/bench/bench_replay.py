"""A 14-hour shift through ``replay``, and whether hour 14 costs what hour 1 did."""

import json
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from statistics import median

from cabapp.cab import Cab
from cabapp.events import TICK_S, Bytes, Event, Tick
from cabapp.paths import shipped
from cabapp.plan import default_plan
from cabapp.record.capture import CaptureFile, CaptureHead
from cabapp.record.makerun import HurriedDisk
from cabapp.replay import told
from cabapp.rigcheck import read_rig
from cabapp.sources import sources
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PortEvent, World
from tests.bench.rows import BenchRow

SHIFT_S = 14 * 3600.0
PIECE_S = 300.0  # an hour is judged by the median of its pieces: a stop or a hiccup is one of them
PIECES = 12


def rows() -> Iterator[BenchRow]:
    """14 h at 10 Hz GNSS and 10 Hz sensors as the command plays them, from the capture to lines of
    JSON; the making of the capture is not counted."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "day.cap"
        make_capture(path)
        stamps = played(path)
    spent = [end - begun for begun, end in pairwise(stamps)]
    hours = len(spent) * PIECE_S / 3600.0
    total = (stamps[-1] - stamps[0]) * SHIFT_S / 3600.0 / hours
    first, last = median(spent[:PIECES]), median(spent[-PIECES:])
    yield BenchRow("replay of a 14-hour shift", total, 120.0, "s of CPU", f"{hours:.1f} h played")
    yield BenchRow("CPU of the last hour against the first", last / first, 1.10, "times")


def make_capture(path: Path) -> None:
    """The long day on every wire of the full rig, as an engine would have kept it."""
    rig = read_rig(shipped("config", "rig-us-full.toml").read_text(encoding="utf-8"))
    day = SCENARIOS["ordinary_day"]
    world = World(replace(day, receiver=replace(day.receiver, hz=10)), rig)
    capture = CaptureFile(path, CaptureHead(rig, default_plan(rig)), HurriedDisk())
    ticks = 0
    for chunk in world.chunks():
        while ticks * TICK_S < chunk.t_s:
            capture.add(Tick(round(ticks * TICK_S, 3)))
            ticks += 1
            if ticks % 10 == 0:
                capture.flush()
        if chunk.event is PortEvent.BYTES:
            capture.add(Bytes(chunk.t_s, chunk.port, chunk.data))
    capture.end()


def played(path: Path) -> list[float]:
    """CPU seconds used so far, at the begin and at the end of each whole piece of the shift."""
    (source,) = sources([path], None, 9600)
    stamps = [time.process_time()]

    def stamped(events: Iterable[Event]) -> Iterator[Event]:
        for event in events:
            if event.now >= len(stamps) * PIECE_S:
                stamps.append(time.process_time())
            yield event

    cab = Cab(source.rig, source.plan, snapshots=False)
    for line in told(cab, stamped(source.events)):
        json.dumps(line, allow_nan=False)
    return stamps

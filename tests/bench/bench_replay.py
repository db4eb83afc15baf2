"""A 14-hour shift through ``replay``, and whether hour 14 costs what hour 1 did."""

import json
import tempfile
import time
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import islice, takewhile
from pathlib import Path

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
HOUR_13_S = 13 * 3600.0
TURN = 900  # events that the two cabs take by turns: half a minute


def rows() -> Iterator[BenchRow]:
    """14 h at 10 Hz GNSS and 10 Hz sensors as the command plays them, from the capture to lines of
    JSON; the making of the capture is not counted. The 14th hour is then heard by the cab that has
    worked all day and by a fresh one, by turns: the same minutes on a machine in the same mood."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "day.cap"
        make_capture(path)
        (source,) = sources([path], None, 9600)
        events = iter(source.events)
        cab = Cab(source.rig, source.plan, snapshots=False)
        spent_s = played(cab, takewhile(lambda event: event.now < HOUR_13_S, events))
        fresh = Cab(source.rig, source.plan, snapshots=False)
        old_s, fresh_s = by_turns(cab, fresh, events)
    total = spent_s * SHIFT_S / HOUR_13_S
    yield BenchRow("replay of a 14-hour shift", total, 120.0, "s of CPU", "13 h played")
    note = f"{old_s:.1f} and {fresh_s:.1f} s, by turns"
    yield BenchRow("CPU of hour 14 against a first hour", old_s / fresh_s, 1.10, "times", note)


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


def played(cab: Cab, events: Iterable[Event]) -> float:
    """CPU seconds that the command's own way takes."""
    begun = time.process_time()
    for line in told(cab, events):
        json.dumps(line, allow_nan=False)
    return time.process_time() - begun


def by_turns(old: Cab, fresh: Cab, events: Iterator[Event]) -> tuple[float, float]:
    """CPU seconds of each cab on the same events, whoever is first by turns."""
    spent = {old: 0.0, fresh: 0.0}
    order = [old, fresh]
    while some := list(islice(events, TURN)):
        for cab in order:
            begun = time.process_time()
            for event in some:
                cab.step(event)
            spent[cab] += time.process_time() - begun
            cab.take_epochs()
        order.reverse()
    return spent[old], spent[fresh]

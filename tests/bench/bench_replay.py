"""A 14-hour shift through the pure centre, and whether hour 14 costs what hour 1 did."""

import time
from dataclasses import replace
from pathlib import Path

from cabapp.cab import Cab
from cabapp.events import TICK_S, Bytes, Tick
from cabapp.plan import default_plan
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PortEvent, World
from tests.bench.rows import BenchRow

RIG = Path(__file__).parent.parent.parent / "config" / "rig-us-full.toml"
SHIFT_S = 14 * 3600.0
HOUR_S = 3600.0


def rows() -> list[BenchRow]:
    """Replay of 14 h at 10 Hz GNSS and 10 Hz sensors; the making of the bytes is not counted."""
    spent = _hours()
    total = sum(spent) * SHIFT_S / (len(spent) * HOUR_S)
    return [
        BenchRow("replay of a 14-hour shift", total, 120.0, "s", f"{len(spent)} h played"),
        BenchRow("CPU of the last hour against the first", spent[-1] / spent[0], 1.10, "times"),
    ]


def _hours() -> list[float]:
    """CPU seconds each full hour of the long day took."""
    rig = read_rig(RIG.read_text())
    day = SCENARIOS["ordinary_day"]
    world = World(replace(day, receiver=replace(day.receiver, hz=10)), rig)
    cab = Cab(rig, default_plan(rig), snapshots=False)
    spent: list[float] = []
    ticks, hour_cpu, hour_ends = 0, 0.0, HOUR_S
    for chunk in world.chunks():
        begun = time.process_time()
        while ticks * TICK_S < chunk.t_s:
            cab.step(Tick(round(ticks * TICK_S, 3)))
            ticks += 1
        if chunk.event is PortEvent.BYTES:
            cab.step(Bytes(chunk.t_s, chunk.port, chunk.data))
        hour_cpu += time.process_time() - begun
        if chunk.t_s >= hour_ends:
            spent.append(hour_cpu)
            hour_cpu, hour_ends = 0.0, hour_ends + HOUR_S
    return spent

"""Bytes to judged readings against a general sentence parser on the same lines."""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import reduce
from operator import xor
from pathlib import Path

import pynmea2

from cabapp.cab import Cab
from cabapp.events import TICK_S, Bytes, Event, Tick
from cabapp.plan import default_plan
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PortEvent, World
from tests.bench.rows import BenchRow, least_cpu_s

RIG = Path(__file__).parent.parent.parent / "config" / "rig-us-full.toml"
SECONDS = 120.0
# Satellites in view, 22 sentences an epoch: as many as the capture static-dual-frequency has.
VIEWS = [
    b"GPGSV,%d,%d,88,01,40,083,46,02,17,308,41,12,07,344,39,14,22,228,45" % (22, n)
    for n in range(1, 23)
]
FLOOD = b"".join(b"$%s*%02X\r\n" % (view, reduce(xor, view)) for view in VIEWS)


def rows() -> Iterator[BenchRow]:
    """Lines to outcome at 10 Hz with the full rule table, plain and with a flood of GSV."""
    yield _row("bytes to outcome, 10 Hz RMC+GGA+VTG and XDR", 3.0, b"")
    yield _row("the same with a flood of GSV", 1.2, FLOOD)


def _row(name: str, allowed: float, flood: bytes) -> BenchRow:
    rig = read_rig(RIG.read_text())
    plain = SCENARIOS["plain_passes"]
    world = World(replace(plain, receiver=replace(plain.receiver, hz=10)), rig)
    events = list(_events(world, flood))
    lines = [
        line.decode("ascii", "replace")
        for event in events
        if isinstance(event, Bytes)
        for line in event.data.splitlines()
    ]
    ours, theirs = least_cpu_s(
        lambda: _play(Cab(rig, default_plan(rig), snapshots=False), events),
        lambda: _parse(lines),
        rounds=25,
    )
    return BenchRow(
        name, ours / theirs, allowed, "times", f"{1e6 * ours / len(lines):.1f} us a line"
    )


def _events(world: World, flood: bytes) -> Iterable[Event]:
    ticks = 0
    for chunk in world.chunks():
        if chunk.t_s > SECONDS:
            return
        while ticks * TICK_S < chunk.t_s:
            yield Tick(round(ticks * TICK_S, 3))
            ticks += 1
        if chunk.event is PortEvent.BYTES:
            extra = flood if chunk.port == world.rig.receiver.port else b""
            yield Bytes(chunk.t_s, chunk.port, chunk.data + extra)


def _play(cab: Cab, events: Iterable[Event]) -> None:
    for event in events:
        cab.step(event)


def _parse(lines: list[str]) -> None:
    """What a reader of six fields has to do with the general parser."""
    for line in lines:
        said = pynmea2.parse(line, check=True)
        if said.sentence_type == "RMC":
            _ = (said.status, said.latitude, said.longitude, said.spd_over_grnd, said.true_course,
                 said.datetime)  # fmt: skip
        elif said.sentence_type == "GGA":
            _ = (said.gps_qual, said.latitude, said.longitude, said.num_sats, said.horizontal_dil,
                 said.timestamp)  # fmt: skip
        elif said.sentence_type == "VTG":
            _ = (said.true_track, said.spd_over_grnd_kts, said.spd_over_grnd_kmph)
        elif said.sentence_type == "XDR":
            _ = [said.get_transducer(n) for n in range(said.num_transducers)]

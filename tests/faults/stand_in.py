"""A cab that judges one thing, so that tests of the processes rest on nothing but the processes.

It reads speed from RMC sentences, answers each tick with a snapshot and each second with a row, and
sounds the act pattern at the next tick after a speed over 20 kn and each 2.5 s while it lasts.
"""

import json
import time
from pathlib import Path

from cabapp.engine.devices import Device
from cabapp.engine.grid import Clock
from cabapp.engine.home import Home
from cabapp.engine.loop import Loop
from cabapp.engine.ports import Ports, Tools
from cabapp.engine.process import Fitted
from cabapp.events import Bytes, Event, Health, HealthKind, Tap, Tick
from cabapp.outcome import (
    BandView,
    DepthView,
    FieldView,
    Outcome,
    Pattern,
    Quieting,
    Row,
    Snapshot,
    Sound,
    SpeedView,
    SpringsView,
    TileState,
)
from cabapp.rig import Port
from cabapp.units import KNOT_MPS, UnitSystem
from cabapp.words import Phase

OVER_KN = 20.0
FRESH_S = 1.5


def snapshot(
    number: int, at: float, speed_mps: float | None, sound: Quieting, over: bool
) -> Snapshot:
    """A snapshot with a speed, an alert or none, and whether sound comes out."""
    state = TileState.NO_READING if speed_mps is None else TileState.FREE
    band = BandView(
        None,
        "STOP" if over else "WORKING",
        "",
        "",
        quieting=sound,
    )
    return Snapshot(
        number, at, UnitSystem.METRIC, False, Phase.WORKING, True, False, False, False, band,
        SpeedView(state, speed_mps), DepthView(TileState.NOT_LIVE), SpringsView(TileState.NOT_LIVE),
        FieldView(0.0),
    )  # fmt: skip


class SpeedJudge:
    """Judges speed alone."""

    def __init__(self) -> None:
        self._rest = b""
        self._speed_mps: float | None = None
        self._heard_at = float("-inf")
        self._second: int | None = None
        self._number = self._sounds = 0
        self._sounded_at = float("-inf")
        self._sound = Quieting.UNKNOWN

    def step(self, event: Event) -> Outcome:
        """The answer to one event."""
        if isinstance(event, Bytes):
            self._hear(event)
        elif isinstance(event, Health) and event.kind is HealthKind.SOUND:
            self._sound = Quieting.SOUND_ON if event.well else Quieting.NO_SOUND
        elif isinstance(event, Tick):
            return self._tick(event.now)
        return Outcome()

    def _hear(self, event: Bytes) -> None:
        *lines, self._rest = (self._rest + event.data).split(b"\n")
        for line in lines:
            if line.startswith(b"$GPRMC,") and line.count(b",") >= 11:
                self._speed_mps = float(line.split(b",")[7]) * KNOT_MPS
                self._heard_at = event.now

    def _tick(self, now: float) -> Outcome:
        speed = self._speed_mps if now - self._heard_at < FRESH_S else None
        over = speed is not None and speed > OVER_KN * KNOT_MPS
        sounds = ()
        if not over:
            self._sounded_at = float("-inf")  # the next time over is a new one
        elif now - self._sounded_at >= 2.5:
            self._sounds += 1
            self._sounded_at = now
            sounds = (Sound(self._sounds, Pattern.ACT, False, "over", now),)
        self._number += 1
        rows = ()
        if self._second != int(now):
            self._second = int(now)
            rows = (Row(now, "", None, None, {"speed_mps": speed}),)
        shown = snapshot(self._number, now, speed, self._sound, over)
        return Outcome(shown, sounds, (), rows)


class LineRecord:
    """Appends rows and events of people and health to a file, one JSON object a line."""

    def __init__(self, file: Path) -> None:
        self._file = file.open("a", buffering=1)

    def event(self, event: Event) -> None:
        """Keep taps and health."""
        if isinstance(event, Tap):
            self._write({"tap": event.kind.value, "value": event.value})
        elif isinstance(event, Health):
            self._write({"health": event.kind.value, "well": event.well})

    def put(self, outcome: Outcome) -> None:
        """Keep rows."""
        for row in outcome.rows:
            self._write({"row": row.t_s, **row.values})

    def health(self) -> Health | None:
        """Always well."""
        return None

    def _write(self, entry: dict[str, object]) -> None:
        self._file.write(json.dumps({"at": time.monotonic(), **entry}) + "\n")


def fit(home: Home, clock: Clock, loop: Loop) -> Fitted:
    """An engine around the speed judge, with one receiver at ``gnss`` and one node at ``node``."""
    ports = (
        Port("gnss", str(home.root / "gnss"), "receiver", 38400),
        Port("node", str(home.root / "node"), "node", 38400),
    )
    found = Ports(ports, Tools(clock.now, loop.post, find=lambda: list[Device]()))
    return Fitted(SpeedJudge(), LineRecord(home.root / "record.jsonl"), found.start, found.stop)

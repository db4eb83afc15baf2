"""The engine process: ports, the cab and the record put together and run until told to end."""

import logging
import signal
from collections.abc import Callable
from dataclasses import dataclass

from cabapp.engine.grid import Clock
from cabapp.engine.home import Home, hold
from cabapp.engine.loop import Engine, Judge, Loop, Record
from cabapp.engine.pipes import Inbox, Outbox, Wires
from cabapp.engine.service import begin
from cabapp.engine.wire import Part

PREDECESSOR_S = 3.0  # what an engine that was left alone gets to close its file

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Fitted:
    """What one engine is made of."""

    judge: Judge
    record: Record
    open_ports: Callable[[], None]
    close: Callable[[], None]


def run(wires: Wires, fit: Callable[[Home, Clock, Loop], Fitted]) -> int:
    """Run an engine until SIGTERM, a written rig or another keeper; 1 if one runs already."""
    listener = begin(wires.home, "engine")
    if hold(wires.home / "engine.lock", PREDECESSOR_S) is None:
        log.error("%s: another engine holds this folder; end it first", wires.home)
        listener.stop()
        return 1
    clock = Clock(wires.speed)
    screen, speaker, keeper = (
        Outbox(wires.ends[part][1]) for part in (Part.SCREEN, Part.SPEAKER, Part.KEEPER)
    )
    loop = Loop(clock, screen.put, speaker.put, keeper.put, wires.replaced)
    fitted = fit(Home(wires.home), clock, loop)
    signal.signal(signal.SIGTERM, lambda number, frame: loop.end())
    Inbox(wires.ends[Part.SCREEN][0], loop.from_screen)
    Inbox(wires.ends[Part.SPEAKER][0], loop.from_speaker)
    fitted.open_ports()
    loop.run(Engine(fitted.judge, fitted.record, screen.put, speaker.put))
    fitted.close()
    listener.stop()
    return 0

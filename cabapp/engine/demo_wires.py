"""The demo's wires: an invented world played into pseudo-terminals, so real ports are opened.

A cable pulled is the far end closed, which gives a reader the very errors a USB plug gives. It
comes back as another terminal behind the same link, as a plug does under its by-id name.
"""

import os
import select
import threading
import time
import tty
from collections import deque
from collections.abc import Iterable
from pathlib import Path

from cabapp.world.world import Chunk, PortEvent

QUEUE_BYTES = 65_536  # what a wire holds for a reader that is slow; older bytes are lost, as on one
NAP_S = 0.05  # longest sleep, so that stop() is prompt


class Wire:
    """One stand-in for a serial cable: a link that leads to a pseudo-terminal while plugged in."""

    def __init__(self, link: Path) -> None:
        self.link = link
        self._near = self._far = -1
        self._waiting: deque[bytes] = deque()
        self.lost = 0
        self.plug()

    def plug(self) -> None:
        """Open a new terminal and let the link lead to it."""
        self._near, self._far = os.openpty()
        tty.setraw(self._far)
        os.set_blocking(self._near, False)
        self._waiting.clear()
        spare = self.link.with_suffix(".new")
        spare.unlink(missing_ok=True)
        spare.symlink_to(os.ttyname(self._far))
        spare.replace(self.link)

    def pull(self) -> None:
        """Close both ends: whoever reads gets the errors of a vanished device."""
        self.link.unlink(missing_ok=True)
        for end in (self._near, self._far):
            if end >= 0:
                os.close(end)
        self._near = self._far = -1

    def send(self, data: bytes) -> None:
        """Write what the terminal takes now and keep the rest; lose the oldest when too much."""
        if self._near < 0:
            return
        self._waiting.append(data)
        while sum(map(len, self._waiting)) > QUEUE_BYTES:
            self.lost += len(self._waiting.popleft())
        self.flush()

    def flush(self) -> None:
        """Hand on what waits; never blocks."""
        while self._waiting and self._near >= 0:
            if not select.select([], [self._near], [], 0)[1]:
                return
            data = self._waiting.popleft()
            done = os.write(self._near, data)
            if done < len(data):
                self._waiting.appendleft(data[done:])
                return


class DemoWires:
    """Plays chunks into wires at ``pace`` times real time, in a thread of its own.

    Links are made in ``folder``, one a port and named after it; ``devices`` gives them by port.
    """

    def __init__(
        self, chunks: Iterable[Chunk], ports: Iterable[str], folder: Path, pace: float = 1.0
    ) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._wires = {port: Wire(folder / port) for port in ports}
        self._chunks, self._pace = chunks, pace
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._play, name="demo-wires", daemon=True)
        self.played_s = 0.0

    @property
    def devices(self) -> dict[str, str]:
        """Path of each port's link: a name that stays when the terminal behind it changes."""
        return {port: str(wire.link) for port, wire in self._wires.items()}

    def start(self) -> None:
        """Begin to play; returns at once."""
        self._thread.start()

    def stop(self) -> None:
        """End the play and pull all cables."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join()
        for wire in self._wires.values():
            wire.pull()

    @property
    def done(self) -> bool:
        """True when the last chunk has been played."""
        return not self._thread.is_alive()

    def _play(self) -> None:
        begun = time.monotonic()
        for chunk in self._chunks:
            if not self._wait_until(begun + chunk.t_s / self._pace):
                return
            self.played_s = chunk.t_s
            wire = self._wires[chunk.port]
            if chunk.event is PortEvent.PULLED:
                wire.pull()
            elif chunk.event is PortEvent.BACK:
                wire.plug()
            else:
                wire.send(chunk.data)

    def _wait_until(self, moment: float) -> bool:
        """Sleep in naps, handing on what waits; False when told to stop."""
        while not self._stop.is_set():
            left = moment - time.monotonic()
            if left <= 0:
                return True
            for wire in self._wires.values():
                wire.flush()
            self._stop.wait(min(left, NAP_S))
        return False

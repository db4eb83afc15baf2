"""The speaker process: sounds what the engine says, and by itself when the engine falls silent.

Only a new process finds an output that was plugged in later, so a speaker without one says so for
LOOK_AGAIN_S and ends; the keeper starts the next.
"""

import logging
import sys
import threading
import time
from collections import deque
from pathlib import Path

from cabapp.engine.home import Home
from cabapp.engine.pipes import Links, wires_of
from cabapp.engine.service import begin
from cabapp.engine.wire import BEAT_S, Loudness, Part, Received, Voice
from cabapp.outcome import Pattern, Sound
from cabapp.paths import shipped
from cabapp.sound.loudness import keep_loudness, read_loudness, usable
from cabapp.sound.player import Player
from cabapp.sound.standby import STALE_S, Standby

STEP_S = 0.02
LOOK_AGAIN_S = 4.0

log = logging.getLogger(__name__)


class Speaker:
    """The loop's state: what waits to be sounded, how loud, and when the last beat went out."""

    def __init__(self, player: Player, kept: Path) -> None:
        self._player = player
        self._kept = kept
        self._waiting: deque[Received] = deque(maxlen=8)  # the oldest goes first
        self._woken = threading.Event()
        self._standby = Standby()
        self._loudness = read_loudness(kept)
        self._played = 0
        self._beat_at = float("-inf")
        self._well_at = time.monotonic()

    def take(self, received: Received) -> None:
        """From the reading thread."""
        self._waiting.append(received)
        self._woken.set()

    def run(self, links: Links) -> None:
        """Turn until another keeper is in charge or there is no output to be had."""
        going = True
        while going:
            self._woken.wait(STEP_S)
            self._woken.clear()
            now = time.monotonic()
            while self._waiting:
                self._answer(self._waiting.popleft(), now)
            if self._standby.due(now, links.engine_silent_s(), links.engine_heard):
                log.warning("the engine says nothing: sounding by itself")
                self._player.play(Pattern.ACT, self._loudness.stepped)
            self._player.step(now)
            if now - self._beat_at >= BEAT_S:
                self._beat_at = now
                going = self._tell(links, now)

    def _answer(self, received: Received, now: float) -> None:
        message = received.message
        if isinstance(message, Loudness) and usable(message):
            self._loudness = message
            keep_loudness(self._kept, message)
        elif isinstance(message, Sound) and now - received.sent < STALE_S:
            volume = self._loudness.stepped if message.louder else self._loudness.first
            if self._player.play(message.pattern, volume):
                self._played = message.number

    def _tell(self, links: Links, now: float) -> bool:
        links.send(Voice(self._player.well, "", self._played))
        if self._player.well:
            self._well_at = now
        return links.beat() and now - self._well_at < LOOK_AGAIN_S


def main() -> int:
    """Entry of the process: ``python -m cabapp.sound.speaker`` with the keeper's words."""
    wires = wires_of(sys.argv[1:])
    listener = begin(wires.home, "speaker")
    speaker = Speaker(Player(shipped("assets", "sounds")), Home(wires.home).loudness)
    speaker.run(Links(wires, Part.SPEAKER, speaker.take))
    listener.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""The speaker process: sounds what the engine says, and by itself when the engine falls silent.

It begins with an output or without one, and says which; one that appears later is found by the
lookout. Only a new process opens another output, so a speaker that lost its own says so and ends,
and the keeper starts the next.
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
from cabapp.sound.output import Lookout
from cabapp.sound.player import Player
from cabapp.sound.standby import STALE_S, Standby

STEP_S = 0.02
# How long to stay with an output that would not be heard, before a new process tries: one that the
# mixer could not take, and one that takes no frames, for a stall may end.
REFUSED_S = 4.0
STUCK_S = 30.0

log = logging.getLogger(__name__)


class Speaker:
    """The loop's state: what waits to be sounded, how loud, and when the last beat went out."""

    def __init__(self, sounds: Path, kept: Path) -> None:
        self._sounds = sounds
        self._kept = kept
        self._lookout = Lookout()
        self._player: Player | None = None
        self._waiting: deque[Received] = deque(maxlen=8)  # the oldest goes first
        self._woken = threading.Event()
        self._standby = Standby()
        self._loudness = read_loudness(kept)
        self._played = 0
        self._beat_at = float("-inf")
        self._said_well: bool | None = None
        self._well_at: float | None = None
        self._opened_at = 0.0

    def take(self, received: Received) -> None:
        """From the reading thread."""
        self._waiting.append(received)
        self._woken.set()

    def run(self, links: Links) -> None:
        """Turn until another keeper is in charge or another process has to take another output."""
        going = True
        while going:
            self._woken.wait(STEP_S)
            self._woken.clear()
            now = time.monotonic()
            self._begin(now)
            while self._waiting and (self._player is not None or self._missing):
                self._answer(self._waiting.popleft(), now)
            if self._standby.due(now, links.engine_silent_s(), links.engine_heard):
                log.warning("the engine says nothing: sounding by itself")
                self._play(Pattern.ACT, self._loudness.stepped)
            if self._player is not None:
                self._player.step(now)
            if now - self._beat_at >= BEAT_S or self._well != self._said_well:
                self._beat_at, self._said_well = now, self._well
                going = self._tell(links, now)

    @property
    def _missing(self) -> bool:
        return self._lookout.missing.is_set()

    @property
    def _well(self) -> bool | None:
        """Whether a pattern that is played now would be heard; None while nobody knows."""
        known = self._player.well if self._player is not None else None
        return False if known is None and self._missing else known

    def _begin(self, now: float) -> None:
        """Take the output that the lookout has found."""
        if self._player is None and self._lookout.found.is_set():
            self._player, self._opened_at = Player(self._sounds), now

    def _answer(self, received: Received, now: float) -> None:
        message = received.message
        if isinstance(message, Loudness) and usable(message):
            self._loudness = message
            keep = (self._kept, message)  # in a thread: a frozen disk must not hold up the sound
            threading.Thread(target=keep_loudness, args=keep, daemon=True).start()
        elif isinstance(message, Sound) and now - received.sent < STALE_S:
            volume = self._loudness.stepped if message.louder else self._loudness.first
            if self._play(message.pattern, volume):
                self._played = message.number

    def _play(self, pattern: Pattern, volume: float) -> bool:
        return self._player is not None and self._player.play(pattern, volume)

    def _tell(self, links: Links, now: float) -> bool:
        """Say how the sound is, if that is known; False when this process has to leave."""
        if (well := self._well) is not None:
            links.send(Voice(well, "", self._played))
        return links.beat() and (self._player is None or self._stays(self._player, now))

    def _stays(self, player: Player, now: float) -> bool:
        if player.well is not False:
            self._well_at = now
            return True
        if self._well_at is None:
            return now - self._opened_at < REFUSED_S
        return player.open and now - self._well_at < STUCK_S


def main() -> int:
    """Entry of the process: ``python -m cabapp.sound.speaker`` with the keeper's words."""
    wires = wires_of(sys.argv[1:])
    listener = begin(wires.home, "speaker")
    speaker = Speaker(shipped("assets", "sounds"), Home(wires.home).loudness)
    speaker.run(Links(wires, Part.SPEAKER, speaker.take))
    listener.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main())

"""Kivy's audio as one player: two patterns, loaded once, and the truth about the output.

A load that succeeds proves nothing: without a device every file loads with length 0. A device that
goes later is marked by SDL, which no Kivy property shows, so SDL is asked itself; one that takes
no frames any more is found out by a silent probe that does not end.
"""

from pathlib import Path
from typing import Any

from cabapp.outcome import Pattern
from cabapp.sound.output import sdl, still_open

# A stall is on the screen within 3 s: what the device still takes, at most 0.4 s, then these two,
# and up to 0.4 s by way of the engine.
PROBE_EVERY_S = 0.75
PROBE_ENDS_S = 1.0  # for a tenth of a second of silence: a busy machine gets its time
FIRST_ENDS_S = 2.5  # a sound server may take two seconds to begin with an output


class Player:
    """Plays a pattern at once, if there is an output. Only a new process finds another one."""

    def __init__(self, folder: Path) -> None:
        self._sdl = sdl()
        from kivy.core.audio import SoundLoader

        self._sounds: dict[Pattern, Any] = {
            pattern: SoundLoader.load(str(folder / f"{pattern.value}.wav")) for pattern in Pattern
        }
        self._probe: Any = SoundLoader.load(str(folder / "silence.wav"))
        self._probe_at = float("-inf")
        self._playing: Pattern | None = None
        every = (*self._sounds.values(), self._probe)
        self.open = all(sound is not None and sound.length > 0 for sound in every)
        self._proved = self._late = False

    @property
    def well(self) -> bool | None:
        """Whether a pattern that is played now would be heard; None until the first probe tells."""
        if self.open and not (self._proved or self._late):
            return None
        return self.open and not self._late

    def play(self, pattern: Pattern, volume: float) -> bool:
        """Begin a pattern; a LOOK does not cut into an ACT. False if it was left out."""
        if not self.open:
            return False
        if self._playing is not None and self._sounds[self._playing].state == "play":
            if self._playing is Pattern.ACT and pattern is Pattern.LOOK:
                return False
            self._sounds[self._playing].stop()
        self._sounds[pattern].volume = volume
        self._sounds[pattern].play()
        self._playing = pattern
        return True

    def step(self, now: float) -> None:
        """Let Kivy's clock turn and look after the output; ``now`` in monotonic seconds."""
        from kivy.clock import Clock

        Clock.tick()
        self.open = self.open and still_open(self._sdl)
        if not self.open:
            return
        age = now - self._probe_at
        playing = self._probe.state == "play"
        self._proved = self._proved or (not playing and age < float("inf"))
        allowed_s = PROBE_ENDS_S if self._proved else FIRST_ENDS_S
        self._late = playing and age >= allowed_s  # a stall that ends is over
        if not playing and age >= PROBE_EVERY_S:
            self._probe.play()
            self._probe_at = now

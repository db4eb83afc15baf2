"""Kivy's audio as one player: two patterns, loaded once, and the truth about the output.

A load that succeeds proves nothing: without a device every file loads with length 0. A device that
goes later is marked by SDL, which no Kivy property shows, so SDL is asked itself; one that takes
no frames any more is found out by a silent probe that does not end.
"""

import ctypes
import os
from pathlib import Path
from typing import Any

from cabapp.outcome import Pattern

PROBE_EVERY_S = 1.0
PROBE_ENDS_S = 1.3  # for a tenth of a second of silence: a busy machine gets its time
SDL_AUDIO_STOPPED = 0  # SDL_audio.h, SDL_AudioStatus
MIXER_DEVICE = 2  # SDL numbers devices from 2 (1 is the old interface); the mixer opens the first

# Read by Kivy and SDL at import: no window, no config or log files, no argument parsing of its own.
KIVY_QUIET = {
    "KIVY_NO_ARGS": "1",
    "KIVY_NO_CONFIG": "1",
    "KIVY_NO_FILELOG": "1",
    "KIVY_LOG_MODE": "PYTHON",
    "KIVY_AUDIO": "sdl2",
    "SDL_NO_SIGNAL_HANDLERS": "1",  # SIGTERM ends the process; nobody reads SDL's events here
}


class Player:
    """Plays a pattern at once, if there is an output."""

    def __init__(self, folder: Path) -> None:
        os.environ.update(KIVY_QUIET)
        from kivy.core.audio import SoundLoader  # after the environment, which it reads

        self._sounds: dict[Pattern, Any] = {
            pattern: SoundLoader.load(str(folder / f"{pattern.value}.wav")) for pattern in Pattern
        }
        self._probe: Any = SoundLoader.load(str(folder / "silence.wav"))
        self._probe_at = float("-inf")
        self._playing: Pattern | None = None
        every = (*self._sounds.values(), self._probe)
        self._open = all(sound is not None and sound.length > 0 for sound in every)
        self._late = False

    @property
    def well(self) -> bool:
        """Whether a pattern that is played now would be heard."""
        return self._open and not self._late

    def play(self, pattern: Pattern, volume: float) -> bool:
        """Begin a pattern; a LOOK does not cut into an ACT. False if it was left out."""
        if not self._open:
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
        self._open = self._open and output_open()
        if not self._open:
            return
        age = now - self._probe_at
        playing = self._probe.state == "play"
        self._late = playing and age >= PROBE_ENDS_S  # a stall that ends is over
        if not playing and age >= PROBE_EVERY_S:
            self._probe.play()
            self._probe_at = now


def output_open() -> bool:
    """Whether SDL still holds an output that takes sound."""
    from kivy.core.audio import audio_sdl2

    status: int = ctypes.CDLL(audio_sdl2.__file__).SDL_GetAudioDeviceStatus(MIXER_DEVICE)
    return status != SDL_AUDIO_STOPPED

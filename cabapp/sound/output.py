"""Looks for a sound output without playing anything: asks SDL, which the mixer will use as well.

A mixer that failed once has failed for the life of its process, and a load that fails is loud in
the log. So the output is tried first, in a thread of its own, for opening one may take long, and
the mixer is begun only when one has opened.
"""

import ctypes
import logging
import os
import threading
from typing import Any

# Read by Kivy and SDL at import: no window, no config or log files, no argument parsing of its own.
KIVY_QUIET = {
    "KIVY_NO_ARGS": "1",
    "KIVY_NO_CONFIG": "1",
    "KIVY_NO_FILELOG": "1",
    "KIVY_LOG_MODE": "PYTHON",
    "KIVY_AUDIO": "sdl2",
    "SDL_NO_SIGNAL_HANDLERS": "1",  # SIGTERM ends the process; nobody reads SDL's events here
}

LOOK_EVERY_S = 2.0  # 6 ms of a core each: 0.3 %
INIT_AUDIO = 0x10  # SDL.h
S16 = 0x8010  # SDL_audio.h, AUDIO_S16LSB
STOPPED = 0  # SDL_audio.h, SDL_AudioStatus
MIXER_DEVICE = 2  # SDL numbers devices from 2 (1 is the old interface); the mixer opens the first

log = logging.getLogger(__name__)


class _Spec(ctypes.Structure):
    """SDL_AudioSpec (SDL_audio.h)."""

    _fields_ = (
        ("freq", ctypes.c_int),
        ("format", ctypes.c_uint16),
        ("channels", ctypes.c_uint8),
        ("silence", ctypes.c_uint8),
        ("samples", ctypes.c_uint16),
        ("padding", ctypes.c_uint16),
        ("size", ctypes.c_uint32),
        ("callback", ctypes.c_void_p),
        ("userdata", ctypes.c_void_p),
    )


_ALSA_SAYS = ctypes.CFUNCTYPE(
    None, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_char_p
)
_say_nothing = _ALSA_SAYS(lambda *said: None)  # has to live as long as the library may call it


def sdl() -> Any:
    """The library that Kivy's own sound uses."""
    os.environ.update(KIVY_QUIET)
    from kivy.core.audio import audio_sdl2  # after the environment, which it reads

    return ctypes.CDLL(audio_sdl2.__file__)


def can_open(library: Any) -> bool:
    """Open an output, as the mixer would, and close it again."""
    found = 0
    if library.SDL_InitSubSystem(INIT_AUDIO) == 0:
        wanted = _Spec(freq=44_100, format=S16, channels=2, samples=4096)
        found = library.SDL_OpenAudioDevice(None, 0, ctypes.byref(wanted), None, 0)
        if found:
            library.SDL_CloseAudioDevice(found)
        library.SDL_QuitSubSystem(INIT_AUDIO)
    return bool(found)


def still_open(library: Any) -> bool:
    """Whether SDL still holds the mixer's output; it marks one that was pulled."""
    return int(library.SDL_GetAudioDeviceStatus(MIXER_DEVICE)) != STOPPED


class Lookout:
    """Tries each LOOK_EVERY_S until an output opens; ``found`` is set then, and the thread ends.

    ``missing`` is set once it is known that there is none now.
    """

    def __init__(self) -> None:
        self.found, self.missing = threading.Event(), threading.Event()
        threading.Thread(target=self._look, name="lookout", daemon=True).start()

    def _look(self) -> None:
        library, pause = sdl(), threading.Event()
        if not can_open(library):
            self.missing.set()
            log.warning("no sound output; looking for one each %g s", LOOK_EVERY_S)
            _hush()  # what the sound system says of it has been said once
            while not can_open(library):
                pause.wait(LOOK_EVERY_S)
            log.warning("a sound output is there")
        self.found.set()


def _hush() -> None:
    """Keep the sound system's own error lines off stderr (ALSA: snd_lib_error_set_handler)."""
    try:
        ctypes.CDLL("libasound.so.2").snd_lib_error_set_handler(_say_nothing)
    except (OSError, AttributeError):
        return  # another sound system

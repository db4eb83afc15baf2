"""How the tests listen to a sound: its pulses by loudness, its partials by spectrum."""

import wave
from pathlib import Path

import numpy as np

from cabapp.paths import shipped
from cabapp.sound import tones
from cabapp.sound.tones import Tone


def read(path: Path) -> tuple[wave._wave_params, np.ndarray]:
    with wave.open(str(path), "rb") as file:
        return file.getparams(), np.frombuffer(file.readframes(file.getnframes()), "<i2")


def shipped_sound(tone: Tone) -> np.ndarray:
    return read(shipped("assets", "sounds", f"{tone.name}.wav"))[1] / 32768.0


def envelope(data: np.ndarray, window_s: float = 0.004) -> np.ndarray:
    """Root mean square over a short sliding window."""
    width = round(window_s * tones.RATE_HZ)
    return np.sqrt(np.convolve(data**2, np.ones(width) / width, mode="same"))


def heard_pulses(data: np.ndarray) -> list[tuple[float, float]]:
    """Begin and end of each stretch over half of the loudest, in seconds."""
    level = envelope(data)
    loud = np.concatenate(([False], level > level.max() / 2, [False]))
    edges = np.flatnonzero(np.diff(loud.astype(int)))
    return [(a / tones.RATE_HZ, b / tones.RATE_HZ) for a, b in edges.reshape(-1, 2)]


def spectrum_db(data: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies and level in dB below the strongest, over the whole pattern."""
    power = np.abs(np.fft.rfft(data * np.hanning(len(data)))) ** 2
    return np.fft.rfftfreq(len(data), 1 / tones.RATE_HZ), 10 * np.log10(power / power.max() + 1e-15)


def level_near(data: np.ndarray, hz: float, share: float = 0.03) -> float:
    frequencies, level = spectrum_db(data)
    return float(level[np.abs(frequencies - hz) <= share * hz].max())

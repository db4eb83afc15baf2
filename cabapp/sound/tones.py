"""The two sounds, as numbers and as WAV files: ``python -m cabapp.sound.tones DIR`` writes them.

Both fundamentals keep clear of the peaks of tractor cab noise (250 Hz, 1 and 2 kHz: Int. J. Occup.
Med. Environ. Health 26(3), 2013). Each tone has four harmonics up to 4 kHz, as medical alarms
have (IEC 60601-1-8), so that some of them stand clear of any one noise. The whole pattern lies in
one file: nothing has to be timed while it plays.
"""

import sys
import wave
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

RATE_HZ = 44_100
EDGE_S = 0.005  # raised-cosine rise and fall, centred on the pulse's ends: no click
PEAK = 0.97
# Amplitudes of the fundamental and its harmonics: within 10 dB of each other.
HARMONICS = (1.0, 0.9, 0.7, 0.5, 0.35)


@dataclass(frozen=True)
class Tone:
    """A pattern: fundamental, pulse length and the gap after each pulse but the last (seconds)."""

    name: str
    f0_hz: float
    pulse_s: float
    gaps_s: tuple[float, ...]

    @property
    def length_s(self) -> float:
        """From the first sample to the last pulse's end, edge included."""
        return (len(self.gaps_s) + 1) * self.pulse_s + sum(self.gaps_s) + EDGE_S

    def pulses(self) -> list[tuple[float, float]]:
        """Begin and end of each pulse at half height, seconds from the first sample."""
        begin = EDGE_S / 2
        found = []
        for gap in (*self.gaps_s, 0.0):
            found.append((begin, begin + self.pulse_s))
            begin += self.pulse_s + gap
        return found


ACT = Tone("act", 740.0, 0.120, (0.100, 0.100, 0.250, 0.100))
LOOK = Tone("look", 587.0, 0.180, (0.180, 0.180))
TONES = (ACT, LOOK)
SILENCE_S = 0.1  # played once a second, to notice an output that takes nothing any more


def samples(tone: Tone) -> NDArray[np.int16]:
    """The pattern as 16-bit mono at RATE_HZ."""
    time_s = np.arange(round(tone.length_s * RATE_HZ)) / RATE_HZ
    envelope = np.zeros_like(time_s)
    for begin, end in tone.pulses():
        rise = np.clip((time_s - begin) / EDGE_S + 0.5, 0.0, 1.0)
        fall = np.clip((end - time_s) / EDGE_S + 0.5, 0.0, 1.0)
        envelope += (0.5 - 0.5 * np.cos(np.pi * rise)) * (0.5 - 0.5 * np.cos(np.pi * fall))
    carrier = _carrier(tone.f0_hz, time_s)
    peak = np.abs(carrier).max()
    scaled: NDArray[np.int16] = np.round(envelope * carrier / peak * PEAK * 32767).astype(np.int16)
    return scaled


def _carrier(f0_hz: float, time_s: NDArray[np.float64]) -> NDArray[np.float64]:
    """Fundamental and harmonics, phases spread so that their peaks do not pile up.

    The phases are -pi k (k - 1) / n (M. R. Schroeder, IEEE Trans. Inf. Theory 16, 1970).
    """
    total = np.zeros_like(time_s)
    for k, amplitude in enumerate(HARMONICS, start=1):
        phase = -np.pi * k * (k - 1) / len(HARMONICS)
        total += amplitude * np.sin(2 * np.pi * k * f0_hz * time_s + phase)
    return total


def write_wav(path: Path, data: NDArray[np.int16]) -> None:
    """Write 16-bit mono PCM."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(data.astype("<i2").tobytes())


def write_all(folder: Path) -> None:
    """Write every sound the speaker loads into a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for tone in TONES:
        write_wav(folder / f"{tone.name}.wav", samples(tone))
    write_wav(folder / "silence.wav", np.zeros(round(SILENCE_S * RATE_HZ), dtype=np.int16))


if __name__ == "__main__":
    write_all(Path(sys.argv[1]))

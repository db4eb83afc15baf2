"""The shipped WAV files against what they are declared to be, read with the wave module."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from cabapp.paths import shipped
from cabapp.sound import tones
from cabapp.sound.tones import ACT, LOOK, TONES, Tone
from tests.sound.hearing import envelope, heard_pulses, read, shipped_sound


@pytest.mark.parametrize("tone", TONES, ids=lambda tone: tone.name)
def test_the_file_is_plain_16_bit_mono(tone: Tone) -> None:
    params, _ = read(shipped("assets", "sounds", f"{tone.name}.wav"))
    assert (params.nchannels, params.sampwidth, params.comptype) == (1, 2, "NONE")


@pytest.mark.parametrize(
    ("tone", "pulse_s", "gaps_s"),
    [(ACT, 0.12, [0.1, 0.1, 0.25, 0.1]), (LOOK, 0.18, [0.18, 0.18])],
    ids=["act", "look"],
)
def test_pulses_and_gaps_are_as_declared_within_a_twentieth(
    tone: Tone, pulse_s: float, gaps_s: list[float]
) -> None:
    pulses = heard_pulses(shipped_sound(tone))
    assert [end - begin for begin, end in pulses] == pytest.approx(
        [pulse_s] * (len(gaps_s) + 1), rel=0.05
    )
    gaps = [after[0] - before[1] for before, after in pairwise(pulses)]
    assert gaps == pytest.approx(gaps_s, rel=0.05)


@pytest.mark.parametrize("tone", TONES, ids=lambda tone: tone.name)
def test_each_pulse_is_loud_and_none_is_clipped(tone: Tone) -> None:
    data = shipped_sound(tone)
    assert np.abs(data).max() < 1.0 - 1 / 32768
    for begin, end in heard_pulses(data):
        pulse = data[round(begin * tones.RATE_HZ) : round(end * tones.RATE_HZ)]
        assert 20 * np.log10(np.sqrt(np.mean(pulse**2))) >= -14


def test_an_ear_tells_the_two_apart_within_half_a_second() -> None:
    half = tones.RATE_HZ // 2
    act, look = (envelope(shipped_sound(tone))[:half] for tone in (ACT, LOOK))
    assert abs(np.corrcoef(act, look)[0, 1]) < 0.7


def test_the_shipped_files_are_what_the_maker_makes(tmp_path: Path) -> None:
    tones.write_all(tmp_path)
    for name in ("act.wav", "look.wav", "silence.wav"):
        made, kept = read(tmp_path / name), read(shipped("assets", "sounds", name))
        assert made[0] == kept[0]
        # A sine may round differently in another build of the library, by one step of 65,536.
        assert np.abs(made[1].astype(int) - kept[1].astype(int)).max() <= 1

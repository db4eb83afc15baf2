"""The shipped sounds against what is published about alarms and about the noise in a cab."""

import pytest

from cabapp.sound.tones import TONES, Tone
from tests.sound.hearing import level_near, shipped_sound

CAB_PEAKS_HZ = (250.0, 1000.0, 2000.0)


@pytest.mark.parametrize("tone", TONES, ids=lambda tone: tone.name)
def test_the_fundamental_and_four_harmonics_carry_within_15_db_between_150_and_4000_hz(
    tone: Tone,
) -> None:
    """IEC 60601-1-8: a fundamental of 150 to 1000 Hz and at least four harmonics from 300 to
    4000 Hz, all within 15 dB of one another."""
    data = shipped_sound(tone)
    assert 150 <= tone.f0_hz <= 1000
    partials = [k * tone.f0_hz for k in range(1, 6)]
    assert all(300 <= hz <= 4000 for hz in partials[1:])
    levels = [level_near(data, hz, 0.01) for hz in partials]
    assert max(levels) - min(levels) <= 15


@pytest.mark.parametrize("tone", TONES, ids=lambda tone: tone.name)
@pytest.mark.parametrize("hz", CAB_PEAKS_HZ)
def test_nothing_is_wasted_where_the_cab_itself_is_loudest(tone: Tone, hz: float) -> None:
    """Cab noise of 20 tractors at work peaked at 250 Hz, 1 and 2 kHz (Int. J. Occup. Med.
    Environ. Health 26(3):488, 2013)."""
    assert level_near(shipped_sound(tone), hz) < -30

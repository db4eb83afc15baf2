"""The colour arithmetic that the other checks stand on, against values printed elsewhere."""

import numpy as np
import pytest

from tests.screens.eyes import MACHADO, contrast, hex_luminance, lightness, linear


def test_black_on_white_is_twenty_one_to_one():
    """WCAG 2.2, definition of contrast ratio: the range is 1 to 21."""
    assert contrast(hex_luminance("#FFFFFF"), hex_luminance("#000000")) == pytest.approx(21.0)


def test_a_middle_grey_has_the_luminance_the_standard_gives():
    """IEC 61966-2-1: code 188 of 255 is close to half the light."""
    assert float(linear(188)) == pytest.approx(0.503, abs=0.001)


def test_lightness_of_eighteen_per_cent_grey_is_half_way():
    """CIE 1976: L* of Y = 0.184 is 50."""
    assert float(lightness(np.array(0.1842))) == pytest.approx(50.0, abs=0.05)


@pytest.mark.parametrize("loss", MACHADO)
def test_no_loss_of_colour_changes_grey(loss):
    """Each row of the matrices sums to one: a grey stays that grey (checks the copying)."""
    assert np.sum(np.array(MACHADO[loss]), axis=1) == pytest.approx([1, 1, 1], abs=1e-5)

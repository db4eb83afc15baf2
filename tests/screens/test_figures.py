"""Depths as they are written: a minus stands before what is there, never before a lone 0."""

import pytest

from cabapp.screens.figures import target_text, whole_and_half
from cabapp.units import INCH_M, UnitSystem


@pytest.mark.parametrize(
    ("inches", "shown"),
    [
        (-0.5, ("−", True)),
        (0.5, ("0", True)),
        (-0.1, ("0", False)),
        (-6.0, ("−6", False)),
        (-1.5, ("−1", True)),
        (13.5, ("13", True)),
    ],
)
def test_minus_half_an_inch_has_no_nought_before_its_half(inches, shown):
    assert whole_and_half(inches) == shown


@pytest.mark.parametrize(
    ("inches", "shown"), [(-0.5, "−1/2"), (0.5, "1/2"), (13.5, "13 1/2"), (-1.5, "−1 1/2")]
)
def test_a_wanted_depth_is_written_as_people_write_it(inches, shown):
    assert target_text(inches * INCH_M, UnitSystem.US) == shown

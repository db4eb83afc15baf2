"""Sizes of units against their definitions, exactly, in whole-number arithmetic.

SI Brochure, 9th edition, and NIST Special Publication 811, appendix B.8: the inch is 25.4 mm, the
pound 0.45359237 kg, standard gravity 9.80665 m/s2, the nautical mile 1852 m, the US gallon 231
cubic inches. The horsepower is the mechanical one, 550 foot-pounds a second.
"""

from fractions import Fraction

import pytest

from cabapp.units import KNOT_MPS, UNITS, to_unit

INCH = Fraction(254, 10_000)
FOOT = 12 * INCH
MILE = 5280 * FOOT
POUND = Fraction(45_359_237, 100_000_000)
POUND_FORCE = POUND * Fraction(980_665, 100_000)

EXACT: dict[str, Fraction] = {
    "in": INCH,
    "ft": FOOT,
    "mi": MILE,
    "mph": MILE / 3600,
    "km/h": Fraction(1000, 3600),
    "kn": Fraction(1852, 3600),
    "ac": 43_560 * FOOT**2,
    "ha": Fraction(10_000),
    "lb": POUND,
    "lbf": POUND_FORCE,
    "psi": POUND_FORCE / INCH**2,
    "hp": 550 * FOOT * POUND_FORCE,
    "gal": 231 * INCH**3,
    "bar": Fraction(100_000),
    "L": Fraction(1, 1000),
}


# SI Brochure: the SI units and their prefixes, minute and hour, the per cent; angles are kept in
# degrees.
PLAIN = {
    "m": 1, "N": 1, "W": 1, "Pa": 1, "s": 1, "kg": 1, "V": 1, "m2": 1, "m/s": 1, "deg": 1,
    "cm": 0.01, "mm": 0.001, "km": 1000, "kN": 1000, "kW": 1000, "kPa": 1000, "MPa": 1e6,
    "min": 60, "h": 3600, "%": 0.01,
}  # fmt: skip


def test_si_units_and_prefixes() -> None:
    assert {unit: UNITS[unit].si_per_unit for unit in PLAIN} == PLAIN
    assert set(PLAIN) | set(EXACT) == set(UNITS)


@pytest.mark.parametrize("unit", EXACT)
def test_a_unit_is_as_large_as_defined(unit: str) -> None:
    assert UNITS[unit].si_per_unit == pytest.approx(float(EXACT[unit]), rel=4e-16)


@pytest.mark.parametrize(
    ("knots", "kmh", "mph"),
    [(22.4, 41.4848, 25.7775), (5.5, 10.186, 6.3293), (5.2, 9.6304, 5.9841)],
)
def test_knots_as_receivers_send_them(knots: float, kmh: float, mph: float) -> None:
    # NMEA 0183 sends knots; 1 kn is 1.852 km/h by definition. Reckoned by hand.
    assert to_unit(knots * KNOT_MPS, "km/h") == pytest.approx(kmh, abs=5e-5)
    assert to_unit(knots * KNOT_MPS, "mph") == pytest.approx(mph, abs=5e-5)


def test_soil_resistance_in_both_worlds() -> None:
    # NIST SP 811 conversion: 300 psi is 2.0684 MPa, 2 MPa is 290.1 psi, 1500 kPa is 217.6 psi.
    assert to_unit(300 * UNITS["psi"].si_per_unit, "MPa") == pytest.approx(2.0684, abs=5e-5)
    assert to_unit(2e6, "psi") == pytest.approx(290.1, abs=0.05)
    assert to_unit(1.5e6, "psi") == pytest.approx(217.6, abs=0.05)

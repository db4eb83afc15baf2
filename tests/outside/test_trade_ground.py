"""Cone, layer, spacing, slip, clods and row angle against published figures and worked cases."""

import pytest

from cabapp.trade.clods import (
    LARGEST_CLOD_M,
    LARGEST_CLOD_SOURCE,
    mean_weight_diameter_m,
    measure_clods,
)
from cabapp.trade.cone import (
    ROOTS_SLOWED_PA,
    ROOTS_STOP_PA,
    Cone,
    cone_force_n,
    cone_worn,
    reread_pa,
)
from cabapp.trade.depth import (
    DISC_DEPTH_M,
    DISC_DEPTH_SOURCE,
    MARGIN_SOURCES,
    target_depth_m,
)
from cabapp.trade.moisture import CAUTION_SHARE, CAUTION_SOURCE, FEEL_ROWS, RIBBONS
from cabapp.trade.probe import layer_in_profile
from cabapp.trade.rows import row_angle_deg
from cabapp.trade.slip import BEST_SLIP, slip_from_revolutions, slip_from_times, slip_ratio
from cabapp.trade.sources import Provenance
from cabapp.trade.spacing import PointKind, critical_depth_range_m, spacing_range_m
from cabapp.units import INCH_M, MPH_MPS, PSI_PA, to_unit


def inches(*values: float) -> list[float]:
    return [value * INCH_M for value in values]


# USDA Forest Service 0524-2837-MTDC (2005), after ASABE S313.3 and EP542: a 30 degree cone with
# a base of 20.27 or 12.83 mm.
@pytest.mark.parametrize(
    ("cone", "area_mm2", "area_in2", "force_n", "force_lbf"),
    [(Cone.LARGE, 322.7, 0.500, 667.5, 150), (Cone.SMALL, 129.3, 0.200, 267.4, 60)],
)
def test_cone_areas_and_the_push_at_300_psi(
    cone: Cone, area_mm2: float, area_in2: float, force_n: float, force_lbf: float
) -> None:
    assert cone.value.area_m2 * 1e6 == pytest.approx(area_mm2, abs=0.06)
    assert cone.value.area_m2 / INCH_M**2 == pytest.approx(area_in2, abs=0.0005)
    push_n = cone_force_n(300 * PSI_PA, cone)
    assert push_n == pytest.approx(force_n, abs=0.1)
    assert to_unit(push_n, "lbf") == pytest.approx(force_lbf, abs=0.15)  # named 150 and 60 lbf


def test_the_wrong_scale_is_two_and_a_half_times_off() -> None:
    # Follows from the two areas above.
    assert reread_pa(100.0, Cone.LARGE, Cone.SMALL) == pytest.approx(250.0, rel=0.002)
    assert reread_pa(250.0, Cone.SMALL, Cone.LARGE) == pytest.approx(100.0, rel=0.002)


def test_a_cone_worn_by_more_than_three_percent_is_replaced() -> None:
    # USDA Forest Service 0524-2837-MTDC.
    assert not cone_worn(0.97 * 0.02027, Cone.LARGE)
    assert cone_worn(0.969 * 0.02027, Cone.LARGE)


def test_root_limits_in_both_units() -> None:
    # Cornell NRCCA study guide, objective 35, and Penn State Extension: 300 and 200 psi.
    assert pytest.approx(2.0684e6, abs=50) == ROOTS_STOP_PA
    assert pytest.approx(1.379e6, abs=50) == ROOTS_SLOWED_PA


def test_top_and_bottom_where_the_reading_crosses_300_psi() -> None:
    # Cornell's rule (top where it first rises through 300, bottom where it falls back), on a
    # made-up push with the crossings reckoned by hand.
    depths_m = inches(0, 3, 6, 9, 12, 15, 18)
    layer = layer_in_profile(depths_m, [p * PSI_PA for p in (60, 150, 280, 420, 360, 220, 180)])
    assert layer.top_m == pytest.approx(6.429 * INCH_M, abs=0.0005 * INCH_M)
    assert layer.bottom_m == pytest.approx(13.286 * INCH_M, abs=0.0005 * INCH_M)
    assert layer.bottom_m is not None
    # One inch under the layer: common practice, also Penn State Extension and NRCS 324.
    assert target_depth_m(layer.bottom_m) / INCH_M == pytest.approx(14.29, abs=0.005)
    assert all(source.provenance is Provenance.SEEN for source in MARGIN_SOURCES)


@pytest.mark.parametrize(
    ("point", "least_in", "most_in"),
    [
        # Tasmanian Government (DPIPWE), deep ripping: 1.0-1.5, 1.5-2.0, 2.0-2.5 times depth.
        (PointKind.NARROW, 14, 21),
        (PointKind.WINGED, 21, 28),
        (PointKind.WINGED_WITH_LEADING_TINES, 28, 35),
    ],
)
def test_shank_spacing_at_fourteen_inches(
    point: PointKind, least_in: float, most_in: float
) -> None:
    assert pytest.approx(inches(least_in, most_in)) == spacing_range_m(14 * INCH_M, point)


def test_critical_depth_of_a_two_inch_point() -> None:
    # Spoor and Godwin 1978, from memory: 5 to 7 times the width.
    assert pytest.approx(inches(10, 14)) == critical_depth_range_m(2 * INCH_M)


@pytest.mark.parametrize(
    ("unloaded", "percent"),
    [(9.5, 5), (9, 10), (8.5, 15), (8, 20), (9 + 1 / 6, 8.33), (8.75, 12.5)],
)
def test_slip_from_ten_loaded_revolutions(unloaded: float, percent: float) -> None:
    # University of Arizona extension and Missouri G1235: count over the same marks.
    assert slip_from_revolutions(10, unloaded) * 100 == pytest.approx(percent, abs=0.005)


def test_slip_from_speeds_and_from_times() -> None:
    # The same definition, reckoned by hand.
    assert slip_ratio(5.5 * MPH_MPS, 6.2 * MPH_MPS) == pytest.approx(0.1129, abs=0.00005)
    assert slip_from_times(13.6, 15.2) == pytest.approx(0.1053, abs=0.00005)


def test_best_slip_by_surface() -> None:
    # University of Arizona extension.
    printed = {"concrete": (4, 8), "firm": (8, 10), "tilled": (11, 13), "soft": (14, 16)}
    found = {row.surface: (round(row.least * 100), round(row.most * 100)) for row in BEST_SLIP}
    assert found == printed


def test_mean_weight_diameter_of_a_sieved_sample() -> None:
    # A stored worked example of sieve mean diameter (no soil example with all its inputs was
    # found); it prints 106.5 / 100.4 = 1.061 mm, exact 1.0617. Formula: van Bavel, from memory.
    openings_m = [value / 1000 for value in (2.03, 1.44, 1.02, 0.72, 0.0)]
    masses_kg = [value / 1000 for value in (1.5, 25.1, 50.2, 22.5, 1.1)]
    assert mean_weight_diameter_m(openings_m, masses_kg) == pytest.approx(1.061e-3, abs=2e-6)


def test_clods_of_one_to_six_inches() -> None:
    # Arithmetic of our own: 2275 / 441. Six inches as the largest is common practice.
    clods = measure_clods(inches(1, 2, 3, 4, 5, 6))
    assert clods.mean_m / INCH_M == pytest.approx(3.5)
    assert clods.mass_weighted_m / INCH_M == pytest.approx(5.1587, abs=0.00005)
    assert clods.over_share == 0.0
    assert pytest.approx(6 * INCH_M) == LARGEST_CLOD_M
    assert LARGEST_CLOD_SOURCE.provenance is Provenance.PRACTICE


def test_front_discs_two_to_six_inches_is_marked_common_practice() -> None:
    assert pytest.approx(inches(2, 6)) == DISC_DEPTH_M
    assert DISC_DEPTH_SOURCE.provenance is Provenance.PRACTICE


@pytest.mark.parametrize(
    ("course", "rows", "angle"),
    [
        # Plane geometry: rows have no direction.
        (30, 0, 30), (210, 0, 30), (350, 10, 20), (95, 275, 0),
        (135, 90, 45), (0, 179, 1), (45, 225, 0), (100, 10, 90),
    ],
)  # fmt: skip
def test_angle_to_the_old_rows_is_folded(course: float, rows: float, angle: float) -> None:
    assert row_angle_deg(course, rows) == pytest.approx(angle, abs=1e-9)


def test_signs_of_soil_moisture_by_feel() -> None:
    # University of Minnesota Extension and NRCS: rows to 75 %, ribbons at field capacity.
    assert [(row.least, row.most) for row in FEEL_ROWS] == [(0, 0.25), (0.25, 0.5), (0.5, 0.75)]
    assert {row.texture: row.ribbon_m / INCH_M for row in RIBBONS} == {
        "clay loam": pytest.approx(2),
        "medium loam": pytest.approx(1),
    }


def test_the_moisture_caution_names_its_standard() -> None:
    # USDA-NRCS practice standard 324, Deep Tillage: under 30 % of field capacity.
    assert CAUTION_SHARE == 0.30
    assert "324" in CAUTION_SOURCE.publication

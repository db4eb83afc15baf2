"""Draft, power, fuel and capacity: how they behave, and what they refuse."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.trade.capacity import (
    effective_width_m,
    field_capacity_m2_s,
    field_efficiency,
    finish_s,
)
from cabapp.trade.draft import (
    DRAWBAR_OVER_PTO,
    ROWS,
    DriveKind,
    Part,
    Per,
    Soil,
    Surface,
    draft_n,
    drawbar_power_w,
    engine_needed_w,
    fuel_m3_s,
    fuel_per_area_m,
    least_tractor_w,
    pto_needed_w,
    total_draft,
)
from cabapp.units import MPH_MPS

WINGED, GANG, PACKER = ROWS["subsoiler_winged"], ROWS["gang_primary"], ROWS["roller_packer"]
SPEED = 6 * MPH_MPS
BAD = [math.nan, math.inf, -1.0, 0.0]


def test_an_inch_deeper_at_fourteen_inches_pulls_a_fourteenth_more() -> None:
    at_14, at_15 = (draft_n(WINGED, Soil.MEDIUM, SPEED, d * 0.0254, 7) for d in (14, 15))
    assert at_15 / at_14 == pytest.approx(15 / 14)


def test_seven_instead_of_five_miles_an_hour_nearly_doubles_the_power() -> None:
    slow, fast = (draft_n(WINGED, Soil.FINE, v * MPH_MPS, 0.35, 7) for v in (5, 7))
    assert fast / slow == pytest.approx(1.332, abs=0.001)
    ratio = drawbar_power_w(fast, 7) / drawbar_power_w(slow, 5)
    assert ratio == pytest.approx(1.865, abs=0.001)


@given(st.sampled_from(sorted(ROWS)), st.sampled_from(Soil), st.integers(1, 20))
def test_twice_as_much_of_a_tool_pulls_twice_as_hard(key: str, soil: Soil, amount: int) -> None:
    one = draft_n(ROWS[key], soil, SPEED, 0.1, amount)
    assert draft_n(ROWS[key], soil, SPEED, 0.1, 2 * amount) == pytest.approx(2 * one)
    assert one > 0


@given(st.sampled_from(sorted(ROWS)))
def test_clay_never_pulls_lighter_than_loam_nor_loam_than_sand(key: str) -> None:
    clay, loam, sand = (draft_n(ROWS[key], soil, SPEED, 0.1, 1) for soil in Soil)
    assert clay >= loam >= sand


def test_a_finishing_tool_pulls_the_same_at_any_depth() -> None:
    assert draft_n(PACKER, Soil.FINE, SPEED, 0.0, 5) == draft_n(PACKER, Soil.COARSE, SPEED, 9, 5)


def test_a_sum_holds_its_parts_and_its_range() -> None:
    parts = [Part(WINGED, 5, 0.3), Part(GANG, 4.0, 0.1)]
    pull = total_draft(parts, Soil.FINE, SPEED)
    shanks, gang = pull.parts_n
    assert pull.total_n == pytest.approx(shanks + gang)
    assert pull.low_n == pytest.approx(0.5 * shanks + 0.75 * gang)
    assert pull.high_n == pytest.approx(1.5 * shanks + 1.25 * gang)
    assert pull.from_memory == ()


@pytest.mark.parametrize("bad", BAD)
def test_draft_refuses_what_cannot_be(bad: float) -> None:
    for speed, depth, amount in ((bad, 0.3, 5), (SPEED, bad, 5), (SPEED, 0.3, bad)):
        with pytest.raises(ValueError, match=r"found .*expected .*; "):
            draft_n(WINGED, Soil.FINE, speed, depth, amount)


def test_draft_refuses_numbers_in_the_wrong_unit_and_parts_of_a_shank() -> None:
    with pytest.raises(ValueError, match="metres, not cm or inches"):
        draft_n(WINGED, Soil.FINE, SPEED, 35.0, 5)
    with pytest.raises(ValueError, match="m/s, not km/h or mph"):
        draft_n(WINGED, Soil.FINE, 16.0, 0.35, 5)
    with pytest.raises(ValueError, match="expected whole tools"):
        draft_n(WINGED, Soil.FINE, SPEED, 0.35, 4.5)
    assert draft_n(GANG, Soil.FINE, SPEED, 0.1, 4.5) > 0
    with pytest.raises(ValueError, match="at least one part"):
        total_draft([], Soil.FINE, SPEED)


def test_rows_are_counted_by_the_tool_or_by_the_metre_as_the_table_has_it() -> None:
    assert WINGED.per is Per.TOOL
    assert GANG.per is Per.METRE


@given(st.sampled_from(Surface), st.sampled_from(DriveKind), st.floats(0, 1e6))
def test_power_grows_from_drawbar_to_shaft_to_engine(
    surface: Surface, drive: DriveKind, drawbar_w: float
) -> None:
    pto_w = pto_needed_w(drawbar_w, surface, drive)
    assert drawbar_w <= pto_w <= engine_needed_w(pto_w)
    assert pto_w * DRAWBAR_OVER_PTO[drive][surface] == pytest.approx(drawbar_w)


@pytest.mark.parametrize("bad", [math.nan, -1.0, math.inf])
def test_power_and_fuel_refuse_what_cannot_be(bad: float) -> None:
    with pytest.raises(ValueError, match="found"):
        pto_needed_w(bad, Surface.SOFT, DriveKind.TRACKS)
    with pytest.raises(ValueError, match="found"):
        engine_needed_w(bad)
    with pytest.raises(ValueError, match="found"):
        fuel_m3_s(bad, 2e5)
    with pytest.raises(ValueError, match="found"):
        fuel_m3_s(1e5, bad)
    with pytest.raises(ValueError, match="found"):
        fuel_m3_s(1e5, 2e5, bad)
    with pytest.raises(ValueError, match="found"):
        drawbar_power_w(bad, 2.0)
    with pytest.raises(ValueError, match="found"):
        fuel_per_area_m(1e-5, bad)


def test_a_pull_beyond_the_rated_power_is_refused_with_what_to_do() -> None:
    with pytest.raises(ValueError, match="go slower or shallower"):
        fuel_m3_s(201e3, 200e3)
    with pytest.raises(ValueError, match=r"expected 0\.5 to 1"):
        fuel_m3_s(1e5, 2e5, 0.3)


@given(st.floats(0.0, 1.0), st.floats(0.5, 0.99))
def test_throttling_back_never_takes_more_fuel(load: float, throttle: float) -> None:
    assert fuel_m3_s(load * 2e5, 2e5, throttle) < fuel_m3_s(load * 2e5, 2e5)


def test_no_shanks_is_no_tool() -> None:
    with pytest.raises(ValueError, match="count the shanks"):
        least_tractor_w(0)


# Capacity


@pytest.mark.parametrize("bad", BAD)
def test_capacity_refuses_what_cannot_be(bad: float) -> None:
    for speed, width, efficiency in ((bad, 5, 0.8), (2, bad, 0.8), (2, 5, bad)):
        with pytest.raises(ValueError, match="found"):
            field_capacity_m2_s(speed, width, efficiency)
    with pytest.raises(ValueError, match=r"0\.85 for 85 %"):
        field_capacity_m2_s(2, 5, 85)


@given(st.floats(0.1, 5), st.floats(1, 20), st.floats(0.1, 1), st.floats(60, 36_000))
def test_efficiency_of_work_done_at_an_efficiency_is_that_efficiency(
    speed: float, width: float, efficiency: float, time_s: float
) -> None:
    done_m2 = field_capacity_m2_s(speed, width, efficiency) * time_s
    assert field_efficiency(done_m2, time_s, speed, width) == pytest.approx(efficiency)


def test_an_hour_of_standing_has_efficiency_zero() -> None:
    assert field_efficiency(0.0, 3600.0, 2.0, 5.0) == 0.0


def test_no_finish_time_while_nothing_is_covered() -> None:
    assert finish_s(1000.0, 0.0) is None
    assert finish_s(0.0, 10.0) == 0.0
    assert finish_s(1000.0, 10.0) == 100.0
    assert finish_s(10.0, 0.5) == 20.0


@pytest.mark.parametrize(("left", "rate"), [(-1, 1), (math.nan, 1), (1, -1), (1, math.nan)])
def test_finish_refuses_negative_or_unknown_numbers(left: float, rate: float) -> None:
    with pytest.raises(ValueError, match="found"):
        finish_s(left, rate)


def test_overlap_as_wide_as_the_tool_is_refused() -> None:
    assert effective_width_m(5.0, 0.3) == pytest.approx(4.7)
    for overlap in (5.0, 6.0, -0.1, math.nan):
        with pytest.raises(ValueError, match="overlap_m: found"):
            effective_width_m(5.0, overlap)

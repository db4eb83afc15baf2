"""The hard layer: pits, cone probe profiles, and what is said over several places."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.trade.cone import Cone, cone_force_n, cone_pressure_pa
from cabapp.trade.layer import Layer, LayerState, Pit, dug, summarise, summarise_zones
from cabapp.trade.probe import layer_in_profile, layers_at_one_spot
from cabapp.units import INCH_M, PSI_PA

DEPTHS_IN = (0, 3, 6, 9, 12, 15, 18)


def push(*psi: float) -> tuple[list[float], list[float]]:
    """A push of the probe read every three inches, in psi."""
    return [d * INCH_M for d in DEPTHS_IN[: len(psi)]], [p * PSI_PA for p in psi]


def probed(*psi: float) -> Layer:
    return layer_in_profile(*push(*psi))


def in_inches(value_m: float | None) -> float:
    assert value_m is not None
    return value_m / INCH_M


def test_a_layer_between_its_two_crossings() -> None:
    layer = probed(60, 150, 200, 400, 400, 200, 100)
    assert layer.state is LayerState.FOUND
    assert in_inches(layer.top_m) == pytest.approx(7.5)
    assert in_inches(layer.bottom_m) == pytest.approx(13.5)


def test_soft_all_the_way_is_no_layer() -> None:
    assert probed(60, 150, 200, 250, 300, 200, 100) == Layer(LayerState.NONE)


def test_a_bottom_that_was_not_reached_is_said_and_not_made_up() -> None:
    layer = probed(60, 150, 200, 400, 450, 420, 400)
    assert layer.state is LayerState.BOTTOM_NOT_REACHED
    assert in_inches(layer.top_m) == pytest.approx(7.5)
    assert layer.bottom_m is None


def test_one_last_hard_reading_asks_to_go_deeper() -> None:
    assert probed(60, 150, 200, 200, 200, 200, 400).state is LayerState.BOTTOM_NOT_REACHED


def test_a_lone_stone_is_no_layer_but_is_remembered() -> None:
    layer = probed(60, 100, 900, 100, 100, 100, 100)
    assert layer.state is LayerState.NONE
    assert [in_inches(depth) for depth in layer.stones_m] == pytest.approx([6.0])


def test_a_stone_above_a_layer_does_not_move_its_top() -> None:
    layer = probed(60, 900, 100, 400, 400, 200, 100)
    assert in_inches(layer.top_m) == pytest.approx(8.0)
    assert [in_inches(depth) for depth in layer.stones_m] == pytest.approx([3.0])


def test_a_single_hard_reading_that_a_second_push_confirms_is_a_layer() -> None:
    one, other = push(60, 100, 200, 400, 200, 100), push(60, 100, 250, 420, 180, 100)
    alone, _ = layers_at_one_spot([one, push(60, 100, 200, 200, 200, 100)])
    assert alone.state is LayerState.NONE
    both = layers_at_one_spot([one, other])
    assert [layer.state for layer in both] == [LayerState.FOUND] * 2
    assert in_inches(both[0].top_m) == pytest.approx(7.5)
    assert layers_at_one_spot([one])[0].state is LayerState.NONE


def test_the_thickest_of_two_hard_stretches_is_the_layer_and_the_deeper_one_is_told() -> None:
    layer = layer_in_profile(
        [d * INCH_M for d in range(0, 27, 3)],
        [p * PSI_PA for p in (100, 400, 400, 400, 100, 100, 400, 400, 100)],
    )
    assert in_inches(layer.bottom_m) == pytest.approx(10.0)
    assert in_inches(layer.hard_again_m) == pytest.approx(17.0)


def test_hard_from_the_surface_begins_at_the_surface() -> None:
    assert probed(400, 400, 100, 100).top_m == 0.0


def test_dry_ground_reads_hard_and_is_not_judged() -> None:
    depths, pressures = push(400, 500, 600)
    assert layer_in_profile(depths, pressures, dry=True).state is LayerState.TOO_DRY
    assert layers_at_one_spot([(depths, pressures)] * 2, dry=True)[0].state is LayerState.TOO_DRY


def test_a_lower_limit_for_sand_finds_what_the_usual_one_does_not() -> None:
    depths, pressures = push(60, 150, 250, 250, 150)
    assert layer_in_profile(depths, pressures).state is LayerState.NONE
    assert layer_in_profile(depths, pressures, 1.5e6).state is LayerState.FOUND


@given(st.lists(st.floats(0, 900), min_size=2, max_size=20))
def test_top_and_bottom_always_lie_inside_what_was_probed(psi: list[float]) -> None:
    depths = [3 * INCH_M * index for index in range(len(psi))]
    layer = layer_in_profile(depths, [p * PSI_PA for p in psi])
    if layer.top_m is not None:
        assert depths[0] <= layer.top_m <= depths[-1]
    if layer.bottom_m is not None:
        assert layer.top_m is not None
        assert layer.top_m < layer.bottom_m <= depths[-1]
    if max(psi) <= 300:
        assert layer.state is LayerState.NONE


@pytest.mark.parametrize(
    ("depths", "pressures", "mend"),
    [
        ([0.0], [1e6], "two depths or more"),
        ([0.0, 0.1], [1e6], "one a depth"),
        ([0.1, 0.0], [1e6, 1e6], "from the surface down"),
        ([0.0, 0.0], [1e6, 1e6], "from the surface down"),
        ([0.0, 0.1], [1e6, math.nan], "leave out what was not read"),
        ([0.0, 0.1], [1e6, -1.0], "leave out what was not read"),
        ([-0.1, 0.1], [1e6, 1e6], "check what was typed"),
    ],
)
def test_a_push_that_cannot_be_is_refused(
    depths: list[float], pressures: list[float], mend: str
) -> None:
    with pytest.raises(ValueError, match=mend):
        layer_in_profile(depths, pressures)
    with pytest.raises(ValueError, match=mend):
        layers_at_one_spot([(depths, pressures), push(100, 100)])


def test_a_pit_with_top_and_bottom_swapped_is_refused() -> None:
    with pytest.raises(ValueError, match="top and bottom were swapped"):
        dug(13 * INCH_M, 9 * INCH_M)
    with pytest.raises(ValueError, match="untouched surface"):
        dug(-0.1, 0.3)
    with pytest.raises(ValueError, match="leave out what was not seen"):
        Layer(LayerState.BOTTOM_NOT_REACHED, 0.2, 0.3)
    with pytest.raises(ValueError, match="leave out what was not seen"):
        Layer(LayerState.FOUND, 0.2)


def pits(*bottoms_in: float, zone: str = "") -> list[Pit]:
    return [Pit(dug((bottom - 4) * INCH_M, bottom * INCH_M), zone) for bottom in bottoms_in]


def test_several_pits_show_middle_deepest_and_spread_and_a_person_chooses() -> None:
    summary = summarise(pits(10.0, 11.0, 11.7, 12.5, 10.6, 11.2))
    assert in_inches(summary.mean_m) == pytest.approx(11.167, abs=0.001)
    assert in_inches(summary.median_m) == pytest.approx(11.10)
    assert in_inches(summary.deepest_m) == pytest.approx(12.5)
    assert in_inches(summary.deviation_m) == pytest.approx(0.869, abs=0.0005)
    assert in_inches(summary.spread_m) == pytest.approx(2.5)
    assert in_inches(summary.median_top_m) == pytest.approx(7.10)
    assert summary.wants_zones
    assert summary.enough


def test_pits_that_agree_want_no_zones_and_two_are_not_enough() -> None:
    summary = summarise(pits(11.0, 13.0))
    assert not summary.wants_zones  # two inches apart is still one field
    assert in_inches(summary.deviation_m) == pytest.approx(2**0.5)
    assert not summary.enough


def test_a_pit_whose_bottom_was_not_reached_is_counted_and_never_averaged() -> None:
    unreached = Pit(Layer(LayerState.BOTTOM_NOT_REACHED, 9 * INCH_M))
    summary = summarise([*pits(11.0, 12.0, 13.0), unreached])
    assert summary.not_reached == 1
    assert in_inches(summary.mean_m) == pytest.approx(12.0)
    assert not summary.enough
    only = summarise([unreached])
    assert (only.mean_m, only.median_m, only.deepest_m, only.spread_m) == (None,) * 4


def test_pits_without_a_layer_count_as_dug() -> None:
    summary = summarise([*pits(11.0), Pit(Layer(LayerState.NONE))])
    assert (summary.pits, summary.with_layer) == (2, 1)
    assert summary.deviation_m is None


def test_dry_pits_are_left_out_and_nothing_but_dry_pits_is_refused() -> None:
    dry = Pit(Layer(LayerState.TOO_DRY))
    assert summarise([*pits(11.0), dry]).pits == 1
    with pytest.raises(ValueError, match="dig at least one pit in moist soil"):
        summarise([dry])


def test_zones_are_summed_apart() -> None:
    zones = summarise_zones([*pits(9, 9.5, zone="hill"), *pits(14, zone="hollow")])
    assert list(zones) == ["hill", "hollow"]
    assert in_inches(zones["hill"].median_m) == pytest.approx(9.25)
    assert in_inches(zones["hollow"].median_m) == pytest.approx(14)


@given(st.floats(0, 1e7), st.sampled_from(Cone))
def test_push_and_resistance_go_there_and_back(pressure_pa: float, cone: Cone) -> None:
    assert cone_pressure_pa(cone_force_n(pressure_pa, cone), cone) == pytest.approx(pressure_pa)

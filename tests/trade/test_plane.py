"""The plane through depth sensors: what they can tell, and which one lies."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cabapp.trade.depth import PlacedDepth, fit_plane
from cabapp.units import INCH_M

FRONT_LEFT, FRONT_RIGHT = ("front left", -2.0, 1.0), ("front right", 2.0, 1.0)
REAR_LEFT, REAR_RIGHT = ("rear left", -2.0, 4.0), ("rear right", 2.0, 4.0)
CORNERS = (FRONT_LEFT, FRONT_RIGHT, REAR_LEFT, REAR_RIGHT)
SIX = (*CORNERS, ("middle left", -2.0, 2.5), ("middle right", 2.0, 2.5))
SHANKS = ((-1.8, 2.5), (-0.9, 2.5), (0.0, 1.5), (0.0, 3.5), (0.9, 2.5), (1.8, 2.5))


def readings(
    places: tuple[tuple[str, float, float], ...],
    depth_in: float = 14.0,
    across_in: float = 0.0,
    back_in: float = 0.0,
    **lies_in: float,
) -> list[PlacedDepth]:
    """Readings of a plane through (0, 2.5), its slopes in inches a metre, plus lies by name."""
    return [
        PlacedDepth(
            name,
            across,
            back,
            INCH_M
            * (
                depth_in
                + across_in * across
                + back_in * (back - 2.5)
                + lies_in.get(name.replace(" ", "_"), 0.0)
            ),
        )
        for name, across, back in places
    ]


def test_one_sensor_gives_a_depth_and_no_level() -> None:
    tool = fit_plane(readings((FRONT_LEFT,))).over(SHANKS)
    assert tool.mean_m == pytest.approx(14 * INCH_M)
    assert (tool.front_m, tool.rear_m, tool.left_m, tool.right_m) == (None,) * 4
    assert tool.shallowest_end_m == tool.mean_m
    assert tool.rear_low_m is None
    assert tool.left_low_m is None


def test_two_along_the_tool_give_front_and_rear_but_no_side() -> None:
    plane = fit_plane(readings((FRONT_LEFT, REAR_LEFT), back_in=1.0))
    tool = plane.over(SHANKS)
    assert plane.back_slope == pytest.approx(INCH_M)
    assert tool.rear_low_m == pytest.approx(2.0 * INCH_M)  # shanks from 1.5 to 3.5 m back
    assert tool.shallowest_end_m == pytest.approx(13.0 * INCH_M)
    assert tool.left_low_m is None


def test_two_across_the_tool_give_left_and_right_but_no_fore_and_aft() -> None:
    tool = fit_plane(readings((REAR_LEFT, REAR_RIGHT), across_in=-0.5)).over(SHANKS)
    assert tool.left_low_m == pytest.approx(0.5 * 3.6 * INCH_M)
    assert tool.rear_low_m is None


def test_two_set_askew_tell_no_level_at_all() -> None:
    # Their difference may be side tilt or fore-aft tilt: nobody can say which.
    plane = fit_plane(readings((FRONT_LEFT, REAR_RIGHT), back_in=1.0))
    assert (plane.across_slope, plane.back_slope) == (None, None)


def test_two_in_one_spot_tell_no_level() -> None:
    close = (("a", 0.0, 1.0), ("b", 0.0, 1.2))
    assert fit_plane(readings(close, back_in=1.0)).back_slope is None


def test_three_in_a_row_along_tell_fore_and_aft_only() -> None:
    row = (("a", 0.0, 1.0), ("b", 0.1, 2.5), ("c", 0.0, 4.0))
    plane = fit_plane(readings(row, back_in=1.0))
    assert plane.back_slope == pytest.approx(INCH_M)
    assert plane.across_slope is None
    assert len(plane.residuals_m) == 3


@given(st.floats(-2, 2), st.floats(-2, 2), st.floats(0, 20))
def test_three_sensors_give_the_plane_they_lie_in(
    across_in: float, back_in: float, depth_in: float
) -> None:
    points = readings(CORNERS[:3], depth_in, across_in, back_in)
    plane = fit_plane(points)
    for point in points:
        assert plane.depth_at(point.across_m, point.back_m) == pytest.approx(
            point.depth_m, abs=1e-12
        )
    assert plane.depth_at(0.0, 2.5) == pytest.approx(depth_in * INCH_M, abs=1e-12)
    assert plane.residuals_m == ()


def test_four_that_agree_leave_nothing_over() -> None:
    plane = fit_plane(readings(CORNERS, across_in=0.2, back_in=-0.3))
    assert [residual for _, residual in plane.residuals_m] == pytest.approx([0.0] * 4, abs=1e-12)
    assert not plane.disagree
    assert plane.suspect is None


@pytest.mark.parametrize("liar", [name for name, _, _ in CORNERS])
@pytest.mark.parametrize("lie_in", [-4.0, -2.0, 2.0, 4.0])
def test_a_lying_corner_of_four_is_named_where_the_frame_is_level(liar: str, lie_in: float) -> None:
    plane = fit_plane(readings(CORNERS, **{liar.replace(" ", "_"): lie_in}))
    assert plane.suspect == liar
    # By residual alone the four look alike: that is why the level frame is needed to tell.
    sizes = [abs(residual) for _, residual in plane.residuals_m]
    assert max(sizes) - min(sizes) < 1e-9


def test_four_corners_of_a_frame_that_usually_tips_are_judged_by_how_it_usually_lies() -> None:
    usual = fit_plane(readings(CORNERS, back_in=1.0))
    lying = readings(CORNERS, back_in=1.0, rear_left=-3.0)
    # Read as a level frame, the same four numbers accuse the other rear corner.
    assert fit_plane(lying).suspect == "rear right"
    assert fit_plane(lying, usual).suspect == "rear left"


@given(
    st.sampled_from([name for name, _, _ in SIX]),
    st.one_of(st.floats(2.5, 8.0), st.floats(-8.0, -2.5)),
    st.floats(-2, 2),
    st.floats(-2, 2),
)
def test_among_six_the_lying_one_is_named_even_on_a_tipped_frame(
    liar: str, lie_in: float, across_in: float, back_in: float
) -> None:
    points = readings(SIX, 14.0, across_in, back_in, **{liar.replace(" ", "_"): lie_in})
    assert fit_plane(points).suspect == liar
    honest = [point for point in points if point.sensor != liar]
    assert fit_plane(honest).depth_at(0.0, 2.5) == pytest.approx(14 * INCH_M)


@pytest.mark.parametrize("liar", [name for name, _, _ in CORNERS])
def test_a_fifth_sensor_in_the_middle_still_needs_the_level_to_name_a_corner(liar: str) -> None:
    five = (*CORNERS, ("middle", 0.0, 2.5))
    assert fit_plane(readings(five, **{liar.replace(" ", "_"): -3.0})).suspect == liar
    assert fit_plane(readings(five, middle=3.0)).suspect == "middle"


def test_two_liars_among_six_are_noticed_and_nobody_is_named() -> None:
    plane = fit_plane(readings(SIX, front_left=6.0, rear_right=5.0))
    assert plane.disagree
    assert plane.suspect is None


def test_two_in_one_spot_that_differ_disagree_and_name_nobody() -> None:
    close = (("a", 0.0, 1.0), ("b", 0.0, 1.1))
    plane = fit_plane(readings(close, b=-4.0))
    assert plane.disagree
    assert plane.suspect is None


@given(st.lists(st.floats(-0.7, 0.7), min_size=6, max_size=6))
def test_ordinary_ground_never_makes_a_liar(bumps_in: list[float]) -> None:
    # What the other five say of a corner weighs their readings by 0.6, 0.2, 0.8, 0 and -0.6, so it
    # is off by up to 1.6 times what readings differ by: 1.5 in takes ground of 15/16 in.
    assume(max(bumps_in) - min(bumps_in) < 15.0 / 16.0)
    names = [name.replace(" ", "_") for name, _, _ in SIX]
    assert not fit_plane(readings(SIX, **dict(zip(names, bumps_in, strict=True)))).disagree


def test_the_plane_is_the_least_squares_one() -> None:
    points = readings(SIX, middle_left=1.0, rear_right=0.5)
    plane = fit_plane(points)

    def misfit(depth: float, across: float, back: float) -> float:
        return sum(
            (point.depth_m - depth - across * point.across_m - back * (point.back_m - plane.back_m))
            ** 2
            for point in points
        )

    assert plane.across_slope is not None
    assert plane.back_slope is not None
    best = misfit(plane.depth_m, plane.across_slope, plane.back_slope)
    for step in (1e-4, -1e-4):
        assert misfit(plane.depth_m + step, plane.across_slope, plane.back_slope) > best
        assert misfit(plane.depth_m, plane.across_slope + step, plane.back_slope) > best
        assert misfit(plane.depth_m, plane.across_slope, plane.back_slope + step) > best


def test_what_cannot_be_fitted_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="found none, expected at least one sensor"):
        fit_plane([])
    with pytest.raises(ValueError, match="each sensor once"):
        fit_plane([*readings((FRONT_LEFT,)), *readings((FRONT_LEFT,))])
    with pytest.raises(ValueError, match=r"rear left: found across 0\.0, back 0\.0, depth nan"):
        fit_plane([PlacedDepth("rear left", 0.0, 0.0, math.nan)])
    with pytest.raises(ValueError, match="places: found none"):
        fit_plane(readings(CORNERS)).over(())

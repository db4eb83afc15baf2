"""Worked ground as it grows: what a driver and an owner would say of these drives."""

import math

import pytest

from cabapp.ground.worked import Worked
from cabapp.readings import FixKind
from cabapp.rig import Receiver, Tool
from cabapp.trade.geodesy import LocalPlane

WIDTH_M = 5.0
LEAD_M = 7.0  # antenna ahead of the shanks: 3 m to the pin and 4 m behind it
TOOL = Tool(width_m=WIDTH_M, hitch_back_m=3.0, lag_m=4.0)
CENTRED = Receiver()
PLANE = LocalPlane.at(52.0, 5.0)
SPEED_MPS = 2.5


class Drive:
    """A tractor on a plane that feeds worked ground once a second."""

    def __init__(self, receiver: Receiver = CENTRED, kind: FixKind = FixKind.FIXED) -> None:
        self.worked = Worked(TOOL, receiver)
        self.now_s = 0.0
        self.kind = kind
        self.rows: list[dict[str, object]] = []

    def at(self, x_m: float, y_m: float, course_deg: float | None, working: bool) -> None:
        lat, lon = PLANE.to_lat_lon(x_m, y_m)
        self.rows.append(
            {"t_s": self.now_s, "lat_deg": lat, "lon_deg": lon, "course_deg": course_deg,
             "phase": "working" if working else "lifted", "fix": self.kind.value}
        )  # fmt: skip
        self.worked.fix(self.now_s, lat, lon, course_deg, working, self.kind)
        self.now_s += 1.0

    def north(self, x_m: float, from_m: float = 0.0, to_m: float = 100.0) -> None:
        """A pass northwards in which the tool works from one y to the other."""
        y = from_m - 10.0
        while y <= to_m + 1e-9:
            self.at(x_m, y + LEAD_M, 0.0, from_m <= y < to_m)
            y += SPEED_MPS

    def far_away(self) -> None:
        """Time in which nothing was heard."""
        self.now_s += 60.0


def test_one_pass_is_width_times_way() -> None:
    drive = Drive()
    drive.north(0.0)
    assert drive.worked.gross_m2 == pytest.approx(500.0, abs=0.01)
    assert drive.worked.net_m2 == pytest.approx(500.0, rel=0.002)
    assert drive.worked.overlap_m2 < 1.0


def test_the_antenna_is_not_the_tool() -> None:
    drive = Drive()
    drive.north(0.0, to_m=50.0)
    lat, lon = drive.worked.place or (0.0, 0.0)
    x, y = PLANE.to_xy(lat, lon)
    assert (x, y) == (pytest.approx(0.0, abs=1e-3), pytest.approx(50.0, abs=1e-3))


def test_an_antenna_mounted_right_of_the_middle_shifts_the_swath_left() -> None:
    drive = Drive(Receiver(antenna_right_m=1.5))
    drive.north(0.0, to_m=50.0)
    x, _ = PLANE.to_xy(*(drive.worked.place or (0.0, 0.0)))
    assert x == pytest.approx(-1.5, abs=1e-3)


def test_a_pulled_tool_cuts_the_corner() -> None:
    """In a steady circle a drawbar tool runs inside: radii obey pin^2 = tool^2 + lag^2."""
    drive = Drive()
    radius = 20.0
    for step in range(400):
        angle = step * 0.05
        course = math.degrees(-angle) % 360.0
        drive.at(radius * math.cos(angle), radius * math.sin(angle), course, False)
    x, y = PLANE.to_xy(*(drive.worked.place or (0.0, 0.0)))
    pin = math.hypot(radius, 3.0)
    assert math.hypot(x, y) == pytest.approx(math.sqrt(pin**2 - 4.0**2), rel=0.01)
    assert math.hypot(x, y) < pin


def test_work_stops_counting_when_the_fix_is_lost_and_is_not_filled_in() -> None:
    drive = Drive()
    for y in range(0, 101, 2):
        if 40 < y < 60:
            drive.worked.fix(drive.now_s, None, None, None, True)
            drive.now_s += 1.0
        else:
            drive.at(0.0, y, 0.0, True)
    assert drive.worked.gross_m2 == pytest.approx(WIDTH_M * 80.0, abs=0.1)
    assert drive.worked.net_m2 == pytest.approx(WIDTH_M * 80.0, rel=0.005)
    assert len(drive.worked.passes) == 1


def test_one_lost_second_is_no_gap() -> None:
    drive = Drive()
    for y in (0, 2, 4, 8, 10):
        if y == 8:
            drive.now_s += 1.0
        drive.at(0.0, y, 0.0, True)
    drive.at(0.0, 12, 0.0, False)
    assert drive.worked.gross_m2 == pytest.approx(WIDTH_M * 12.0, abs=0.01)


def test_a_jump_of_the_fix_works_no_ground() -> None:
    drive = Drive()
    drive.north(0.0, to_m=50.0)
    before = drive.worked.gross_m2
    drive.at(300.0, 50.0, 0.0, True)
    drive.at(0.0, 52.0, 0.0, True)
    assert drive.worked.gross_m2 == before


def test_a_dead_reckoned_place_is_not_counted() -> None:
    drive = Drive(kind=FixKind.ESTIMATED)
    drive.north(0.0)
    assert drive.worked.gross_m2 == 0.0
    assert drive.worked.edge_error_m is None


def test_standing_with_the_tool_in_works_no_ground() -> None:
    drive = Drive()
    for step in range(600):
        drive.at(0.02 * (step % 3), 0.02 * (step % 2), None if step else 0.0, True)
    assert drive.worked.gross_m2 == 0.0


def test_two_passes_a_metre_too_close_overlap_by_a_metre() -> None:
    drive = Drive()
    drive.north(0.0)
    drive.far_away()
    drive.north(4.0)
    assert drive.worked.overlap_m2 == pytest.approx(100.0, rel=0.01)
    assert drive.worked.overlap_measurable
    assert [done.number for done in drive.worked.passes] == [1, 2]
    assert drive.worked.passes[1].new_m2 == pytest.approx(400.0, rel=0.005)


def test_overlap_is_not_stated_with_a_plain_fix() -> None:
    drive = Drive(kind=FixKind.PLAIN)
    drive.north(0.0)
    assert not drive.worked.overlap_measurable
    assert drive.worked.edge_error_m == 3.0


def test_a_second_of_plain_fix_does_not_spoil_a_day_of_carrier_phase() -> None:
    drive = Drive()
    for x in (0.0, 5.0, 10.0):
        drive.north(x)
        drive.far_away()
    drive.kind = FixKind.PLAIN
    drive.at(50.0, 0.0, 0.0, True)
    drive.at(50.0, 1.5, 0.0, False)
    assert drive.worked.edge_error_m == 0.05


def test_a_strip_left_between_passes_is_a_miss_and_the_open_side_is_not() -> None:
    drive = Drive()
    drive.north(0.0)
    drive.far_away()
    drive.north(6.0)  # a metre left between
    assert drive.worked.misses_m2() == pytest.approx(100.0, rel=0.05)


def test_a_strip_wide_enough_for_another_pass_is_no_miss() -> None:
    drive = Drive()
    drive.north(0.0)
    drive.far_away()
    drive.north(10.0)
    assert drive.worked.misses_m2() == 0.0


def test_a_lane_is_withdrawn_without_trace() -> None:
    drive = Drive()
    drive.north(0.0)
    assert drive.worked.provisional
    assert not drive.worked.came_back
    assert drive.worked.withdraw(0.0) == pytest.approx(500.0, abs=0.01)
    assert (drive.worked.gross_m2, drive.worked.net_m2) == (pytest.approx(0.0), 0.0)
    assert drive.worked.passes == ()


def test_withdrawing_a_later_lane_leaves_the_field_before_it() -> None:
    drive = Drive()
    drive.north(0.0)
    drive.worked.begin_provisional()
    drive.far_away()
    since = drive.now_s
    drive.north(2.0)
    drive.worked.withdraw(since)
    assert drive.worked.gross_m2 == pytest.approx(500.0, abs=0.01)
    assert drive.worked.net_m2 == pytest.approx(500.0, rel=0.002)
    assert len(drive.worked.passes) == 1


def test_a_lane_after_a_restart_takes_nothing_of_the_field_before_it() -> None:
    """Times begin anew with the program: what was kept is not judged by them."""
    drive = Drive()
    drive.now_s = 5_000.0
    for x in (0.0, 5.0):
        drive.north(x)
        drive.far_away()
    worked = Worked.rebuild(TOOL, Receiver(), drive.rows)
    again = Drive()
    again.worked = worked
    worked.begin_provisional()
    again.north(60.0)
    worked.withdraw(0.0)
    assert worked.gross_m2 == pytest.approx(1000.0, abs=0.01)
    assert len(worked.passes) == 2
    assert not worked.inside_block(*PLANE.to_lat_lon(0.0, 1.0))  # its pass ends are still known
    assert not worked.inside_block(*PLANE.to_lat_lon(60.0, 50.0))


def test_coming_back_beside_the_first_pass_shows_a_field() -> None:
    drive = Drive()
    drive.north(0.0)
    drive.far_away()
    drive.north(5.0, to_m=50.0)
    assert drive.worked.came_back


def test_the_next_pass_is_inside_the_block_and_the_headland_is_not() -> None:
    drive = Drive()
    for x in (0.0, 5.0, 10.0):
        drive.north(x, to_m=200.0)
        drive.far_away()
    inside = PLANE.to_lat_lon(15.0, 100.0)
    headland = PLANE.to_lat_lon(5.0, 206.0)
    neighbour = PLANE.to_lat_lon(80.0, 100.0)
    assert drive.worked.inside_block(*inside)
    assert not drive.worked.inside_block(*headland)
    assert not drive.worked.inside_block(*neighbour)


def test_a_rebuilt_shift_has_the_same_ground() -> None:
    drive = Drive()
    for x in (0.0, 4.5, 9.0):
        drive.north(x, to_m=150.0)
        drive.far_away()
    drive.worked.keep()
    again = Worked.rebuild(TOOL, Receiver(), drive.rows)
    assert again.net_m2 == drive.worked.net_m2
    assert again.gross_m2 == drive.worked.gross_m2
    assert again.passes == drive.worked.passes


def test_a_rebuilt_shift_leaves_out_what_was_withdrawn() -> None:
    drive = Drive()
    drive.north(0.0)
    first_ends = drive.now_s
    drive.far_away()
    drive.north(50.0)
    again = Worked.rebuild(TOOL, Receiver(), drive.rows, ((0.0, first_ends),))
    assert again.gross_m2 == pytest.approx(500.0, abs=0.01)


def test_a_first_fix_from_elsewhere_does_not_hold_the_plane() -> None:
    drive = Drive()
    drive.worked.fix(0.0, 0.0, 0.0, 90.0, False)
    drive.now_s = 1.0
    drive.north(0.0)
    assert drive.worked.gross_m2 == pytest.approx(500.0, abs=0.05)


def test_a_tight_turn_in_the_ground_is_filled_as_the_tool_swept_it() -> None:
    """Turning about its own inner end a tool of width w sweeps a half disc of radius w."""
    drive = Drive()
    worked = Worked(Tool(width_m=WIDTH_M, hitch_back_m=0.0, lag_m=0.0), Receiver())
    for step in range(181):
        angle = math.radians(step)
        radius = WIDTH_M / 2
        x, y = radius * math.cos(angle), radius * math.sin(angle)
        lat, lon = PLANE.to_lat_lon(x, y)
        worked.fix(step * 1.0, lat, lon, (360.0 - step) % 360.0, step < 180, drive.kind)
    half_disc = math.pi * WIDTH_M**2 / 2
    assert worked.net_m2 == pytest.approx(half_disc, rel=0.02)

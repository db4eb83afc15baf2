"""The record judges every pass from the same place on, however it was driven."""

import pytest

from cabapp.units import KMH_MPS, MPH_MPS
from tests.cab.drive import Machine, full_rig, receiver_rig, working

HIGH_MPH = 9.0  # above the default band of 5 to 7 mph


def judged_from_m(machine: Machine) -> float:
    """Ground of the rows of this pass before the first that is judged."""
    way = 0.0
    for row in machine.rows:
        if row.values["phase"] != "working":
            way = 0.0
        elif row.values["stretch_speed"] != "idle":
            return way
        else:
            way += float(row.values["speed_mps"] or 0.0)
    raise AssertionError("no row was judged")


@pytest.mark.parametrize("mph", [6.0, HIGH_MPH])
def test_on_a_receiver_alone_a_fast_pass_is_judged_from_where_one_in_band_is(mph: float) -> None:
    machine = Machine(receiver_rig(), gnss_hz=1)
    machine.go(5)
    machine.mph = mph
    machine.go(40)
    assert judged_from_m(machine) == pytest.approx(25.0, abs=mph * MPH_MPS)


@pytest.mark.parametrize("inches", [14.0, 9.0])
def test_a_pass_at_depth_at_once_is_judged_from_where_a_shallow_one_is(inches: float) -> None:
    machine = Machine(full_rig())
    machine.lift().go(5)
    machine.work()
    machine.depth_in = inches
    machine.go(40)
    assert judged_from_m(machine) == pytest.approx(25.0, abs=6.0 * MPH_MPS)


def test_a_curve_all_the_way_is_judged_like_a_straight_row() -> None:
    """A contour of 60 m radius is never straight for long."""
    machine = Machine(full_rig(depth=False))
    machine.lift().go(5)
    machine.work()
    machine.turn_dps = 2.5
    machine.go(40)
    assert judged_from_m(machine) == pytest.approx(25.0, abs=6.0 * MPH_MPS)


def test_a_fast_row_that_slows_for_its_turn_is_in_band_nowhere() -> None:
    machine = Machine(receiver_rig(), gnss_hz=1)
    machine.go(5)
    machine.mph = HIGH_MPH
    machine.go(40)
    machine.mph = machine.real_mph = 6.0 * KMH_MPS / MPH_MPS  # as late as a driver can
    machine.turn_dps = 12.0
    machine.go(15)
    assert {row.values["phase"] for row in machine.rows} >= {"working", "turning"}
    assert not [row for row in machine.rows if row.values["stretch_speed"] == "in"]


def test_what_an_alert_speaks_of_is_on_the_record_even_while_it_sets_in() -> None:
    machine = working(full_rig(switch=True))
    machine.lift().go(10)
    machine.work(2.0)  # 0.9 m/s: the alert is due before 25 m
    machine.share = {n: 0.95 if n == 3 else 0.5 for n in range(1, 8)}
    machine.go(12)
    assert "ease_off" in machine.active()
    assert machine.rows[-1].values["stretch_springs"] == "out"

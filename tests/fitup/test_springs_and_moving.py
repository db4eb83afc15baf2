"""Springs by two witnesses, and which sensor is which."""

import math

import pytest

from cabapp.fitup.findings import Fault
from cabapp.fitup.judge import Verdict
from cabapp.fitup.moving import MoveFinder, direction, swapped
from cabapp.fitup.scaling import WIRES
from cabapp.fitup.springs import Witness, prove_spring

VOLTS = WIRES["V"]


def faults(proof):
    return [f.fault for f in proof.findings]


def test_lifted_is_zero_and_two_agreeing_trips_are_a_hundred_percent():
    witness = Witness().with_lifted(0.6, 0.599, 0.601).with_trip(3.58).with_trip(3.62)
    proof = prove_spring(witness, VOLTS)
    assert proof.verdict is Verdict.PROVEN and proof.curve is not None
    assert proof.curve.value(0.6) == pytest.approx(0.0)
    assert proof.curve.value(3.6) == pytest.approx(1.0)
    assert proof.curve.proven_error == pytest.approx(0.02 / 3.0)


def test_before_a_trip_is_seen_the_load_stays_unknown():
    proof = prove_spring(Witness().with_lifted(0.6, 0.6, 0.6), VOLTS)
    assert faults(proof) == [Fault.NO_TRIP] and proof.curve is None


def test_one_trip_is_usable_and_named_as_unproven():
    proof = prove_spring(Witness().with_lifted(0.6, 0.6, 0.6).with_trip(3.6), VOLTS)
    assert proof.verdict is Verdict.UNPROVEN and faults(proof) == [Fault.ONE_TRIP]
    assert proof.curve is not None and proof.curve.proven_error == pytest.approx(0.10)


def test_trips_that_disagree_are_refused():
    witness = Witness().with_lifted(0.6, 0.6, 0.6).with_trip(3.6).with_trip(2.9)
    proof = prove_spring(witness, VOLTS)
    assert proof.verdict is Verdict.REFUSED and faults(proof) == [Fault.TRIP_SPREAD]


def test_a_spring_that_reads_the_same_lifted_and_tripped_is_not_a_spring():
    proof = prove_spring(Witness().with_lifted(2.0, 2.0, 2.0).with_trip(2.05), VOLTS)
    assert faults(proof) == [Fault.SAME_SIGNAL]


@pytest.mark.parametrize("bad", [0.1, 4.9, math.nan])
def test_a_wire_fault_at_either_witness_is_named(bad):
    assert Fault.WIRE in faults(
        prove_spring(Witness().with_lifted(bad, bad, bad).with_trip(3.6), VOLTS)
    )
    assert Fault.WIRE in faults(
        prove_spring(Witness().with_lifted(0.6, 0.6, 0.6).with_trip(bad), VOLTS)
    )


def finder(noise=0.004):
    found = MoveFinder({"depth1": 0.002, "depth2": 0.002, "spring1": 0.002})
    for n in range(20):
        for place, channel in enumerate(("depth1", "depth2", "spring1")):
            found.hear(channel, 2.0 + place + noise * math.sin(7 * n + place))
    return found


def test_the_one_that_moved_is_named_with_its_way():
    found = finder()
    assert found.arm()
    for n in range(20):
        found.hear("depth1", 2.0 + 0.004 * math.sin(n))
        found.hear("depth2", 3.0 - 0.02 * n)
        found.hear("spring1", 4.0)
    moved = found.found()
    assert moved.channel == "depth2" and moved.change < -0.3
    assert direction(moved.change, went_deeper=True) == -1
    assert direction(moved.change, went_deeper=False) == 1


def test_nothing_is_named_while_only_noise_moves_or_two_move_alike():
    still = finder()
    still.arm()
    for n in range(50):
        still.hear("depth1", 2.0 + 0.006 * math.sin(n))
    assert still.found().channel is None
    both = finder()
    both.arm()
    for channel, value in (("depth1", 2.3), ("depth2", 3.28)):
        both.hear(channel, value)
    assert both.found().channel is None
    assert len(both.found().scores) == 2


def test_a_restless_signal_must_move_further_than_its_own_restlessness():
    restless = finder(noise=0.05)
    restless.arm()
    restless.hear("depth1", 2.15)
    assert restless.found().channel is None
    restless.hear("depth1", 2.9)
    assert restless.found().channel == "depth1"


def test_a_channel_with_no_base_is_never_named():
    found = MoveFinder({"depth1": 0.002, "depth2": 0.002})
    assert not found.arm()
    for _ in range(10):
        found.hear("depth1", 2.0)
    assert found.arm()
    found.hear("depth2", 9.0)
    found.hear("depth1", None)
    found.hear("stranger", 1.0)
    assert found.found().channel is None


def test_left_and_right_swapped_are_found_as_a_pair():
    (found,) = swapped({"depth1": "depth2", "depth2": "depth1", "spring1": "spring1"})
    assert found.fault is Fault.SWAPPED
    assert found.what == "Depth1 and depth2: plugs are swapped"


def test_one_wrong_answer_alone_is_named_and_asks_for_the_other():
    (found,) = swapped({"depth1": "depth2", "depth2": None})
    assert found.fault is Fault.WRONG_ONE and "depth2 answered" in found.what


def test_the_right_answers_find_nothing():
    assert swapped({"depth1": "depth1", "depth2": "depth2"}) == ()

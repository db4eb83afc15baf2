"""Finding the speed of a wire, with time as an argument."""

import random

from cabapp.engine.baud import LONGER_PROBE_S, PROBE_S, SPEEDS, SpeedSearch
from tests.engine.wires import rmc, sentence


def noise(count: int) -> bytes:
    return random.Random(4).randbytes(count)


def test_a_receiver_that_speaks_once_a_second_is_found_at_every_phase():
    for phase in (0.0, 0.3, 0.7, 0.99):
        search = SpeedSearch()
        for second in range(3):
            search.take(rmc(second), phase + second)
        assert search.locked and search.baud == SPEEDS[0], phase


def test_one_lucky_sentence_does_not_lock_an_unknown_speed():
    search = SpeedSearch()
    search.take(rmc(0), 0.0)
    assert not search.locked
    assert search.baud == SPEEDS[0]


def test_one_sentence_is_enough_at_the_speed_that_worked_before():
    search = SpeedSearch(known=57600)
    assert search.baud == 57600
    search.take(rmc(0), 0.0)
    assert search.locked


def test_noise_moves_on_long_before_the_probe_ends():
    search = SpeedSearch()
    search.take(noise(250), 0.1)
    assert search.baud == SPEEDS[1]


def test_readable_text_that_is_no_sentence_gets_the_whole_probe():
    search = SpeedSearch()
    search.take(b"boot: firmware 2.1\r\n" * 20, 0.0)
    search.take(b"boot: waiting\r\n", PROBE_S - 0.1)
    assert search.baud == SPEEDS[0]
    search.take(b"boot: waiting\r\n", PROBE_S)
    assert search.baud == SPEEDS[1]


def test_silence_is_no_reason_to_leave_a_speed():
    search = SpeedSearch()
    for second in range(3):
        search.take(rmc(second), float(second))
    search.take(rmc(500), 500.0)
    assert search.locked and search.baud == SPEEDS[0]


def test_a_locked_speed_is_left_only_after_five_seconds_of_nothing_but_noise():
    search = SpeedSearch()
    for second in range(3):
        search.take(rmc(second), float(second))
    search.take(noise(900), 2.0 + LONGER_PROBE_S - 0.1)
    assert search.locked
    search.take(noise(900), 2.0 + LONGER_PROBE_S)
    assert not search.locked and search.baud == SPEEDS[1]


def test_every_speed_comes_round_and_each_round_is_counted():
    search = SpeedSearch(known=19200)
    tried = set()
    for step in range(len(SPEEDS)):
        tried.add(search.baud)
        search.take(noise(300), float(step))
    assert tried == set(SPEEDS)
    assert search.rounds == 1 and search.baud == 19200


def test_a_wire_is_known_by_what_it_says():
    receiver, node, compass = SpeedSearch(), SpeedSearch(), SpeedSearch()
    receiver.take(rmc(0) + rmc(1), 0.0)
    node.take(sentence("YXXDR,D,0.145,M,DEPTH1") * 2, 0.0)
    compass.take(sentence("HCHDM,218.6,M") * 2, 0.0)
    assert receiver.speaks("receiver") and receiver.speaks_for_another("node")
    assert node.speaks("node") and node.speaks_for_another("receiver")
    assert compass.locked and not compass.speaks_for_another("receiver")

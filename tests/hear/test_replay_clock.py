"""When the bytes of a log came."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.hear.replay_clock import timed_chunks
from tests.hear.receiver import gga, rmc
from tests.sentences import sentence


def times(data: bytes, baud: int = 9600) -> list[float]:
    return [at for _, at in timed_chunks([data], baud)]


def test_time_goes_on_by_the_receivers_own_clock():
    log = b"".join(rmc(36_000 + step / 10, 9.0) for step in range(200))
    at = times(log)
    assert at[-1] - at[0] == pytest.approx(19.9)
    assert at[100] - at[0] == pytest.approx(10.0)


def test_a_wrong_speed_of_the_wire_cannot_stretch_a_shift():
    log = b"".join(gga(step / 10) + rmc(step / 10, 9.0) for step in range(100))
    slow, fast = times(log, 4800), times(log, 115200)
    assert slow[-2] - slow[0] == pytest.approx(fast[-2] - fast[0])
    assert slow == sorted(slow)


def test_within_an_epoch_the_bytes_take_their_time_on_the_wire():
    log = gga(0.0) + rmc(0.0, 9.0) + gga(1.0) + rmc(1.0, 9.0)
    first, second, third, _ = times(log, 4800)
    assert second - first == pytest.approx(len(rmc(0.0, 9.0)) * 10 / 4800, abs=1e-5)
    assert third - first == pytest.approx(1.0)


def test_a_gap_of_a_minute_is_time_and_a_longer_one_is_a_cut():
    start = rmc(0.0, 9.0)
    assert times(start + rmc(60.0, 9.0))[1] - times(start)[0] == pytest.approx(60.0)
    assert times(start + rmc(61.0, 9.0))[1] - times(start)[0] < 0.2


def test_midnight_is_one_step():
    at = times(rmc(86399.5, 9.0) + rmc(0.0, 9.0))
    assert at[1] - at[0] == pytest.approx(0.5)


def test_without_a_receiver_time_the_bytes_are_the_clock():
    log = sentence("YXXDR,D,0.145,M,DEPTH1") * 100
    assert times(log, 9600)[-1] == pytest.approx(len(log) * 10 / 9600, abs=1e-4)


def test_a_time_under_a_wrong_checksum_moves_nothing():
    bad = rmc(30.0, 9.0).replace(b"N", b"S", 1)
    at = times(rmc(0.0, 9.0) + bad + rmc(1.0, 9.0))
    assert at[2] - at[0] == pytest.approx(1.0)


def test_a_talker_that_lags_does_not_move_the_clock_back_or_twice_on():
    log = b"".join(rmc(second + 1, 9.0) + gga(second, talker="GP") for second in range(50))
    at = times(log)
    assert at[-2] - at[0] == pytest.approx(49.0)


@given(st.lists(st.one_of(st.binary(max_size=900), st.builds(lambda n: rmc(n / 2, 5.0),
                st.integers(0, 200))), max_size=10), st.integers(1, 99))  # fmt: skip
def test_cuts_change_nothing_and_time_never_runs_back(parts: list[bytes], size: int):
    data = b"".join(parts)
    whole = list(timed_chunks([data]))
    assert list(timed_chunks(data[n : n + size] for n in range(0, len(data), size))) == whole
    assert b"".join(chunk for chunk, _ in whole) == data
    assert [at for _, at in whole] == sorted(at for _, at in whole)

"""From bytes to checked sentences, whatever else comes."""

import functools
import operator
import random
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.hear.lines import Line, Lines, checksum


def wrap(body: str) -> bytes:
    return f"${body}*{functools.reduce(operator.xor, body.encode(), 0):02X}".encode()


RMC = "GNRMC,101500.00,A,4403.1000,N,09312.5000,W,5.400,90.0,120626,,,A"
GGA = "GNGGA,101500.00,4403.1000,N,09312.5000,W,4,12,0.7,250.0,M,-30.0,M,1.0,0001"


def texts(data: bytes) -> list[str]:
    return [line.text for line in Lines().feed(data, 0.0)]


@pytest.mark.parametrize("end", [b"\r\n", b"\n", b"\r", b"\n\n\r\r"])
def test_a_line_ends_at_cr_or_lf_or_both(end: bytes):
    assert texts(wrap(RMC) + end + wrap(GGA) + end) == [RMC, GGA]


def test_a_line_is_whole_only_at_its_end_and_takes_that_time():
    lines = Lines()
    assert lines.feed(wrap(RMC)[:30], 1.0) == []
    assert lines.feed(wrap(RMC)[30:], 2.0) == []
    assert lines.feed(b"\r", 3.0) == [Line("RMC", RMC, 3.0)]
    assert lines.feed(b"\n", 4.0) == []


def test_binary_and_text_glued_in_front_do_not_hide_a_sentence():
    assert texts(b"\xd3\x00\x13$\x00\xffboot$\x01" + wrap(RMC) + b"\r\n") == [RMC]
    assert texts(b"\x00" * 1000 + wrap(RMC) + b"\r\n") == [RMC]


def test_sentences_run_into_one_line_are_all_heard():
    assert texts(wrap(GGA) + wrap(RMC) + b"\r\n") == [GGA, RMC]


def test_a_sentence_cut_by_the_next_one_is_lost_alone():
    assert texts(wrap(GGA)[:40] + wrap(RMC) + b"\r\n") == [RMC]


@pytest.mark.parametrize(
    ("line", "count"),
    [
        (b"$" + RMC.encode(), "no_checksum"),
        (wrap(RMC)[:-1], "no_checksum"),
        (wrap(RMC)[:-2] + b"00", "bad_checksum"),
        (wrap(RMC)[:-2] + b"+3", "bad_checksum"),
        (b"boot: firmware 2.1", "junk"),
        (b"!AIVDM,1,1,,A,13u?etPv2;0n:dDPwUM1U1Cb069D,0*24", "junk"),
        (b"$" + b"A" * 300, "too_long"),
    ],
)
def test_what_is_no_checked_sentence_is_counted_and_dropped(line: bytes, count: str):
    lines = Lines()
    assert lines.feed(line + b"\r\n", 0.0) == []
    assert getattr(lines.counts, count) == 1
    assert lines.counts.sentences == 0
    assert lines.counts.bytes == len(line) + 2


@pytest.mark.parametrize("turned", [0xB4, 0x9C], ids=["no letter", "a letter elsewhere"])
def test_a_high_byte_that_kept_the_checksum_right_is_refused(turned: int):
    """A comma turned into 0x98 or 0xB0 and another byte turned to match: all fields have moved."""
    body = bytearray(RMC.encode())
    body[body.index(b",")] ^= turned
    body[-1] ^= turned
    total = functools.reduce(operator.xor, body, 0)
    lines = Lines()
    assert lines.feed(b"$%b*%02X\r\n" % (bytes(body), total), 0.0) == []
    assert lines.counts.bad_text == 1


def test_a_makers_own_sentence_has_no_kind():
    (line,) = Lines().feed(wrap("PQRMC,1,2") + b"\r\n", 0.0)
    assert line.kind == ""


def test_lower_case_names_are_not_taken_for_the_standards():
    (line,) = Lines().feed(wrap("gnrmc,101500,A") + b"\r\n", 0.0)
    assert line.kind == ""


def test_fifty_megabytes_without_a_newline_cost_no_memory():
    lines, block = Lines(), b"\xa5$" * 32_768
    lines.feed(block, 0.0)
    tracemalloc.start()
    for _ in range(800):
        lines.feed(block, 0.0)
    held, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert held < 4096
    assert peak < 4 * len(block)
    assert lines.counts.too_long == 1
    assert [line.text for line in lines.feed(b"\n" + wrap(RMC) + b"\n", 0.0)] == [RMC]


@given(st.binary(max_size=700))
def test_the_checksum_is_the_xor_of_all_bytes(body: bytes):
    assert checksum(body) == functools.reduce(operator.xor, body, 0)


PIECES = st.lists(
    st.one_of(
        st.binary(max_size=40),
        st.sampled_from(
            [wrap(RMC), wrap(GGA), wrap(RMC)[:-4], b"\r\n", b"\n", b"\r", b"$", b"*5A"]
        ),
        st.binary(min_size=250, max_size=300),
    ),
    max_size=12,
)


@given(PIECES, st.integers(0, 2**32))
def test_no_bytes_raise_and_no_cut_changes_what_is_heard(pieces: list[bytes], seed: int):
    data = b"".join(pieces)
    whole = Lines()
    expected = whole.feed(data, 0.0)
    cut, dice, heard, start = Lines(), random.Random(seed), [], 0
    while start < len(data):
        size = dice.choice([1, 2, 7, 64, 400])
        heard += cut.feed(data[start : start + size], 0.0)
        start += size
    assert heard == expected
    assert cut.counts == whole.counts


def test_one_flipped_bit_is_always_seen():
    good = wrap(RMC)
    for place in range(1, len(good)):
        for bit in range(8):
            bad = bytearray(good)
            bad[place] ^= 1 << bit
            if bad[place] in b"\r\n$*" or good[place : place + 1] == b"*":
                continue
            heard = texts(bytes(bad) + b"\r\n")
            assert heard in ([], [RMC]), "only the case of a checksum letter may change"

"""Sentences made by the thousand are the same as those made one by one."""

import functools

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from cabapp.world.sentences import number, only, rows_of, sentence, text


@given(
    st.lists(st.floats(-99_999, 99_999), min_size=1, max_size=20),
    st.integers(0, 4),
    st.integers(1, 5),
)
def test_a_number_reads_back_within_half_of_its_last_place(
    values: list[float], decimals: int, whole: int
) -> None:
    for value, data in zip(
        values, rows_of([number(np.array(values), decimals, whole)]), strict=True
    ):
        shown = data.decode()
        assert abs(float(shown) - value) <= 0.5 * 10.0**-decimals + 1e-9
        assert len(shown.lstrip("-").split(".")[0]) >= whole
        assert ("." in shown) == (decimals > 0)


def test_an_unknown_value_is_an_empty_field() -> None:
    assert rows_of([number(np.array([1.5, np.nan, -2.0]), 1)]) == [b"1.5", b"", b"-2.0"]


def test_the_checksum_is_the_xor_of_what_stands_between_dollar_and_star() -> None:
    body = "GPVTG,054.7,T,034.4,M,005.5,N,010.2,K"
    (line,) = rows_of([sentence([text(body, 1)])])
    expected = functools.reduce(lambda total, letter: total ^ letter, body.encode(), 0)
    assert line == f"${body}*{expected:02X}\r\n".encode()


def test_a_row_that_is_left_out_leaves_no_bytes_behind() -> None:
    line = sentence([text("YXXDR,G,1,,SEQ", 3)])
    rows = rows_of([only(line, np.array([True, False, True]))])
    assert rows[1] == b"" and rows[0] == rows[2] != b""

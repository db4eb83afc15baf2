"""Units at the edge: what a person types, what a person reads, and the exact sizes of units."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.units import (
    SHOWN,
    UNITS,
    UnitError,
    UnitSystem,
    depth_text,
    fraction_text,
    from_unit,
    parse_number,
    parse_quantity,
    shown_unit,
    shown_value,
    to_unit,
)

US, METRIC = UnitSystem.US, UnitSystem.METRIC


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("11", 11.0), ("11.25", 11.25), ("11,5", 11.5), (".5", 0.5), (",5", 0.5), ("5.", 5.0),
        ("1/4", 0.25), ("11 1/4", 11.25), ("11-1/4", 11.25), ("11  1 / 4", 11.25),
        ("-1/4", -0.25), ("\u22121/4", -0.25), ("-11 1/4", -11.25), ("+3", 3.0), (" 7 ", 7.0),
        ("0,125", 0.125), ("12,50", 12.5), ("1234,5", 1234.5),
    ],
)  # fmt: skip
def test_numbers_are_read_as_people_type_them(typed: str, value: float) -> None:
    assert parse_number(typed) == value


@pytest.mark.parametrize(
    "typed",
    [
        "", " ", "abc", "1e5", "nan", "inf", "--1", "1 1", "1/", "/4", "1/2/3", "11 1/4 1/4",
        "1.5 1/2", "½", "0x10", "1_000", "9" * 400, "9" * 400 + "/1", "1 " + "9" * 5000 + "/3",
    ],
)  # fmt: skip
def test_what_is_no_number_is_refused_with_what_to_type(typed: str) -> None:
    with pytest.raises(UnitError, match="type for example 11"):
        parse_number(typed)


def test_a_fraction_over_zero_is_refused() -> None:
    with pytest.raises(UnitError, match="fraction over zero"):
        parse_number("11 1/0")


@pytest.mark.parametrize("typed", ["1,250", "18,250", "-1,000"])
def test_a_comma_that_may_mark_thousands_is_asked_again(typed: str) -> None:
    # Read as a decimal comma it would be a thousand times too small.
    with pytest.raises(UnitError, match="two ways"):
        parse_number(typed)


@given(
    whole=st.integers(0, 999),
    bottom=st.integers(2, 64),
    top=st.integers(1, 63),
    minus=st.booleans(),
)
def test_any_whole_and_fraction_is_read_exactly(
    whole: int, bottom: int, top: int, minus: bool
) -> None:
    value = float(whole + Fraction(top, bottom))
    assert parse_number(f"{'-' if minus else ''}{whole} {top}/{bottom}") == pytest.approx(
        -value if minus else value, rel=1e-15
    )


@given(st.text(max_size=30))
def test_no_text_whatever_raises_anything_but_a_unit_error(typed: str) -> None:
    try:
        assert math.isfinite(parse_number(typed))
    except UnitError as refusal:
        assert "type" in str(refusal)


@given(st.text(alphabet="0123456789 ./,-\u2212+incmfthapsiN%", max_size=30))
def test_no_quantity_whatever_raises_anything_but_a_unit_error(typed: str) -> None:
    try:
        assert math.isfinite(parse_quantity(typed, "length"))
    except UnitError as refusal:
        assert len(str(refusal)) > 20


@pytest.mark.parametrize(
    ("typed", "quantity", "value_si"),
    [
        ("11 1/4 in", "length", 0.28575),
        ("11-1/4in", "length", 0.28575),
        ("28.6 cm", "length", 0.286),
        ("28,6 cm", "length", 0.286),
        ("-1/2 in", "length", -0.0127),
        ("5 mph", "speed", 2.2352),
        ("9.6km/h", "speed", 9.6 / 3.6),
        ("40 ac", "area", 161_874.256896),
        ("5 m2", "area", 5.0),
        ("300 psi", "pressure", 2_068_427.1879504),
        ("85 %", "ratio", 0.85),
        ("3000 lbf", "force", 13_344.6648457815),
    ],
)
def test_quantities_with_their_unit_come_out_in_si(
    typed: str, quantity: str, value_si: float
) -> None:
    assert parse_quantity(typed, quantity) == pytest.approx(value_si, rel=1e-12)


def test_a_depth_without_a_unit_is_refused_and_the_units_are_named() -> None:
    with pytest.raises(
        UnitError, match=r"'11' has no unit; a length needs one of: .*\bcm\b.*\bin\b"
    ):
        parse_quantity("11", "length")


def test_a_unit_of_something_else_is_refused() -> None:
    with pytest.raises(UnitError, match="has mph; a length needs one of"):
        parse_quantity("5 mph", "length")
    with pytest.raises(UnitError, match="has cm; an area needs one of"):
        parse_quantity("5 cm", "area")


@pytest.mark.parametrize("typed", ["", "in", "11 IN", '11"', "11 in deep", "1 2 in", "4 in 2"])
def test_what_is_no_quantity_is_refused(typed: str) -> None:
    with pytest.raises(UnitError, match=r"needs|write|type"):
        parse_quantity(typed, "length")


@given(
    unit=st.sampled_from(sorted(UNITS)),
    value=st.floats(-1e9, 1e9, allow_nan=False),
)
def test_there_and_back_is_the_same_in_every_unit(unit: str, value: float) -> None:
    assert to_unit(from_unit(value, unit), unit) == pytest.approx(value, rel=1e-15, abs=1e-300)


@given(st.integers(-64 * 40, 64 * 40), st.sampled_from([2, 4, 8, 16]))
def test_what_is_written_as_a_fraction_reads_back_as_the_same(parts: int, bottom: int) -> None:
    assert parse_number(fraction_text(parts / bottom, bottom)) == parts / bottom


@given(st.floats(-1000, 1000), st.sampled_from([2, 4, 8]))
def test_a_fraction_is_never_more_than_half_a_part_off(value: float, bottom: int) -> None:
    assert abs(parse_number(fraction_text(value, bottom)) - value) <= 0.5 / bottom + 1e-8


@pytest.mark.parametrize(
    ("value", "bottom", "text"),
    [
        (13.5, 4, "13 1/2"), (-0.25, 4, "\u22121/4"), (0.0, 4, "0"), (0.75, 4, "3/4"),
        (-2.75, 4, "\u22122 3/4"), (13.99, 2, "14"), (-0.01, 4, "0"), (3.125, 8, "3 1/8"),
        (0.125, 4, "1/4"),
    ],
)  # fmt: skip
def test_fractions_are_written_as_people_say_them(value: float, bottom: int, text: str) -> None:
    assert fraction_text(value, bottom) == text


@pytest.mark.parametrize(
    ("depth_m", "us", "metric"),
    [
        (13.5 * 0.0254, "13 1/2 in", "34 cm"),
        (0.0, "0 in", "0 cm"),
        (-0.5 * 0.0254, "\u22121/2 in", "\u22121 cm"),
        (13.25 * 0.0254, "13 1/2 in", "34 cm"),
        (0.02, "1 in", "2 cm"),
    ],
)
def test_depths_are_written_in_half_inches_or_whole_centimetres(
    depth_m: float, us: str, metric: str
) -> None:
    assert depth_text(depth_m, US) == us
    assert depth_text(depth_m, METRIC) == metric


@given(st.integers(0, 4 * 40))
def test_the_words_and_the_number_of_a_depth_round_alike(quarters: int) -> None:
    depth_m = quarters / 4 * 0.0254
    assert parse_quantity(depth_text(depth_m, US), "length") / 0.0254 == pytest.approx(
        shown_value(depth_m, "depth", US)
    )


@pytest.mark.parametrize(
    ("value_si", "kind", "system", "shown"),
    [
        (2.2352, "speed", US, 5.0),
        (2.2352, "speed", METRIC, 8.0),
        (0.05 * 0.44704, "speed", US, 0.1),
        (-0.00001, "speed", US, 0.0),
        (4046.8564224 * 9.25, "area", US, 9.3),
        (267.7e3, "power", US, 359.0),
        (2_068_427.0, "pressure", US, 300.0),
    ],
)
def test_values_are_shown_rounded_half_away_from_zero(
    value_si: float, kind: str, system: UnitSystem, shown: float
) -> None:
    found = shown_value(value_si, kind, system)
    assert found == pytest.approx(shown, abs=1e-9)
    assert math.copysign(1.0, found) == 1.0  # never "-0.0"


@given(st.floats(-1e6, 1e6), st.sampled_from(sorted(SHOWN, key=str)))
def test_a_shown_value_is_within_half_a_step(value_si: float, key: tuple[str, UnitSystem]) -> None:
    shown = SHOWN[key]
    off = abs(shown_value(value_si, *key) - to_unit(value_si, shown.unit))
    assert off <= shown.step * (0.5 + 1e-8) + 1e-9 * abs(value_si)


def test_every_kind_is_shown_in_both_systems() -> None:
    kinds = {kind for kind, _ in SHOWN}
    assert {(kind, system) for kind in kinds for system in UnitSystem} == set(SHOWN)
    assert shown_unit("depth", US) == "in"
    assert shown_unit("depth", METRIC) == "cm"

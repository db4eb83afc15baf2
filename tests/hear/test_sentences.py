"""Fields of one sentence: what is believed, and the ways in which a field can be wrong."""

from datetime import date

import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cabapp.hear.sentences import READERS, Said, angle, number, read_sentence, time_of_day
from cabapp.readings import FixKind

KNOT = 1852.0 / 3600.0


def said(text: str) -> Said:
    found = read_sentence(text[2:5], text)
    assert found is not None
    return found


def test_an_rmc_says_speed_course_place_date_and_time():
    rmc = said("GNRMC,101530.25,A,4403.1000,N,09312.5000,W,5.400,271.5,120626,,,A")
    assert rmc.speed_mps == pytest.approx(5.4 * KNOT)
    assert rmc.course_deg == 271.5
    assert rmc.lat_deg == pytest.approx(44 + 3.1 / 60)
    assert rmc.lon_deg == pytest.approx(-(93 + 12.5 / 60))
    assert rmc.time_s == pytest.approx(10 * 3600 + 15 * 60 + 30.25)
    assert rmc.day == date(2026, 6, 12)
    assert rmc.has_fix


@pytest.mark.parametrize(
    ("end", "has_fix"),
    [
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,", True),  # before 2.3: no mode
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,,A", True),
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,,A,V", True),  # 4.1: status not provided
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,,D,V", True),
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,,R", True),
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,0,A", True),  # variation's side left out
        ("V,4403.1,N,09312.5,W,0.0,0.0,120626,,,A", False),
        ("V,4403.1,N,09312.5,W,0.0,0.0,120626,,,S", False),
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,,N", False),
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,,E", False),
        ("A,4403.1,N,09312.5,W,5.4,90.0,120626,,,S", False),
        ("V,,,,,,,120626,,,N", False),
        ("V,,,,,,,,,,N", False),
    ],
)
def test_status_and_mode_decide_whether_there_is_a_fix(end: str, has_fix: bool):
    assert said("GNRMC,101530.00," + end).has_fix is has_fix


@pytest.mark.parametrize("speed", ["nan", "inf", "-3", "1_0", "1e9", "5,4", "0x5", "५.४", "."])
def test_a_speed_that_only_a_computer_would_accept_is_no_speed(speed: str):
    found = read_sentence("RMC", f"GNRMC,101530.00,A,4403.1,N,09312.5,W,{speed},90.0,120626,,,A")
    assert found is None or found.speed_mps is None or speed == "5,4"


@pytest.mark.parametrize(
    "place",
    [
        "9999.99,N,09312.5,W",  # degrees beyond the pole
        "4403.1,X,09312.5,W",  # no such side
        "4403.1,,09312.5,W",
        "4403.1,N,,W",
        "4463.1,N,09312.5,W",  # 63 minutes
        "4529,N,09312.5,W",  # minutes without a point
        "0000.0000,N,00000.0000,E",  # a receiver before its fix
        "4403.1,N,18100.0,E",
    ],
)
def test_a_place_that_cannot_be_is_marked_and_not_given(place: str):
    rmc = said(f"GNRMC,101530.00,A,{place},5.4,90.0,120626,,,A")
    assert rmc.bad_place and rmc.lat_deg is None and rmc.lon_deg is None
    assert rmc.speed_mps == pytest.approx(5.4 * KNOT), "the Doppler speed is another measurement"


@pytest.mark.parametrize("day", ["2208-1", "000000", "310226", "", "1206260", "1206"])
def test_a_field_that_is_no_date_gives_no_date_and_keeps_the_speed(day: str):
    rmc = said(f"GNRMC,101530.00,A,4403.1,N,09312.5,W,5.4,90.0,{day},,,A")
    assert rmc.day is None and rmc.speed_mps is not None


@pytest.mark.parametrize(
    "text", ["246060", "10153", "1015301.0", "1015,0", "10:15:30", "996060.00"]
)
def test_a_field_that_is_no_time_gives_no_time(text: str):
    assert time_of_day(text) is None


def test_a_leap_second_is_a_time():
    assert time_of_day("235960.50") == pytest.approx(86400.5)


def test_a_vtg_speaks_in_knots_or_in_kilometres():
    assert said("GNVTG,90.0,T,,M,5.400,N,10.001,K,A").speed_mps == pytest.approx(5.4 * KNOT)
    assert said("GNVTG,90.0,T,,M,,N,10.0,K,A").speed_mps == pytest.approx(10 / 3.6)


def test_only_the_true_course_of_a_vtg_is_a_course():
    vtg = said("GNVTG,,T,88.0,M,5.400,N,10.001,K,A")
    assert vtg.course_deg is None


@pytest.mark.parametrize(
    "text",
    ["GPVTG,054.7,034.4,005.5,010.2", "GPRMC,101530,A,4403.1", "GPGGA", "GPGLL,,", "GPZDA,1"],
)
def test_short_and_early_forms_say_nothing_rather_than_something_wrong(text: str):
    assert read_sentence(text[2:5], text) is None


@pytest.mark.parametrize(
    ("quality", "station", "kind"),
    [
        ("1", "", FixKind.PLAIN),
        ("2", "0133", FixKind.SATELLITE_CORRECTED),
        ("2", "0000", FixKind.SATELLITE_CORRECTED),
        ("2", "", FixKind.SATELLITE_CORRECTED),
        ("2", "0500", FixKind.CORRECTED),
        ("4", "0001", FixKind.FIXED),
        ("5", "0001", FixKind.FLOAT),
        ("6", "", FixKind.ESTIMATED),
        ("0", "", FixKind.NONE),
    ],
)
def test_the_quality_of_a_gga_is_the_kind_of_fix(quality: str, station: str, kind: FixKind):
    gga = said(f"GNGGA,101530.00,4403.1,N,09312.5,W,{quality},12,0.7,250,M,-30,M,1.0,{station}")
    assert gga.fix_kind is kind
    assert gga.has_fix is (kind not in (FixKind.NONE, FixKind.ESTIMATED))
    assert (gga.satellites, gga.hdop) == (12, 0.7)


def test_a_gns_is_as_good_as_its_best_constellation():
    assert said("GNGNS,101530.00,4403.1,N,09312.5,W,ARNN,12,0.7,1,2,,").fix_kind is FixKind.FIXED
    assert said("GNGNS,101530.00,4403.1,N,09312.5,W,NNNN,12,0.7,1,2,,").has_fix is False


def test_water_speed_is_not_read():
    assert read_sentence("VHW", "SDVHW,231.3,T,229.9,M,6.6,N,12.3,K") is None


FIELD = st.one_of(
    st.sampled_from(["", "A", "V", "N", "E", "W", "T", "K", "M", "0", "4403.1", "09312.5", "120626",
                     "101530.00", "nan", "-1", "9" * 40, "..", "1.2.3", "²", "A,V"]),
    st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=12),
)  # fmt: skip


@given(st.sampled_from(sorted(READERS)), st.lists(FIELD, max_size=20))
def test_no_fields_raise_and_everything_said_can_be_true(kind: str, fields: list[str]):
    found = read_sentence(kind, ",".join([f"GN{kind}", *fields]))
    if found is None:
        return
    assert found.speed_mps is None or found.speed_mps >= 0.0
    assert found.course_deg is None or 0.0 <= found.course_deg <= 360.0
    assert found.lat_deg is None or -90.0 <= found.lat_deg <= 90.0
    assert found.lon_deg is None or -180.0 <= found.lon_deg <= 180.0
    assert found.time_s is None or 0.0 <= found.time_s < 86401.0


@given(st.text(st.characters(max_codepoint=127), max_size=12))
def test_a_number_is_what_float_says_or_nothing(text: str):
    value = number(text)
    assert value is None or (value == float(text) and value >= 0.0)


@given(st.integers(0, 89), st.integers(0, 59), st.integers(0, 9_999_999), st.sampled_from("NS"))
def test_latitudes_are_what_another_library_reads(degrees: int, minutes: int, part: int, side: str):
    text = f"{degrees:02d}{minutes:02d}.{part:07d}"
    other = pynmea2.parse(f"$GPGLL,{text},{side},00100.0,E,101530,A")
    assert angle(text, side, "NS", 90.0) == pytest.approx(other.latitude, abs=1e-12)

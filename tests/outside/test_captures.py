"""Real receivers' bytes: what each sentence says must be what the epochs say.

The captures come from the regression set of the GPSD project (BSD-2-Clause, licence beside them);
``NAME.expected.csv`` is that project's own decoding. Header comments were taken out; everything
else is the raw stream. pynmea2 and pynmeagps are two independent decoders of NMEA 0183.
"""

import csv
import math
from datetime import datetime
from functools import cache
from pathlib import Path

import pynmea2
import pynmeagps
import pytest

from cabapp.hear.gnss import Gnss
from cabapp.hear.lines import Line, Lines
from cabapp.hear.replay_clock import timed_chunks
from cabapp.hear.sentences import read_sentence
from cabapp.readings import Fix, Quality

FOLDER = Path(__file__).parent / "captures"
NAMES = sorted(path.stem for path in FOLDER.glob("*.log"))
KNOT = 1852.0 / 3600.0
NO_SPEED = [
    "binary-only-corrections",
    "nochecksum-timing",
    "nofix-empty-fields",
    "nofix-handheld-simulator-mode",
    "partial-cut-last-line",
    "sensor-depth-sounder",
    "sensor-xdr-attitude",
]
AT_REST = ["badchecksum-one-gsv", "binary-mixed-module", "static-dual-frequency", "rmconly-clock"]


def epochs_of(data: bytes, cut: int | None = None) -> list[Fix]:
    """Every epoch of a log, timed as a replay times it, fed ``cut`` bytes at a time."""
    lines, gnss, fixes = Lines(), Gnss(), []
    for chunk, at in timed_chunks([data]):
        for start in range(0, len(chunk), cut or len(chunk)):
            for line in lines.feed(chunk[start : start + (cut or len(chunk))], at):
                fixes += gnss.hear(line)
    return [*fixes, *gnss.finish()]


@cache
def epochs(name: str) -> list[Fix]:
    return epochs_of((FOLDER / f"{name}.log").read_bytes())


def spoken(name: str, kind: str) -> list[pynmea2.NMEASentence]:
    """The sentences of one kind as pynmea2 reads them, cut from the bytes by other means."""
    found = []
    for line in (FOLDER / f"{name}.log").read_bytes().replace(b"\r", b"\n").split(b"\n"):
        for piece in line.split(b"$")[1:]:
            try:
                message = pynmea2.parse("$" + piece.decode("ascii"), check=True)
            except (pynmea2.ParseError, UnicodeDecodeError):
                continue
            if getattr(message, "sentence_type", "") == kind:
                found.append(message)
    return found


def metres(one: tuple[float, float], two: tuple[float, float]) -> float:
    north = (one[0] - two[0]) * 111_320.0
    east = (one[1] - two[1]) * 111_320.0 * math.cos(math.radians(one[0]))
    return math.hypot(north, east)


def seconds(time) -> float:
    return time.hour * 3600 + time.minute * 60 + time.second + time.microsecond / 1e6


@pytest.mark.parametrize("name", NAMES)
def test_each_epoch_has_the_speed_and_place_of_its_rmc(name: str):
    by_time: dict[float, list[Fix]] = {}
    for fix in epochs(name):
        if fix.time_of_day_s is not None:
            by_time.setdefault(round(fix.time_of_day_s, 3), []).append(fix)
    for rmc in spoken(name, "RMC"):
        if rmc.status != "A" or rmc.spd_over_grnd is None:
            continue
        fixes = by_time[round(seconds(rmc.timestamp), 3)]
        assert any(
            fix.speed_mps is not None
            and abs(fix.speed_mps - rmc.spd_over_grnd * KNOT) < 0.01
            and metres((fix.lat_deg, fix.lon_deg), (rmc.latitude, rmc.longitude)) < 0.1
            for fix in fixes
        ), f"{name}: no epoch says what {rmc} says"


@pytest.mark.parametrize("name", NAMES)
def test_no_epoch_has_a_speed_that_no_sentence_sent(name: str):
    """Every raw speed is one that an RMC with status A, or a VTG where no RMC comes, carried."""
    rmcs = [m for m in spoken(name, "RMC") if m.status == "A" and m.spd_over_grnd is not None]
    sent = [m.spd_over_grnd * KNOT for m in rmcs]
    if not spoken(name, "RMC"):
        sent = [float(m.spd_over_grnd_kts) * KNOT for m in spoken(name, "VTG")
                if m.spd_over_grnd_kts is not None]  # fmt: skip
    speeds = [fix.speed_mps for fix in epochs(name) if fix.speed_mps is not None]
    assert all(any(abs(speed - one) < 0.01 for one in sent) for speed in speeds)
    assert len(speeds) == len(rmcs) or not rmcs


def test_a_receiver_without_rmc_gives_the_speed_of_the_vtg_after_each_position():
    """In this capture each GGA is followed by its VTG; ZDA alone has the date."""
    pairs = list(zip(spoken("normc-dual-antenna", "GGA"), spoken("normc-dual-antenna", "VTG"),
                     strict=True))  # fmt: skip
    fixed = [(gga, vtg) for gga, vtg in pairs if gga.gps_qual == 1]
    fixes = [fix for fix in epochs("normc-dual-antenna") if fix.speed_mps is not None]
    assert len(fixes) == len(fixed) == 21
    for fix, (gga, vtg) in zip(fixes, fixed, strict=True):
        assert fix.time_of_day_s == pytest.approx(seconds(gga.timestamp))
        assert fix.speed_mps == pytest.approx(float(vtg.spd_over_grnd_kts) * KNOT, abs=0.001)
        assert metres((fix.lat_deg, fix.lon_deg), (gga.latitude, gga.longitude)) < 0.01
        assert fix.utc is not None and fix.utc.date().isoformat() == "2018-09-07"


@pytest.mark.parametrize("name", NO_SPEED)
def test_what_has_no_fix_or_no_checked_sentence_gives_no_speed(name: str):
    assert all(fix.speed_mps is None for fix in epochs(name))
    assert all(fix.speed_quality is not Quality.GOOD for fix in epochs(name))


def reports(name: str) -> dict[datetime, list[dict[str, str]]]:
    """GPSD's own decoding by UTC; it reports an epoch again as more of it comes in."""
    found: dict[datetime, list[dict[str, str]]] = {}
    with (FOLDER / f"{name}.expected.csv").open() as file:
        for row in csv.DictReader(file):
            if row["time_utc"]:
                found.setdefault(datetime.fromisoformat(row["time_utc"]), []).append(row)
    return found


def agrees(fix: Fix, row: dict[str, str]) -> bool:
    return (
        abs(float(row["speed_mps"]) - fix.speed_mps) < 0.01
        and metres((fix.lat_deg, fix.lon_deg), (float(row["lat_deg"]), float(row["lon_deg"]))) < 0.1
    )


@pytest.mark.parametrize("name", [name for name in NAMES if name != "moving-marine-network"])
def test_the_second_witness_agrees_on_speed_and_place(name: str):
    """Every epoch that both have with a speed, by UTC, and GPSD misses at most two of a log.

    (It has no UTC before the first whole date, none for the date 2208-1, and calls a GGA fix from
    no satellites none.)
    """
    witness = reports(name)
    told = [fix for fix in epochs(name) if fix.speed_mps is not None]
    met = 0
    for fix in told:
        rows = [r for r in witness.get(fix.utc, []) if r["speed_mps"] and r["lat_deg"]]
        assert not rows or any(agrees(fix, row) for row in rows), f"{fix.utc}: {rows}"
        met += bool(rows)
    starved = sum(fix.speed_quality is Quality.NO_FIX for fix in told)
    assert met >= len(told) - starved - 2


def test_the_second_witness_agrees_on_the_marine_network_where_it_can():
    """For 40 s the reference derives its speed from places and reports 0.0 to 0.4 m/s where RMC and
    VTG both say about 2.9: there the log is right. Elsewhere it may report another talker."""
    witness = reports("moving-marine-network")
    told = [fix for fix in epochs("moving-marine-network") if fix.speed_mps is not None]
    agreeing = 0
    for fix in told:
        speeds = [float(r["speed_mps"]) for r in witness.get(fix.utc, []) if r["speed_mps"]]
        agreeing += any(abs(speed - fix.speed_mps) < 0.01 for speed in speeds)
    assert agreeing >= 90


@pytest.mark.parametrize("name", NAMES)
def test_pynmeagps_agrees_on_every_accepted_sentence(name: str):
    for line in checked_lines(name):
        said = read_sentence(line.kind, line.text)
        if said is None:
            continue
        other = pynmeagps.NMEAReader.parse(f"${line.text}*{xor(line.text):02X}\r\n")
        if said.lat_deg is not None:
            assert said.lat_deg == pytest.approx(other.lat, abs=1e-7)
            assert said.lon_deg == pytest.approx(other.lon, abs=1e-7)
        if said.speed_mps is not None:
            knots = other.spd if line.kind == "RMC" else other.sogn
            assert said.speed_mps == pytest.approx(float(knots) * KNOT, abs=1e-9)
        if said.course_deg is not None:
            course = other.cog if line.kind == "RMC" else other.cogt
            assert said.course_deg == pytest.approx(float(course))
        if said.time_s is not None:
            assert said.time_s == pytest.approx(seconds(other.time), abs=1e-3)
        if said.day is not None and line.kind == "RMC":
            assert said.day == other.date


@pytest.mark.parametrize("name", NAMES)
def test_pynmea2_accepts_every_sentence_that_is_accepted(name: str):
    for line in checked_lines(name):
        if read_sentence(line.kind, line.text) is not None:
            pynmea2.parse(f"${line.text}*{xor(line.text):02X}", check=True)


@pytest.mark.parametrize("cut", [1, 7, 64, 4096])
@pytest.mark.parametrize("name", NAMES)
def test_the_cuts_between_reads_change_nothing(name: str, cut: int):
    assert epochs_of((FOLDER / f"{name}.log").read_bytes(), cut) == epochs(name)


@pytest.mark.parametrize("name", NAMES)
def test_the_times_of_a_replay_do_not_depend_on_the_cuts_of_the_file(name: str):
    data = (FOLDER / f"{name}.log").read_bytes()
    whole = list(timed_chunks([data]))
    for cut in (1, 7, 64, 4096):
        blocks = (data[start : start + cut] for start in range(0, len(data), cut))
        assert list(timed_chunks(blocks)) == whole
    assert b"".join(chunk for chunk, _ in whole) == data


@pytest.mark.parametrize("name", AT_REST)
def test_a_receiver_at_rest_has_no_course(name: str):
    assert not any(fix.course_quality is Quality.GOOD for fix in epochs(name))


def test_a_fix_from_no_satellites_is_not_standing():
    """The dual-antenna capture claims quality 1 from 00 satellites for 15 epochs, speed 0.00."""
    fixes = [fix for fix in epochs("normc-dual-antenna") if fix.speed_mps is not None]
    assert [fix.speed_quality for fix in fixes[:15]] == [Quality.NO_FIX] * 15


def test_water_speed_is_never_taken_for_ground_speed():
    """The log carries 6.6 kn through the water (VHW) beside 5.6 kn over ground."""
    water = {round(float(m.data[4]) * KNOT, 3) for m in spoken("moving-marine-network", "VHW")}
    ground = {round(m.spd_over_grnd * KNOT, 3) for m in spoken("moving-marine-network", "RMC")}
    speeds = {round(f.speed_mps, 3) for f in epochs("moving-marine-network") if f.speed_mps}
    assert speeds <= ground
    assert water - ground, "the log tells them apart"


def test_a_valid_fix_that_ends_in_a_v_is_a_fix():
    """NMEA 4.1 and later: the last field V says only that no navigational status is given."""
    fixes = epochs("static-dual-frequency")
    assert len(fixes) == 29
    assert all(fix.speed_quality is Quality.GOOD for fix in fixes)


def test_ten_fixes_a_second_go_on_through_a_change_of_talker():
    fixes = epochs("moving-rtk-10hz")
    assert len(fixes) == 122
    assert {fix.speed_quality for fix in fixes} == {Quality.GOOD}
    assert {fix.kind.value for fix in fixes} == {"satellite_corrected", "fixed"}


def test_dates_of_receivers_before_their_first_fix_are_not_believed():
    fixes = epochs("rollover-garbage-coldboot")
    assert {fix.utc.year for fix in fixes if fix.utc} == {2019}
    first, second, third = epochs("rollover-bad-date")
    assert first.utc is None and second.utc is None, "2208-1 is no date"
    assert third.utc is not None and third.utc.year == 1999, "as sent, unless an anchor is given"


def checked_lines(name: str) -> list[Line]:
    return Lines().feed((FOLDER / f"{name}.log").read_bytes(), 0.0)


def xor(text: str) -> int:
    total = 0
    for byte in text.encode():
        total ^= byte
    return total

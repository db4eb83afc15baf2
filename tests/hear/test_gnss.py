"""A receiver on a wire: its epochs, and what may be believed of it at each moment."""

from datetime import date, datetime

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cabapp.hear.gnss import Gnss
from cabapp.hear.lines import Lines
from cabapp.readings import FixKind, Quality
from tests.hear.receiver import Heard, gga, rmc, vtg, zda
from tests.sentences import sentence

MPS = 1 / 3.6


@pytest.fixture
def heard() -> Heard:
    return Heard()


def drive(heard: Heard, start: float, seconds: float, kmh: float = 9.0, hz: int = 1) -> float:
    """Steady driving by RMC alone; the time of the last of them."""
    at = start
    for step in range(round(seconds * hz)):
        at = start + step / hz
        heard.say(at, rmc(at, kmh))
    return at


# --- epochs


def test_the_speed_is_there_the_moment_the_rmc_is_heard(heard: Heard):
    heard.say(0.0, gga(0.0))
    (fix,) = heard.say(0.05, rmc(0.0, 9.0))
    assert fix.at == 0.05
    assert fix.speed_mps == pytest.approx(9.0 * MPS, abs=0.001)
    assert heard.now(0.05)["speed"].value == fix.speed_mps


def test_rmc_goes_before_vtg_whatever_their_order(heard: Heard):
    for second in range(6):
        heard.say(second, vtg(5.0), gga(second), rmc(second, 9.0))
    assert [round(fix.speed_mps * 3.6, 1) for fix in heard.fixes] == [9.0] * 6


def test_two_talkers_with_one_time_are_one_epoch(heard: Heard):
    for second in range(5):
        heard.say(second, rmc(second, 9.0, talker="GP"), rmc(second, 9.1, talker="GN"))
    assert len(heard.fixes) == 5
    assert {round(fix.speed_mps * 3.6, 1) for fix in heard.fixes} == {9.0}


def test_a_constellation_without_a_fix_does_not_silence_the_one_that_has_it(heard: Heard):
    for second in range(5):
        heard.say(second, rmc(second, 0.0, talker="GL", status="V"), rmc(second, 9.0, talker="GP"))
    heard.say(5.0, rmc(5.0, 0.0, talker="GL", status="V"))
    assert [fix.speed_quality for fix in heard.fixes[1:]].count(Quality.NO_FIX) == 0
    heard.say(6.0, rmc(6.0, 9.0, talker="GP"))
    assert heard.fixes[-2].speed_quality is Quality.NO_FIX, "and if none has it, that is told"


@pytest.mark.parametrize("hz", [1, 2, 5, 10, 20])
def test_rates_from_one_to_twenty_a_second(heard: Heard, hz: int):
    last = drive(heard, 0.0, 8.0, hz=hz)
    assert len(heard.fixes) == 8 * hz
    assert heard.gnss.period_s == pytest.approx(1 / hz)
    assert heard.now(last)["speed"].quality is Quality.GOOD


def test_a_talker_that_changes_on_the_way_changes_nothing(heard: Heard):
    for step in range(40):
        at = step / 10
        talker = "GN" if step < 20 else "GP"
        heard.say(at, gga(at, talker=talker), rmc(at, 9.0, talker=talker))
    assert len(heard.fixes) == 40
    assert {fix.speed_quality for fix in heard.fixes} == {Quality.GOOD}


def test_without_rmc_the_speed_is_there_the_moment_the_vtg_is_heard(heard: Heard):
    for second in range(8):
        heard.say(second, gga(second))
        new = heard.say(second + 0.1, vtg(9.0))
    assert [fix.at for fix in new] == [7.1]
    assert new[0].time_of_day_s == 7.0
    assert new[0].speed_mps == pytest.approx(9.0 * MPS, abs=0.001)
    assert len(heard.fixes) == 8


def test_nothing_but_vtg_still_gives_a_speed(heard: Heard):
    for second in range(8):
        heard.say(second, vtg(9.0))
    assert heard.now(7.0)["speed"].quality is Quality.GOOD
    assert heard.now(7.0)["position"].quality is Quality.SILENT
    assert heard.fixes[-1].utc is None


def test_positions_more_often_than_speeds_lose_no_speed(heard: Heard):
    for step in range(50):
        at = step / 5
        heard.say(at, gga(at), *([rmc(at, 9.0)] if step % 5 == 0 else []))
        assert heard.now(at)["speed"].quality is Quality.GOOD
    assert sum(fix.speed_mps is not None for fix in heard.fixes) == 10


def test_a_lost_rmc_leaves_the_vtg_of_its_time(heard: Heard):
    for second in range(6):
        heard.say(second, gga(second), *([] if second == 4 else [rmc(second, 9.0)]), vtg(9.2))
    assert [round(fix.speed_mps * 3.6, 1) for fix in heard.fixes] == [9.0, 9.0, 9.0, 9.0, 9.2, 9.0]


def test_an_rmc_that_leaves_its_speed_empty_lets_the_vtg_speak(heard: Heard):
    for second in range(8):
        heard.say(second, gga(second), rmc(second, ""))
        new = heard.say(second + 0.1, vtg(9.0))
    assert [fix.speed_mps for fix in heard.fixes] == [pytest.approx(9.0 * MPS, abs=0.001)] * 8
    assert new[0].at == 7.1


def test_an_rmc_without_speed_and_no_vtg_sends_no_speed(heard: Heard):
    for second in range(8):
        heard.say(second, rmc(second, ""))
    assert heard.now(7.0)["speed"].cause == "no_speed_sent"
    assert heard.fixes[-1].at == 7.0 and heard.fixes[-1].lat_deg is not None


def test_a_receiver_that_sends_places_alone_says_so_once_it_is_sure(heard: Heard):
    for second in range(8):
        heard.say(second, gga(second))
        assert heard.now(second)["speed"].value is None
    assert heard.now(1.0)["position"].quality is Quality.GOOD
    speed = heard.now(7.0)["speed"]
    assert (speed.quality, speed.cause) == (Quality.SILENT, "no_speed_sent")


def test_the_last_epoch_is_given_when_the_log_ends(heard: Heard):
    heard.say(0.0, gga(0.0))
    assert heard.fixes == []
    (fix,) = heard.gnss.finish()
    assert fix.lat_deg == pytest.approx(44.05)
    assert heard.gnss.finish() == ()


def test_makers_sentences_unknown_talkers_and_empty_fields_pass_by(heard: Heard):
    heard.say(0.0, sentence("PXYZ,1,2,3"), sentence("XXABC,1"), sentence("GNGGA,,,,,,0,,,,M,,M,,"),
              sentence("GNRMC,,V,,,,,,,,,,N"), sentence("GNVTG,,T,,M,,N,,K,N"))  # fmt: skip
    assert [fix.speed_quality for fix in heard.fixes] == [Quality.NO_FIX]
    assert rmc_from("BD", 9.0) == rmc_from("QZ", 9.0) == pytest.approx(9.0 * MPS, abs=0.001)


def rmc_from(talker: str, kmh: float) -> float | None:
    (fix,) = Heard().say(0.0, rmc(0.0, kmh, talker=talker))
    return fix.speed_mps


def test_a_talker_that_lags_a_time_behind_adds_no_epoch(heard: Heard):
    for second in range(1, 6):
        heard.say(second, rmc(second, 9.0, talker="GP"))
        heard.say(second + 0.4, rmc(second - 1, 8.0, talker="GN"))
    times = [fix.time_of_day_s for fix in heard.fixes]
    assert times == [1.0, 0.0, 2.0, 3.0, 4.0, 5.0], "only the first lag is news"


# --- no fix


@pytest.mark.parametrize(
    ("status", "mode"), [("V", "N"), ("V", "A"), ("V", "S"), ("A", "N"), ("A", "S"), ("A", "E")]
)
def test_no_fix_is_unknown_and_never_standing(heard: Heard, status: str, mode: str):
    (fix,) = heard.say(0.0, rmc(0.0, 0.0, status=status, mode=mode))
    assert fix.speed_mps is None and fix.lat_deg is None and fix.course_deg is None
    readings = heard.now(0.0)
    assert {reading.quality for reading in readings.values()} == {Quality.NO_FIX}
    assert all(reading.value is None for reading in readings.values())


def test_a_simulated_position_is_told_apart_from_a_missing_sky(heard: Heard):
    heard.say(0.0, rmc(0.0, 5.0, mode="S"))
    assert heard.now(0.0)["speed"].cause == "simulated"


def test_before_modes_a_gga_tells_a_reckoned_fix_from_a_real_one(heard: Heard):
    heard.say(
        0.0,
        gga(0.0, quality="6"),
        sentence("GPRMC,000000.00,A,4403.0,N,09312.0,W,5.0,90.0,120626,,"),
    )
    (fix,) = heard.fixes
    assert fix.speed_quality is Quality.NO_FIX and fix.kind is FixKind.ESTIMATED


def test_a_vtg_counts_only_with_a_fix_beside_it_if_it_has_no_mode(heard: Heard):
    bare = sentence("GPVTG,0.0,T,,M,0.0,N,0.0,K")
    for second in range(6):
        heard.say(second, gga(second, quality="0"), bare)
    assert heard.now(5.0)["speed"].quality is Quality.NO_FIX
    for second in range(6, 14):
        heard.say(second, gga(second), bare)
    assert heard.now(13.0)["speed"].quality is Quality.GOOD


def test_a_vtg_without_mode_and_without_any_witness_is_no_fix(heard: Heard):
    for second in range(6):
        heard.say(second, sentence("GPVTG,0.0,T,,M,0.0,N,0.0,K"))
    assert heard.now(5.0)["speed"].quality is Quality.NO_FIX


def test_after_a_fix_was_lost_values_settle_for_two_seconds_but_are_told_raw(heard: Heard):
    heard.say(0.0, rmc(0.0, 0.0, status="V"))
    fixes = [heard.say(at, rmc(at, 9.0))[0] for at in (1.0, 2.0, 2.9, 3.0)]
    assert [fix.speed_quality for fix in fixes] == [Quality.WITHHELD] * 3 + [Quality.GOOD]
    assert all(fix.speed_mps == pytest.approx(2.5, abs=0.001) for fix in fixes)
    assert fixes[0].cause == "settling"


def test_a_receiver_that_has_long_had_its_fix_is_believed_at_once(heard: Heard):
    heard.say(0.0, rmc(0.0, 9.0))
    assert heard.now(0.0)["speed"].quality is Quality.GOOD


# --- plausibility


def test_a_speed_spike_is_refused_and_the_next_good_one_taken(heard: Heard):
    at = drive(heard, 0.0, 5.0)
    heard.say(at + 1, rmc(at + 1, 70.0))
    assert heard.now(at + 1)["speed"].quality is Quality.IMPLAUSIBLE
    heard.say(at + 2, rmc(at + 2, 9.0))
    assert heard.now(at + 2)["speed"].quality is Quality.GOOD


def test_over_eighty_is_never_a_tractor(heard: Heard):
    for second in range(10):
        heard.say(second, rmc(second, 80.5))
        assert heard.now(second)["speed"].quality is Quality.IMPLAUSIBLE
    assert heard.fixes[-1].speed_mps == pytest.approx(80.5 * MPS, abs=0.001), "raw all the same"


def test_a_new_speed_that_stays_is_the_truth_at_the_third_sample(heard: Heard):
    at = drive(heard, 0.0, 5.0)
    qualities = [heard.say(at + n, rmc(at + n, 70.0))[0].speed_quality for n in (1, 2, 3, 4)]
    assert qualities == [Quality.IMPLAUSIBLE] * 2 + [Quality.GOOD] * 2


def test_two_spikes_that_disagree_are_no_new_truth(heard: Heard):
    last = drive(heard, 0.0, 5.0, hz=10)
    for n, kmh in enumerate((70.0, 40.0, 75.0, 42.0), 1):
        at = last + n / 10
        assert heard.say(at, rmc(at, kmh))[0].speed_quality is Quality.IMPLAUSIBLE


def test_a_good_sample_after_a_gap_is_not_thrown_away(heard: Heard):
    at = drive(heard, 0.0, 5.0)
    heard.say(at + 8.0, rmc(at + 8.0, 45.0))
    assert heard.now(at + 8.0)["speed"].quality is Quality.GOOD


def test_lines_that_were_held_up_and_come_all_at_once_are_believed(heard: Heard):
    drive(heard, 0.0, 4.0)
    for second, kmh in ((4, 25.0), (5, 40.0), (6, 26.0), (7, 12.0)):
        heard.say(8.0, rmc(second, kmh))
    assert [fix.speed_quality for fix in heard.fixes[-4:]] == [Quality.GOOD] * 4


@pytest.mark.parametrize("hz", [1, 5, 10])
def test_hard_braking_is_believed(heard: Heard, hz: int):
    at = drive(heard, 0.0, 4.0, kmh=40.0, hz=hz)
    speed = 40.0 * MPS
    while speed > 0:
        at, speed = at + 1 / hz, max(0.0, speed - 5.0 / hz)
        heard.say(at, rmc(at, speed * 3.6))
        assert heard.now(at)["speed"].quality is Quality.GOOD


def test_a_place_that_jumps_is_refused_while_the_speed_goes_on(heard: Heard):
    at = drive(heard, 0.0, 5.0)
    heard.say(at + 1, rmc(at + 1, 9.0, lat=44.15))
    readings = heard.now(at + 1)
    assert readings["position"].quality is Quality.IMPLAUSIBLE
    assert readings["speed"].quality is Quality.GOOD


def test_zero_zero_is_the_gulf_of_guinea_and_no_place(heard: Heard):
    heard.say(0.0, sentence("GNRMC,000000.00,A,0000.0000,N,00000.0000,E,0.0,,120626,,,A"))
    assert heard.now(0.0)["position"].quality is Quality.IMPLAUSIBLE
    assert heard.fixes[0].lat_deg is None


# --- course


def test_course_begins_at_walking_speed_and_is_dropped_below_a_crawl(heard: Heard):
    seen = []
    for second, kmh in enumerate((1.0, 1.7, 1.9, 1.5, 1.2, 1.0, 1.5, 1.9)):
        heard.say(second, rmc(second, kmh))
        seen.append(heard.now(second)["course"].quality is Quality.GOOD)
    assert seen == [False, False, True, True, True, False, False, True]


def test_course_at_a_crawl_is_withheld_with_its_cause(heard: Heard):
    heard.say(0.0, rmc(0.0, 0.5))
    course = heard.now(0.0)["course"]
    assert (course.quality, course.cause, course.value) == (Quality.WITHHELD, "crawl", None)


def test_a_course_left_empty_while_moving_is_not_invented(heard: Heard):
    heard.say(0.0, rmc(0.0, 9.0, course=""))
    assert heard.now(0.0)["course"].value is None
    assert heard.now(0.0)["speed"].quality is Quality.GOOD


# --- silence and frozen time


@pytest.mark.parametrize(("hz", "silent_after"), [(10, 1.5), (5, 1.5), (2, 1.5), (1, 2.5)])
def test_silence_counts_from_the_learned_pace(heard: Heard, hz: int, silent_after: float):
    last = drive(heard, 0.0, 8.0, hz=hz)
    assert heard.now(last + silent_after - 0.01)["speed"].quality is Quality.GOOD
    silent = heard.now(last + silent_after + 0.01)
    assert {reading.quality for reading in silent.values()} == {Quality.SILENT}
    assert silent["speed"].cause == "receiver_plug"


def test_a_slow_receiver_is_silent_after_three_seconds_at_the_latest(heard: Heard):
    for second in range(0, 20, 2):
        heard.say(second, rmc(second, 9.0))
    assert heard.now(18.0 + 2.9)["speed"].quality is Quality.GOOD
    assert heard.now(18.0 + 3.1)["speed"].quality is Quality.SILENT


def test_a_wire_just_opened_is_starting_and_then_silent(heard: Heard):
    assert heard.now(100.0)["speed"].quality is Quality.STARTING
    assert heard.now(103.1)["speed"].quality is Quality.SILENT


def test_a_clock_that_stands_is_no_live_fix(heard: Heard):
    last = drive(heard, 0.0, 6.0)
    for n in range(1, 6):
        heard.say(last + n, rmc(last, 9.0))
    speed = heard.now(last + 5.0)["speed"]
    assert (speed.quality, speed.cause) == (Quality.FROZEN, "time_stands")
    assert len(heard.fixes) == 6


def test_a_clock_that_stands_without_a_fix_is_no_fix(heard: Heard):
    for second in range(6):
        heard.say(second, rmc(0.0, 0.0, status="V"))
    assert heard.now(5.0)["speed"].quality is Quality.NO_FIX


def test_a_receiver_whose_clock_steps_back_goes_on(heard: Heard):
    drive(heard, 100.0, 5.0)
    heard.say(105.0, rmc(40.0, 9.0))
    heard.say(106.0, rmc(41.0, 9.0))
    assert len(heard.fixes) == 7
    assert heard.now(106.0)["speed"].quality is Quality.GOOD


# --- date and time


def test_utc_is_unknown_until_a_date_is_heard(heard: Heard):
    heard.say(0.0, rmc(0.0, 9.0, day=""))
    heard.say(1.0, rmc(1.0, 9.0, day="120626"))
    heard.say(2.0, rmc(2.0, 9.0, day=""))
    assert [fix.utc and fix.utc.isoformat() for fix in heard.fixes] == [
        None, "2026-06-12T00:00:01+00:00", "2026-06-12T00:00:02+00:00",
    ]  # fmt: skip


def test_dates_without_a_fix_are_not_believed(heard: Heard):
    heard.say(0.0, rmc(0.0, 0.0, status="V", day="220899"))
    assert heard.fixes[0].utc is None


def test_without_a_fix_only_a_clock_that_runs_on_is_believed(heard: Heard):
    drive(heard, 0.0, 3.0)
    heard.say(3.0, rmc(3.0, 0.0, status="V"))
    heard.say(4.0, rmc(50_000.0, 0.0, status="V"))
    assert heard.fixes[-2].utc is not None and heard.fixes[-1].utc is None


def test_midnight_between_position_and_speed_belongs_to_the_right_day(heard: Heard):
    """ZDA alone has the date; the next GGA is already tomorrow's."""
    for n in range(10):
        time_s = 86395.0 + n
        sentences = [gga(time_s % 86400), vtg(9.0)]
        if n == 3:
            sentences.append(zda(time_s, 12, 6, 2026))
        heard.say(float(n), *sentences)
    days = {fix.time_of_day_s: fix.utc.date().day for fix in heard.fixes if fix.utc}
    assert days[86399.0] == 12 and days[0.0] == 13 and days[4.0] == 13


def test_midnight_within_rmc_alone(heard: Heard):
    heard.say(0.0, rmc(86399.9, 9.0, day="311226"))
    heard.say(0.1, rmc(0.0, 9.0, day="010127"))
    before, after = heard.fixes
    assert (after.utc - before.utc).total_seconds() == pytest.approx(0.1)
    assert after.utc.year == 2027


def test_a_leap_second_is_an_epoch_of_its_own(heard: Heard):
    heard.say(0.0, rmc("235959.00", 9.0, day="311216"))
    heard.say(1.0, rmc("235960.00", 9.0, day="311216"))
    heard.say(2.0, rmc("000000.00", 9.0, day="010117"))
    assert [fix.speed_quality for fix in heard.fixes] == [Quality.GOOD] * 3
    assert (
        heard.fixes[1].utc == heard.fixes[2].utc == datetime.fromisoformat("2017-01-01T00:00:00Z")
    )


def test_a_date_1024_weeks_off_is_moved_only_when_an_anchor_is_given():
    """12 June 2026 less 1024 weeks is 27 October 2006."""
    as_sent, moved = Heard(), Heard(Gnss(near=date(2026, 1, 1)))
    for one in (as_sent, moved):
        one.say(0.0, rmc(0.0, 9.0, day="271006"))
    assert as_sent.fixes[0].utc.date() == date(2006, 10, 27)
    assert moved.fixes[0].utc.date() == date(2026, 6, 12)


def test_one_wrong_date_under_a_right_checksum_does_not_move_the_record(heard: Heard):
    drive(heard, 0.0, 5.0)
    heard.say(5.0, rmc(5.0, 9.0, day="120676"))
    heard.say(6.0, rmc(6.0, 9.0))
    assert [fix.utc.year for fix in heard.fixes[-2:]] == [2026, 2026]


def test_a_new_date_that_stays_is_taken(heard: Heard):
    drive(heard, 0.0, 5.0)
    for second in range(5, 10):
        heard.say(second, rmc(second, 9.0, day="130626"))
    assert heard.fixes[-1].utc.day == 13


def test_two_logs_glued_together_keep_their_own_dates(heard: Heard):
    drive(heard, 0.0, 3.0)
    heard.say(3.0, rmc(40_000.0, 9.0, day="150725"))
    assert heard.fixes[-1].utc.date() == date(2025, 7, 15)


# --- kind of fix


def test_the_kind_of_fix_is_that_of_the_gga_even_if_it_comes_after(heard: Heard):
    for second in range(3):
        heard.say(second, rmc(second, 9.0, mode="R"), gga(second, quality="4"))
    for second in range(3, 6):
        heard.say(second, rmc(second, 9.0, mode="D"), gga(second, quality="5"))
    assert [fix.kind for fix in heard.fixes] == [FixKind.FIXED] * 4 + [FixKind.FLOAT] * 2
    assert heard.fixes[-1].satellites == 12 and heard.fixes[-1].hdop == 0.7


def test_without_gga_the_mode_of_the_rmc_says_the_kind(heard: Heard):
    heard.say(0.0, rmc(0.0, 9.0, mode="F"))
    assert heard.fixes[0].kind is FixKind.FLOAT


# --- anything at all

GOOD = [rmc(n / 5, 9.0, mode=m) for n in range(8) for m in "AREN"] + [
    gga(1.0), gga(1.2, quality="0"), vtg(9.0), vtg(0.0, mode="N"), zda(1.0, 12, 6, 2026),
    sentence("GNGLL,4403.0,N,09312.0,W,000001.00,A,A"),
    sentence("GNGNS,000001,4403.0,N,09312.0,W,RA,9,1,,,"),
]  # fmt: skip


@settings(max_examples=150)
@given(st.data())
def test_mutated_real_lines_never_raise_and_never_give_a_value_without_being_good(data):
    gnss, lines, at = Gnss(), Lines(), 0.0
    for said in data.draw(st.lists(st.sampled_from(GOOD), max_size=25)):
        body = bytearray(said[1:-5])
        for _ in range(data.draw(st.integers(0, 2))):
            place = data.draw(st.integers(0, len(body) - 1))
            body[place] = data.draw(st.sampled_from(b",.0123456789AVNSEWX-") | st.integers(32, 126))
        at += data.draw(st.sampled_from([0.0, 0.01, 0.2, 1.0, 7.0]))
        for line in lines.feed(sentence(body.decode("latin-1")), at):
            for fix in gnss.hear(line):
                assert fix.speed_mps is None or fix.speed_mps >= 0.0
                assert fix.lat_deg is None or abs(fix.lat_deg) <= 90.0
                assert fix.speed_quality is not Quality.GOOD or fix.speed_mps <= 80 / 3.6
        for reading in gnss.readings(at):
            assert (reading.value is None) == (reading.quality is not Quality.GOOD)
    gnss.finish()

"""Bytes that nobody meant: a reader raises nothing but its own refusal, and believes none."""

import functools
import math
import operator
import random
from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from cabapp.events import Bytes, Tick
from cabapp.hear.gnss import Gnss
from cabapp.hear.lines import Lines
from cabapp.hear.sentences import MOST_SPEED_MPS
from cabapp.hear.transducers import Transducers
from cabapp.paths import shipped
from cabapp.readings import Quality, Reading
from cabapp.record.capture import Capture, CaptureError, CaptureFile, CaptureHead
from cabapp.record.disk import Disk
from cabapp.record.reader import RunFileError, open_run
from cabapp.record.runfile import Batch, RunFile
from cabapp.rigcheck import read_rig
from cabapp.rigfault import RigError
from tests.long.counts import FUZZ_BYTES
from tests.record.making import FACTS, PLAN, RIG, alert, row

FIELDS = (
    "", "A", "V", "N", "E", "W", "S", "T", "M", "K", "D", "R", "F", "0", "1", "-1", "99999999999",
    "1e9", "nan", "inf", "-0", "4403.1", "9999.9", "09312.5", "18000.1", "101500.00", "246060.99",
    "235960", "120626", "310299", "000000", "5.4", "999.9", "-5.4", "360.1", "*", ",", "\xb2", "٣",
    "YX", "DEPTH1", "SPRING1", "SPRING1MAX", "SEQ", "TOOLDOWN", "P", "U", "G", "V", "C", ".", "5.",
)  # fmt: skip
NAMES = ("RMC", "VTG", "GGA", "GNS", "GLL", "ZDA", "GSA", "GSV", "XDR", "TXT", "DBT", "")


def sentences(seed: int) -> Iterator[bytes]:
    """FUZZ_BYTES of sentences with right checksums and fields in no order."""
    dice, made = random.Random(seed), 0
    while made < FUZZ_BYTES:
        name = dice.choice(("GN", "GP", "YX", "")) + dice.choice(NAMES)
        fields = [dice.choice(FIELDS) for _ in range(dice.randrange(20))]
        body = ",".join([name, *fields]).encode("latin-1", "replace")
        check = functools.reduce(operator.xor, body, 0)
        yield (line := b"$%s*%02X\r\n" % (body, check))
        made += len(line)


def sound(reading: Reading) -> bool:
    """A value exactly where it is good, and a number."""
    good = reading.quality is Quality.GOOD
    return good == (reading.value is not None) and (not good or math.isfinite(reading.value or 0))


def test_lines_hear_nothing_but_printable_sentences_in_noise():
    dice, lines = random.Random(1), Lines()
    for number in range(FUZZ_BYTES // 1000):
        noise = dice.randbytes(700) + bytes(dice.choices(b"$*,\r\n0123456789ABCDEFGPRMC", k=300))
        for line in lines.feed(noise, float(number)):
            assert line.text.isascii() and line.text.isprintable()
    assert lines.counts.bytes == FUZZ_BYTES // 1000 * 1000


def test_a_receiver_that_talks_nonsense_is_believed_no_speed_beyond_any_tractor():
    lines, gnss, now = Lines(), Gnss(near=date(2026, 6, 12)), 0.0
    for data in sentences(2):
        now += 0.02
        for line in lines.feed(data, now):
            for fix in gnss.hear(line):
                speed = fix.speed_mps  # as it was sent: believed only where its quality is good
                assert speed is None or 0.0 <= speed <= MOST_SPEED_MPS
                if fix.speed_quality is Quality.GOOD:
                    assert speed is not None and speed < 30.0
                assert fix.lat_deg is None or -90.0 <= fix.lat_deg <= 90.0
        assert all(sound(reading) for reading in gnss.readings(now))
    assert lines.counts.sentences > FUZZ_BYTES / 200


def test_a_node_that_talks_nonsense_gives_numbers_or_reasons():
    rig = read_rig(shipped("config", "rig-us-full.toml").read_text(encoding="utf-8"))
    port = next(port.name for port in rig.ports if port.name != rig.receiver.port)
    names = [sensor.wire_name for sensor in rig.sensors]
    dice, lines, transducers, now = random.Random(3), Lines(), Transducers(rig.sensors), 0.0
    for data in sentences(3):
        now += 0.02
        groups = "".join(
            f",{dice.choice(FIELDS)},{dice.choice(FIELDS)},{dice.choice('MNVGDP')},"
            f"{dice.choice(names)}{dice.choice(('', 'MAX', 'MIN'))}"
            for _ in range(3)
        )
        body = f"YXXDR{groups}".encode("latin-1", "replace")
        wrapped = b"$%s*%02X\r\n" % (body, functools.reduce(operator.xor, body, 0))
        for line in lines.feed(data + wrapped, now):
            assert all(sound(reading) for reading in transducers.hear(port, line))
        assert all(sound(reading) for reading in transducers.readings(now).values())


def spoiled(data: bytes, dice: random.Random) -> bytes:
    """A few bytes changed, a stretch lost or said twice, or the end cut off."""
    start = dice.randrange(len(data))
    end = min(len(data), start + dice.randrange(1, 60))
    how = dice.randrange(4)
    if how == 0:
        bad = bytearray(data)
        for _ in range(dice.randrange(1, 6)):
            bad[dice.randrange(len(bad))] = dice.randrange(256)
        return bytes(bad)
    if how == 1:
        return data[:start] + data[end:]
    return data[:end] + data[start:] if how == 2 else data[:start]


def test_a_spoiled_rig_file_is_read_or_refused_with_a_mend():
    dice, whole, done = random.Random(4), shipped("config", "rig-us-full.toml").read_bytes(), 0
    refused = 0
    while done < FUZZ_BYTES:
        bad = spoiled(whole, dice)
        done += len(whole)
        try:
            read_rig(bad.decode("utf-8", "replace"), "rig.toml")
        except RigError as error:
            refused += 1
            assert error.faults and all(str(fault).strip() for fault in error.faults)
    assert refused


@pytest.fixture
def shift(tmp_path: Path) -> tuple[Path, Path]:
    """A run file and a capture of two minutes."""
    run = RunFile.begin(tmp_path / "run.gpkg", FACTS, Disk())
    capture = CaptureFile(tmp_path / "run.cap", CaptureHead(RIG, PLAN), Disk())
    for second in range(120):
        run.write(Batch([row(second)], [alert(second)] if second % 7 == 0 else []))
        capture.add(Bytes(float(second), "gnss", b"$GPRMC,%d*00\r\n" % second))
        capture.add(Tick(second + 0.05))
        capture.flush()
    run.end("ended")
    capture.end()
    return tmp_path / "run.gpkg", tmp_path / "run.cap"


def test_a_spoiled_capture_plays_to_its_wound_or_is_refused(shift: tuple[Path, Path]):
    dice, whole, done = random.Random(5), shift[1].read_bytes(), 0
    whole_count = sum(1 for _ in Capture(shift[1]).events())
    bad_file = shift[1].with_name("bad.cap")
    while done < FUZZ_BYTES:
        bad_file.write_bytes(spoiled(whole, dice))
        done += len(whole)
        try:
            assert sum(1 for _ in Capture(bad_file).events()) <= whole_count + 60
        except CaptureError as error:
            assert str(bad_file) in str(error)
    assert whole_count == 240


def test_a_spoiled_run_is_read_or_refused_in_one_sentence(shift: tuple[Path, Path]):
    dice, whole, done = random.Random(6), shift[0].read_bytes(), 0
    bad_file = shift[0].with_name("bad.gpkg")
    refused = 0
    while done < max(FUZZ_BYTES, 30 * len(whole)):
        bad_file.write_bytes(spoiled(whole, dice))
        done += len(whole)
        try:
            with open_run(bad_file) as run:
                assert len(list(run.rows())) <= 240
                run.moments(), run.summary(), run.totals(), run.places()
        except RunFileError as error:
            refused += 1
            assert str(bad_file) in str(error)
    assert refused

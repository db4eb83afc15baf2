"""Every capture with bytes flipped, dropped and doubled on the way, and with bytes that come late.

At most one byte of a line is damaged, and the XOR of a sentence notices any one byte. So whatever
is heard from the damaged bytes must have been said in the whole ones. Only lines that are heard are
damaged: one that was broken before, as a cold start sends them, is mended by one byte in 256. And
a comma with one bit turned is a $: one tail in 256 has by chance the checksum of the whole, but it
begins with no address, and no reader takes a sentence without one.
"""

import random
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path

import pytest

from cabapp.cab import Cab
from cabapp.events import TICK_S, Bytes, Tick
from cabapp.hear.gnss import Gnss
from cabapp.hear.lines import Lines
from cabapp.outcome import TileState
from cabapp.plan import default_plan
from cabapp.readings import Quality
from cabapp.rig import Rig
from tests.long.counts import ROUNDS

CAPTURES = sorted(Path(__file__).parent.parent.joinpath("outside", "captures").glob("*.log"))
ADDRESS = re.compile(r"[A-Z0-9]{5},|P[A-Z]{3}")  # NMEA 0183: talker and formatter, or a maker's own
SHARE_DAMAGED = 0.2
BAUD_BYTES_S = 960.0
LONGEST_SILENCE_S = 3.0


def flipped(byte: int, dice: random.Random) -> bytes:
    return bytes((byte ^ 1 << dice.randrange(8),))


def dropped(byte: int, dice: random.Random) -> bytes:
    return b""


def doubled(byte: int, dice: random.Random) -> bytes:
    return bytes((byte, byte))


DAMAGES = (flipped, dropped, doubled)


def damaged(
    data: bytes, how: Callable[[int, random.Random], bytes], dice: random.Random
) -> tuple[bytes, int]:
    """The data with one byte damaged in some of its good lines, never in their neighbours too."""
    lines = data.split(b"\n")
    count, before = 0, False
    for number, (line, good) in enumerate(zip(lines, good_lines(data), strict=True)):
        before = not before and good and dice.random() < SHARE_DAMAGED
        if before:
            place = dice.randrange(len(line))
            lines[number] = line[:place] + how(line[place], dice) + line[place + 1 :]
            count += 1
    return b"\n".join(lines), count


@cache
def good_lines(data: bytes) -> tuple[bool, ...]:
    """Which lines of a capture are heard by themselves."""
    return tuple(bool(heard(line + b"\n")) for line in data.split(b"\n"))


def heard(data: bytes) -> list[str]:
    return [line.text for line in Lines().feed(data, 0.0)]


@pytest.mark.parametrize("path", CAPTURES, ids=lambda path: path.stem)
@pytest.mark.parametrize("how", DAMAGES, ids=lambda how: how.__name__)
def test_nothing_is_heard_that_was_not_said(path: Path, how: Callable[..., bytes]):
    whole = path.read_bytes()
    said = heard(whole)
    for seed in range(ROUNDS):
        bad, count = damaged(whole, how, random.Random(seed))
        found = heard(bad)
        assert not [text for text in set(found) - set(said) if ADDRESS.match(text)]
        assert len(said) - 2 * count <= len(found) <= len(said)  # a line end lost costs two lines


@pytest.mark.parametrize("path", CAPTURES, ids=lambda path: path.stem)
def test_the_cab_takes_a_damaged_capture_and_goes_on(path: Path):
    dice = random.Random(path.stem)
    for _ in range(ROUNDS):
        bad, _ = damaged(path.read_bytes(), dice.choice(DAMAGES), dice)
        cab = Cab(Rig(), default_plan(Rig()))
        shown = cab.step(Tick(0.0)).snapshot
        assert shown is not None
        for number, start in enumerate(range(0, len(bad), 96)):
            now = round((number + 1) * TICK_S, 3)
            cab.step(Bytes(now, Rig().receiver.port, bad[start : start + 96]))
            shown = cab.step(Tick(now)).snapshot or shown
            assert now - shown.at <= 2 * TICK_S
            if shown.speed.state in (TileState.NO_READING, TileState.STARTING):
                assert shown.speed.value_mps is None


@pytest.mark.parametrize("path", CAPTURES, ids=lambda path: path.stem)
def test_bytes_that_come_late_are_heard_whole_and_no_speed_outlives_its_silence(path: Path):
    whole = path.read_bytes()
    for seed in range(ROUNDS):
        dice = random.Random(seed)
        lines, gnss = Lines(), Gnss()
        found: list[str] = []
        now = last_heard = place = 0.0
        while place < len(whole):
            held_s = dice.choice((0.0, 0.0, 0.1, 0.7, 5.0))
            for _ in range(round(held_s / TICK_S)):
                now += TICK_S
                speed = gnss.readings(now)[0]
                assert speed.quality is not Quality.GOOD or now - last_heard <= LONGEST_SILENCE_S
            size = round(BAUD_BYTES_S * (held_s + TICK_S))
            for line in lines.feed(whole[int(place) : int(place) + size], now):
                found.append(line.text)
                gnss.hear(line)
                last_heard = now
            place += size
            now += TICK_S
        assert found == heard(whole)

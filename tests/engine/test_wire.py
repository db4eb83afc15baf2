"""Messages between processes: whole, in order, bounded, and never in the way of who sends them."""

import json
import os
import time
from pathlib import Path

import pytest

from cabapp.engine import wire
from cabapp.engine.pipes import (
    KEEPER_MARK,
    LONGEST_LINE,
    Inbox,
    LineSplitter,
    Links,
    Outbox,
    Waiting,
    Wires,
    wires_of,
)
from cabapp.engine.wire import (
    ROOM,
    TABLE,
    Alive,
    Leaving,
    Loudness,
    Message,
    Part,
    PlanMade,
    PortLine,
    Ports,
    Received,
    Receiving,
    RigWritten,
    RunCopied,
    RunWanted,
    Samples,
    SamplesWanted,
    SpareLine,
    Spares,
    SparesWanted,
    TapMade,
    Voice,
    decode,
    encode,
)
from cabapp.events import PortCondition, TapKind
from cabapp.outcome import Pattern, Quieting, Sound
from cabapp.plan import Plan
from cabapp.readings import FixKind, Quality, Sample
from tests.faults.stand_in import snapshot

ONE_OF_EACH: list[Message] = [
    snapshot(3, 1.5, None, Quieting.SOUND_ON, False),
    Alive(Part.SCREEN, 7),
    Samples((Sample("node", "DEPTH1", "D", None, "M", 2.0),)),
    SamplesWanted(True),
    Ports((PortLine("gnss", PortCondition.IN_USE, "another program"),)),
    Receiving(FixKind.PLAIN, None, Quality.NO_FIX, None, None, 4.5, 91.4, 2.0, 1.0),
    SparesWanted(),
    Spares((SpareLine("/dev/serial/by-id/one", PortCondition.OK, "node", ("XDR",), 10.0),), True),
    TapMade(TapKind.DEPTH_TARGET, -1),
    PlanMade(Plan(field="North forty", outline=((51.0, 10.0),))),
    RigWritten(),
    RunWanted(),
    RunCopied("runs/shift-0007.gpkg", "live/shift-0007.gpkg", ""),
    Sound(4, Pattern.ACT, True, "hooked", 9.25),
    Leaving(),
    Loudness(0.5, 0.9),
    Voice(False, "", 3),
]


def until(true: object, within_s: float = 3.0) -> None:
    end = time.monotonic() + within_s
    while not true():  # type: ignore[operator]
        assert time.monotonic() < end
        time.sleep(0.005)


def test_every_kind_of_the_table_is_in_the_list_above() -> None:
    assert {type(message) for message in ONE_OF_EACH} == {kind.body for kind in TABLE}


@pytest.mark.parametrize("message", ONE_OF_EACH, ids=lambda message: type(message).__name__)
def test_a_message_comes_back_as_it_was_sent_on_one_line(message: Message) -> None:
    line = encode(message, 12.5)
    assert line.count(b"\n") == 1
    assert decode(line) == Received(message, 12.5)


@pytest.mark.parametrize(
    "line",
    [b"", b"{", b"nonsense", b"[]", b'{"type":"tea","sent":1,"body":{}}',
     b'{"type":"tap","sent":1,"body":{"kind":"fly"}}', b'{"type":"alive"}',
     encode(ONE_OF_EACH[0], 1.0)[40:]],
)  # fmt: skip
def test_a_torn_or_unknown_line_is_nothing_and_no_error(line: bytes) -> None:
    assert decode(line) is None


def test_of_snapshots_only_the_newest_waits_and_sounds_go_before_it() -> None:
    waiting = Waiting()
    for number in range(50):
        waiting.put(snapshot(number, 0.0, None, Quieting.SOUND_ON, False))
    waiting.put(Sound(1, Pattern.LOOK, False, "depth", 0.0))
    assert isinstance(waiting.take(), Sound)
    newest = waiting.take()
    assert isinstance(newest, wire.Snapshot)
    assert newest.number == 49
    assert waiting.take() is None


def test_of_taps_the_oldest_goes_when_too_many_wait_and_is_counted() -> None:
    waiting = Waiting()
    for number in range(ROOM + 3):
        waiting.put(TapMade(TapKind.NOTE, float(number)))
    assert waiting.dropped == 3
    first = waiting.take()
    assert isinstance(first, TapMade)
    assert first.value == 3.0


def test_a_reader_that_does_not_read_never_holds_up_the_sender() -> None:
    _, write = os.pipe()
    outbox = Outbox(write)
    begun = time.monotonic()
    for number in range(2000):
        outbox.put(snapshot(number, 0.0, None, Quieting.SOUND_ON, False))
        outbox.put(TapMade(TapKind.QUIET))
    assert time.monotonic() - begun < 1.0


def test_a_new_reader_on_an_old_pipe_loses_the_torn_line_and_nothing_after_it() -> None:
    read, write = os.pipe()
    whole = encode(Alive(Part.ENGINE), 1.0)
    os.write(write, whole[20:] + whole)
    got: list[Received] = []
    Inbox(read, got.append)
    until(lambda: got)
    assert [one.message for one in got] == [Alive(Part.ENGINE)]


def test_a_new_writer_ends_the_line_its_dead_predecessor_left() -> None:
    read, write = os.pipe()
    os.write(write, encode(Alive(Part.ENGINE), 1.0)[:20])
    got: list[Received] = []
    Inbox(read, got.append)
    Outbox(write).put(Voice(True))
    until(lambda: got)
    assert got[0].message == Voice(True)


def test_a_line_without_an_end_is_thrown_away_and_the_next_is_read() -> None:
    splitter = LineSplitter()
    assert splitter.feed(b"x" * (LONGEST_LINE + 1)) == []
    assert splitter.feed(b"more\nnext\n") == [b"next"]


def test_a_splitter_gives_the_same_lines_however_the_bytes_are_cut() -> None:
    stream = b"".join(encode(message, 1.0) for message in ONE_OF_EACH)
    for size in (1, 7, 64, 4096):
        splitter = LineSplitter()
        lines = [
            line
            for start in range(0, len(stream), size)
            for line in splitter.feed(stream[start : start + size])
        ]
        assert [json.loads(line)["type"] for line in lines] == [
            wire.BY_BODY[type(message)].word for message in ONE_OF_EACH
        ]


def test_the_words_that_start_a_process_say_what_it_was_given(tmp_path: Path) -> None:
    wires = Wires(tmp_path, {Part.ENGINE: (5, 6), Part.KEEPER: (-1, 9)}, "77 1.0", 20.0)
    assert wires_of(wires.words()) == wires
    assert wires.fds() == (5, 6, 9)


def test_a_process_leaves_only_when_another_keeper_has_signed_the_folder(tmp_path: Path) -> None:
    wires = Wires(tmp_path, {}, "77 1.0")
    assert not wires.replaced()  # nobody has signed: a folder that cannot be read ends no shift
    (tmp_path / KEEPER_MARK).write_text("77 1.0")
    assert not wires.replaced()
    (tmp_path / KEEPER_MARK).write_text("78 2.0")
    assert wires.replaced()


def test_links_tell_how_long_the_engine_has_been_silent(tmp_path: Path) -> None:
    to_me, from_me, to_keeper = os.pipe(), os.pipe(), os.pipe()
    wires = Wires(tmp_path, {Part.ENGINE: (to_me[0], from_me[1]), Part.KEEPER: (-1, to_keeper[1])})
    got: list[Received] = []
    links = Links(wires, Part.SCREEN, got.append)
    assert not links.engine_heard
    os.write(to_me[1], encode(Alive(Part.ENGINE), time.monotonic()))
    os.write(to_me[1], encode(Loudness(), time.monotonic()))
    until(lambda: got)
    assert links.engine_heard
    assert [one.message for one in got] == [Loudness()]  # Alive is for the link alone
    assert links.engine_silent_s() < 1.0
    assert links.beat(drawn=5)
    for read in (from_me[0], to_keeper[0]):
        beats: list[Received] = []
        Inbox(read, beats.append)
        until(lambda: beats)  # noqa: B023
        assert beats[0].message == Alive(Part.SCREEN, 5)


def test_an_engine_that_leaves_on_purpose_is_not_missed_until_it_stays_away(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("cabapp.engine.pipes.AWAY_S", 0.6)
    to_me, from_me, to_keeper = os.pipe(), os.pipe(), os.pipe()
    wires = Wires(tmp_path, {Part.ENGINE: (to_me[0], from_me[1]), Part.KEEPER: (-1, to_keeper[1])})
    got: list[Received] = []
    links = Links(wires, Part.SPEAKER, got.append)
    os.write(to_me[1], encode(Leaving(), time.monotonic()))
    until(lambda: got)
    time.sleep(0.2)
    assert links.engine_silent_s() == 0.0
    os.write(to_me[1], encode(Alive(Part.ENGINE), time.monotonic()))
    until(lambda: links.engine_silent_s() > 0.1)  # it came back, and its silence counts again
    os.write(to_me[1], encode(Leaving(), time.monotonic()))
    until(lambda: len(got) == 2)
    assert links.engine_silent_s() == 0.0
    until(lambda: links.engine_silent_s() >= 0.6)  # it never came back

"""The capture: what the cab was handed, in order, however the file was cut."""

import json
import zlib
from pathlib import Path

import pytest

from cabapp.events import (
    Bytes,
    Event,
    Health,
    HealthKind,
    Peg,
    PegsKnown,
    PlanChanged,
    PortCondition,
    PortState,
    Resumed,
    Tap,
    TapKind,
    Tick,
)
from cabapp.record.capture import Capture, CaptureError, CaptureFile, CaptureHead
from cabapp.record.disk import Disk
from tests.record.making import PLAN, RIG

EVENTS: list[Event] = [
    Tick(0.0),
    PortState(0.05, "gnss", PortCondition.OK, "/dev/serial/by-id/a"),
    Bytes(0.1, "gnss", bytes(range(256))),
    Tap(0.15, TapKind.DUG, 0.34),
    Tap(0.16, TapKind.FIELD, "North forty"),
    Tap(0.17, TapKind.RAISED),
    PlanChanged(0.2, PLAN),
    Health(0.3, HealthKind.RECORD, False, "disk_full", 0.97),
    PegsKnown(0.4, (Peg(1, "stone", 52.0, 5.0, "North forty"),)),
    Resumed(0.5, {"cells": "", "passes": [[0.0, 1.5]]}, ({"what": "note"},), 61.5),
    Tick(0.6),
]


def captured(path: Path) -> Path:
    capture = CaptureFile(path, CaptureHead(RIG, PLAN, "version = 1\n"), Disk())
    for event in EVENTS:
        capture.add(event)
        capture.flush()
    capture.end()
    return path


def test_every_kind_of_event_comes_back_as_it_was(tmp_path: Path) -> None:
    capture = Capture(captured(tmp_path / "a.cap"))
    assert list(capture.events()) == EVENTS
    assert (capture.head.rig, capture.head.plan) == (RIG, PLAN)
    assert not capture.torn and capture.stopped == ""


def test_a_cut_at_any_byte_gives_the_whole_events_before_it(tmp_path: Path) -> None:
    whole = captured(tmp_path / "a.cap").read_bytes()
    cut = tmp_path / "cut.cap"
    most = -1
    for length in range(whole.index(b"\n") + 1, len(whole)):
        cut.write_bytes(whole[:length])
        try:
            capture = Capture(cut)
        except CaptureError:
            assert most == -1  # only before the head was whole
            continue
        events = list(capture.events())
        assert capture.torn
        assert events == EVENTS[: len(events)]
        assert len(events) >= most
        most = len(events)
    assert most == len(EVENTS)


def test_after_each_flush_nothing_before_it_can_be_lost(tmp_path: Path) -> None:
    capture = CaptureFile(tmp_path / "a.cap", CaptureHead(RIG, PLAN), Disk())
    for count, event in enumerate(EVENTS, start=1):
        capture.add(event)
        capture.flush()
        assert list(Capture(capture.path).events()) == EVENTS[:count]
    capture.leave()


def test_garbage_after_the_cut_ends_it_there(tmp_path: Path) -> None:
    whole = captured(tmp_path / "a.cap").read_bytes()
    torn = tmp_path / "torn.cap"
    torn.write_bytes(whole[:-40] + b"\xff" * 512)
    capture = Capture(torn)
    events = list(capture.events())
    assert capture.torn
    assert events == EVENTS[: len(events)]


def test_a_capture_given_up_says_why(tmp_path: Path) -> None:
    capture = CaptureFile(tmp_path / "a.cap", CaptureHead(RIG, PLAN), Disk())
    capture.add(Tick(0.1))
    capture.end("storage short")
    read = Capture(capture.path)
    assert list(read.events()) == [Tick(0.1)]
    assert read.stopped == "storage short"


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "not a capture"),
        (b"$GPRMC,1*00\r\n", "not a capture"),
        (b"cabapp-capture 2\n", "version 2"),
        (b"cabapp-capture 1\n", "nothing but its first line"),
        (b"cabapp-capture 1\n" + zlib.compress(b'{"rig":1}\n'), "head is none of this program"),
    ],
)
def test_what_is_no_capture_is_refused_in_words(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "a.cap"
    path.write_bytes(content)
    with pytest.raises(CaptureError, match=words) as caught:
        Capture(path)
    assert str(path) in str(caught.value)


@pytest.mark.parametrize("line", [["bytes", 1.0], {"t": 1}, ["unheard", {}], "x", ["tap", {}]])
def test_a_line_that_is_no_event_is_refused_in_words(tmp_path: Path, line: object) -> None:
    whole = CaptureFile(tmp_path / "a.cap", CaptureHead(RIG, PLAN), Disk())
    whole.end()
    magic, _, packed = whole.path.read_bytes().partition(b"\n")
    head = zlib.decompress(packed)
    lines = zlib.compress(head + json.dumps(line).encode() + b"\n")
    whole.path.write_bytes(magic + b"\n" + lines)
    with pytest.raises(CaptureError, match="no event of this program"):
        list(Capture(whole.path).events())

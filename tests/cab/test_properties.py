"""What holds for every sequence of events: no error, no dependence on chunks, no lost truth."""

import math
import os
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from cabapp.cab import Cab, row_columns
from cabapp.codec import to_plain
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
from cabapp.ground.kept import keep
from cabapp.ground.worked import Worked
from cabapp.outcome import TileState
from cabapp.plan import default_plan
from cabapp.rig import Rig
from cabapp.words import Level, Phase, Rule
from tests.cab.drive import Machine, full_rig, receiver_rig, sentence, working

LONG = os.environ.get("CABAPP_LONG") == "1"
RIG = full_rig()
OF_THE_NODE = {Rule.NO_SPRINGS, Rule.NO_DEPTH, Rule.NO_SWITCH}
LINES = [
    sentence("GNRMC,080000.00,A,4400.0,N,01000.0,E,5.2,90.0,210526,,,D"),
    sentence("GNRMC,080000.10,A,4400.0,N,01000.0,E,5.2,270.0,210526,,,D"),
    sentence("GNRMC,080001.00,V,,,,,,,210526,,,N"),
    sentence("GNVTG,90.0,T,,M,5.2,N,9.6,K,D"),
    sentence("GNGGA,080000.20,4400.0,N,01000.0,E,2,12,0.8,250.0,M,45.0,M,,"),
    sentence("YXXDR,D,0.35,M,DEPTH1,D,0.1,M,DEPTH2,D,,M,DEPTH3"),
    sentence("YXXDR,D,nan,M,DEPTH1,N,inf,N,SPRING1,G,1,,TOOLDOWN"),
    sentence("YXXDR,N,26000,N,SPRING5,N,30000,N,SPRING5MAX,G,0,,TOOLDOWN"),
    b"$garbage\x00\xff*zz\r\n",
    b"no sentence at all",
]
VALUES = st.one_of(
    st.none(),
    st.sampled_from(
        ["up", "down", "depth1", "spring5", "us", "metric", "plugged", "stone", "on", "off", "A"]
    ),
    st.integers(-5, 5),
    st.floats(allow_nan=True, allow_infinity=True),
    st.text(max_size=6),
)
ROWS: tuple[dict[str, object], ...] = tuple(
    {
        "t_s": t_s,
        "lat_deg": 44.0 + t_s * 2e-5,
        "lon_deg": 10.0,
        "course_deg": 0.0,
        "phase": "working",
    }
    for t_s in range(20)
)
GROUND = keep(Worked.rebuild(RIG.tool, RIG.receiver, ROWS))
GROUNDS = st.sampled_from([GROUND, {}, {"cells": "torn"}, {**GROUND, "cells": 7},
                           {**GROUND, "passes": [[1.0]]}, {**GROUND, "ends": None}])  # fmt: skip
FAR_OUTLINE = ((89.0, 0.0), (10.0, 170.0), (11.0, 171.0))
MOMENTS: tuple[dict[str, object], ...] = (
    {"what": "peg", "value": 3.0, "lat_deg": 44.0, "lon_deg": 10.0, "detail": "pipe"},
    {"what": "check", "value": 0.33, "t_s": 0.5},
    {},
)


def made(kind: str, at: float, draw: st.DataObject) -> Event:
    """One event of a kind, with whatever it may carry."""
    if kind == "bytes":
        port = draw.draw(st.sampled_from(["gnss", "node", "other"]))
        return Bytes(at, port, draw.draw(st.sampled_from(LINES)))
    if kind == "tap":
        return Tap(at, draw.draw(st.sampled_from(list(TapKind))), draw.draw(VALUES))
    if kind == "port":
        condition = draw.draw(st.sampled_from(list(PortCondition)))
        return PortState(at, draw.draw(st.sampled_from(["gnss", "node"])), condition, "x")
    if kind == "health":
        well = draw.draw(st.booleans())
        return Health(at, draw.draw(st.sampled_from(list(HealthKind))), well, "", 0.9)
    if kind == "plan":
        plan = replace(default_plan(RIG), field=draw.draw(st.sampled_from(["", "A", "B"])))
        corners = draw.draw(st.sampled_from([(), FAR_OUTLINE, FAR_OUTLINE[1:] * 2]))
        return PlanChanged(
            at, replace(plan, layer_bottom_m=0.3, row_bearing_deg=10.0, outline=corners)
        )
    if kind == "pegs":
        return PegsKnown(at, (Peg(1, "pipe", 44.0, 10.0001), Peg(2, "stone", 44.0, 10.0002)))
    if kind == "resumed":
        return Resumed(at, draw.draw(GROUNDS), MOMENTS, 60.0)
    return Tick(at)


@settings(max_examples=60 if LONG else 8, suppress_health_check=list(HealthCheck))
@given(st.lists(st.tuples(st.integers(1, 14), st.booleans(), st.booleans()), max_size=12))
def test_however_often_a_wire_falls_silent_its_values_are_unknown_and_it_is_told(
    turns: list[tuple[int, bool, bool]],
) -> None:
    machine = Machine(full_rig(), gnss_hz=1, node_hz=5).work()
    heard = {"gnss": -math.inf, "node": -math.inf}
    for seconds, receiver_on, node_on in [*turns, (10, False, False)]:
        machine.receiver_on, machine.node_on = receiver_on, node_on
        for _ in range(seconds * 10):
            machine.go(0.1)
            heard["gnss"] = machine.now if receiver_on else heard["gnss"]
            heard["node"] = machine.now if node_on else heard["node"]
            for reading in machine.cab.readings(machine.now):
                own = reading.channel in ("speed", "course", "position", "utc")
                silent_s = machine.now - heard["gnss" if own else "node"]
                assert reading.value is None or silent_s < 3.3, reading
            if machine.now - max(heard["node"], machine.start_s + 10.0) > 6.0:
                assert {alert.rule for alert in machine.cab.judge.active} & OF_THE_NODE


KINDS = ["bytes"] * 6 + ["tick"] * 6 + ["tap", "tap", "port", "health", "plan", "pegs", "resumed"]


@settings(max_examples=150 if LONG else 50, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.sampled_from(KINDS), max_size=80), st.data())
def test_no_sequence_of_events_raises_and_all_answers_can_be_written(
    kinds: list[str], draw: st.DataObject
) -> None:
    cab, at = Cab(RIG, default_plan(RIG)), 0.0
    for kind in kinds:
        at += draw.draw(st.sampled_from([0.0, 0.1, 0.1, 1.0, 30.0, 4000.0]))
        event = made(kind, round(at, 3), draw)
        out = cab.step(event)
        to_plain(out)  # refuses nan and infinity
        for row in out.rows:
            assert set(row.values) == set(row_columns(RIG))


def outcomes(events: list[Event], rig: Rig, size: int) -> list[object]:
    """Everything the cab answers, with the bytes cut into pieces of ``size``."""
    cab = Cab(rig, default_plan(rig))
    answers: list[object] = []
    for event in events:
        parts: list[Event] = [event]
        if isinstance(event, Bytes) and size:
            parts = [
                Bytes(event.now, event.port, event.data[i : i + size])
                for i in range(0, len(event.data), size)
            ]
        for part in parts:
            found = cab.step(part)
            answers += [*found.moments, *found.rows, *found.sounds]
            if found.snapshot is not None:
                answers.append(found.snapshot)
    return answers


@cache
def eventful() -> tuple[list[Event], Rig]:
    """A minute and a half with a turn, a lost cable, a trip and a tap in it."""
    machine = Machine(full_rig())
    machine.keep_events = True
    machine.go(5)
    machine.work().go(30)
    machine.share = dict.fromkeys(range(1, 8), 0.5) | {5: 1.4}
    machine.go(6)
    machine.tap(TapKind.QUIET)
    machine.share = 0.5
    machine.muted = {"DEPTH2"}
    machine.go(8)
    machine.lift()
    machine.turn_dps = 12.0
    machine.go(10)
    machine.receiver_on = False
    machine.go(6)
    return machine.events, machine.rig


@pytest.mark.parametrize("size", [1, 7, 64])
def test_however_bytes_are_cut_the_answers_are_the_same(size: int) -> None:
    events, rig = eventful()
    assert outcomes(events, rig, size) == outcomes(events, rig, 0)


def test_the_same_events_give_the_same_answers_to_the_byte() -> None:
    events, rig = eventful()
    assert repr(outcomes(events, rig, 0)) == repr(outcomes(events, rig, 0))


@pytest.mark.parametrize("rig", [receiver_rig(), full_rig()], ids=["receiver", "full"])
@pytest.mark.parametrize("loss", ["silent", "no_fix", "no_speed"])
def test_no_figure_of_speed_outlives_its_reading(rig: Rig, loss: str) -> None:
    machine = working(rig)
    machine.receiver_on = loss != "silent"
    machine.fix = loss != "no_fix"
    machine.sends_speed = loss != "no_speed"
    machine.go(3.2)
    for _ in range(40):
        machine.go(0.5)
        view = machine.picture
        assert view.speed.value_mps is None
        assert view.speed.state is TileState.NO_READING
        assert view.band.headline not in {"ALL IN BAND", "SPEED ONLY", "NOT SET TODAY"}
        assert view.phase is Phase.UNKNOWN


@pytest.mark.parametrize("value", [None, math.nan, math.inf, 5000.0])
def test_no_figure_of_depth_outlives_its_reading(value: float | None) -> None:
    machine = working(full_rig())
    machine.depth_in = dict.fromkeys(range(1, 5), value)
    machine.go(3.2)
    for _ in range(10):
        machine.go(0.5)
        view = machine.picture
        assert view.depth.value_m is None
        assert view.depth.state is TileState.NO_READING
        assert view.band.headline not in {"ALL IN BAND", "NOT SET TODAY"}


@settings(max_examples=25 if LONG else 8, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.sampled_from(["gnss", "node", "fix", "speed"]), min_size=1, max_size=6))
def test_losing_things_never_ends_an_alert(losses: list[str]) -> None:
    machine = working(full_rig(), node_hz=5, gnss_hz=5)
    machine.mph = machine.real_mph = 9.0
    machine.go(11)
    assert "too_fast" in machine.active()
    for loss in losses:
        machine.receiver_on = loss != "gnss"
        machine.node_on = loss != "node"
        machine.fix = loss != "fix"
        machine.sends_speed = loss != "speed"
        machine.go(4)
    assert machine.ends("too_fast") == []


def test_an_hour_of_wall_clock_either_way_changes_nothing_but_names() -> None:
    plain = working(full_rig())
    jumped = working(full_rig())
    for machine in (plain, jumped):
        machine.go(20)
    jumped.tow_s += 3600.0
    for machine in (plain, jumped):
        machine.mph = machine.real_mph = 9.0
        machine.go(20)
    assert plain.rules() == jumped.rules()
    assert [s.at for s in plain.sounds] == [s.at for s in jumped.sounds]


def test_a_day_of_passes_and_headlands_has_no_false_act() -> None:
    machine = working(full_rig())
    for _ in range(4 if LONG else 2):
        machine.go(60)
        machine.lift()
        machine.turn_dps = 12.0
        machine.go(15)
        machine.turn_dps = 0.0
        machine.work().go(20)
    assert [m for m in machine.onsets() if m.level is Level.ACT] == []

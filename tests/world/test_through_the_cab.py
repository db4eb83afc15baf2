"""Invented days through the whole cab, in two worlds: what must be told, and nothing else.

No figure of a world is known to the rules; the second world has other soil, steering, sensors and
a receiver that is late by nearly a second.
"""

import os
from functools import cache

import pytest

from cabapp.cab import Cab
from cabapp.events import Bytes, PortCondition, PortState, Tick
from cabapp.outcome import Moment, What
from cabapp.plan import default_plan
from cabapp.words import Level, Rule
from cabapp.world.constants import FIRST, SECOND
from cabapp.world.happening import Kind
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PHASES, Phase, PortEvent, World
from tests.world.conftest import rig_of

WORLDS = {"first": FIRST, "second": SECOND}
EVENTS = {PortEvent.PULLED: PortCondition.MISSING, PortEvent.BACK: PortCondition.OK}
LONG = os.environ.get("CABAPP_LONG") == "1"
both = pytest.mark.parametrize("which", list(WORLDS))
# The first world is the golden days' own as well: the short form takes the other one.
either = pytest.mark.parametrize("which", list(WORLDS) if LONG else ["second"])


@cache
def lived(name: str, which: str) -> tuple[World, tuple[Moment, ...]]:
    """A scenario's world and the alerts that began in it."""
    rig = rig_of("rig-us-full.toml")
    world = World(SCENARIOS[name], rig, 1, WORLDS[which])
    cab = Cab(rig, default_plan(rig), snapshots=False)
    told: list[Moment] = []
    tick = 0
    for chunk in world.chunks():
        while tick / 10 < chunk.t_s:
            told += cab.step(Tick(tick / 10)).moments
            tick += 1
        if chunk.event is PortEvent.BYTES:
            told += cab.step(Bytes(chunk.t_s, chunk.port, chunk.data)).moments
        else:
            told += cab.step(PortState(chunk.t_s, chunk.port, EVENTS[chunk.event])).moments
    return world, tuple(m for m in told if m.what is What.ONSET and m.level is not Level.NOTE)


def began(name: str, which: str, rule: Rule) -> list[float]:
    """Seconds at which a rule began to alert."""
    return [moment.t_s for moment in lived(name, which)[1] if moment.rule == rule.value]


def window_of(name: str, which: str, kind: Kind) -> tuple[float, float]:
    """Start and end of the first happening of a kind."""
    found = next(w for w in lived(name, which)[0].windows if w.kind is kind)
    return found.start_s, found.end_s


@both
def test_a_plain_half_dozen_passes_are_silent(which: str) -> None:
    assert lived("plain_passes", which)[1] == ()


@both
def test_the_demo_has_exactly_the_two_acts_it_was_given(which: str) -> None:
    world, told = lived("short_demo", which)
    acts = [moment for moment in told if moment.level is Level.ACT]
    assert [act.rule for act in acts] == [Rule.SHANK_UP.value, Rule.BACKING.value]
    start, end = window_of("short_demo", which, Kind.STAYS_UP)
    assert start + 3.0 < acts[0].t_s < end
    truth = world.truth()
    backing = truth[truth["phase"] == PHASES.index(Phase.BACKING)]["t_s"]
    assert backing[0] < acts[1].t_s < backing[-1] + 1.0


@both
def test_the_demo_shows_the_knoll_the_drop_out_the_burst_and_the_cable(which: str) -> None:
    world = lived("short_demo", which)[0]
    first_pass = world.truth()["t_s"][world.truth()["leg"] == 1]
    assert first_pass[0] < began("short_demo", which, Rule.HARD_HERE)[0] < first_pass[-1]
    for kind, rule, within_s in (
        (Kind.NO_FIX, Rule.NO_POSITION, 13.0),
        (Kind.CABLE_PULLED, Rule.NO_SPRINGS, 6.0),
        (Kind.CABLE_PULLED, Rule.NO_DEPTH, 6.0),
    ):
        start, end = window_of("short_demo", which, kind)
        onset = began("short_demo", which, rule)[0]
        assert start < onset < min(end, start + within_s)
    trips = [w.start_s for w in world.windows if w.kind is Kind.TRIP and w.target == "2"]
    burst = began("short_demo", which, Rule.TRIPPING)
    assert trips[-1] <= burst[0] < trips[-1] + 2.0


@both
@pytest.mark.parametrize(
    ("name", "kind", "rule", "within_s"),
    [
        ("broken_leg", Kind.BROKEN, Rule.NOT_PULLING, 16.0),
        ("hooked", Kind.HOOKED, Rule.HOOKED, 7.0),
        ("slipping", Kind.SLIPPING, Rule.SLIP_HIGH, 16.0),
    ],
)
def test_each_trouble_is_told_by_its_own_rule_in_time(
    which: str, name: str, kind: Kind, rule: Rule, within_s: float
) -> None:
    start, _ = window_of(name, which, kind)
    assert start < began(name, which, rule)[0] < start + within_s


@either
def test_one_backing_with_the_tool_down_is_one_act(which: str) -> None:
    """The receiver of the second world still tells of the stop when the wheels go backwards."""
    (told,) = began("backing_in_ground", which, Rule.BACKING)
    truth = lived("backing_in_ground", which)[0].truth()
    backing = truth[truth["phase"] == PHASES.index(Phase.BACKING)]["t_s"]
    assert backing[0] < told < backing[0] + 3.0


@either
def test_a_turn_with_the_tool_down_is_told_and_then_told_harder(which: str) -> None:
    assert began("turn_in_ground", which, Rule.TURNING)
    assert began("turn_in_ground", which, Rule.TURNING_HARD)


@either
def test_a_tool_that_runs_shallow_is_told_once_a_pass_and_a_raised_one_is_not(which: str) -> None:
    shallow = began("too_shallow", which, Rule.DEPTH)
    assert len(shallow) == 4
    assert began("raised", which, Rule.DEPTH) == []

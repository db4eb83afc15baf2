"""The invented tractor: repeatable, true to its own truth, and different from the app's models."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pynmea2
import pytest

from cabapp.rig import Rig
from cabapp.units import KNOT_MPS, MPH_MPS
from cabapp.world.constants import FIRST, SECOND
from cabapp.world.happening import Happening, Kind, ScenarioError
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PHASES, Phase, PortEvent, World
from tests.world.conftest import column, groups_at, lines_at

Worlds = Callable[..., World]


def during(truth: np.ndarray, phase: Phase) -> np.ndarray:
    """The rows of one phase."""
    return truth[truth["phase"] == PHASES.index(phase)]


def test_the_same_seed_gives_the_same_bytes_and_another_seed_does_not(full_rig: Rig) -> None:
    def play(seed: int) -> list[bytes]:
        return [c.data for c in World(SCENARIOS["plain_passes"], full_rig, seed).chunks()]

    assert play(4) == play(4)
    assert play(4) != play(5)


@pytest.mark.parametrize("port", ["gnss", "node"])
def test_every_sentence_is_short_enough_and_passes_its_checksum(
    world_of: Worlds, port: str
) -> None:
    lines = [line for _, line in lines_at(world_of("plain_passes"), port)]
    assert len(lines) > 1000
    for line in lines:
        assert len(line) + 2 <= 82  # NMEA 0183: at most 82 characters with dollar sign and CR LF
        pynmea2.parse(line, check=True)


def test_chunks_come_in_order_of_time(world_of: Worlds) -> None:
    times = [chunk.t_s for chunk in world_of("short_demo").chunks()]
    assert times == sorted(times)


def test_the_speed_on_the_wire_is_the_true_speed_with_the_stated_noise(world_of: Worlds) -> None:
    world = world_of("plain_passes")
    truth = world.truth()
    heard = [(t, pynmea2.parse(s)) for t, s in lines_at(world, "gnss") if "RMC" in s]
    at = np.array([t for t, _ in heard]) - FIRST.latency_s - FIRST.filter_s
    speed = np.array([float(rmc.spd_over_grnd) * KNOT_MPS for _, rmc in heard])
    true = np.abs(np.interp(at, truth["t_s"], truth["speed_mps"]))
    miss = (speed - true)[true > 1.0]
    assert 0.5 * FIRST.fix_noise_mps < miss.std() < 2.0 * FIRST.fix_noise_mps
    assert abs(miss.mean()) < 0.01


def test_positions_on_the_wire_lie_within_the_stated_wander(world_of: Worlds) -> None:
    world = world_of("plain_passes")
    truth = world.truth()
    for at, line in lines_at(world, "gnss")[::600]:
        message = pynmea2.parse(line)
        if message.sentence_type == "VTG":
            continue
        row = truth[min(len(truth) - 1, round((at - FIRST.latency_s) * 10))]
        north = (message.latitude - row["lat_deg"]) * 111_100
        east = (message.longitude - row["lon_deg"]) * 80_000
        assert np.hypot(north, east) < 4 * FIRST.place_wander_m + 0.5


def test_the_receivers_clock_runs_apart_from_the_tablets_by_the_stated_share(
    world_of: Worlds,
) -> None:
    heard = [(t, s.split(",")[1]) for t, s in lines_at(world_of("plain_passes"), "gnss")]
    (first_t, first), (last_t, last) = heard[0], heard[-3]

    def seconds(text: str) -> float:
        return int(text[:2]) * 3600 + int(text[2:4]) * 60 + float(text[4:])

    passed = seconds(last) - seconds(first)
    drift = (last_t - first_t) - passed
    assert drift == pytest.approx(passed * FIRST.clock_ppm * 1e-6, abs=2 * FIRST.jitter_s)


def test_the_tool_is_up_in_every_turn_and_down_in_every_pass(world_of: Worlds) -> None:
    truth = world_of("plain_passes").truth()
    turning = during(truth, Phase.TURNING)
    assert len(turning) > 500 and not turning["tool_down"].any()
    assert during(truth, Phase.WORKING)["tool_down"].all()
    assert len(np.unique(during(truth, Phase.WORKING)["leg"])) == 5 + 5  # passes, and lifting out


def test_the_switch_repeats_its_state_at_least_each_second_and_follows_the_tool(
    world_of: Worlds,
) -> None:
    world = world_of("plain_passes")
    truth = world.truth()
    times, state = column(groups_at(world)["TOOLDOWN"])
    assert np.diff(times).max() <= 1.0
    down = np.interp(times, truth["t_s"], truth["tool_down"])
    assert (np.abs(state - down) < 0.5).mean() > 0.98


def test_a_knoll_slows_the_tractor_and_loads_the_springs(world_of: Worlds) -> None:
    world = world_of("short_demo")
    (knoll,) = world.scenario.soil.patches
    truth = during(world.truth(), Phase.WORKING)
    away = np.hypot(truth["tool_x_m"] - knoll.x_m, truth["tool_y_m"] - knoll.y_m)
    settled = truth["depth_m"] > 0.33
    on_it, off_it = truth[settled & (away < 15.0)], truth[settled & (away > 60.0)]
    assert np.median(on_it["spring"]) > 1.1 * np.median(off_it["spring"])
    first_pass = truth[truth["leg"] == truth["leg"][0]]
    slow = first_pass["speed_mps"][100:] < 5.0 * MPH_MPS
    assert slow.sum() > 120, "under the band for over 12 s: hard here must be earned"


def test_draft_varies_over_a_pass_as_measured_on_a_plough(world_of: Worlds) -> None:
    # SD 9-19 % of the mean over passes, 17-20 kN (University of Novi Sad 2014).
    truth = world_of("plain_passes").truth()
    settled = truth[(truth["depth_m"] > 0.33) & (truth["speed_mps"] > 5.5 * MPH_MPS)]
    share = settled["spring"].std(axis=0) / settled["spring"].mean(axis=0)
    assert ((share > 0.07) & (share < 0.19)).all()


def test_what_depth_sensors_say_is_close_to_the_truth_and_not_a_copy_of_it(
    full_rig: Rig, world_of: Worlds
) -> None:
    world = world_of("plain_passes")
    truth = world.truth()
    groups = groups_at(world)
    for sensor in full_rig.fitted("depth"):
        assert sensor.curve is not None
        times, volts = column(groups[sensor.wire_name])
        said = np.array([sensor.curve.value(float(v)) for v in volts])
        true = np.interp(times, truth["t_s"], truth["depth_m"])
        miss = (said - true)[true > 0.33]
        # Trans. CSAM 2026(02): largest miss of a live depth 1.2-1.8 cm on the move.
        assert 0.002 < np.abs(miss).mean() < 0.014
        assert np.abs(miss).max() < 0.035


def test_a_lifted_tool_leaves_its_gauge_arms_on_their_stops(
    full_rig: Rig, world_of: Worlds
) -> None:
    world = world_of("plain_passes")
    truth = world.truth()
    curve = full_rig.fitted("depth")[0].curve
    assert curve is not None
    times, volts = column(groups_at(world)["DEPTH1"])
    up = np.interp(times, truth["t_s"], truth["depth_m"]) < -0.2
    said = np.array([curve.value(float(v)) for v in volts[up]])
    assert np.abs(said - FIRST.arm_stop_m).max() < 0.002
    assert volts[up].min() > 0.25, "a hanging arm is no wire fault"


def test_mean_lies_between_least_and_most(world_of: Worlds) -> None:
    groups = groups_at(world_of("short_demo"))
    for n in range(1, 8):
        mean, most, least = (column(groups[f"SPRING{n}{part}"])[1] for part in ("", "MAX", "MIN"))
        assert (least <= mean + 1).all() and (mean <= most + 1).all()


def test_trips_asked_for_are_counted_in_the_truth_and_seen_on_the_wire(
    full_rig: Rig, world_of: Worlds
) -> None:
    world = world_of("short_demo")
    trips = world.truth()["trips"].sum(axis=0)
    assert trips[1] == 3, "the burst on shank 2"
    assert trips[2] == 1 and trips[4] == 1
    most = column(groups_at(world)["SPRING2MAX"])[1] / full_rig.fitted("spring")[1].trip_n
    over = most > 1.0
    assert (np.diff(over.astype(int)) == 1).sum() == 3


def test_a_shank_that_stays_up_scratches_and_its_spring_stays_over_the_trip(
    world_of: Worlds,
) -> None:
    world = world_of("short_demo")
    truth = world.truth()
    (window,) = (w for w in world.windows if w.kind is Kind.STAYS_UP)
    inside = truth[window.mask(truth["t_s"])]
    assert (inside["spring"][:, 4] > 1.2).all()
    assert (inside["shank_depth_m"][:, 4] <= 0.03).all()
    assert np.median(inside["shank_depth_m"][:, 3]) > 0.33


def test_a_broken_leg_pulls_next_to_nothing(world_of: Worlds) -> None:
    world = world_of("broken_leg")
    truth = world.truth()
    after = during(truth[world.windows[0].mask(truth["t_s"])], Phase.WORKING)
    after = after[after["depth_m"] > 0.33]
    others = np.median(np.delete(after["spring"], 5, axis=1))
    assert np.median(after["spring"][:, 5]) < 0.1 * others


def test_a_pulled_cable_is_silence_between_two_events(world_of: Worlds) -> None:
    chunks = [c for c in world_of("short_demo").chunks() if c.port == "node"]
    pulled = next(n for n, c in enumerate(chunks) if c.event is PortEvent.PULLED)
    assert chunks[pulled + 1].event is PortEvent.BACK
    assert chunks[pulled + 1].t_s - chunks[pulled].t_s == pytest.approx(12.0)


def test_a_drop_out_sends_status_v_and_no_speed_then_a_wild_one(world_of: Worlds) -> None:
    world = world_of("short_demo")
    (window,) = (w for w in world.windows if w.kind is Kind.NO_FIX)
    late = FIRST.latency_s + FIRST.jitter_s
    lost, back = [], []
    for at, line in lines_at(world, "gnss"):
        if "RMC" in line and window.start_s + late < at < window.end_s:
            lost.append(line)
        if "RMC" in line and window.end_s + late < at < window.end_s + late + 0.3:
            back.append(float(line.split(",")[7]) * KNOT_MPS)
    assert len(lost) > 100
    for line in lost:
        assert line.split(",")[2:9] == ["V", "", "", "", "", "", ""]
    assert max(back) > 3.2


@pytest.mark.parametrize("kind", ["backing_in_ground", "turn_in_ground"])
def test_what_must_never_happen_with_the_tool_down_does_happen_there(
    world_of: Worlds, kind: str
) -> None:
    truth = world_of(kind).truth()
    phase = Phase.BACKING if kind == "backing_in_ground" else Phase.TURNING
    wrong = during(truth, phase)
    assert wrong["tool_down"].mean() > 0.9
    if phase is Phase.BACKING:
        _, reverse = column(groups_at(world_of(kind))["REVERSE"])
        assert reverse.sum() > 5


def test_hooked_is_no_speed_with_springs_over_the_trip(world_of: Worlds) -> None:
    truth = world_of("hooked").truth()
    hooked = (np.abs(truth["speed_mps"]) < 0.1) & (truth["spring"].min(axis=1) > 1.1)
    assert hooked.sum() > 50


def test_a_lever_raises_the_whole_tool_within_two_seconds_and_lets_it_back(
    world_of: Worlds,
) -> None:
    world = world_of("raised")
    truth = world.truth()
    (window,) = world.windows
    before = truth[truth["t_s"] < window.start_s]["depth_m"][-5:].mean()
    soon = truth[truth["t_s"] >= window.start_s + 2.0]["depth_m"][:5].mean()
    after = truth[truth["t_s"] >= window.end_s + 1.0]["depth_m"][:5].mean()
    assert before - soon > 0.06
    assert abs(after - before) < 0.03


def test_slip_is_what_wheel_and_ground_say(world_of: Worlds) -> None:
    truth = world_of("slipping").truth()
    moving = truth[np.abs(truth["speed_mps"]) > 1.0]
    shown = 1.0 - np.abs(moving["speed_mps"]) / moving["wheel_mps"]
    assert np.abs(shown - moving["slip"]).max() < 0.02
    assert moving["slip"].max() > 0.40


FAULTS = [
    (Kind.DEAD, "depth3", "DEPTH3"),
    (Kind.EMPTY, "spring4", "SPRING4"),
    (Kind.WIRE, "depth1", "DEPTH1"),
    (Kind.FROZEN, "depth2", "DEPTH2"),
    (Kind.STUCK, "depth2", "DEPTH2"),
    (Kind.JUMP, "depth1", "DEPTH1"),
    (Kind.DRIFT, "depth4", "DEPTH4"),
]


@pytest.mark.parametrize(("kind", "channel", "wire"), FAULTS)
def test_a_sensor_fault_is_on_the_wire_while_it_lasts(
    full_rig: Rig, kind: Kind, channel: str, wire: str
) -> None:
    happening = Happening(kind, "pass 2", after_m=60.0, for_s=20.0, target=channel, size=0.07)
    whole = replace(SCENARIOS["plain_passes"], happenings=(happening,))
    world = World(whole, full_rig)
    window = world.windows[0]
    times, value = column(groups_at(world)[wire])
    _, sound = column(groups_at(World(SCENARIOS["plain_passes"], full_rig))[wire])
    inside = (times > window.start_s + 0.2) & (times < window.end_s)
    if kind is Kind.DEAD:
        assert not inside.any() and len(value) < len(sound)
    elif kind is Kind.EMPTY:
        assert np.isnan(value[inside]).all()
    elif kind is Kind.WIRE:
        assert ((value[inside] < 0.25) | (value[inside] > 4.75)).all()
    elif kind is Kind.FROZEN:
        assert len(np.unique(value[inside])) == 1
    elif kind is Kind.STUCK:
        assert 1 < len(np.unique(value[inside])) <= 3
    elif kind is Kind.JUMP:
        assert np.median(value[inside] - sound[inside]) == pytest.approx(0.07 / 0.127, abs=0.02)
    else:
        late = times > times[-1] - 100.0
        assert np.median(value[late] - sound[late]) > 0.0
    before = times < window.start_s - 0.5
    if kind is not Kind.DRIFT:
        assert np.array_equal(value[before], sound[: before.sum()])


def test_a_place_that_does_not_exist_is_named(full_rig: Rig) -> None:
    lost = replace(
        SCENARIOS["plain_passes"], happenings=(Happening(Kind.NO_FIX, "pass 99", for_s=1.0),)
    )
    with pytest.raises(ScenarioError, match="pass 99"):
        World(lost, full_rig)


SHORT = sorted(name for name in SCENARIOS if not name.endswith("_day"))


@pytest.mark.parametrize("name", SHORT)
def test_every_scenario_plays_in_a_second_world_too(full_rig: Rig, name: str) -> None:
    first, second = (World(SCENARIOS[name], full_rig, 1, c) for c in (FIRST, SECOND))
    other = second.truth()
    assert np.isfinite(other["spring"]).all() and np.isfinite(other["depth_m"]).all()
    assert first.duration_s != second.duration_s
    working = during(other, Phase.WORKING)
    assert 0.2 < np.median(working["spring"]) < 0.95
    assert any(chunk.port == "node" for chunk in second.chunks())


def test_a_receiver_alone_has_one_port_and_one_epoch_a_second(receiver_rig: Rig) -> None:
    world = World(SCENARIOS["receiver_only_day"], receiver_rig)
    chunks = list(world.chunks())
    assert {chunk.port for chunk in chunks} == {"gnss"}
    assert len(chunks) == int(world.duration_s)


def test_the_demo_lasts_eight_minutes_and_shows_each_thing(world_of: Worlds) -> None:
    world = world_of("short_demo")
    assert 6 * 60 < world.duration_s < 9 * 60
    seen = {PHASES[n] for n in np.unique(world.truth()["phase"])}
    assert seen == {
        Phase.STANDING,
        Phase.WORKING,
        Phase.LIFTED,
        Phase.TURNING,
        Phase.BACKING,
    }

"""The tractor along its legs: place, heading, speed, slip and tool command, ten times a second."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cabapp.rig import DriveKind, Rig
from cabapp.units import STANDARD_GRAVITY_MPS2
from cabapp.world.constants import Constants
from cabapp.world.field import Leg
from cabapp.world.noise import Floats, Rough, stream
from cabapp.world.soil import Soil

STEP_S = 0.1
GROUND_EVERY = 5  # steps between two looks at the soil under the tool: 1.3 m at working speed
CREEP_MPS = 0.15  # slowest approach to a stopping place


@dataclass(frozen=True)
class Motion:
    """The whole drive in columns, one row each STEP_S. Speeds are signed: backing is negative.

    ``x``/``y`` is the antenna, ``tool_x``/``tool_y`` the middle of the shanks; ``down`` runs from
    0 (lifted) to 1 (let down); ``worked_m`` is travel with the tool down since it was set in.
    """

    t_s: Floats
    x_m: Floats
    y_m: Floats
    speed_mps: Floats
    heading_deg: Floats
    tool_x_m: Floats
    tool_y_m: Floats
    tool_heading_deg: Floats
    down: Floats
    worked_m: Floats
    travel_m: Floats
    slip: Floats
    leg: NDArray[np.int32]
    into_m: Floats

    def __len__(self) -> int:
        return len(self.t_s)


def drive(legs: tuple[Leg, ...], soil: Soil, rig: Rig, c: Constants, seed: int) -> Motion:
    """Drive all legs; ends when the last is done. Pure: same arguments, same motion."""
    driver = _Driver(soil, rig, c)
    driver.x, driver.y, driver.heading = start_of(legs)
    driver.tool_heading = driver.heading
    for number, leg in enumerate(legs):
        after = legs[number + 1] if number + 1 < len(legs) else None
        driver.leg(number, leg, after)
    return _finished(driver.rows, rig, c, seed)


def start_of(legs: tuple[Leg, ...]) -> tuple[float, float, float]:
    """Where to start (x, y, heading) so that the first pass begins at the origin, going north."""
    x = y = heading = 0.0
    for leg in legs:
        if leg.tool_down:
            break
        x, y, heading = end_of(leg, x, y, heading)
    sin, cos = math.sin(heading), math.cos(heading)
    return -x * cos + y * sin, -x * sin - y * cos, -heading


def end_of(leg: Leg, x: float, y: float, heading: float) -> tuple[float, float, float]:
    """The end of a leg: a chord at half its change of heading."""
    moved = -leg.length_m if leg.reverse else leg.length_m
    change = leg.bend * moved
    chord = moved * (2.0 * math.sin(change / 2) / change if change else 1.0)
    middle = heading + change / 2
    return x + chord * math.sin(middle), y + chord * math.cos(middle), heading + change


class _Driver:
    """State between steps. Plain floats: half a million steps a shift must cost seconds."""

    def __init__(self, soil: Soil, rig: Rig, c: Constants) -> None:
        self.soil, self.rig, self.c = soil, rig, c
        limits, tool = rig.limits, rig.tool
        self.working_mps = 0.5 * (limits.speed_low_mps + limits.speed_high_mps) - 0.05
        self.depth_m = limits.depth_target_m or 0.30
        shanks = max(1, len(tool.shanks))
        per_cm = shanks * 100 * self.depth_m * (1.0 if tool.winged else c.narrow_share)
        self.base_n, self.rise_n, self.bend_n = (
            per_cm * share for share in (c.shank_base_n_cm, c.shank_rise_n_cm, c.shank_bend_n_cm)
        )
        self.discs_n = c.discs_n_m * tool.width_m
        rated = rig.tractor.rated_pto_w
        self.power_w = c.power_share * rated if rated else c.power_per_shank_w * shanks
        self.slide = 1.0 if rig.tractor.drive is DriveKind.TRACKS else c.wheels_slide
        self.x = self.y = self.heading = self.speed = self.travel = self.worked = self.down = 0.0
        self.tool_heading = 0.0
        self.factor, self.grade_n, self.steps = soil.strength, 0.0, 0
        self.rows: list[tuple[float, ...]] = []

    def leg(self, number: int, leg: Leg, after: Leg | None) -> None:
        if leg.wait_s:
            for _ in range(round(leg.wait_s / STEP_S)):
                self.speed = 0.0
                self._step(number, leg, 0.0, 0.0)
            return
        end = _wanted(after, self) if after and after.reverse == leg.reverse else 0.0
        wanted, into = _wanted(leg, self), 0.0
        brake = 2 * self.c.speed_down_mps2
        while into < leg.length_m:
            left = leg.length_m - into
            cap = max(CREEP_MPS, math.sqrt(end * end + brake * left))
            into += self._step(number, leg, min(wanted, cap), into)
        if end == 0.0:
            self.speed = 0.0

    def _step(self, number: int, leg: Leg, wanted: float, into: float) -> float:
        """One step; returns the metres made good."""
        c = self.c
        self._tool(leg.tool_down)
        if self.steps % GROUND_EVERY == 0:
            self._look_at_ground()
        self.steps += 1
        pull = self._pull()
        if self.speed > 0.3 and pull > 0.0:
            wanted = min(wanted, self.power_w / pull)
        change = (wanted - self.speed) / c.speed_lag_s
        change = min(c.speed_up_mps2, max(-c.speed_down_mps2, change))
        self.speed = max(0.0, self.speed + change * STEP_S) if wanted or self.speed else 0.0
        moved = self.speed * STEP_S
        self._move(-moved if leg.reverse else moved, leg.bend)
        self.travel += moved
        self.worked = self.worked + moved if self.down > 0.0 else 0.0
        slip = c.slip_free + self.slide * _slide(pull / c.grip_n)
        signed = -self.speed if leg.reverse else self.speed
        row = (self.x, self.y, signed, self.heading, self.tool_heading, self.down)
        self.rows.append((*row, self.worked, self.travel, slip, number, into))
        return moved

    def _tool(self, down: bool) -> None:
        rate = STEP_S / (self.c.lower_s if down else self.c.lift_s)
        self.down = min(1.0, self.down + rate) if down else max(0.0, self.down - rate)

    def _pull(self) -> float:
        v = 3.6 * self.speed
        bitten = self.down * min(1.0, self.worked / self.c.bite_m)
        shanks = self.factor * (self.base_n + v * (self.rise_n + v * self.bend_n))
        return bitten * (shanks + self.discs_n) + self.grade_n

    def _look_at_ground(self) -> None:
        x, y, soil = self.x, self.y, self.soil
        self.factor = soil.factor(x, y)
        ahead_x, ahead_y = x + 2 * math.sin(self.heading), y + 2 * math.cos(self.heading)
        grade = (soil.height(ahead_x, ahead_y) - soil.height(x, y)) / 2
        self.grade_n = grade * self.c.mass_kg * STANDARD_GRAVITY_MPS2

    def _move(self, moved: float, bend: float) -> None:
        middle = self.heading + 0.5 * bend * moved
        self.x += moved * math.sin(middle)
        self.y += moved * math.cos(middle)
        self.heading += bend * moved
        # A pulled tool runs after the pin; pushed back, it is kept straight by the driver.
        lag = max(1.0, self.rig.tool.lag_m)
        off = self.heading - self.tool_heading
        self.tool_heading += math.sin(off) * abs(moved) / lag


def _slide(grip: float) -> float:
    """Slip under pull: a curve and not a line, the steeper the nearer pull comes to the grip."""
    held = min(0.75, max(0.0, grip))
    return 0.03 * held + 0.08 * held * held / (1.0 - held)


def _wanted(leg: Leg | None, driver: _Driver) -> float:
    if leg is None or leg.wait_s:
        return 0.0
    if leg.reverse:
        return leg.speed_mps or driver.c.reverse_speed_mps
    return leg.speed_mps or driver.working_mps


def _finished(rows: list[tuple[float, ...]], rig: Rig, c: Constants, seed: int) -> Motion:
    """Columns, with the wander of steering and the ripple of speed laid over them."""
    table = np.array(rows)
    x, y, speed, heading, tool_heading, down, worked, travel, slip, leg, into = table.T
    weave = Rough(stream(seed, "weave"), c.weave_every_m)
    aside = c.weave_m * weave.at(travel)
    lean = c.weave_m * (weave.at(travel + 0.25) - weave.at(travel - 0.25)) / 0.5
    ripple = Rough(stream(seed, "ripple"), 4.0).at(travel)
    speed = speed * (1.0 + c.speed_ripple * np.clip(ripple, -2.5, 2.5))
    slip = slip + c.slip_ripple * Rough(stream(seed, "slip"), 5.0).at(travel)
    sin, cos = np.sin(heading), np.cos(heading)
    x, y = x + aside * cos, y - aside * sin
    pin_x, pin_y = x - rig.tool.hitch_back_m * sin, y - rig.tool.hitch_back_m * cos
    right = rig.receiver.antenna_right_m
    return Motion(
        t_s=np.arange(len(table), dtype=np.float64) * np.float64(STEP_S),
        x_m=x + right * cos,
        y_m=y - right * sin,
        speed_mps=speed,
        heading_deg=np.degrees(heading + lean) % 360.0,
        tool_x_m=pin_x - rig.tool.lag_m * np.sin(tool_heading),
        tool_y_m=pin_y - rig.tool.lag_m * np.cos(tool_heading),
        tool_heading_deg=np.degrees(tool_heading) % 360.0,
        down=down,
        worked_m=worked,
        travel_m=travel,
        slip=slip,
        leg=leg.astype(np.int32),
        into_m=into,
    )

"""What the shanks truly do: depth in the ground, pull on each spring, stones and trips."""

from bisect import bisect_left, bisect_right
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cabapp.rig import Rig
from cabapp.world.constants import Constants
from cabapp.world.drive import STEP_S, Motion
from cabapp.world.happening import Kind, Window
from cabapp.world.noise import Floats, Rough, stream
from cabapp.world.soil import Soil

FINE = 5  # load samples in each step: 50 Hz, roughness of tilled ground needs 5 cm spacing
#           (Soil and Tillage Research 159, 2016)
DEFAULT_TRIP_N = 22_000.0
LEVER_S = 1.2  # a lever moves the tool through its travel in about this
LONGEST_TRIP_S = 6.0
RESET_SHARE = 0.8  # a trip is over when the load has come down to here


@dataclass(frozen=True)
class Strike:
    """A stone under one point: when, how many times the load, how high the shank is thrown.

    ``times`` 0 is a stone that trips whatever the load: the ones a scenario asks for.
    """

    at_s: float
    shank: int
    times: float
    throw: float


class Frame:
    """Depth of the tool's plane anywhere under it, for a slice of the drive."""

    def __init__(
        self,
        motion: Motion,
        soil: Soil,
        rig: Rig,
        c: Constants,
        seed: int,
        found: tuple[Window, ...],
    ) -> None:
        self.motion, self.soil, self.rig, self.c, self.found = motion, soil, rig, c, found
        self.target_m = rig.limits.depth_target_m or 0.30
        self._uneven = Rough(stream(seed, "uneven"), c.depth_every_m)
        self._pitch = Rough(stream(seed, "pitch"), c.pitch_every_m)
        self._roll = Rough(stream(seed, "roll"), c.pitch_every_m * 1.3)
        places = [s.back_m for s in rig.tool.shanks] + [s.back_m for s in rig.fitted("depth")]
        self.middle_m = 0.5 * (min(places) + max(places)) if places else 0.0
        self.half_long_m = max(1.0, 0.5 * (max(places) - min(places))) if places else 1.0
        self.half_wide_m = max(1.0, 0.5 * rig.tool.width_m)

    def middle(self, part: slice) -> Floats:
        """Depth of the middle of the shanks, metres; negative is above the ground."""
        m, c = self.motion, self.c
        t, down = m.t_s[part], m.down[part]
        frame = -c.raised_m + (self.target_m + c.raised_m) * down
        sunk = c.softness_m * self.soft(part) - 0.35 * c.softness_m
        wanted = self.target_m + sunk - c.creep_m_h * t / 3600.0
        wanted += c.depth_uneven_m * self._uneven.at(m.travel_m[part])
        for window in self.found:
            if window.kind is Kind.RAISED:
                wanted -= window.size * _lever(window, t)
        bitten = wanted * (1.0 - np.exp(-2.2 * m.worked_m[part] / c.bite_m))
        return np.asarray(np.where(frame < 0.0, frame, np.minimum(frame + 0.04 * down, bitten)))

    def at(self, middle: Floats, part: slice, across_m: float, back_m: float) -> Floats:
        """Depth at a place of the frame, given the middle's: the tool leans a little."""
        travel = self.motion.travel_m[part]
        fore = (back_m - self.middle_m) / self.half_long_m
        side = across_m / self.half_wide_m
        lean = self.c.pitch_m * (fore * self._pitch.at(travel) + side * self._roll.at(travel))
        return np.asarray(middle + np.where(middle > 0.0, lean, 0.0))

    def soft(self, part: slice) -> Floats:
        """Softness of the ground under the tool, 0 to 1."""
        m = self.motion
        soft = self.soil.over("soft", self.soil.soft, m.tool_x_m[part], m.tool_y_m[part])
        return np.asarray(np.clip(soft, 0.0, 1.0))


def _lever(window: Window, t: Floats) -> Floats:
    """0 outside, 1 inside, a straight movement between."""
    rise = np.clip((t - window.start_s) / LEVER_S, 0.0, 1.0)
    fall = np.clip((window.end_s - t) / LEVER_S, 0.0, 1.0)
    return np.asarray(np.minimum(rise, fall))


@dataclass(frozen=True)
class Loads:
    """Load of each shank as a share of its trip, one row a step and one column a shank."""

    mean: Floats
    most: Floats
    least: Floats
    trips: NDArray[np.int64]


class Shanks:
    """Loads block by block; a trip that is under way at a block's end goes on in the next."""

    def __init__(self, frame: Frame, seed: int) -> None:
        self.frame, self.c = frame, frame.c
        self.shanks = frame.rig.tool.shanks
        self.trip_n = np.array([_trip_n(frame.rig, shank.number) for shank in self.shanks])
        c = frame.c
        self._near = [Rough(stream(seed, "near", s.number), c.near_every_m) for s in self.shanks]
        self._far = [Rough(stream(seed, "far", s.number), c.far_every_m) for s in self.shanks]
        self.strikes = strikes(frame, seed)
        self._by_shank = {
            s.number: [one for one in self.strikes if one.shank == s.number] for s in self.shanks
        }
        self._thrown: set[Strike] = set()
        self._over = np.zeros(len(self.shanks), dtype=bool)

    def loads(self, part: slice, depths: Floats) -> Loads:
        """Loads over a slice; ``depths`` is (steps, shanks). Slices must come in order."""
        m, steps = self.frame.motion, len(depths)
        fine_t = (m.t_s[part][:, None] + np.arange(FINE) * STEP_S / FINE).ravel()
        travel = np.interp(fine_t, m.t_s, m.travel_m)
        speed = np.interp(fine_t, m.t_s, m.speed_mps)
        factor = np.repeat(self._factor(part), FINE)
        share = np.empty((len(fine_t), len(self.shanks)))
        for n, shank in enumerate(self.shanks):
            depth = np.interp(fine_t, m.t_s[part], depths[:, n])
            pull = self._pull(n, depth, speed, factor, travel)
            share[:, n] = self._troubled(shank.number, pull / self.trip_n[n], fine_t)
        crossings = self._crossings(share)
        blocks = share.reshape(steps, FINE, len(self.shanks))
        return Loads(
            blocks.mean(axis=1),
            blocks.max(axis=1),
            blocks.min(axis=1),
            crossings.reshape(blocks.shape).sum(axis=1),
        )

    def _factor(self, part: slice) -> Floats:
        m, soil = self.frame.motion, self.frame.soil
        factor = soil.over("strength", soil.strength, m.tool_x_m[part], m.tool_y_m[part])
        for window in self.frame.found:
            if window.kind is Kind.HARD:
                factor += window.size * window.mask(m.t_s[part])
        return np.asarray(np.maximum(0.2, factor))

    def _pull(self, n: int, depth: Floats, speed: Floats, factor: Floats, travel: Floats) -> Floats:
        """Newtons on one shank; see constants for the terms."""
        c = self.c
        v = 3.6 * np.abs(speed)
        deep = np.maximum(depth, 0.0)
        bent = 100.0 * deep * (deep / 0.35) ** (c.depth_bend - 1.0)
        point = 1.0 if self.frame.rig.tool.winged else c.narrow_share
        base = c.shank_base_n_cm + v * (c.shank_rise_n_cm + v * c.shank_bend_n_cm)
        rough = 1.0 + c.draft_near_sd * self._near[n].at(travel)
        rough += c.draft_far_sd * self._far[n].at(travel)
        moving = np.clip(np.abs(speed) / 0.3, 0.25, 1.0)  # a shank at rest keeps some of its pull
        pull = point * factor * base * bent * np.maximum(0.1, rough) * moving
        return np.asarray(np.where(speed < -0.02, 0.15 * pull, pull))

    def _troubled(self, number: int, share: Floats, t: Floats) -> Floats:
        """Stones, then what is broken, stuck or hooked."""
        stones = self._by_shank[number]
        first = bisect_right(stones, t[0] - LONGEST_TRIP_S, key=_when)
        for strike in stones[first : bisect_left(stones, t[-1], key=_when)]:
            share = self._struck(strike, share, t)
        for window in self.frame.found:
            if window.target not in ("", str(number)):
                continue
            if window.kind is Kind.STAYS_UP:
                inside = window.mask(t)
                share = np.where(inside, 1.0 + window.size + 0.01 * (share - share.mean()), share)
            elif window.kind is Kind.BROKEN:
                share = np.where(window.mask(t), window.size * share, share)
            elif window.kind is Kind.HOOKED:
                share = np.where(window.mask(t), np.maximum(share, window.size), share)
        return share

    def _struck(self, strike: Strike, share: Floats, t: Floats) -> Floats:
        """One stone: a bump, or a trip where the bump goes over the trip point."""
        c = self.c
        after = t - strike.at_s
        if after[0] < 0.0:
            at = int(np.searchsorted(after, 0.0))
            peak = strike.times * float(share[at])
            if strike.times and peak < 1.0:
                bump = (after >= 0.0) & (after < c.trip_rise_s + 0.1)
                return np.asarray(np.where(bump, np.maximum(share, peak), share))
            self._thrown.add(strike)
        return _thrown(strike, share, after, c) if strike in self._thrown else share

    def _crossings(self, share: Floats) -> NDArray[np.bool_]:
        """True where a shank's load goes over the trip point, once for each trip."""
        crossed = np.zeros(share.shape, dtype=bool)
        for n in range(share.shape[1]):
            state = np.where(share[:, n] >= 1.0, 1, np.where(share[:, n] < RESET_SHARE, 0, -1))
            known = np.maximum.accumulate(np.where(state >= 0, np.arange(len(state)), -1))
            over = np.where(known >= 0, state[known] == 1, self._over[n])
            crossed[:, n] = over & ~np.concatenate([[self._over[n]], over[:-1]])
            self._over[n] = over[-1]
        return crossed


def _thrown(strike: Strike, share: Floats, after: Floats, c: Constants) -> Floats:
    """Up over the trip point, held there, down to almost nothing, and biting again."""
    top = 1.0 + c.trip_travel * strike.throw
    held = c.trip_rise_s + c.trip_hold_s * (0.5 + strike.throw)
    fallen = held + c.trip_fall_s
    back = fallen + c.trip_back_s
    up = np.interp(after, [0.0, c.trip_rise_s, held, fallen], [0.6, top, top, 0.12])
    share = np.where((after >= 0.0) & (after < fallen), up, share)
    ease = np.interp(after, [fallen, back], [0.15, 1.0])
    return np.asarray(np.where((after >= fallen) & (after < back), share * ease, share))


def _when(strike: Strike) -> float:
    return strike.at_s


def _trip_n(rig: Rig, number: int) -> float:
    fitted = (s.trip_n for s in rig.fitted("spring") if s.shank == number and s.trip_n)
    return next(fitted, DEFAULT_TRIP_N)


def strikes(frame: Frame, seed: int) -> tuple[Strike, ...]:
    """All stones of the drive: chance ones by the soil's rate, and those a scenario asks for."""
    m, c = frame.motion, frame.c
    step_m = np.diff(m.travel_m, prepend=0.0) * (m.down > 0.9)
    found: list[Strike] = []
    for shank in frame.rig.tool.shanks:
        rate = np.full(len(m), frame.soil.stones_km / 1000.0)
        for window in frame.found:
            if window.kind is Kind.STONES and window.target in ("", str(shank.number)):
                rate += window.size / 1000.0 * window.mask(m.t_s)
        expected = np.cumsum(rate * step_m)
        rng = stream(seed, "stones", shank.number)
        many = int(expected[-1] + 6 * np.sqrt(expected[-1] + 1) + 10)
        marks = np.cumsum(rng.exponential(size=many))
        times = rng.uniform(c.stone_least, c.stone_most, many)
        throws = rng.uniform(0.2, 1.0, many)
        struck = marks < expected[-1]
        at = m.t_s[np.searchsorted(expected, marks[struck])]
        found += [
            Strike(float(a), shank.number, float(x), float(w))
            for a, x, w in zip(at, times[struck], throws[struck], strict=True)
        ]
    found += [
        Strike(w.start_s, int(w.target), 0.0, 0.8) for w in frame.found if w.kind is Kind.TRIP
    ]
    return tuple(sorted(found, key=lambda strike: strike.at_s))

"""From readings to one tick's knowledge: motion, tool position, phase, depth, springs, slip."""

import math
from datetime import date, datetime, timedelta

from cabapp.cab.ears import Ears, without_value
from cabapp.events import PortCondition
from cabapp.plan import Plan
from cabapp.readings import Fix, Quality, Reading
from cabapp.rig import Rig
from cabapp.trade.slip import slip_ratio
from cabapp.watch.along import LastStraight
from cabapp.watch.depths import Depths, RaisedOnPurpose
from cabapp.watch.motion import SPEED_WINDOW_S, TURN_RATE_DPS, Motion
from cabapp.watch.now import Now
from cabapp.watch.phase import WORK_SPEED_MPS, PhaseTracker, StandingSpeeds, Stretch
from cabapp.watch.smooth import TimeMean
from cabapp.watch.springs import LOADED_SHARE_OF_WORK, Springs
from cabapp.watch.toolpos import Source, ToolPosition, Witnesses
from cabapp.words import Phase

STARTING_S = 10.0
FROZEN_S = 30.0
LATELY_S = 5.0
SPEEDING_UP_MPS = 0.15
FROZEN_WITHIN = 0.0005  # metres: a live sensor on a moving frame never stays inside this
# A stuck arm still shivers by a count of its converter up and down; 1.46 mm for ten bits of 0.75 m.
SHIVER_M = 0.0016
SHIVER_LEVELS = 3
MOST_STEP_S = 1.0  # a longer gap between ticks is a stalled loop: it counts as this
PORT_CAUSES = {
    PortCondition.MISSING: "receiver_plug",
    PortCondition.IN_USE: "in_use",
    PortCondition.DENIED: "denied",
    PortCondition.SEARCHING: "wrong_baud",
    PortCondition.GARBAGE: "wrong_baud",
}


class Stuck:
    """A depth sensor that says exactly the same while the tool works and others move."""

    __slots__ = ("_levels", "_seconds", "moved_lately")

    def __init__(self) -> None:
        self._levels: list[float] = []
        self._seconds = 0.0
        self.moved_lately = False

    def step(self, value: float | None, judged: bool, step_s: float) -> float:
        """Seconds beyond FROZEN_S without change, else 0.0."""
        if value is None or not self._is_same(value):
            self._levels, self._seconds = [] if value is None else [value], 0.0
            self.moved_lately = value is not None
        elif judged:
            self._seconds += step_s
            if self._seconds > LATELY_S:
                self.moved_lately = False
        return max(0.0, self._seconds - FROZEN_S)

    def _is_same(self, value: float) -> bool:
        """The same figure, or one of three neighbours between which a converter shivers."""
        levels = self._levels
        if not levels:
            return False
        away = abs(value - levels[0])
        if away <= FROZEN_WITHIN or value in levels:
            return True
        if away > SHIVER_M:
            return False
        span = max(*levels, value) - min(*levels, value)
        if len(levels) == SHIVER_LEVELS or span > SHIVER_M:
            return False
        levels.append(value)
        return True


class Sense:
    """Everything that is sensed. ``tick`` fills ``now`` anew."""

    def __init__(self, rig: Rig, plan: Plan, near: date | None) -> None:
        self.rig = rig
        self.ears = Ears(rig, near)
        self.motion = Motion()
        self.tool = ToolPosition(plan.depth_target_m)
        receiver = rig.receiver
        self.phases = PhaseTracker(
            StandingSpeeds(receiver.standing_below_mps, receiver.moving_above_mps)
        )
        self.stretch = Stretch()
        self.depths = Depths(rig)
        self.raised = RaisedOnPurpose()
        self.springs = Springs(rig)
        self.now = Now()
        self.set_aside: set[str] = set()
        self.readings: dict[str, Reading] = {}
        self._before: dict[str, Reading] = {}  # of the tick before
        self.first_at: float | None = None
        self.last_fix: Fix | None = None
        self.ports: dict[str, PortCondition] = {}
        self.along = LastStraight()
        self._utc: tuple[float, datetime] | None = None
        self._good_at: dict[str, float] = {}
        self._stuck = {s.channel: Stuck() for s in rig.fitted("depth")}
        self._wheel = TimeMean(SPEED_WINDOW_S)
        self._work_speed_at = self._down_since = -math.inf
        self._fitted = {s.channel for s in rig.sensors}
        self._of_family = {
            family: tuple(s.channel for s in rig.fitted(family)) for family in ("depth", "spring")
        }

    # -- what comes in --------------------------------------------------------------------------

    def fix(self, fix: Fix) -> None:
        """An epoch of the receiver."""
        self.motion.take(fix)
        self.along.take(fix)
        self.last_fix = fix
        if fix.utc is not None:
            self._utc = fix.at, fix.utc

    def utc(self, at: float) -> datetime | None:
        """UTC at a moment, carried on from the last epoch that told it."""
        if self._utc is None:
            return None
        heard_at, utc = self._utc
        return utc + timedelta(milliseconds=round((at - heard_at) * 1000.0))

    def plan(self, plan: Plan) -> None:
        """The band in force."""
        now = self.now
        self.tool.target_m = now.target_m = plan.depth_target_m
        now.speed_low_mps, now.speed_high_mps = plan.speed_low_mps, plan.speed_high_mps
        now.depth_low_m, now.depth_high_m = plan.depth_low_m, plan.depth_high_m
        now.layer_bottom_m = plan.layer_bottom_m
        now.checks_open = bool(plan.checks_open)

    # -- the tick -------------------------------------------------------------------------------

    def tick(self, at: float) -> None:
        """Bring everything to ``at``."""
        now = self.now
        if self.first_at is None:
            self.first_at = at
        now.dt_s = min(MOST_STEP_S, max(0.0, at - now.at)) if now.started_s or now.at else 0.0
        now.at, now.started_s = at, at - self.first_at
        self._before, self.readings = self.readings, self._usable(self.ears.readings(at))
        self._receiver()
        self._depth()
        self.springs.fill(self.readings, now)
        self._phase()
        self._slip()
        self._unread()

    def _usable(self, readings: dict[str, Reading]) -> dict[str, Reading]:
        for channel in self.set_aside:
            if channel in readings:
                readings[channel] = without_value(readings[channel], Quality.SET_ASIDE, "")
        for channel in self.now.frozen:
            reading = readings[channel]
            if reading.value is not None and self.now.frozen[channel] > 0.0:
                readings[channel] = without_value(reading, Quality.FROZEN, "arm")
        return readings

    def _receiver(self) -> None:
        now, motion = self.now, self.motion
        speed, course = self.readings["speed"], self.readings["course"]
        motion.tick(speed.value, course.value is not None, now.dt_s, now.at)
        now.speed_mps, now.mean_mps = speed.value, motion.mean_mps
        now.speed_quality = speed.quality
        now.speed_cause = speed.cause
        if speed.value is None:
            port = PORT_CAUSES.get(self.ports.get(self.rig.receiver.port, PortCondition.OK))
            now.speed_cause = port or speed.cause
        now.course_deg, now.rate_dps = course.value, motion.rate_dps
        now.turned_deg = None
        if course.value is not None:
            now.turned_deg = motion.course.turned_deg(self._down_since)
        now.radius_m = motion.radius_m
        rate = motion.rate_dps
        now.turn_beginning = rate is not None and abs(rate) > TURN_RATE_DPS and not motion.turning
        now.straight_m, now.step_m = motion.straight_m, motion.step_m
        if speed.value is not None and speed.value > WORK_SPEED_MPS:
            self._work_speed_at = now.at
        now.fell_from_work_s = now.at - self._work_speed_at

    def _depth(self) -> None:
        now, depths = self.now, self.depths
        good = {
            channel: value
            for channel in self._stuck
            if (value := self.readings[channel].value) is not None
        }
        in_work = now.phase is Phase.WORKING and now.armed and not now.raised
        depths.step(good, now.at, now.step_m if in_work else 0.0)
        now.depth_m, now.front_m, now.rear_m = depths.mean_m, depths.front_m, depths.rear_m
        now.side_m, now.suspect = depths.side_m, depths.suspect
        now.level_150_m, now.side_150_m = depths.level_m, depths.tilt_m

    def _phase(self) -> None:
        now, tool, phases, motion = self.now, self.tool, self.phases, self.motion
        switch, reverse = self.readings.get("tool_down"), self.readings.get("reverse")
        straight_work = motion.straight and (now.speed_mps or 0.0) > WORK_SPEED_MPS
        seen = Witnesses(
            None if switch is None or switch.value is None else switch.value > 0.5,
            self.depths.now_m,
            now.others_median if now.springs_read else None,
            motion.turning,
            straight_work,
        )
        tool.step(seen, phases.moving, now.dt_s)
        phases.reverse_signal = reverse is not None and reverse.value == 1.0
        phases.step(motion, tool, now.dt_s, now.at)
        self._stretch(tool)
        now.phase, now.last_known, now.phase_since = phases.phase, phases.last_known, phases.since
        undecided = now.phase is Phase.UNKNOWN and now.speed_mps is not None
        now.undecided_s = now.undecided_s + now.dt_s if undecided else 0.0
        if tool.down is not True and not tool.disagree:
            self._down_since = now.at  # a turn finished before setting in bends nothing
        now.tool_down, now.tool_source = tool.down, tool.source
        now.known_up = phases.tool_known_up(tool) and not tool.disagree
        now.disagree, now.moving = tool.disagree, phases.moving

    def _stretch(self, tool: ToolPosition) -> None:
        now, stretch, depths = self.now, self.stretch, self.depths
        share = None
        if depths.mean_m is not None and now.target_m:
            share = depths.mean_m / now.target_m
        mean = now.mean_mps
        in_band = mean is not None and now.speed_low_mps <= mean <= now.speed_high_mps
        known_down = tool.source in (Source.SWITCH, Source.SENSORS)
        stretch.step(self.phases.phase, self.motion, now.dt_s, share, in_band, known_down)
        now.armed, now.reached = stretch.armed, stretch.reached
        now.stretch_m, now.stretch_s = stretch.metres, stretch.seconds
        back = None
        if now.depth_low_m is not None and depths.mean_m is not None:
            back = depths.mean_m >= now.depth_low_m
        working = self.phases.phase is Phase.WORKING or self.phases.phase is Phase.UNKNOWN
        self.raised.step(working, now.armed, depths.dropped, back, now.step_m)
        now.raised, now.remind_raised = self.raised.resting, self.raised.remind
        now.going_up = depths.dropped

    def _slip(self) -> None:
        now = self.now
        signal = self.readings.get("wheel_speed")
        now.wheel_mps = None if signal is None else signal.value
        now.slip = None
        if now.wheel_mps is None:
            self._wheel.clear()
            return
        self._wheel.add(now.wheel_mps, now.at)
        wheel = self._wheel.mean(now.at)
        if now.mean_mps is None or now.speed_mps is None or wheel is None:
            return
        # Both over the same three seconds. While it speeds up the receiver is late by up to two
        # seconds more than the wheel, and the difference is not slip.
        if now.speed_mps - now.mean_mps < SPEEDING_UP_MPS:
            now.slip = slip_ratio(now.mean_mps, wheel)

    def _unread(self) -> None:
        now, at, good_at = self.now, self.now.at, self._good_at
        starting = now.started_s < STARTING_S
        now.unread, now.causes = {}, {}
        for reading in [one for one in self.readings.values() if one.value is None]:
            channel = reading.channel
            if channel not in self._fitted:
                continue
            before = self._before.get(channel)
            if before is not None and before.value is not None:
                good_at[channel] = before.at
            if reading.quality is Quality.STARTING:
                good_at[channel] = at
            elif reading.quality is not Quality.SET_ASIDE and reading.quality is not Quality.FROZEN:
                now.unread[channel] = at - good_at.setdefault(channel, at)
                now.causes[channel] = reading.cause
        self.families()
        self._position_lost(starting)
        self._frozen()

    def families(self) -> None:
        """Depth or springs of which nothing is read: one fact, however many sensors."""
        now, now.all_unread = self.now, {}
        if not now.unread:
            return
        for family, channels in self._of_family.items():
            used = [channel for channel in channels if channel not in self.set_aside]
            if used and all(channel in now.unread for channel in used):
                now.all_unread[family] = min(now.unread[channel] for channel in used)

    def _position_lost(self, starting: bool) -> None:
        now, good_at = self.now, self._good_at
        speed, place = self.readings["speed"], self.readings["position"]
        no_speed = speed.cause == "no_speed_sent"
        lost = place.value is None or (speed.value is None and not no_speed)
        if not lost or (starting and self.last_fix is None):
            good_at["position"] = now.at if lost else min(place.at, speed.at)
        if not no_speed:
            good_at["speed_sent"] = now.at
        since = good_at.setdefault("position", now.at)
        now.position_lost_s = now.at - since if lost else 0.0
        since = good_at.setdefault("speed_sent", now.at)
        now.no_speed_sent_s = now.at - since if no_speed else 0.0
        if speed.value is not None:
            good_at["speed"] = speed.at
        now.speed_lost_s = now.at - good_at.setdefault("speed", now.at)

    def _frozen(self) -> None:
        """A sensor that says the same for 30 s of work, while load or another sensor moves."""
        now = self.now
        if now.phase is not Phase.WORKING and not now.frozen:
            return
        loaded = now.others_median is not None and now.others_median > LOADED_SHARE_OF_WORK
        moving = sum(stuck.moved_lately for stuck in self._stuck.values())
        for channel, stuck in self._stuck.items():
            reading = self.ears.transducers.reading(channel, now.at)
            others_move = loaded or moving > stuck.moved_lately
            working = now.phase is Phase.WORKING and others_move
            beyond = stuck.step(reading.value, working, now.dt_s)
            if beyond > 0.0 and channel not in self.set_aside:
                now.frozen[channel] = beyond
            else:
                now.frozen.pop(channel, None)

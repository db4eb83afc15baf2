"""What the machine is doing: its phase, the stretch in the ground, and when judging begins."""

from dataclasses import dataclass

from cabapp.units import MPH_MPS
from cabapp.watch.motion import Held, Motion
from cabapp.watch.toolpos import Source, ToolPosition
from cabapp.words import Phase

STANDING_AFTER_S = 3.0
MOVING_AFTER_S = 2.0
WORK_SPEED_MPS = 3.0 * MPH_MPS
ROAD_SPEED_MPS = 12.0 * MPH_MPS
OFF_ROAD_SPEED_MPS = 10.0 * MPH_MPS
ROAD_AFTER_S = 3.0
OFF_ROAD_AFTER_S = 5.0
# A short outage does not make a new pass; a longer one might have hidden anything.
RESUME_WITHIN_S = 10.0
ARMED_OF_TARGET = 0.80
ARMED_STRAIGHT_M = 25.0
GUESS_ARMED_IN_BAND_S = 5.0
GUESS_ARMED_STRAIGHT_M = 60.0
_SLACK = 1e-6


@dataclass(frozen=True, slots=True)
class StandingSpeeds:
    """Below the first for 3 s it stands; above the second for 2 s it has moved off (m/s)."""

    below_mps: float
    above_mps: float


class PhaseTracker:
    """The phase at each tick, from motion and tool position."""

    def __init__(self, speeds: StandingSpeeds) -> None:
        self.phase = Phase.UNKNOWN
        self.last_known = Phase.UNKNOWN
        self.since = 0.0
        self.unknown_s = 0.0
        self.moving = True  # unknown counts as moving
        self.reverse_signal: bool | None = None
        self._speeds = speeds
        self._low, self._high = Held(), Held()
        self._fast, self._slow = Held(), Held()
        self._standing = False
        self._has_worked = False

    def step(self, motion: Motion, tool: ToolPosition, dt_s: float, now: float) -> None:
        """One tick. The tool position may be moved by what speed and turns suggest."""
        found = self._find(motion, tool, now)
        self.moving = not (self._standing and motion.speed_mps is not None)
        if found is Phase.UNKNOWN:
            self.unknown_s += dt_s
        else:
            self.unknown_s = 0.0
            self.last_known = found
        if found is not self.phase:
            self.phase, self.since = found, now
        if found is Phase.WORKING:
            self._has_worked = True
        elif found is Phase.ROAD:
            self._has_worked = False

    def tool_known_up(self, tool: ToolPosition) -> bool:
        """When somebody says so, and before the first work after a road: then it is carried."""
        return tool.down is False or (tool.down is None and not self._has_worked)

    def _find(self, motion: Motion, tool: ToolPosition, now: float) -> Phase:
        speed = motion.speed_mps
        if speed is None:
            self._low.step(False, now)
            self._high.step(False, now)
            if self.unknown_s > RESUME_WITHIN_S:
                self._standing = False
            return Phase.UNKNOWN
        stands = self._stands(speed, now)
        if self.reverse_signal and (speed > self._speeds.below_mps or self._backs_on(now)):
            return Phase.BACKING  # at once: a slow start backwards must not pass for standing
        if stands:
            return Phase.STANDING
        if self.reverse_signal or motion.reversal.backward:
            return Phase.BACKING
        if motion.reversal.undecided:
            return Phase.UNKNOWN
        if tool.source in (Source.SWITCH, Source.SENSORS):
            return self._by_tool(motion, bool(tool.down), now)
        return self._by_guess(motion, tool, now)

    def _stands(self, speed: float, now: float) -> bool:
        low_s = self._low.step(speed < self._speeds.below_mps, now)
        high_s = self._high.step(speed > self._speeds.above_mps, now)
        if low_s >= STANDING_AFTER_S - _SLACK:
            self._standing = True
        elif high_s >= MOVING_AFTER_S - _SLACK:
            self._standing = False
        return self._standing

    def _backs_on(self, now: float) -> bool:
        """Backing goes on at a crawl until it has stood as long as standing asks for.

        Counted from its beginning: a late receiver still tells of the stop before it.
        """
        stood_s = min(self._low.held_s(now), now - self.since)
        return self.phase is Phase.BACKING and stood_s < STANDING_AFTER_S - _SLACK

    def _by_tool(self, motion: Motion, down: bool, now: float) -> Phase:
        if not down and self._on_road(motion, now):
            return Phase.ROAD
        if motion.turning:
            return Phase.TURNING
        return Phase.WORKING if down else Phase.LIFTED

    def _on_road(self, motion: Motion, now: float) -> bool:
        speed = motion.speed_mps or 0.0
        fast_s = self._fast.step(speed > ROAD_SPEED_MPS, now)
        slow_s = self._slow.step(speed < OFF_ROAD_SPEED_MPS, now)
        if self.last_known is Phase.ROAD:
            return slow_s < OFF_ROAD_AFTER_S - _SLACK
        return fast_s >= ROAD_AFTER_S - _SLACK

    def _by_guess(self, motion: Motion, tool: ToolPosition, now: float) -> Phase:
        """Receiver only: a turn lifts the tool, a straight at working speed sets it in."""
        tapped = tool.source is Source.BUTTON
        if self._on_road(motion, now) and not (tapped and tool.down):
            tool.guess(False)
            return Phase.ROAD
        if motion.turning:
            tool.guess(False)  # also ends what was tapped: nobody is asked to tap at each turn
            return Phase.TURNING
        if tapped and tool.down is False:
            return Phase.LIFTED
        if self._resumes_work(motion, tool):
            tool.guess(True)
            return Phase.WORKING
        if self.phase is Phase.TURNING:
            return Phase.TURNING  # slow and straight inside a turn is still the turn
        return Phase.UNKNOWN

    def _resumes_work(self, motion: Motion, tool: ToolPosition) -> bool:
        speed = motion.speed_mps or 0.0
        if motion.straight and speed > WORK_SPEED_MPS:
            return True
        if self.phase is Phase.WORKING or (tool.source is Source.BUTTON and tool.down):
            return True
        resumed = self.last_known in (Phase.STANDING, Phase.WORKING)
        return bool(tool.down) and resumed and self.unknown_s <= RESUME_WITHIN_S


class Stretch:
    """The stretch of work since the tool went in: metres, seconds, and when judging begins."""

    def __init__(self) -> None:
        self.metres = 0.0
        self.seconds = 0.0
        self.reached = False  # the depth has once been at 80 % of the target
        self.armed = False
        self._in_band_s = 0.0
        self._last_phase = Phase.UNKNOWN

    def step(
        self,
        phase: Phase,
        motion: Motion,
        dt_s: float,
        depth_share: float | None,
        speed_in_band: bool,
        known_down: bool,
    ) -> None:
        """One tick; ``depth_share`` is live depth over its target, None without either."""
        if phase is Phase.UNKNOWN:
            return  # a short loss of the receiver does not begin a new stretch
        if phase is not Phase.WORKING or self._last_phase is not Phase.WORKING:
            self._begin()
        self._last_phase = phase
        if phase is not Phase.WORKING:
            return
        self.metres += motion.step_m
        self.seconds += dt_s
        self._in_band_s = self._in_band_s + dt_s if speed_in_band else 0.0
        self.reached = self.reached or (depth_share is not None and depth_share >= ARMED_OF_TARGET)
        self.armed = self.armed or self._is_armed(motion, known_down)

    def _is_armed(self, motion: Motion, known_down: bool) -> bool:
        if self.reached:
            return True
        straight_m = min(motion.straight_m, self.metres)
        if known_down:
            return straight_m >= ARMED_STRAIGHT_M
        return self._in_band_s >= GUESS_ARMED_IN_BAND_S - _SLACK or (
            straight_m >= GUESS_ARMED_STRAIGHT_M
        )

    def _begin(self) -> None:
        self.metres = self.seconds = self._in_band_s = 0.0
        self.reached = self.armed = False

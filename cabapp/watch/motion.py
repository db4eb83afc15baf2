"""How the machine moves, from the receiver alone: speed, way, turning, straight, reversing."""

import math
from collections import deque

from cabapp.readings import Fix, Quality
from cabapp.watch.smooth import TimeMean

SPEED_WINDOW_S = 3.0
TURN_WINDOW_S = 8.0
WIDE_TURN_DEG = 30.0  # in the window: a headland turned in a wide curve never reaches 8 degrees/s
RATE_SPAN_S = 1.0  # course is good to 1 or 2 degrees; over a second that is a usable rate
TURN_RATE_DPS = 8.0
STRAIGHT_RATE_DPS = 3.0
HELD_S = 2.0
STRAIGHT_SPREAD_DEG = 15.0
REVERSED_DEG = 150.0
REVERSED_AFTER_M = 1.0
STEADY_COURSE_MPS = 2.5 / 3.6  # below it a course is not kept as "the way we went"
COURSE_GAP_S = 3.0
# Backing is slow and short; whoever drives on like this has turned at a crawl without being seen.
BACKING_MOST_M = 60.0
BACKING_MOST_MPS = 9.0 / 3.6
_SLACK = 1e-6


def turn_deg(before_deg: float, after_deg: float) -> float:
    """Signed turn from one course to another, -180 up to 180, right positive."""
    return (after_deg - before_deg + 180.0) % 360.0 - 180.0


class Held:
    """How long something has been so."""

    __slots__ = ("_since",)

    def __init__(self) -> None:
        self._since: float | None = None

    def step(self, holds: bool, now: float) -> float:
        """Seconds it has held at ``now``; 0.0 when it does not, or only just does."""
        if not holds:
            self._since = None
            return 0.0
        if self._since is None:
            self._since = now
        return now - self._since

    def held_s(self, now: float) -> float:
        """Seconds it has held at ``now``, without looking anew."""
        return 0.0 if self._since is None else now - self._since


class Course:
    """The last seconds of course, unwrapped: its rate and how far it has turned."""

    def __init__(self) -> None:
        self._track: deque[tuple[float, float]] = deque(maxlen=200)
        self.last_deg: float | None = None

    def add(self, course_deg: float, at: float) -> None:
        """Take a good course; a gap of over three seconds begins a new track."""
        track = self._track
        if track and at - track[-1][0] > COURSE_GAP_S:
            track.clear()
        if track:
            if at <= track[-1][0]:
                return
            track.append((at, track[-1][1] + turn_deg(track[-1][1], course_deg)))
        else:
            track.append((at, course_deg))
        while at - track[0][0] > TURN_WINDOW_S + _SLACK:
            track.popleft()
        self.last_deg = course_deg

    def lose(self) -> None:
        """The course is withheld or gone: nothing may be summed across it."""
        self._track.clear()
        self.last_deg = None

    def rate_dps(self) -> float | None:
        """Degrees a second over the last second or the last two samples, None without a track."""
        track = self._track
        if len(track) < 2:
            return None
        at, course = track[-1]
        for index in range(len(track) - 2, -1, -1):
            before_at, before = track[index]
            if at - before_at >= RATE_SPAN_S - _SLACK or index == 0:
                span = at - before_at
                return (course - before) / span if span >= 0.5 else None
        return None

    def turned_deg(self, since: float) -> float | None:
        """How far it has turned in the last eight seconds, but not before ``since``."""
        track = self._track
        if not track:
            return None
        for at, course in track:
            if at >= since - _SLACK:
                return track[-1][1] - course
        return 0.0


class Reversal:
    """Forward or backward: the course comes back reversed after a stop."""

    def __init__(self) -> None:
        self.backward = False
        self.undecided = False  # moved off again, but not yet far enough to tell which way
        self._before: float | None = None
        self._stopped = False
        self._way_m = 0.0
        self._backward_m = 0.0
        self._fast_s = 0.0

    def crawl(self) -> None:
        """The machine is nearly at rest: the next course may be the other way."""
        if self._before is not None:
            self._stopped = True
            self._way_m = 0.0

    def lost(self) -> None:
        """No fix: what happens meanwhile is not known, so nothing is compared across it."""
        self._before = None
        self._stopped = self.undecided = self.backward = False

    def course(self, course_deg: float, speed_mps: float, step_m: float, step_s: float) -> None:
        """Take a good course with the metres and seconds driven since the last one."""
        if self._stopped and self._before is not None:
            self._after_stop(course_deg, step_m)
        elif speed_mps >= STEADY_COURSE_MPS:
            self._before = course_deg
        if self.backward:
            self._doubt(speed_mps, step_m, step_s)

    def _after_stop(self, course_deg: float, step_m: float) -> None:
        assert self._before is not None
        if abs(turn_deg(self._before, course_deg)) <= REVERSED_DEG:
            self._decide(course_deg)
            return
        self.undecided = True
        self._way_m += step_m
        if self._way_m >= REVERSED_AFTER_M:
            self.backward = not self.backward
            self._backward_m = self._fast_s = 0.0
            self._decide(course_deg)

    def _decide(self, course_deg: float) -> None:
        self._before = course_deg
        self._stopped = self.undecided = False

    def _doubt(self, speed_mps: float, step_m: float, step_s: float) -> None:
        self._backward_m += step_m
        self._fast_s = self._fast_s + step_s if speed_mps > BACKING_MOST_MPS else 0.0
        if self._backward_m > BACKING_MOST_M or self._fast_s > 3.0:
            self.backward = False


class Motion:
    """All that follows from speed and course. Fixes come in as heard, ``tick`` on the grid."""

    def __init__(self) -> None:
        self.course = Course()
        self.reversal = Reversal()
        self.speed_mps: float | None = None
        self.mean_mps: float | None = None
        self.step_m = 0.0
        self.rate_dps: float | None = None
        self.turning = False
        self.straight = False
        self.straight_m = 0.0
        self.turning_s = 0.0
        self._means = TimeMean(SPEED_WINDOW_S)
        self._turn_held, self._straight_held = Held(), Held()
        self._reference: float | None = None
        self._straight_at = -math.inf
        self._last_at: float | None = None

    def take(self, fix: Fix) -> None:
        """One epoch of the receiver."""
        speed = fix.speed_mps if fix.speed_quality is Quality.GOOD else None
        step_s = 0.0 if self._last_at is None else fix.at - self._last_at
        if step_s > COURSE_GAP_S:  # whatever was done meanwhile, nothing is compared across it
            self.course.lose()
            self.reversal.lost()
            step_s = 0.0
        self._last_at = fix.at
        if speed is None:
            if fix.speed_quality is Quality.NO_FIX:
                self.course.lose()
                self.reversal.lost()
            return
        self._means.add(speed, fix.at)
        if fix.course_quality is Quality.GOOD and fix.course_deg is not None:
            self.course.add(fix.course_deg, fix.at)
            self.reversal.course(fix.course_deg, speed, speed * step_s, step_s)
        elif fix.course_quality is Quality.WITHHELD:
            self.course.lose()
            self.reversal.crawl()

    def tick(self, speed_mps: float | None, course_good: bool, dt_s: float, now: float) -> None:
        """Bring everything to ``now``; ``speed_mps`` is the judged reading, None when unknown."""
        self.speed_mps = speed_mps
        if speed_mps is None:
            self._forget()
            return
        self.mean_mps = self._means.mean(now)
        self.step_m = speed_mps * dt_s
        self.rate_dps = self.course.rate_dps() if course_good else None
        self._turns(now)
        self._straights()

    @property
    def radius_m(self) -> float | None:
        """Radius of the curve being driven, from speed and course rate; None when not known."""
        if self.speed_mps is None or self.rate_dps is None:
            return None
        rate = abs(math.radians(self.rate_dps))
        return self.speed_mps / rate if rate > 1e-3 else math.inf

    def _forget(self) -> None:
        self.mean_mps = self.rate_dps = self._reference = None
        self.step_m = self.straight_m = self.turning_s = 0.0
        self.turning = self.straight = False
        self._turn_held.step(False, 0.0)
        self._straight_held.step(False, 0.0)

    def _turns(self, now: float) -> None:
        rate = self.rate_dps
        self.turning_s = self._turn_held.step(rate is not None and abs(rate) > TURN_RATE_DPS, now)
        straight_s = self._straight_held.step(
            rate is not None and abs(rate) < STRAIGHT_RATE_DPS, now
        )
        self.straight = straight_s >= HELD_S - _SLACK
        if self.straight:
            self._straight_at = now
        if self.turning_s >= HELD_S - _SLACK:
            self.turning = True
        elif self.straight:
            self.turning = False
        elif rate is not None:
            turned = self.course.turned_deg(self._straight_at)
            self.turning = self.turning or abs(turned or 0.0) > WIDE_TURN_DEG

    def _straights(self) -> None:
        course = self.course.last_deg
        if course is None:
            return
        reference = self._reference
        if reference is None or abs(turn_deg(reference, course)) > STRAIGHT_SPREAD_DEG:
            self._reference = course
            self.straight_m = 0.0
        else:
            self.straight_m += self.step_m

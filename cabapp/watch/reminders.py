"""When to dig again, how fast ground is worked, and what creeps: slow things, once a second."""

from collections import deque

from cabapp.units import ACRE_M2, FOOT_M, INCH_M

FIRST_DIG_M = 250.0 * FOOT_M
DIG_EVERY_S = 2.5 * 3600.0
DIG_EVERY_M2 = 40.0 * ACRE_M2
LONG_STOP_S = 30.0 * 60.0


class Digging:
    """When the next hand check of depth is due."""

    def __init__(self) -> None:
        self.due = False
        self._chimed = False
        self._way_left_m: float | None = FIRST_DIG_M
        self._seconds = 0.0
        self._area_m2 = 0.0

    def to_chime(self) -> bool:
        """True once for each time it falls due: heard at the first stop, not at every one."""
        chime, self._chimed = self.due and not self._chimed, self.due
        return chime

    def again(self) -> None:
        """New field, rain, or a long stop: dig after the next 250 ft."""
        self._way_left_m = FIRST_DIG_M
        self.due = False

    def dug(self) -> None:
        """Somebody dug."""
        self.due = False
        self._way_left_m = None
        self._seconds = self._area_m2 = 0.0

    def step(self, working: bool, step_m: float, step_m2: float, step_s: float) -> None:
        """Time counts always, way and area in work only."""
        self._seconds += step_s
        self._area_m2 += step_m2
        if working and self._way_left_m is not None and not self.due:
            self._way_left_m -= step_m
            if self._way_left_m <= 0.0:
                self._way_left_m, self.due = None, True
        if self._seconds >= DIG_EVERY_S or self._area_m2 >= DIG_EVERY_M2:
            self.due = True

    def left_m2(self, width_m: float) -> float:
        """Area to work until the next dig."""
        area = max(0.0, DIG_EVERY_M2 - self._area_m2)
        return area if self._way_left_m is None else min(area, self._way_left_m * width_m)

    @property
    def left_s(self) -> float:
        """Time until the next dig at the latest."""
        return max(0.0, DIG_EVERY_S - self._seconds)


class WorkRate:
    """Area a second over the last half hour, with turns, without stops over three minutes."""

    WINDOW_S = 1800.0
    LONG_STOP_S = 180.0
    LEAST_S = 60.0
    BIN_S = 10.0

    def __init__(self) -> None:
        self._bins: deque[tuple[float, float]] = deque(maxlen=int(self.WINDOW_S / self.BIN_S) + 2)
        self._area_m2 = self._seconds = 0.0
        self._stop_s = 0.0
        self._begun = False

    def step(self, standing: bool, step_m2: float, step_s: float) -> None:
        """One second or so."""
        self._begun = self._begun or step_m2 > 0.0
        if not self._begun:
            return
        if standing:
            self._stop_s += step_s
            return
        if self._stop_s <= self.LONG_STOP_S:
            self._seconds += self._stop_s
        self._stop_s = 0.0
        self._seconds += step_s
        self._area_m2 += step_m2
        if self._seconds >= self.BIN_S:
            self._bins.append((self._seconds, self._area_m2))
            self._seconds = self._area_m2 = 0.0

    @property
    def m2_s(self) -> float | None:
        """The rate, None before a minute's work."""
        seconds, area = self._seconds, self._area_m2
        for bin_s, bin_m2 in reversed(self._bins):
            if seconds >= self.WINDOW_S:
                break
            seconds += bin_s
            area += bin_m2
        return area / seconds if seconds >= self.LEAST_S and area > 0.0 else None


class Creep:
    """A mean over 20 minutes of work against the first such mean since the tool was last set."""

    MINUTES = 20

    def __init__(self) -> None:
        self._minutes: deque[float] = deque(maxlen=self.MINUTES)
        self._sum = self._seconds = 0.0
        self._first: float | None = None

    def add(self, value: float, step_s: float) -> None:
        """Weigh a value by the seconds of work it held for."""
        self._sum += value * step_s
        self._seconds += step_s
        if self._seconds >= 60.0:
            self._minutes.append(self._sum / self._seconds)
            self._sum = self._seconds = 0.0
            if len(self._minutes) == self.MINUTES and self._first is None:
                self._first = self._mean()

    def reset(self) -> None:
        """The tool was set anew, or dug and found right."""
        self._minutes.clear()
        self._sum = self._seconds = 0.0
        self._first = None

    @property
    def moved(self) -> float | None:
        """Now less then, None before both are known."""
        if self._first is None or len(self._minutes) < self.MINUTES:
            return None
        return self._mean() - self._first

    @property
    def ratio(self) -> float | None:
        """Now over then, None before both are known or where then was nothing."""
        if self._first is None or self._first <= 0.0 or len(self._minutes) < self.MINUTES:
            return None
        return self._mean() / self._first

    def _mean(self) -> float:
        return sum(self._minutes) / len(self._minutes)


CREEPING_M = 0.5 * INCH_M
RISING_RATIO = 1.15


class Trends:
    """Depth creeping shallower, one side's springs or the slip rising."""

    def __init__(self) -> None:
        self._depth, self._slip = Creep(), Creep()
        self._sides = {"left": Creep(), "right": Creep()}

    def step(
        self,
        depth_m: float | None,
        sides: dict[str, float | None],
        slip: float | None,
        step_s: float,
    ) -> None:
        """One second of armed work."""
        if depth_m is not None:
            self._depth.add(depth_m, step_s)
        if slip is not None:
            self._slip.add(max(0.0, slip), step_s)
        for side, share in sides.items():
            if share is not None:
                self._sides[side].add(share, step_s)

    def reset(self) -> None:
        """The tool was set anew."""
        for creep in (self._depth, self._slip, *self._sides.values()):
            creep.reset()

    @property
    def creeping(self) -> bool:
        """Depth is over half an inch shallower than it was."""
        moved = self._depth.moved
        return moved is not None and moved < -CREEPING_M

    @property
    def rising(self) -> dict[str, bool]:
        """Which side alone, or slip, is over 15 % higher than it was."""
        high = {side: _is_high(creep) for side, creep in self._sides.items()}
        return {
            "left": high["left"] and not high["right"],
            "right": high["right"] and not high["left"],
            "slip": _is_high(self._slip),
        }


def _is_high(creep: Creep) -> bool:
    return creep.ratio is not None and creep.ratio > RISING_RATIO

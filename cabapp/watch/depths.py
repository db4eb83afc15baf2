"""Depth of the tool from its sensors: mean, front, rear and sides, level, and raised on purpose."""

from collections.abc import Mapping
from dataclasses import dataclass
from operator import mul

from cabapp.rig import Rig
from cabapp.trade.depth import LYING_M, PlacedDepth, Plane, ToolDepth, fit_plane
from cabapp.units import INCH_M
from cabapp.watch.smooth import MetreMean, TimeMean

WINDOW_S = 3.0
LEVEL_M = 150.0
RAISED_BY_M = 2.0 * INCH_M
RAISED_WITHIN_S = 2.0
RAISED_MEAN_S = 0.5  # of means this long: a ripple of the ground and sensor noise are no lever
LEAST_SIGN_M = 0.001  # below the mean of two seconds by less, nothing was raised
RAISED_REST_M = 100.0
SUSPECT_EVERY = 10  # ticks: who lies is asked once a second of armed work
LIAR_SHARE = 0.2  # of each second's reading in what is compared: a mean of about five seconds
# Who lies in a tie of four is told by how the frame usually lies. That is learned only while the
# sensors agree to a third of what a lie is, else a slow drift would be learned as the usual.
SURE_M = LYING_M / 3.0
# Who was named stays named until another is, or all are back within two thirds of a lie: near its
# limit a drift can be told from a tilt in one minute and not in the next, and is told once.
AGAIN_AGREED_M = LYING_M * 2.0 / 3.0
PLANE_TERMS = 3

Weights = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Linear:
    """The plane over the shanks as sums over the sensors' readings; a side is None if not told."""

    mean: Weights
    front: Weights | None
    rear: Weights | None
    left: Weights | None
    right: Weights | None


def _sum(weights: Weights | None, values: list[float]) -> float | None:
    return None if weights is None else sum(map(mul, weights, values))


class Depths:
    """What the depth sensors say together, tick by tick."""

    def __init__(self, rig: Rig) -> None:
        self._placed = {s.channel: (s.across_m, s.back_m) for s in rig.fitted("depth")}
        shanks = [(shank.across_m, shank.back_m) for shank in rig.tool.shanks]
        self._places = shanks or list(self._placed.values())
        self._solved: dict[tuple[str, ...], _Linear] = {}
        self._means = {name: TimeMean(WINDOW_S) for name in ("mean", "front", "rear", "side")}
        self._level, self._side = MetreMean(LEVEL_M), MetreMean(LEVEL_M)
        self._quick, self._fast = TimeMean(RAISED_MEAN_S), TimeMean(RAISED_WITHIN_S)
        self._ticks = 0
        self._usual: Plane | None = None
        self._slow: dict[str, float] = {}
        self.suspect = ""
        self.now_m: float | None = None  # unsmoothed, for the witnesses
        self.mean_m: float | None = None
        self.front_m: float | None = None
        self.rear_m: float | None = None
        self.side_m: float | None = None
        self.dropped = False  # shallower by two inches within two seconds

    @property
    def level_m(self) -> float | None:
        """How much deeper the rear runs than the front, over 150 m."""
        return self._level.mean

    @property
    def tilt_m(self) -> float | None:
        """How much deeper the left runs than the right, over 150 m."""
        return self._side.mean

    def step(self, depths: Mapping[str, float], at: float, judged_m: float) -> None:
        """Take the good readings of this tick; ``judged_m`` metres of armed work since the last."""
        if not depths:
            self._nothing()
            return
        self._look_for_liar(depths, judged_m > 0.0)
        if self.suspect in depths and len(depths) > 1:
            depths = {name: depth for name, depth in depths.items() if name != self.suspect}
        solved, values = self._solve(tuple(depths)), list(depths.values())
        self.now_m = _sum(solved.mean, values)
        assert self.now_m is not None
        self.mean_m = self._smooth("mean", self.now_m, at)
        self.front_m = self._smooth("front", _sum(solved.front, values), at)
        self.rear_m = self._smooth("rear", _sum(solved.rear, values), at)
        left, right = _sum(solved.left, values), _sum(solved.right, values)
        side = None if left is None or right is None else left - right
        self.side_m = self._smooth("side", side, at)
        self._raised(at)
        if judged_m > 0.0:
            if self.front_m is not None and self.rear_m is not None:
                self._level.add(self.rear_m - self.front_m, judged_m)
            if self.side_m is not None:
                self._side.add(self.side_m, judged_m)

    def set_anew(self) -> None:
        """The tool was set differently: level is a new question."""
        self._level.clear()
        self._side.clear()

    def _nothing(self) -> None:
        self.now_m = self.mean_m = self.front_m = self.rear_m = self.side_m = None
        self.dropped = False
        for mean in (*self._means.values(), self._quick, self._fast):
            mean.clear()

    def _smooth(self, name: str, value: float | None, at: float) -> float | None:
        mean = self._means[name]
        if value is None:
            mean.clear()
            return None
        mean.add(value, at)
        return mean.mean(at)

    def _raised(self, at: float) -> None:
        assert self.now_m is not None
        self._quick.add(self.now_m, at)
        quick_m = self._quick.mean(at)
        assert quick_m is not None
        self._fast.add(quick_m, at)
        mean, self.dropped = self._fast.mean(at), False
        if mean is not None and mean - quick_m > LEAST_SIGN_M:
            highest = self._fast.highest()
            self.dropped = highest is not None and highest - quick_m >= RAISED_BY_M

    def _solve(self, channels: tuple[str, ...]) -> _Linear:
        """The plane is linear in the readings: solved once for each set of good sensors."""
        solved = self._solved.get(channels)
        if solved is None:
            parts = [self._part(channels, channel) for channel in channels]
            solved = self._solved[channels] = _Linear(
                tuple(part.mean_m for part in parts),
                _weights([part.front_m for part in parts]),
                _weights([part.rear_m for part in parts]),
                _weights([part.left_m for part in parts]),
                _weights([part.right_m for part in parts]),
            )
        return solved

    def _part(self, channels: tuple[str, ...], one: str) -> ToolDepth:
        points = [
            PlacedDepth(name, *self._placed[name], 1.0 if name == one else 0.0) for name in channels
        ]
        return fit_plane(points).over(self._places)

    def _look_for_liar(self, depths: Mapping[str, float], judged: bool) -> None:
        """Asked in armed work only: lifted, the arms hang on their stops and agree about it."""
        if len(depths) < 4:
            self.suspect = ""
        if len(depths) < 4 or not judged:
            self._slow.clear()
            return
        self._ticks += 1
        if self._ticks % SUSPECT_EVERY:
            return
        slow = self._slow
        for name, depth in depths.items():
            slow[name] = slow.get(name, depth) + LIAR_SHARE * (depth - slow.get(name, depth))
        points = [PlacedDepth(name, *self._placed[name], slow[name]) for name in depths]
        plane = fit_plane(points, self._usual)
        if plane.suspect is not None:
            self.suspect = plane.suspect
        elif self.suspect and not fit_plane(points, self._usual, AGAIN_AGREED_M).disagree:
            self.suspect = ""
        if not plane.disagree and (self._usual is None or _sure(plane)):
            self._usual = plane


def _sure(plane: Plane) -> bool:
    """Whether all agree well; in a fit of three terms residuals shrink to this share of a miss."""
    shrunk = 1.0 - PLANE_TERMS / len(plane.residuals_m)
    return max(abs(residual_m) for _, residual_m in plane.residuals_m) <= shrunk * SURE_M


def _weights(values: list[float | None]) -> Weights | None:
    told = tuple(value for value in values if value is not None)
    return told if len(told) == len(values) else None


class RaisedOnPurpose:
    """A lever, not soil: depth rules rest for 100 m or until the tool is back, then remind."""

    def __init__(self) -> None:
        self.resting = False
        self.remind = False
        self._metres = 0.0

    def step(
        self, working: bool, armed: bool, dropped: bool, back: bool | None, step_m: float
    ) -> None:
        """One tick; ``back`` is whether depth is in its band again, None while unknown."""
        if not working:
            self.resting = self.remind = False
        elif self.resting:
            self._metres += step_m
            if back and self._metres > 10.0:
                self.resting = False
            elif self._metres >= RAISED_REST_M:
                self.resting, self.remind = False, True
        elif self.remind:
            self.remind = not back
        elif armed and dropped:
            self.begin()

    def begin(self) -> None:
        """By what the sensors saw, or by a tap."""
        self.resting, self.remind, self._metres = True, False, 0.0

"""Spring loads: trips counted for each shank, and what the shanks say together."""

from collections import deque
from collections.abc import Sequence
from statistics import median

from cabapp.readings import Reading
from cabapp.rig import Rig
from cabapp.watch.now import Now, ShankNow, shanks_of

TRIP_SHARE = 1.0
TRIPPED_BACK_SHARE = 0.90  # a trip is over below this, so that a load at the trip point is one trip
LOADED_SHARE_OF_WORK = 0.15  # the soil moves the springs: nothing else on the frame stands still
WINDOW_S = 60.0
_KEPT = 128


class Trips:
    """The trips of one shank: a rise of its most over the trip point, and back."""

    __slots__ = ("_over", "_times", "total")

    def __init__(self) -> None:
        self.total = 0
        self._over = False
        self._times: deque[float] = deque(maxlen=_KEPT)

    def take(self, most: float, least: float, at: float, count: bool) -> bool:
        """Take the bounds of the share in one of the node's windows; True if a trip begins in it.

        A window in which the load comes back and rises again is told from the next one.
        """
        if self._over:
            self._over = least >= TRIPPED_BACK_SHARE
            return False
        if most < TRIP_SHARE:
            return False
        self._over = True
        if count:
            self.total += 1
            self._times.append(at)
        return count

    def recent(self, now: float) -> int:
        """Trips of the last minute."""
        times = self._times
        while times and now - times[0] >= WINDOW_S:
            times.popleft()
        return len(times)


class Springs:
    """All shanks: fed by each reading as heard, brought into ``Now`` at each tick."""

    def __init__(self, rig: Rig) -> None:
        self.shanks: tuple[ShankNow, ...] = shanks_of(rig)
        self._index = {
            sensor.channel: place
            for sensor in rig.fitted("spring")
            for place, shank in enumerate(self.shanks)
            if shank.number == sensor.shank
        }
        self._trips = [Trips() for _ in self.shanks]
        self._high = rig.limits.spring_high

    def totals(self) -> tuple[int, ...]:
        """Trips of each shank since the start, left to right as in the rig file."""
        return tuple(trips.total for trips in self._trips)

    def take(self, readings: Sequence[Reading], count: bool) -> list[tuple[int, Reading]]:
        """Take readings as heard; the shank's index for each with which a trip begins."""
        tripped = []
        for reading in readings:
            place, value = self._index.get(reading.channel), reading.value
            if place is None or value is None:
                continue
            most = value if reading.most is None or reading.most < value else reading.most
            least = value if reading.least is None or reading.least > value else reading.least
            if self._trips[place].take(most, least, reading.at, count):
                tripped.append((place, reading))
        return tripped

    def fill(self, readings: dict[str, Reading], now: Now) -> None:
        """Shares, the worst, how many are high, the median and the trips at this tick."""
        shares: list[float] = []
        all_trips = over = 0
        for channel, place in self._index.items():
            shank = self.shanks[place]
            _, share, _, shank.quality, shank.cause, shank.least, shank.most = readings[channel]
            shank.share = share
            trips = self._trips[place]
            shank.trips, shank.total = trips.recent(now.at), trips.total
            all_trips += shank.trips
            if share is not None:
                shares.append(share)
                over += share > self._high
        now.shanks = self.shanks
        now.springs_read, now.over_high, now.all_trips = len(shares), over, all_trips
        now.all_springs = len(shares) == len(self._index)
        now.worst_share, now.least_share = max(shares, default=None), min(shares, default=None)
        # With three or more the median of all is that of the others to within one place.
        now.others_median = median(shares) if len(shares) >= 3 else max(shares, default=None)

"""Load and trips of the shanks."""

from cabapp.units import KMH_MPS
from cabapp.watch.attention import Delays
from cabapp.watch.now import Now
from cabapp.watch.rules import Band, Calm, Count, Key, Row, When, fixed
from cabapp.watch.springs import TRIP_SHARE
from cabapp.words import Phase, Rule

SPRING_DEADBAND = 0.10
TRIPS_OF_ONE, TRIPS_OF_ALL = 3, 8
NOT_PULLING_SHARE, PULLING_AGAIN_SHARE = 0.30, 0.40
LEAST_MEDIAN_SHARE = 0.10  # with hardly any load on the tool no shank can be called slack
STALLED_MPS = 1.5 * KMH_MPS
STALLED_AFTER_WORK_S = 10.0


def _share(now: Now, key: Key) -> float | None:
    return now.shanks[int(key)].share


def _pull(now: Now, key: Key) -> float | None:
    """A shank's share over the median of the others; 1.0 where there is too little load to tell."""
    share, median = now.shanks[int(key)].share, now.others_median
    if share is None:
        return None
    if median is None or median < LEAST_MEDIAN_SHARE:
        return 1.0
    return share / median


def _none_over(limit: float) -> Calm:
    return lambda now: now.all_springs and (now.worst_share or 0.0) <= limit


def _all_pull(now: Now) -> bool:
    median, least = now.others_median, now.least_share
    if not now.all_springs or median is None or least is None:
        return False
    return median < LEAST_MEDIAN_SHARE or least >= NOT_PULLING_SHARE * median


def _over_half(now: Now, key: Key) -> float | None:
    return now.over_high / now.springs_read if now.springs_read else None


def _share_alone(now: Now, key: Key) -> float | None:
    """A shank's share; 0.0 while over half are high: that is one fact about the whole tool."""
    return 0.0 if 2 * now.over_high > now.springs_read else now.shanks[int(key)].share


def _hooked_share(now: Now, key: Key) -> float | None:
    """The worst spring of a tool that has come to nothing out of work."""
    if now.speed_mps is None:
        return None
    recently = now.fell_from_work_s is not None and now.fell_from_work_s <= STALLED_AFTER_WORK_S
    if now.phase is Phase.STANDING or (now.speed_mps < STALLED_MPS and recently):
        return now.worst_share
    return 0.0


def spring_rows(high: float) -> tuple[Row, ...]:
    """Spring load of each shank as a share of its trip, and the trips counted."""
    needs = ("spring",)
    return (
        Band(
            Rule.SHANK_UP,
            _share,
            fixed(TRIP_SHARE),
            Delays(3.0, 8.0, 0.0),
            When.IN_GROUND,
            SPRING_DEADBAND,
            each="shank",
            needs=needs,
            latched=True,
            calm=_none_over(TRIP_SHARE),
        ),
        Band(
            Rule.HOOKED,
            _hooked_share,
            fixed(TRIP_SHARE),
            Delays(1.0),
            When.IN_GROUND,
            SPRING_DEADBAND,
            needs=needs,
        ),
        Band(
            Rule.NOT_PULLING,
            _pull,
            fixed(NOT_PULLING_SHARE),
            Delays(10.0, 25.0, 2.0),
            When.WORK,
            PULLING_AGAIN_SHARE - NOT_PULLING_SHARE,
            under=True,
            each="shank",
            needs=needs,
            calm=_all_pull,
        ),
        Band(
            Rule.EASE_OFF,
            _share_alone,
            fixed(high),
            Delays(5.0),
            When.WORK,
            SPRING_DEADBAND,
            each="shank",
            needs=needs,
            calm=_none_over(high),
        ),
        Band(Rule.EASE_OFF, _over_half, fixed(0.5), Delays(3.0), When.WORK, needs=needs),
        Count(
            Rule.TRIPPING,
            lambda now, key: now.shanks[int(key)].trips,
            lambda now, key: now.shanks[int(key)].total,
            TRIPS_OF_ONE,
            When.WORK,
            each="shank",
            needs=needs,
            calm=lambda now: now.all_trips == 0,
        ),
        Count(
            Rule.STONES,
            lambda now, key: now.all_trips,
            lambda now, key: sum(shank.total for shank in now.shanks),
            TRIPS_OF_ALL,
            When.WORK,
            needs=needs,
        ),
    )

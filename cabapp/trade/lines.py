"""Buried lines: when to ask before ripping or digging, as settings of the place.

Ripping counts as digging in most places, but from which depth, how long ahead and for how long
an answer is good differs from state to state and from country to country. So the figures are
settings; the shipped ones are only where to start, and local law goes before all of them. Lines
that belong to the farm (drain tile, irrigation, power to the yard) are marked by no service.
"""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from cabapp.trade.refuse import need_positive
from cabapp.trade.sources import MSU_DIGGING, OWN_DEFAULT, Source
from cabapp.units import INCH_M


@dataclass(frozen=True)
class LineRules:
    """What a place asks for. None means "not known here": the screen then says to ask.

    ``ask_below_m``: work deeper than this needs an answer first. ``notice_business_days``: days
    between asking and digging. ``good_days``: days an answer stays good, the day of asking not
    counted. ``keep_off_m``: machine work stays this far from a mark.
    """

    service: str
    ask_below_m: float
    notice_business_days: int | None
    good_days: int | None
    keep_off_m: float | None
    source: Source

    def __post_init__(self) -> None:
        if not self.service.strip():
            raise ValueError("service: found nothing, expected whom to call; ask locally")
        need_positive("ask_below_m", self.ask_below_m, "give the depth in metres")
        for name, days in (
            ("notice_business_days", self.notice_business_days),
            ("good_days", self.good_days),
        ):
            if days is not None and days < 0:
                raise ValueError(f"{name}: found {days!r}, expected 0 or more; ask the service")
        if self.keep_off_m is not None:
            need_positive("keep_off_m", self.keep_off_m, "give the distance in metres")


UNITED_STATES = LineRules("811", 12 * INCH_M, None, None, None, MSU_DIGGING)
ELSEWHERE = LineRules(
    "your country's line-locating service", 12 * INCH_M, None, None, None, OWN_DEFAULT
)

CAUTIONS: tuple[str, ...] = (
    "Local law decides. These settings only remind you to ask.",
    "The service does not mark private lines: drain tile, irrigation, yard power.",
    "Cover over a pipeline wears away. Do not trust an old depth.",
    "If a line is hit: stop, get away upwind, start nothing, call from there.",
)


def must_ask(depth_m: float, rules: LineRules, *, pit: bool = False) -> bool:
    """Whether to ask about buried lines before working at ``depth_m``, or before a pit.

    A pit is asked about at any depth. ValueError for a depth not above zero. The depth comes
    from the rules of the place (general advice: MSU Extension, seen).
    """
    need_positive("depth_m", depth_m, "give the depth of the work in metres")
    return pit or depth_m > rules.ask_below_m + 1e-9


def first_day(asked: date, rules: LineRules, holidays: Collection[date] = ()) -> date | None:
    """First day the work may begin: the notice counted in full business days after asking.

    None where the place's notice is not known. Saturdays, Sundays and the given holidays do not
    count. How days are counted differs too: the ticket's own date goes before this one.
    """
    if rules.notice_business_days is None:
        return None
    day, left = asked, rules.notice_business_days
    while left > 0:
        day += timedelta(days=1)
        if day.weekday() < 5 and day not in holidays:
            left -= 1
    return day


def last_day(asked: date, rules: LineRules) -> date | None:
    """Last day an answer is good, or None where that is not known."""
    return None if rules.good_days is None else asked + timedelta(days=rules.good_days)


def may_work(
    today: date, asked: date | None, rules: LineRules, holidays: Collection[date] = ()
) -> bool | None:
    """Whether an answer asked for on ``asked`` covers today; None where the rules do not tell.

    Never asked is False. Marks on the ground, and whatever the ticket says, go before this.
    """
    if asked is None or today < asked:
        return False
    first, last = first_day(asked, rules, holidays), last_day(asked, rules)
    if (first is not None and today < first) or (last is not None and today > last):
        return False
    return None if first is None or last is None else True

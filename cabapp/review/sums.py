"""A shift's sums as stored at its end, or made again: areas, shares, hours, trips, alerts.

Everything that is said of a shift, on a page, in the report or in an export, begins here.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from cabapp.codec import from_plain
from cabapp.ground.passes import Pass
from cabapp.words import SAYINGS, Level

ALL = "all"
THINGS = ("speed", "depth", "level", "springs", ALL)
STATES = ("in", "out", "raised", "hard", "unknown")
LEVELS: dict[str, Level] = {rule.value: saying.level for (rule, _), saying in SAYINGS.items()}
RANKS: dict[str, int] = {rule: rank for rank, rule in enumerate(LEVELS)}  # worst first


@dataclass(frozen=True)
class Share:
    """Ground by state of one judged thing, m2; ``idle_m2`` was worked without being judged."""

    areas_m2: dict[str, float]
    idle_m2: float

    @property
    def judged_m2(self) -> float:
        """All ground of which a state is told, the unknown included."""
        return sum(self.areas_m2.values())

    def ratio(self, state: str) -> float | None:
        """Part of the judged ground in a state, 0 to 1; None where nothing was judged."""
        judged = self.judged_m2
        return self.areas_m2.get(state, 0.0) / judged if judged > 0 else None

    def percents(self) -> dict[str, int] | None:
        """Whole percents of each state that add up to 100; None where nothing was judged.

        Each is rounded down, and what is missing goes to the largest remainders.
        """
        judged = self.judged_m2
        if judged <= 0:
            return None
        exact = {state: 100.0 * self.areas_m2.get(state, 0.0) / judged for state in STATES}
        whole = {state: math.floor(value) for state, value in exact.items()}
        by_rest = sorted(STATES, key=lambda state: whole[state] - exact[state])
        for state in by_rest[: 100 - sum(whole.values())]:
            whole[state] += 1
        return whole


@dataclass(frozen=True)
class Sums:
    """One shift in SI. ``overlap_m2`` and ``edge_error_m`` are None where they can't be told."""

    gross_m2: float
    net_m2: float
    overlap_m2: float | None
    misses_m2: float
    edge_error_m: float | None
    area_by_fix_m2: dict[str, float]
    passes: tuple[Pass, ...]
    seconds_by_phase: dict[str, int]
    shares: dict[str, Share]
    unseen_s: int
    unseen_m2: float
    trips: dict[int, int]
    alerts: dict[str, int]
    rows: int
    moments: int
    plane_deg: tuple[float, float] | None

    def at_level(self, level: Level) -> int:
        """How many alerts of a level began."""
        return sum(n for rule, n in self.alerts.items() if LEVELS.get(rule) is level)

    @property
    def worst_alert(self) -> str:
        """The rule that ranks first among those that spoke; "" for a calm shift."""
        return min(self.alerts, key=lambda rule: RANKS.get(rule, len(RANKS)), default="")


def sums_from(stored: Mapping[str, Any]) -> Sums:
    """Sums out of their stored form; ValueError, TypeError or KeyError where they do not fit."""
    unseen = _number(stored["unseen_m2"])
    return Sums(
        gross_m2=_number(stored["gross_m2"]),
        net_m2=_number(stored["net_m2"]),
        overlap_m2=None if stored["overlap_m2"] is None else _number(stored["overlap_m2"]),
        misses_m2=_number(stored["misses_m2"]),
        edge_error_m=None if stored["edge_error_m"] is None else _number(stored["edge_error_m"]),
        area_by_fix_m2=_numbers(stored["area_by_fix_m2"]),
        passes=tuple(from_plain(Pass, plain) for plain in stored["passes"]),
        seconds_by_phase=_counts(stored["seconds_by_phase"]),
        shares=_shares(stored["area_by_stretch_m2"], unseen),
        unseen_s=int(stored["unseen_s"]),
        unseen_m2=unseen,
        trips={int(shank): int(count) for shank, count in stored["trips"].items()},
        alerts=_counts(stored["alerts"]),
        rows=int(stored["rows"]),
        moments=int(stored["moments"]),
        plane_deg=_plane(stored.get("plane_deg")),
    )


def _shares(by_stretch: Mapping[str, Mapping[str, Any]], unseen_m2: float) -> dict[str, Share]:
    """The share of each thing; ground that passed unseen is unknown wherever anything is judged."""
    found = {}
    for thing in THINGS:
        areas = _numbers(by_stretch.get("stretch" if thing == ALL else f"stretch_{thing}", {}))
        idle = areas.pop("idle", 0.0)
        if areas and unseen_m2 > 0:
            areas["unknown"] = areas.get("unknown", 0.0) + unseen_m2
        found[thing] = Share(areas, idle)
    return found


def _number(value: Any) -> float:
    number = float(value)
    if not math.isfinite(number):
        raise ValueError(f"{value!r} is no area")
    return number


def _numbers(plain: Mapping[str, Any]) -> dict[str, float]:
    return {str(key): _number(value) for key, value in plain.items()}


def _counts(plain: Mapping[str, Any]) -> dict[str, int]:
    return {str(key): int(value) for key, value in plain.items()}


def _plane(plain: Any) -> tuple[float, float] | None:
    return None if plain is None else (_number(plain[0]), _number(plain[1]))

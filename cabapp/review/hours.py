"""Where the time went: phases, stops with their reasons, and what the hours in the field gave."""

from dataclasses import dataclass

import numpy as np

from cabapp.outcome import Moment, What
from cabapp.plan import Plan
from cabapp.review.shift import Shift, Track
from cabapp.trade.capacity import field_capacity_m2_s, field_efficiency
from cabapp.words import Phase

STOP_S = 180.0  # a stop this long is offered a reason
REASON_LATE_S = 60.0  # a reason may be tapped so long after the stop
GAP_S = 2.5  # more than this between rows: nothing was recorded
PLAN_EFFICIENCY = 0.84  # middle of the published 83 to 85 % for subsoilers (Iowa State PM 696)
# Stops that belong to the work, however long (EP496: plugging and adjusting count, repairs and
# service do not).
OF_THE_WORK = ("plugged", "dig")
NO_REASON = "not said"


@dataclass(frozen=True)
class Span:
    """A run of rows in one phase: first and last row, and its seconds."""

    phase: str
    first: int
    last: int
    seconds: float


@dataclass(frozen=True)
class Stop:
    """A stop of three minutes or more. ``start_s`` as in the record."""

    start_s: float
    seconds: float
    reason: str
    utc: str


@dataclass(frozen=True)
class Hours:
    """Seconds by phase and by stop reason, and the rates; None where there was no work.

    ``field_s`` is the time that field efficiency counts: from the first work to the last, without
    road, without what was not recorded, and without long stops that are no part of the work.
    ``plan_rate_m2_s`` is None too where nobody set a plan for the day.
    """

    by_phase: dict[str, float]
    stops: tuple[Stop, ...]
    unrecorded_s: float
    field_s: float
    mean_speed_mps: float | None
    efficiency: float | None
    rate_m2_s: float | None
    plan_rate_m2_s: float | None

    @property
    def by_reason(self) -> dict[str, float]:
        """Seconds stood by reason, longest first."""
        sums: dict[str, float] = {}
        for stop in self.stops:
            sums[stop.reason] = sums.get(stop.reason, 0.0) + stop.seconds
        return dict(sorted(sums.items(), key=lambda pair: -pair[1]))


def hours_of(shift: Shift) -> Hours:
    """All of it from the rows, the stop taps and the area of the sums."""
    track, sums = shift.track, shift.sums
    found = spans(track)
    stops = stops_of(found, track, shift.moments)
    field_s = _field_s(found, stops, track)
    speed = _mean_speed(track)
    width, plan = shift.page.rig.tool.width_m, shift.page.plan
    area = sums.gross_m2 if sums.overlap_m2 is None else sums.net_m2
    worked = field_s > 0 and area > 0 and speed is not None and speed > 0
    return Hours(
        by_phase={phase.value: _sum(found, phase) for phase in Phase},
        stops=stops,
        unrecorded_s=_unrecorded(track),
        field_s=field_s,
        mean_speed_mps=speed,
        efficiency=field_efficiency(area, field_s, speed, width) if worked and speed else None,
        rate_m2_s=area / field_s if worked else None,
        plan_rate_m2_s=plan_rate(plan, width) if plan.set_today else None,
    )


def plan_rate(plan: Plan, width_m: float) -> float | None:
    """What the plan's middle speed covers at the published efficiency; None without a band."""
    middle = (plan.speed_low_mps + plan.speed_high_mps) / 2
    return field_capacity_m2_s(middle, width_m, PLAN_EFFICIENCY) if middle > 0 else None


def spans(track: Track) -> list[Span]:
    """The rows as runs of one phase."""
    if not len(track):
        return []
    codes = {phase.value: code for code, phase in enumerate(Phase)}
    numbers = np.array([codes.get(phase, -1) for phase in track.phase])
    firsts = np.concatenate([[0], np.nonzero(np.diff(numbers))[0] + 1])
    lasts = np.concatenate([firsts[1:] - 1, [len(track) - 1]])
    lasting = _lasting(track)
    return [
        Span(track.phase[first], first, last, float(lasting[first : last + 1].sum()))
        for first, last in zip(firsts.tolist(), lasts.tolist(), strict=True)
    ]


def stops_of(found: list[Span], track: Track, moments: tuple[Moment, ...]) -> tuple[Stop, ...]:
    """Stands of STOP_S or more, each with the reason that was tapped in it."""
    taps = [m for m in moments if m.what is What.TAP and m.detail == "stop_reason"]
    stops = []
    for span in found:
        if span.phase != Phase.STANDING.value or span.seconds < STOP_S:
            continue
        start, end = float(track.t_s[span.first]), float(track.t_s[span.last])
        said = [str(m.value) for m in taps if start <= m.t_s <= end + REASON_LATE_S and m.value]
        reason = said[-1] if said else NO_REASON
        stops.append(Stop(start, span.seconds, reason, track.utc[span.first] or ""))
    return tuple(stops)


def _lasting(track: Track) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Seconds that each row stands for: to the next row, or one where nothing follows."""
    steps = np.diff(track.t_s, append=track.t_s[-1:] + 1.0)
    return np.where(steps > GAP_S, 1.0, steps)


def _unrecorded(track: Track) -> float:
    steps = np.diff(track.t_s)
    gaps = steps[steps > GAP_S]
    return float((gaps - 1.0).sum())


def _sum(found: list[Span], phase: Phase) -> float:
    return sum(span.seconds for span in found if span.phase == phase.value)


def _field_s(found: list[Span], stops: tuple[Stop, ...], track: Track) -> float:
    worked = [n for n, span in enumerate(found) if span.phase == Phase.WORKING.value]
    if not worked:
        return 0.0
    inside = found[worked[0] : worked[-1] + 1]
    seconds = sum(span.seconds for span in inside if span.phase != Phase.ROAD.value)
    first, last = track.t_s[inside[0].first], track.t_s[inside[-1].last]
    left_out = [s for s in stops if first <= s.start_s <= last and s.reason not in OF_THE_WORK]
    return seconds - sum(stop.seconds for stop in left_out)


def _mean_speed(track: Track) -> float | None:
    speeds = track.numbers["speed_mps"][track.working]
    speeds = speeds[np.isfinite(speeds)]
    return float(speeds.mean()) if len(speeds) else None

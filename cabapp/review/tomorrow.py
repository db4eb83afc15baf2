"""What to change tomorrow: what stands out in a shift, each with what to do first.

One row a question; each looks at the summary and answers with its words and how much they weigh, or
with nothing. Thresholds are field judgement with no printed source. Nobody is told to drive faster:
where the tractor laboured, the ground or the depth is the answer, and where speed alone was seen,
the spade tells whether it laboured.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from cabapp.review.digits import (
    fine_depth_text,
    hours_text,
    length_text,
    ratio_text,
    share_text,
    speed_text,
)
from cabapp.review.phrases import WORDS, overlap_text, tool_text
from cabapp.review.shift import CODE, Floats, Shift
from cabapp.review.summary import Summary
from cabapp.units import INCH_M, UnitSystem
from cabapp.words import SAYINGS, Level, Phase, Rule

MOST = 5
MUCH = 0.03  # of the judged ground, from here on a thing is worth a line
MUCH_UNKNOWN = 0.05
FEW_TRIPS, MANY_TRIPS = 5, 20
APART_M = 0.5 * INCH_M  # a sensor this far from the spade is set anew
LOW_EFFICIENCY = 0.70  # the low end of the published range for the tools (ASABE D497)
MUCH_OVERLAP = 0.05
HIGHER = 1.15  # of a load or slip that has risen, as in the trends of a shift
FIRST_DIG_M = 76.2  # 250 ft of the first pass, as the driver is reminded
FIRST = 10.0  # weighs more than any share of the ground
# Which thing a lost reading takes away.
TAKES: dict[str, str] = {
    Rule.NO_DEPTH.value: "depth",
    Rule.DEPTH_STUCK.value: "depth",
    Rule.NO_SPRINGS.value: "springs",
    Rule.NO_POSITION.value: "speed",
    Rule.NO_SPEED.value: "speed",
}


@dataclass(frozen=True)
class Advice:
    """One line for a person. ``weight`` orders them: shares of the ground, FIRST for danger."""

    words: str
    weight: float


def tomorrow_of(summary: Summary, units: UnitSystem) -> tuple[str, ...]:
    """At most MOST lines, the weightiest first; one line where nothing stands out."""
    if summary.shift.sums.gross_m2 <= 0:
        return ()
    found = [advice for row in ROWS if (advice := row(summary, units)) is not None]
    found.sort(key=lambda advice: -advice.weight)
    words = tuple(advice.words for advice in found[:MOST])
    return words or ("Nothing stands out: go on as it was set.",)


def _act(summary: Summary, units: UnitSystem) -> Advice | None:
    acts = [told for told in summary.alerts if told.level is Level.ACT]
    if not acts:
        return None
    saying = next((s for (rule, _), s in SAYINGS.items() if rule.value == acts[0].rule), None)
    what = acts[0].action or (saying.headline.capitalize() if saying else acts[0].headline)
    more = f", and {len(acts) - 1} more" if len(acts) > 1 else ""
    return Advice(f"ACT was sounded ({what}{more}): look the tool over before work.", FIRST)


def _unread(summary: Summary, units: UnitSystem) -> Advice | None:
    """Only the thing that was missing most: one cut cable takes several."""
    shares = summary.shift.sums.shares
    thing = max(("depth", "springs", "speed"), key=lambda t: shares[t].ratio("unknown") or 0.0)
    ratio = shares[thing].ratio("unknown") or 0.0
    if ratio < MUCH_UNKNOWN:
        return None
    lost = [told for told in summary.alerts if TAKES.get(told.rule) == thing]
    longest = max(lost, key=lambda told: told.lasted_s or 0.0, default=None)
    step = longest.action if longest and longest.action else "Look at its plug and cable"
    text = share_text(shares[thing], "unknown")
    return Advice(f"{WORDS[thing]} was not read on {text} of the area. {step}.", ratio)


def _shallow(summary: Summary, units: UnitSystem) -> Advice | None:
    found = _out(summary.shift, "depth", "m", below=True)
    if found is None:
        return None
    ratio, by_m = found
    return Advice(
        f"Shallow on {_percent(ratio)} of the area, by {fine_depth_text(by_m, units)} on average: "
        "dig to check, then look at points, stops and leak-down.",
        ratio,
    )


def _deep(summary: Summary, units: UnitSystem) -> Advice | None:
    found = _out(summary.shift, "depth", "m", below=False)
    if found is None:
        return None
    ratio, by_m = found
    return Advice(
        f"Deep on {_percent(ratio)} of the area, by {fine_depth_text(by_m, units)} on average: "
        "set it back, each inch costs pull and fuel.",
        ratio,
    )


def _fast(summary: Summary, units: UnitSystem) -> Advice | None:
    found = _out(summary.shift, "speed", "mps", below=False)
    if found is None:
        return None
    high = summary.shift.page.plan.speed_high_mps
    words = f"Too fast on {_percent(found[0])} of the area: ease to {speed_text(high, units)}."
    return Advice(words, found[0])


def _hard(summary: Summary, units: UnitSystem) -> Advice | None:
    share = summary.shift.sums.shares["speed"]
    ratio = share.ratio("hard") or 0.0
    if ratio < MUCH:
        return None
    if not pulled_hard(summary.shift):
        below = _out(summary.shift, "speed", "mps", below=True)
        ratio += below[0] if below else 0.0
        return Advice(
            f"Slow on {_percent(ratio)} of the area, by speed alone: hard ground or a gear too "
            "low; dig there to know.",
            ratio,
        )
    text = share_text(share, "hard")
    return Advice(
        f"Hard ground on {text} of the area: gear down there, and dig whether the hard layer lies "
        "deeper.",
        ratio,
    )


def pulled_hard(shift: Shift) -> bool:
    """Whether springs or slip stood higher where it was slow than where speed was in band."""
    track = shift.track
    slow, well = (track.codes["speed"] == CODE[state] for state in ("hard", "in"))
    return any(
        _mean(values[slow]) > HIGHER * _mean(values[well])  # never true of what is not known
        for values in (track.spring, track.numbers["slip_ratio"])
    )


def _mean(values: Floats) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) else math.nan


def _springs(summary: Summary, units: UnitSystem) -> Advice | None:
    share = summary.shift.sums.shares["springs"]
    ratio = share.ratio("out") or 0.0
    if ratio < MUCH:
        return None
    text = share_text(share, "out")
    return Advice(f"Springs over the limit on {text} of the area: go shallower there.", ratio)


def _level(summary: Summary, units: UnitSystem) -> Advice | None:
    share = summary.shift.sums.shares["level"]
    ratio = share.ratio("out") or 0.0
    if ratio < MUCH:
        return None
    text = share_text(share, "out")
    return Advice(f"Not level on {text} of the area: level it anew on firm ground.", ratio)


def _trips(summary: Summary, units: UnitSystem) -> Advice | None:
    trips = summary.shift.sums.trips
    whole = sum(trips.values())
    if whole < FEW_TRIPS:
        return None
    worst = max(trips, key=lambda shank: trips[shank])
    if len(trips) > 1 and trips[worst] * 2 >= whole and trips[worst] >= FEW_TRIPS:
        words = f"Shank {worst} tripped {trips[worst]} of {whole} times: look at point and spring."
        return Advice(words, MUCH_UNKNOWN)
    if len(trips) == 1:
        words = f"Only shank {worst} tripped, {whole} times: look at its point and spring."
        return Advice(words, MUCH_UNKNOWN)
    if whole >= MANY_TRIPS:
        return Advice(f"{whole} trips over all shanks: slow down where stones lie.", MUCH)
    return None


def _sensor(summary: Summary, units: UnitSystem) -> Advice | None:
    known = [check for check in summary.checks if check.sensor_m is not None]
    if not known or known[-1].sensor_m is None:
        return None
    apart = known[-1].sensor_m - known[-1].dug_m
    if abs(apart) < APART_M:
        return None
    more = "more" if apart > 0 else "less"
    words = (
        f"The sensors read {fine_depth_text(abs(apart), units)} {more} than was dug: dig again and "
        "set their offset in Fit-up."
    )
    return Advice(words, MUCH_UNKNOWN)


def _undug(summary: Summary, units: UnitSystem) -> Advice | None:
    if summary.checks:
        return None
    far = length_text(FIRST_DIG_M, units)
    return Advice(f"No depth was dug all shift: dig and measure after the first {far}.", MUCH)


def _lost_time(summary: Summary, units: UnitSystem) -> Advice | None:
    hours = summary.hours
    if hours.efficiency is None or hours.efficiency >= LOW_EFFICIENCY:
        return None
    losses = {f"stops for {reason}" if reason != "not said" else "stops without a reason": seconds
              for reason, seconds in hours.by_reason.items()}  # fmt: skip
    losses["turning"] = hours.by_phase[Phase.TURNING.value] + hours.by_phase[Phase.LIFTED.value]
    most = max(losses, key=lambda name: losses[name])
    words = f"Field efficiency {ratio_text(hours.efficiency)}"
    return Advice(f"{words}: most was lost to {most}, {hours_text(losses[most])}.", MUCH)


def _overlap(summary: Summary, units: UnitSystem) -> Advice | None:
    sums = summary.shift.sums
    if sums.overlap_m2 is None or sums.overlap_m2 < MUCH_OVERLAP * sums.gross_m2:
        return None
    width = tool_text(summary.shift.page.rig, units).partition(" wide")[0]
    return Advice(
        f"Overlap {overlap_text(sums)}: measure whether the tool is {width} wide as the rig file "
        "says; if so, set the passes farther apart.",
        MUCH,
    )


def _no_plan(summary: Summary, units: UnitSystem) -> Advice | None:
    if summary.shift.page.plan.set_today:
        return None
    return Advice("No plan was set for the day: take the walk in Set up before work.", MUCH)


ROWS: tuple[Callable[[Summary, UnitSystem], Advice | None], ...] = (
    _act, _unread, _shallow, _deep, _fast, _hard, _springs, _level, _trips, _sensor, _undug,
    _lost_time,
    _overlap, _no_plan,
)  # fmt: skip


def _percent(ratio: float) -> str:
    return f"{100 * ratio:.0f} %"


def _out(shift: Shift, thing: str, unit: str, below: bool) -> tuple[float, float] | None:
    """Part of the judged ground that was out on one side of its band, and by how much (SI).

    None where that is not MUCH.
    """
    track, judged = shift.track, shift.sums.shares[thing].judged_m2
    value = track.numbers["speed_mps" if thing == "speed" else "depth_m"]
    end = track.numbers[f"{thing}_{'low' if below else 'high'}_{unit}"]
    by = end - value if below else value - end
    rows = (track.codes[thing] == CODE["out"]) & (by > 0)
    area = track.area_m2[rows]
    if judged <= 0 or area.sum() < MUCH * judged:
        return None
    return float(area.sum() / judged), float(np.average(by[rows], weights=area))

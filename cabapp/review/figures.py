"""Every figure of a shift in one list: a key, what it is, and its text as it stands everywhere."""

from dataclasses import dataclass

from cabapp.review.digits import (
    NONE,
    force_text,
    fuel_text,
    hours_text,
    percent_text,
    rate_text,
    ratio_text,
    speed_text,
)
from cabapp.review.ends import ends_text
from cabapp.review.happened import lapse_text
from cabapp.review.hours import PLAN_EFFICIENCY
from cabapp.review.phrases import (
    STATE_WORDS,
    WORDS,
    edge_text,
    gross_text,
    headline,
    net_text,
    overlap_text,
    record_text,
    tool_text,
    trips_text,
    unseen_text,
)
from cabapp.review.summary import Summary
from cabapp.review.sums import Sums
from cabapp.units import ACRE_M2, HECTARE_M2, UnitSystem, to_unit
from cabapp.words import Phase

OF_BAND = f"mid-band, {100 * PLAN_EFFICIENCY:.0f} % efficient"
OF_SPEED = "of mean speed times width"


@dataclass(frozen=True)
class Figure:
    """One printed figure: a key for machines, what it is, and its text as it stands everywhere."""

    key: str
    words: str
    text: str


def figures(summary: Summary, units: UnitSystem) -> tuple[Figure, ...]:
    """Every figure of a shift, in the order a person asks for them."""
    shift, hours, sums = summary.shift, summary.hours, summary.shift.sums
    inside, unknown = headline(sums)
    plan = rate_text(hours.plan_rate_m2_s, units)
    found = [
        Figure("in_band", "In band, of the area judged", inside),
        Figure("unknown", "Unknown, of the area judged", unknown),
        Figure("area_gross", "Area, gross", gross_text(summary, units)),
        Figure("area_net", "Area, net", net_text(summary, units)),
        Figure("overlap", "Overlap", overlap_text(sums)),
        Figure("ends", "Tool in and out", ends_text(shift) or NONE),
        Figure("tool", "Tool", tool_text(shift.page.rig, units)),
        Figure("rig", "Rig", shift.page.rig.name or NONE),
        Figure("fixes", "Fixes", edge_text(sums, units)),
        Figure("unseen", "Work unseen (no position)", unseen_text(sums, units)),
        Figure("passes", "Passes", str(len(sums.passes))),
        Figure("field_time", "Time in the field", hours_text(hours.field_s)),
        Figure("rate", "Rate in the field (with turns)", rate_text(hours.rate_m2_s, units)),
        Figure("rate_plan", f"Rate planned ({OF_BAND})", plan),
        Figure("efficiency", f"Field efficiency ({OF_SPEED})", ratio_text(hours.efficiency)),
        Figure("speed", "Mean working speed", speed_text(hours.mean_speed_mps, units)),
        Figure("record", "Record", record_text(shift.brief)),
        Figure("trips", "Trips", trips_text(sums) if shift.page.rig.fitted("spring") else NONE),
        *_hour_figures(summary),
        *_share_figures(sums),
        *_estimate_figures(summary, units),
    ]
    return tuple(found)


def _hour_figures(summary: Summary) -> list[Figure]:
    hours = summary.hours
    phases = [
        Figure(
            f"time_{phase.value}", f"Time {phase.value}", hours_text(hours.by_phase[phase.value])
        )
        for phase in Phase
    ]
    stops = [
        Figure(f"stopped_{reason.replace(' ', '_')}", f"Stopped: {reason}", hours_text(seconds))
        for reason, seconds in hours.by_reason.items()
    ]
    gap = Figure("unrecorded", "Not recorded (gaps)", hours_text(hours.unrecorded_s))
    lapses = [
        Figure(f"lapse_{n}", lapse_text(lapse, summary.shift), hours_text(lapse.seconds))
        for n, lapse in enumerate(summary.lapses, start=1)
    ]
    return [*phases, *stops, gap, *lapses]


def _share_figures(sums: Sums) -> list[Figure]:
    return [
        Figure(
            f"{thing}_{state}", f"{WORDS[thing]}, {words}, % of area", percent_text(share, state)
        )
        for thing, share in sums.shares.items()
        for state, words in STATE_WORDS.items()
    ]


def _estimate_figures(summary: Summary, units: UnitSystem) -> list[Figure]:
    estimate = summary.estimate
    if estimate is None:
        return []
    draft, fuel = estimate.draft_n, estimate.fuel_m3
    found = [
        Figure(
            "draft", "Draft, estimate", f"{force_text(draft.value, units)} ± {draft.percent:.0f} %"
        )
    ]
    if fuel is not None:
        text = f"{fuel_text(fuel.value, units)} ± {fuel.percent:.0f} %"
        found.append(Figure("fuel", "Fuel while working, estimate", text))
        area = summary.shift.sums.gross_m2
        if area > 0:
            us = units is UnitSystem.US
            size = (ACRE_M2, "gal", "ac") if us else (HECTARE_M2, "L", "ha")
            per = to_unit(fuel.value / area * size[0], size[1])
            text = f"{per:.1f} {size[1]}/{size[2]} ± {fuel.percent:.0f} %"
            found.append(Figure("fuel_per_area", "Fuel by area, estimate", text))
    return found

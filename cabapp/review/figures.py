"""A summary in words and digits. Page, report and exports print these and round nothing again."""

from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from cabapp.ground.accuracy import OVERLAP_NEEDS_M
from cabapp.review.ends import ends_text
from cabapp.review.hours import PLAN_EFFICIENCY
from cabapp.review.lapses import Lapse
from cabapp.review.shift import Brief, Shift, local
from cabapp.review.summary import Summary
from cabapp.review.sums import ALL, LEVELS, Share, Sums
from cabapp.review.told import Changed
from cabapp.review.worst import Stretch
from cabapp.rig import Rig
from cabapp.units import (
    ACRE_M2,
    HECTARE_M2,
    UnitSystem,
    depth_text,
    shown_unit,
    shown_value,
    to_unit,
)
from cabapp.words import Level, Phase

NOT_MEASURABLE = "not measurable with this receiver"
NONE = "–"
WORDS = {"speed": "Speed", "depth": "Depth", "level": "Level", "springs": "Springs", ALL: "All"}
STATE_WORDS = {
    "in": "in band",
    "out": "out",
    "raised": "raised on purpose",
    "hard": "slow as on hard ground",  # speed is what tells of it
    "unknown": "unknown",
}
FIX_WORDS = {
    "fixed": "carrier-phase fixed",
    "float": "carrier-phase float",
    "corrected": "corrected",
    "satellite_corrected": "satellite-corrected",
    "plain": "plain",
}
OF_BAND = f"mid-band, {100 * PLAN_EFFICIENCY:.0f} % efficient"
OF_SPEED = "of mean speed times width"
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
          "October", "November", "December")  # fmt: skip


@dataclass(frozen=True)
class Figure:
    """One printed figure: a key for machines, what it is, and its text as it stands everywhere."""

    key: str
    words: str
    text: str


# -- pieces ---------------------------------------------------------------------------------------


def area_text(area_m2: float, units: UnitSystem) -> str:
    """``118.4 ac``; under ten with two decimals."""
    return f"{area_number(area_m2, units)} {shown_unit('area', units)}"


def area_number(area_m2: float, units: UnitSystem) -> str:
    value = to_unit(area_m2, shown_unit("area", units))
    return f"{value:.2f}" if abs(value) < 9.995 else f"{value:.1f}"


def rate_text(rate_m2_s: float | None, units: UnitSystem) -> str:
    """``8.3 ac/h``; a dash where there was no work."""
    if rate_m2_s is None:
        return NONE
    return f"{to_unit(rate_m2_s * 3600, shown_unit('area', units)):.1f} {units_per_hour(units)}"


def units_per_hour(units: UnitSystem) -> str:
    return f"{shown_unit('area', units)}/h"


def hours_text(seconds: float) -> str:
    """``8 h 20``, ``48 min`` or ``35 s``."""
    minutes = round(seconds / 60)
    if seconds < 59.5:
        return f"{seconds:.0f} s"
    return f"{minutes} min" if minutes < 60 else f"{minutes // 60} h {minutes % 60:02d}"


def speed_text(speed_mps: float | None, units: UnitSystem) -> str:
    """``6.1 mph``."""
    if speed_mps is None:
        return NONE
    return f"{shown_value(speed_mps, 'speed', units):.1f} {shown_unit('speed', units)}"


def fine_depth_text(depth_m: float | None, units: UnitSystem) -> str:
    """A mean or a dug depth to a quarter inch or half a centimetre."""
    if depth_m is None:
        return NONE
    if units is UnitSystem.US:
        return depth_text(depth_m, units, 4)
    return f"{round(to_unit(depth_m, 'cm') * 2) / 2:.1f} cm".replace("-", "−")


def length_text(length_m: float, units: UnitSystem) -> str:
    """``340 ft``, ``104 m``."""
    return f"{shown_value(length_m, 'length', units):.0f} {shown_unit('length', units)}"


def percent_text(share: Share, state: str) -> str:
    """``86``, ``<1``, or a dash where the state never was."""
    percents = share.percents()
    if percents is None or share.areas_m2.get(state, 0.0) <= 0:
        return NONE
    return str(percents[state]) if percents[state] else "<1"


def share_text(share: Share, state: str) -> str:
    """``86 %``; ``0 %`` where the state never was, a dash where nothing was judged."""
    if share.percents() is None:
        return NONE
    text = percent_text(share, state)
    return f"{'0' if text == NONE else text} %"


def day_text(when: datetime | None, year: bool = True) -> str:
    """``14 October 2026``."""
    if when is None:
        return "no date"
    return f"{when.day} {MONTHS[when.month - 1]}" + (f" {when.year}" if year else "")


def clock_text(utc: str | None, shift: Shift) -> str:
    """Local clock time of a moment, ``06:40``."""
    when = local(utc or "", shift.page)
    return when.strftime("%H:%M") if when else NONE


def alert_words(rule: str) -> str:
    """A rule as an owner reads it: ``shank stayed up``."""
    return rule.replace("_", " ")


# -- one shift ------------------------------------------------------------------------------------


def title(brief: Brief) -> str:
    """``North field, 14 October 2026``."""
    return f"{brief.page.field or 'No field named'}, {day_text(brief.begun)}"


def span_text(shift: Shift) -> str:
    """``06:40 to 20:52``, with the offset from UTC; to its last row where nobody ended it."""
    page = shift.page
    last = next((utc for utc in reversed(shift.track.utc) if utc), "")
    begun, ended = local(page.begun_utc, page), local(page.ended_utc or last, page)
    if begun is None or ended is None:
        return "no time known"
    offset = begun.strftime("%z")
    days = (ended.date() - begun.date()).days
    return f"{begun:%H:%M} to {ended:%H:%M}{days_text(days)}, UTC{offset[:3]}:{offset[3:]}"


def days_text(days: int) -> str:
    """`` (+1 day)`` where a shift ends on another day, `` (−147 days)`` where a clock was wrong."""
    if not days:
        return ""
    return f" ({'+' if days > 0 else '−'}{abs(days)} day{'s' if abs(days) != 1 else ''})"


def record_text(brief: Brief) -> str:
    """``whole``, ``whole, in 2 files``, or that its first part is missing."""
    files = brief.files
    if files.missing:
        return "first part missing"
    return "whole" if len(files.paths) == 1 else f"whole, in {len(files.paths)} files"


def headline(sums: Sums) -> tuple[str, str]:
    """What a person remembers: share in band, and beside it the share unknown."""
    share = sums.shares[ALL]
    if share.percents() is None:
        return "nothing was judged", ""
    return (
        f"{share_text(share, 'in')} of the area in band",
        f"{share_text(share, 'unknown')} unknown",
    )


def gross_text(summary: Summary, units: UnitSystem) -> str:
    """Gross area with what the fixes allow."""
    area = area_text(summary.shift.sums.gross_m2, units)
    if summary.gross_error_m2 is None:
        return area
    return f"{area} ± {_error(summary.gross_error_m2, units)}"


def net_text(summary: Summary, units: UnitSystem) -> str:
    """Net area with its ±, or that this receiver can't tell."""
    if summary.net_error_m2 is None:
        return NOT_MEASURABLE if summary.shift.sums.gross_m2 > 0 else NONE
    area = area_text(summary.shift.sums.net_m2, units)
    return f"{area} ± {_error(summary.net_error_m2, units)}"


def _error(area_m2: float, units: UnitSystem) -> str:
    """An error of area; one too small to print is said to be under the last digit."""
    value = to_unit(area_m2, shown_unit("area", units))
    return area_number(area_m2, units) if value >= 0.005 else "under 0.01"


def overlap_text(sums: Sums) -> str:
    """Overlap as a share of the gross area, or that this receiver can't tell."""
    if sums.gross_m2 <= 0:
        return NONE
    if sums.overlap_m2 is None:
        return NOT_MEASURABLE
    return f"{100 * sums.overlap_m2 / sums.gross_m2:.1f} %"


def unseen_text(sums: Sums, units: UnitSystem) -> str:
    """Work that may have gone on while the place was unknown."""
    if sums.unseen_s == 0:
        return "none"
    return f"{hours_text(sums.unseen_s)}, about {area_text(sums.unseen_m2, units)}"


def edge_text(sums: Sums, units: UnitSystem) -> str:
    """The kinds of fix behind the area, and how well an edge is known."""
    if sums.edge_error_m is None:
        return NONE
    kinds = sorted(sums.area_by_fix_m2.items(), key=lambda pair: -pair[1])
    named = ", ".join(FIX_WORDS.get(kind, kind) for kind, area in kinds if area > 0)
    edge = f"{to_unit(sums.edge_error_m, 'cm'):.0f} cm"
    if units is UnitSystem.US:
        edge = f"{to_unit(sums.edge_error_m, 'ft'):.1f} ft"
    poor = sums.edge_error_m > OVERLAP_NEEDS_M
    return f"{named}: edges within {edge}" + (", too poor for overlap" if poor else "")


def tool_text(rig: Rig, units: UnitSystem) -> str:
    """``4.00 m wide, 5 shanks 80 cm apart``: what every area was reckoned with."""
    unit, decimals = ("ft", 1) if units is UnitSystem.US else ("m", 2)
    words = f"{to_unit(rig.tool.width_m, unit):.{decimals}f} {unit} wide"
    across = sorted(shank.across_m for shank in rig.tool.shanks)
    if not across:
        return words
    steps = {depth_text(b - a, units) for a, b in pairwise(across)}
    evenly = f" {steps.pop()} apart" if len(steps) == 1 else ""
    return f"{words}, {len(across)} shank{'s' if len(across) > 1 else ''}{evenly}"


def trips_text(sums: Sums) -> str:
    """``14 trips: shank 3: 9, shank 1: 5``."""
    whole = sum(sums.trips.values())
    if not whole:
        return "none"
    parts = sorted(sums.trips.items(), key=lambda pair: (-pair[1], pair[0]))
    return f"{whole}: " + ", ".join(f"shank {shank}: {count}" for shank, count in parts)


def worst_alert_text(sums: Sums) -> str:
    """``2 STOP alerts`` for ACT, else the worst rule in words; "" for a calm shift."""
    acts = sums.at_level(Level.ACT)
    if acts:
        return f"{acts} ACT alert{'s' if acts > 1 else ''}"
    rule = sums.worst_alert
    return alert_words(rule) if rule and LEVELS.get(rule) is not None else ""


def not_judged(shift: Shift) -> tuple[str, ...]:
    """What this rig could not judge at all, in words."""
    rig, missing = shift.page.rig, []
    if not rig.fitted("depth"):
        missing += ["depth: no sensor fitted", "level: no depth sensors fitted"]
    elif shift.sums.shares["level"].judged_m2 <= 0:
        missing.append("level: needs depth at two places and 150 m of work")
    if not rig.fitted("spring"):
        missing.append("springs: no sensor fitted")
    if not rig.fitted("wheel_speed"):
        missing.append("slip: no wheel signal")
    return tuple(missing)


def band_lines(shift: Shift, units: UnitSystem) -> tuple[str, ...]:
    """The plan at the start of the shift, in words."""
    plan = shift.page.plan
    low, high = (shown_value(v, "speed", units) for v in (plan.speed_low_mps, plan.speed_high_mps))
    lines = [f"Speed {low:.1f} to {high:.1f} {shown_unit('speed', units)}"]
    if plan.depth_target_m is not None:
        band = ""
        if plan.depth_low_m is not None and plan.depth_high_m is not None:
            ends = (fine_depth_text(plan.depth_low_m, units),
                    fine_depth_text(plan.depth_high_m, units))  # fmt: skip
            band = f", band {ends[0]} to {ends[1]}"
        lines.append(f"Depth {fine_depth_text(plan.depth_target_m, units)}{band}")
    if plan.layer_top_m is not None and plan.layer_bottom_m is not None:
        lines.append(
            f"Hard layer {fine_depth_text(plan.layer_top_m, units)} to "
            f"{fine_depth_text(plan.layer_bottom_m, units)}"
        )
    if not plan.set_today:
        lines.append("Not set for the day: the rig's default band")
    return tuple(lines)


def stretch_text(stretch: Stretch, units: UnitSystem) -> str:
    """What was out on one of the worst stretches: ``depth 11 3/4 in, band 13 to 15 in``."""
    times = f", {stretch.passes} passes" if stretch.passes > 1 else ""
    return _stretch_words(stretch, units) + times


def _stretch_words(stretch: Stretch, units: UnitSystem) -> str:
    name = WORDS[stretch.thing].lower()
    state = STATE_WORDS[stretch.state]
    if stretch.state == "unknown":
        return f"{name} not read"
    value = _value_text(stretch, stretch.value, units)
    if stretch.thing in ("speed", "depth") and stretch.low is not None and stretch.high is not None:
        low = _value_text(stretch, stretch.low, units).rpartition(" ")[0]
        return f"{name} {value}, band {low} to {_value_text(stretch, stretch.high, units)}" + (
            f", {state}" if stretch.state in ("hard", "raised") else ""
        )
    if stretch.thing == "springs":
        return f"springs over the limit, worst {value}"
    return f"{name} {value} front to rear"


def change_value(change: Changed, units: UnitSystem) -> str:
    """What something was changed to: bands in the person's units, a name as it is."""
    if isinstance(change.value, str):
        return (
            change.value if change.what in ("driver", "field") else change.value.replace("_", " ")
        )
    if change.what in ("plan", "speed_target", "depth_target"):
        return _moved_text(change, units)
    if change.value is None:
        return ""
    return "up" if change.value > 0 else "down"


def _moved_text(change: Changed, units: UnitSystem) -> str:
    """``up, band 5.5 to 7.5 mph``; for a whole plan its speeds, target and depths."""
    words = []
    plan = change.what == "plan"
    if isinstance(change.value, float) and not plan:
        words.append("up" if change.value > 0 else "down")
    if change.speed_mps is not None:
        low, high = (shown_value(v, "speed", units) for v in change.speed_mps)
        name = "speed" if plan else "band"
        words.append(f"{name} {low:.1f} to {high:.1f} {shown_unit('speed', units)}")
    if change.depth_m is not None:
        low_m, high_m = change.depth_m
        words.append(f"target {fine_depth_text((low_m + high_m) / 2, units)}")
        ends = fine_depth_text(low_m, units), fine_depth_text(high_m, units)
        words.append(f"band {ends[0]} to {ends[1]}")
    elif isinstance(change.value, float) and plan:
        words.append(f"target {fine_depth_text(change.value, units)}")
    return ", ".join(words)


def _value_text(stretch: Stretch, value: float | None, units: UnitSystem) -> str:
    if value is None:
        return NONE
    if stretch.thing == "speed":
        return speed_text(value, units)
    if stretch.thing == "springs":
        return f"{100 * value:.0f} % of trip"
    return fine_depth_text(value, units)


def place_text(lat_deg: float | None, lon_deg: float | None) -> str:
    """Degrees north and east to five decimals (about a metre)."""
    if lat_deg is None or lon_deg is None:
        return "no place"
    north, east = "N" if lat_deg >= 0 else "S", "E" if lon_deg >= 0 else "W"
    return f"{abs(lat_deg):.5f}° {north}, {abs(lon_deg):.5f}° {east}"


def fuel_text(fuel_m3: float, units: UnitSystem) -> str:
    unit = "gal" if units is UnitSystem.US else "L"
    value = to_unit(fuel_m3, unit)
    return f"{value:.0f} {unit}" if value >= 10 else f"{value:.1f} {unit}"


def force_text(force_n: float, units: UnitSystem) -> str:
    unit = shown_unit("force", units)
    value = to_unit(force_n, unit)
    return f"{round(value, -2):.0f} {unit}" if units is UnitSystem.US else f"{value:.0f} {unit}"


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


def ratio_text(ratio: float | None) -> str:
    """``71 %``."""
    return NONE if ratio is None else f"{100 * ratio:.0f} %"


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


def lapse_text(lapse: Lapse, shift: Shift) -> str:
    """``09:12 to 10:02: the tablet was off``; without times where no date was known."""
    if not lapse.from_utc:
        return lapse.why.capitalize()
    start, end = clock_text(lapse.from_utc, shift), clock_text(lapse.to_utc, shift)
    return f"{start} to {end}: {lapse.why}"


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

"""What a shift comes to, a phrase each: title, times, areas, tool, trips, plan, the not judged."""

from itertools import pairwise

from cabapp.ground.accuracy import OVERLAP_NEEDS_M
from cabapp.review.digits import (
    NONE,
    area_number,
    area_text,
    day_text,
    days_text,
    fine_depth_text,
    hours_text,
    share_text,
)
from cabapp.review.shift import Brief, Shift, local
from cabapp.review.summary import Summary
from cabapp.review.sums import ALL, LEVELS, Sums
from cabapp.rig import Rig
from cabapp.units import UnitSystem, depth_text, shown_unit, shown_value, to_unit
from cabapp.words import Level

NOT_MEASURABLE = "not measurable with this receiver"
WORDS = {"speed": "Speed", "depth": "Depth", "level": "Level", "springs": "Springs", ALL: "All"}
STATE_WORDS = {
    "in": "in band",
    "out": "out",
    "raised": "raised on purpose",
    "hard": "slow",  # by speed alone, so that no ground is called hard that was not felt
    "unknown": "unknown",
}
FIX_WORDS = {
    "fixed": "carrier-phase fixed",
    "float": "carrier-phase float",
    "corrected": "corrected",
    "satellite_corrected": "satellite-corrected",
    "plain": "plain",
}


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


def alert_words(rule: str) -> str:
    """A rule as an owner reads it: ``shank stayed up``."""
    return rule.replace("_", " ")


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

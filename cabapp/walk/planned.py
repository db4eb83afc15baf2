"""What the walk yields: the plan in force on Drive, and what it asks when a plan is copied."""

from dataclasses import replace

from cabapp.plan import Plan, depth_margin_m
from cabapp.rig import FinishKind, Rig, Tool
from cabapp.units import MPH_MPS, UnitSystem, shown_unit, shown_value
from cabapp.walk.progress import Progress, State

# Speed band by the tool and its depth, common practice: 5 to 7 mph for a combination ripper; a
# deep one is taken slower (PM 696 gives 5 mph for subsoilers). Asked, never set behind the back.
DEEP_M = 0.40
USUAL_MPS = (5 * MPH_MPS, 7 * MPH_MPS)
SLOW_MPS = (4 * MPH_MPS, 6 * MPH_MPS)


def suggested_band_mps(depth_m: float, tool: Tool) -> tuple[float, float]:
    """Speed band to offer for a depth in metres; a deep or a plain ripper is offered a slower one.

    A plain ripper has neither discs nor a finishing tool.
    """
    plain = not tool.front_gangs and not tool.rear_gangs and tool.finish is FinishKind.NONE
    return SLOW_MPS if depth_m > DEEP_M or plain else USUAL_MPS


def make_plan(
    progress: Progress,
    rig: Rig,
    field: str,
    driver: str,
    utc: str,
    speed_band_mps: tuple[float, float] | None = None,
    zone: str = "",
) -> Plan:
    """The plan of this field and day from what the walk found; the rig's own where it found none.

    ``speed_band_mps`` is the band a person confirmed; without it the rig's default is kept.
    ``zone`` is the part of the field to be worked where each part has its own bottom.
    """
    low, high = speed_band_mps or (rig.limits.speed_low_mps, rig.limits.speed_high_mps)
    depth = progress.of("shank_depth")
    target = depth.finding.values.get("target", rig.limits.depth_target_m)
    layer = dict(progress.of("hard_layer").finding.values)
    if target is not None and f"bottom_{zone}" in layer:
        target += layer[f"bottom_{zone}"] - layer["bottom"]
        layer["bottom"] = layer[f"bottom_{zone}"]
        layer["top"] = min(layer.get("top", 0.0), layer["bottom"] - 0.01)
    checks = progress.of("checks").finding.values
    margin = depth_margin_m(rig)
    return Plan(
        field=field,
        driver=driver,
        area_m2=checks.get("area"),
        row_bearing_deg=checks.get("row_bearing"),
        speed_low_mps=low,
        speed_high_mps=high,
        depth_target_m=target,
        depth_low_m=None if target is None else target - margin,
        depth_high_m=None if target is None else target + margin,
        walk_target_m=target,
        layer_top_m=layer.get("top"),
        layer_bottom_m=layer.get("bottom"),
        set_today=depth.state in (State.DONE, State.CHECK_AGAIN),
        checks_open=progress.checks_open,
        made_utc=utc,
        made_by=driver,
    )


def zones_of(progress: Progress) -> tuple[str, ...]:
    """The parts of the field that have a bottom of their own, where a person chose so."""
    values = progress.of("hard_layer").finding.values
    return tuple(sorted(key.removeprefix("bottom_") for key in values if key.startswith("bottom_")))


def copy_questions(plan: Plan, field: str, system: UnitSystem) -> tuple[str, ...]:
    """What to ask before yesterday's plan is used in another field; empty for the same field."""
    if plan.field == field:
        return ()
    unit = shown_unit("depth", system)
    asked = ["Squeeze a handful at shank depth here: is it dry enough?"]
    if plan.layer_bottom_m is not None:
        bottom = shown_value(plan.layer_bottom_m, "depth", system)
        asked.append(
            f"The layer ended at {bottom:g} {unit} in {plan.field}. Dig here: is it the same?"
        )
    asked.append("Were buried lines asked for in this field?")
    return tuple(asked)


def copied(plan: Plan, field: str) -> Plan:
    """The same settings for another field: not set today, and no layer until it is dug there."""
    return replace(plan, field=field, area_m2=None, row_bearing_deg=None, outline=(),
                   layer_top_m=None, layer_bottom_m=None, set_today=False)  # fmt: skip

"""The plan in force: what the set-up walk asks of the day, and what Drive judges against."""

from dataclasses import dataclass

from cabapp.rig import Rig
from cabapp.units import INCH_M


@dataclass(frozen=True)
class Plan:
    """Bands, target and layer for one field and day. Metres, m/s and degrees.

    ``set_today`` is False for the rig's default band, which Drive labels so. ``walk_target_m`` is
    the target the walk left; a change on Drive beyond an inch from it is asked again.
    """

    field: str = ""
    driver: str = ""
    area_m2: float | None = None
    row_bearing_deg: float | None = None
    outline: tuple[tuple[float, float], ...] = ()  # (lat, lon) corners, where one was loaded
    speed_low_mps: float = 0.0
    speed_high_mps: float = 0.0
    depth_target_m: float | None = None
    depth_low_m: float | None = None
    depth_high_m: float | None = None
    walk_target_m: float | None = None
    layer_top_m: float | None = None
    layer_bottom_m: float | None = None
    set_today: bool = False
    first_passes_m2: float = 2_000.0  # the row angle is judged and shown up to this area
    checks_open: tuple[str, ...] = ()  # blocking exceptions of the checks, not answered yet
    made_utc: str = ""
    made_by: str = ""


def depth_margin_m(rig: Rig) -> float:
    """The rig's margin, but never tighter than its depth sensors were proven: that cries wolf."""
    proven = [s.curve.proven_error for s in rig.fitted("depth") if s.curve is not None]
    return max([rig.limits.depth_margin_m, *proven])


def default_plan(rig: Rig) -> Plan:
    """The rig's default band, labelled as not set today."""
    limits = rig.limits
    target, margin = limits.depth_target_m, depth_margin_m(rig)
    return Plan(
        speed_low_mps=limits.speed_low_mps,
        speed_high_mps=limits.speed_high_mps,
        depth_target_m=target,
        depth_low_m=None if target is None else target - margin,
        depth_high_m=None if target is None else target + margin,
        walk_target_m=target,
    )


def faults_of(plan: Plan) -> tuple[str, ...]:
    """What makes a plan unusable, in words with the mend; empty when it is sound."""
    found = []
    if not 0 < plan.speed_low_mps < plan.speed_high_mps:
        found.append("speed band is turned round or empty; set the lower speed below the higher")
    low, high, target = plan.depth_low_m, plan.depth_high_m, plan.depth_target_m
    if target is not None and low is not None and high is not None:
        if not low < target < high:
            found.append("depth band does not hold the target; set it around the target")
        elif high - low < 2 * INCH_M - 1e-9:
            found.append("depth band is under 1 in each way; live depth is not that good")
    if (
        plan.layer_top_m is not None
        and plan.layer_bottom_m is not None
        and plan.layer_top_m >= plan.layer_bottom_m
    ):
        found.append("layer top lies below its bottom; swap the two")
    return tuple(found)

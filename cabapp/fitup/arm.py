"""The geometry of a gauge arm: a hinged arm that trails on the ground beside the shanks."""

import math


def depth_change_m(arm_m: float, start_deg: float, now_deg: float) -> float:
    """How much deeper the frame runs when the arm rises from ``start_deg`` to ``now_deg``.

    Angles are below level. The arm's tip stays on the ground, so the hinge drops by
    L (sin start - sin now).
    """
    return arm_m * (math.sin(math.radians(start_deg)) - math.sin(math.radians(now_deg)))


def depth_per_degree_m(arm_m: float, now_deg: float) -> float:
    """Sensitivity L cos(angle) a degree: it grows as the arm comes level."""
    return arm_m * math.cos(math.radians(now_deg)) * math.radians(1.0)

"""What one step of an adjuster does on this machine, learned from its own digs."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from cabapp.trade.adjuster import Adjuster, Direction
from cabapp.trade.refuse import need_finite, need_not_negative, need_some
from cabapp.units import INCH_M


@dataclass(frozen=True)
class Dig:
    """A depth dug at a setting (steps, counted deeper); ``ended``: last movement, if known."""

    setting: float
    depth_m: float
    ended: Direction | None = None


@dataclass(frozen=True)
class Response:
    """What this machine does: depth a step, and how far the digs lie from that line.

    ``span``: steps between the outermost digs. ``play_out``: every dig used is known to have
    ended in the same direction.
    """

    step_m: float
    depth_at_zero_m: float
    worst_m: float
    digs: int
    span: float
    play_out: bool


class WrongWay(ValueError):
    """The digs say that the adjuster works the other way round, or that depth does not follow."""


def learn_response(digs: Sequence[Dig]) -> Response:
    """Least-squares line of depth over setting.

    Where enough digs ended in the direction of the last one, only those are used, so that play
    does not tilt the line. ValueError for fewer than two digs, or settings less than one step
    apart; WrongWay, which is one too, where more depth was asked for and less was dug. Ordinary
    least squares.
    """
    need_some("digs", digs, 2, "dig again after moving the adjuster")
    for dig in digs:
        need_finite("setting", dig.setting, "count the steps from a mark")
        need_not_negative("depth_m", dig.depth_m, "measure from the untouched surface down")
    used = [dig for dig in digs if dig.ended is digs[-1].ended]
    if _span(used) < 1.0:
        used = list(digs)
    if _span(used) < 1.0:
        raise ValueError(
            f"digs: found settings {_span(used):g} steps apart, expected at least one; "
            "move the adjuster a whole step or more before digging again"
        )
    middle = math.fsum(dig.setting for dig in used) / len(used)
    mean_m = math.fsum(dig.depth_m for dig in used) / len(used)
    moments = math.fsum((dig.setting - middle) * (dig.depth_m - mean_m) for dig in used)
    step_m = moments / math.fsum((dig.setting - middle) ** 2 for dig in used)
    if step_m <= 0.0:
        raise WrongWay(
            f"digs: found {step_m:.4f} m deeper a step, expected more than 0; "
            "check which way the adjuster works, and measure from the untouched surface"
        )
    worst_m = max(abs(dig.depth_m - mean_m - step_m * (dig.setting - middle)) for dig in used)
    play_out = digs[-1].ended is not None and all(dig.ended is digs[-1].ended for dig in used)
    return Response(step_m, mean_m - step_m * middle, worst_m, len(used), _span(used), play_out)


def _span(digs: Sequence[Dig]) -> float:
    settings = [dig.setting for dig in digs]
    return max(settings) - min(settings) if settings else 0.0


DIG_ERROR_M = INCH_M / 12.0  # how far the mean of several dug shanks may be off; our own default
PLAY_SHARE = 0.08  # what is left of a tenth of play after the first movement; our own default
STATED_SHARE = 0.15  # how far a stated step is usually off on a given machine; our own default


def with_response(adjuster: Adjuster, response: Response) -> Adjuster:
    """The adjuster with its step moved towards what was learned, by how certain each is.

    Two digs far apart outweigh the stated step; two digs close together hardly move it, since
    a twelfth of an inch of digging error is then most of the difference. ``adjuster`` is the
    rig's own, not one taught before: its digs would count twice. Weights are one over the square
    of the uncertainty; the uncertainties are our own defaults.
    """
    play_m = 0.0 if response.play_out else PLAY_SHARE * response.step_m
    dug_m = math.hypot(DIG_ERROR_M * math.sqrt(2.0) / response.span, play_m)
    stated_m = STATED_SHARE * adjuster.step_m
    trust = stated_m**2 / (stated_m**2 + dug_m**2)
    step_m = adjuster.step_m + trust * (response.step_m - adjuster.step_m)
    return replace(adjuster, step_m=step_m, learned=True)

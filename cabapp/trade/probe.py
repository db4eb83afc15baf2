"""Reading a cone probe: where resistance crosses the limit, and what is only a stone.

A single hard reading is a stone until a second push beside it agrees.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from cabapp.trade.cone import ROOTS_STOP_PA
from cabapp.trade.layer import Layer, LayerState
from cabapp.trade.refuse import need_not_negative, need_positive, need_some


@dataclass(frozen=True)
class _Run:
    """A stretch of readings over the limit; ``bottom_m`` None when the probe ended in it."""

    top_m: float
    bottom_m: float | None
    first: int
    last: int
    deepest_read_m: float

    @property
    def lone(self) -> bool:
        return self.first == self.last and self.bottom_m is not None

    @property
    def thickness_m(self) -> float:
        return (self.deepest_read_m if self.bottom_m is None else self.bottom_m) - self.top_m


def _check_profile(depths_m: Sequence[float], pressures_pa: Sequence[float]) -> None:
    need_some("depths_m", depths_m, 2, "read the gauge at two depths or more")
    if len(depths_m) != len(pressures_pa):
        raise ValueError(
            f"pressures_pa: found {len(pressures_pa)}, expected {len(depths_m)}, one a depth; "
            "leave out a depth that was not read"
        )
    for name, values in (("depths_m", depths_m), ("pressures_pa", pressures_pa)):
        for value in values:
            need_not_negative(name, value, "check what was typed; leave out what was not read")
    for upper_m, lower_m in pairwise(depths_m):
        if lower_m <= upper_m:
            raise ValueError(
                f"depths_m: found {lower_m!r} after {upper_m!r}, expected each deeper than the "
                "one before; list the readings from the surface down"
            )


def _runs(depths_m: Sequence[float], pressures_pa: Sequence[float], limit_pa: float) -> list[_Run]:
    """Every stretch over the limit, its ends found by straight lines between readings."""

    def crossing(index: int) -> float:
        share = (limit_pa - pressures_pa[index]) / (pressures_pa[index + 1] - pressures_pa[index])
        return depths_m[index] + share * (depths_m[index + 1] - depths_m[index])

    hard = {index for index, pressure_pa in enumerate(pressures_pa) if pressure_pa > limit_pa}
    starts = [index for index in sorted(hard) if index - 1 not in hard]
    ends = [index for index in sorted(hard) if index + 1 not in hard]
    return [
        _Run(
            top_m=depths_m[0] if first == 0 else crossing(first - 1),
            bottom_m=None if last == len(depths_m) - 1 else crossing(last),
            first=first,
            last=last,
            deepest_read_m=depths_m[last],
        )
        for first, last in zip(starts, ends, strict=True)
    ]


def layer_in_profile(
    depths_m: Sequence[float],
    pressures_pa: Sequence[float],
    limit_pa: float = ROOTS_STOP_PA,
    *,
    dry: bool = False,
) -> Layer:
    """The thickest hard stretch of one push of the probe.

    Depths in metres from the surface down, resistance in pascals. Top and bottom are where the
    reading crosses the limit, by straight lines between readings. ``dry`` says the soil was not
    moist: it then reads hard everywhere and is not judged. ValueError for readings out of order,
    unequal in number, negative or NaN. Limit and reading of top and bottom: Cornell NRCCA
    objective 35 (seen); choice of stretch and stone rule are our own.
    """
    _check_profile(depths_m, pressures_pa)
    need_positive("limit_pa", limit_pa, "give the limit in pascals")
    if dry:
        return Layer(LayerState.TOO_DRY)
    return _thickest(_runs(depths_m, pressures_pa, limit_pa), depths_m, confirmed=())


def _thickest(
    runs: list[_Run], depths_m: Sequence[float], confirmed: tuple[tuple[float, float], ...]
) -> Layer:
    """Pick the layer among the runs; a lone one counts if it lies in a ``confirmed`` stretch."""

    def stone(run: _Run) -> bool:
        depth_m = depths_m[run.first]
        return run.lone and not any(top <= depth_m <= bottom for top, bottom in confirmed)

    stones_m = tuple(depths_m[run.first] for run in runs if stone(run))
    layers = [run for run in runs if not stone(run)]
    if not layers:
        return Layer(LayerState.NONE, stones_m=stones_m)
    run = max(layers, key=lambda each: each.thickness_m)
    below = [each.top_m for each in layers if each.top_m > run.top_m]
    state = LayerState.BOTTOM_NOT_REACHED if run.bottom_m is None else LayerState.FOUND
    return Layer(state, run.top_m, run.bottom_m, stones_m, min(below, default=None))


Profile = tuple[Sequence[float], Sequence[float]]


def layers_at_one_spot(
    pushes: Sequence[Profile], limit_pa: float = ROOTS_STOP_PA, *, dry: bool = False
) -> tuple[Layer, ...]:
    """One layer a push, for pushes side by side: a lone hard reading counts where another agrees.

    Each push is (depths_m, pressures_pa) as in ``layer_in_profile``; sources as there.
    """
    need_some("pushes", pushes, 1, "push the probe at least once")
    if dry or len(pushes) == 1:
        return tuple(layer_in_profile(*push, limit_pa, dry=dry) for push in pushes)
    for push in pushes:
        _check_profile(*push)
    need_positive("limit_pa", limit_pa, "give the limit in pascals")
    all_runs = [_runs(*push, limit_pa) for push in pushes]
    found = []
    for index, (push, runs) in enumerate(zip(pushes, all_runs, strict=True)):
        others = tuple(
            (run.top_m, run.deepest_read_m if run.bottom_m is None else run.bottom_m)
            for other, other_runs in enumerate(all_runs)
            if other != index
            for run in other_runs
        )
        found.append(_thickest(runs, push[0], others))
    return tuple(found)

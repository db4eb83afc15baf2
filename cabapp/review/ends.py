"""Where each pass began and ended: told by the tool, or inferred from the way the tractor drove."""

import numpy as np
import numpy.typing as npt

from cabapp.cab.stretches import INFERRED_S
from cabapp.channels import column_of
from cabapp.ground.passes import Pass
from cabapp.review.shift import Shift

SWITCH = "tool_down"
TOLD_S = 1.0  # of a pass: half of a row's second at each of its two ends
LIFTING_S = 3.0  # it is often out of the ground so long before the turn; field judgement, no source
GUESSED_S = 2 * INFERRED_S + LIFTING_S


def inferred_passes(shift: Shift) -> tuple[Pass, ...]:
    """The passes that nothing told the begin or end of."""
    passes = shift.sums.passes
    if not passes or not len(shift.track):
        return passes
    told, t_s = _told(shift), shift.track.t_s

    def known(t: float) -> bool:
        return bool(told[min(int(np.searchsorted(t_s, t)), len(told) - 1)])

    return tuple(one for one in passes if not (known(one.start_s) and known(one.end_s)))


def ends_error_m2(shift: Shift) -> float:
    """Ground that the ends of the passes may be wrong by, m2: so many seconds of each pass.

    What makes an end late or early is alike on every pass: so the passes add up, and do not level
    out as errors by chance would.
    """
    inferred = inferred_passes(shift)
    return sum(
        one.gross_m2 * min(1.0, (GUESSED_S if one in inferred else TOLD_S) / lasted)
        for one in shift.sums.passes
        if (lasted := one.end_s - one.start_s) > 0
    )


def ends_text(shift: Shift) -> str:
    """Who said when the tool was in; "" where nothing was worked."""
    whole, inferred = len(shift.sums.passes), len(inferred_passes(shift))
    if not whole:
        return ""
    if not inferred:
        return "told by the switch" if shift.page.rig.fitted(SWITCH) else "told by its sensors"
    words = "inferred from how it drove"
    return words if inferred == whole else f"{words} on {inferred} of {whole} passes"


def _told(shift: Shift) -> npt.NDArray[np.bool_]:
    """Seconds in which a switch told of the tool, or depth and springs did together.

    One of the two alone needs a turn or a straight for its second witness, and is as late.
    """
    track = shift.track
    both: npt.NDArray[np.bool_] = np.isfinite(track.numbers["depth_m"]) & np.isfinite(track.spring)
    switch = track.sensors.get(column_of(SWITCH))
    return both if switch is None else both | np.isfinite(switch)

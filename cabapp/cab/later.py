"""Answers of a cab that was made in the middle of a shift, counted from the shift's beginning."""

from dataclasses import replace

from cabapp.cab.run import WITHDRAWN
from cabapp.outcome import Moment, Outcome


def later(outcome: Outcome, offset_s: float) -> Outcome:
    """The same with its times ``offset_s`` later, rounded as the cab rounds them."""
    if not offset_s:
        return outcome
    return replace(
        outcome,
        rows=tuple(replace(row, t_s=round(row.t_s + offset_s, 3)) for row in outcome.rows),
        moments=tuple(_moment_later(moment, offset_s) for moment in outcome.moments),
    )


def _moment_later(moment: Moment, offset_s: float) -> Moment:
    """A moment later, and with it the time since when it takes work back as a lane."""
    moved = replace(moment, t_s=round(moment.t_s + offset_s, 3))
    if moment.detail == WITHDRAWN and isinstance(moment.value, int | float):
        return replace(moved, value=round(moment.value + offset_s, 3))
    return moved

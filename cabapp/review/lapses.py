"""Time of which the record cannot say what was done, and why: the tablet off, no fix, no record."""

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from cabapp.outcome import Moment, What
from cabapp.review.hours import GAP_S, spans
from cabapp.review.shift import Shift, Track
from cabapp.words import Level, Phase, Rule

LEAST_S = 60.0  # what is shorter shows in the sums alone
MOST = 5
NEAR_S = 5.0  # a moment so near a gap's end belongs to it
NO_SPEED = (Rule.NO_POSITION.value, Rule.NO_SPEED.value)
OFF = "the tablet was off"
NOT_KEPT = "storage did not take it"
NO_RECORD = "nothing on record"
NO_FIX = "no fix"
NO_PHASE = "moving or standing was not known"


@dataclass(frozen=True)
class Lapse:
    """From and to as UTC texts ("" where no date was ever known), seconds, and why."""

    from_utc: str
    to_utc: str
    seconds: float
    why: str


def lapses_of(shift: Shift) -> tuple[Lapse, ...]:
    """The longest ones, in order of time."""
    found = [*_gaps(shift), *_unknown(shift)]
    longest = sorted(found, key=lambda pair: -pair[1].seconds)[:MOST]
    return tuple(lapse for _, lapse in sorted(longest, key=lambda pair: pair[0]))


def _gaps(shift: Shift) -> list[tuple[float, Lapse]]:
    """Where a row is missing for LEAST_S or more."""
    t_s = shift.track.t_s
    ends = np.nonzero(np.diff(t_s) > max(GAP_S, LEAST_S))[0]
    return [
        _lapse(shift, float(t_s[n]), float(t_s[n + 1]), _why_missing(shift, float(t_s[n + 1])))
        for n in ends.tolist()
    ]


def _why_missing(shift: Shift, end_s: float) -> str:
    for moment in shift.moments:
        if abs(moment.t_s - end_s) > NEAR_S:
            continue
        if moment.what is What.RUN and moment.detail == "resumed":
            return OFF
        if moment.what is What.DROPPED:
            return NOT_KEPT
    return NO_RECORD


def _unknown(shift: Shift) -> list[tuple[float, Lapse]]:
    """Rows that could not say whether the tool worked."""
    track = shift.track
    return [
        _lapse(shift, start, end, _why_unknown(shift, span.first, start, end))
        for span in spans(track)
        if span.phase == Phase.UNKNOWN.value and span.seconds >= LEAST_S
        for start, end in [(float(track.t_s[span.first]), float(track.t_s[span.last]) + 1.0)]
    ]


def _why_unknown(shift: Shift, first: int, start_s: float, end_s: float) -> str:
    """What the driver was told then, else whether there was a fix."""
    told = [m for m in shift.moments if _lost(m) and start_s - LEAST_S <= m.t_s <= end_s]
    if told:
        step = f": {told[-1].action[0].lower()}{told[-1].action[1:]}" if told[-1].action else ""
        return f"{told[-1].headline.lower()}{step}"
    return NO_PHASE if shift.track.fix[first] not in (None, "none") else NO_FIX


def _lost(moment: Moment) -> bool:
    lost = moment.what is What.ONSET and moment.level is Level.NO_READING
    return lost and moment.rule in NO_SPEED


def _lapse(shift: Shift, start_s: float, end_s: float, why: str) -> tuple[float, Lapse]:
    utc = (_utc_at(shift.track, start_s), _utc_at(shift.track, end_s))
    return start_s, Lapse(*utc, end_s - start_s, why)


def _utc_at(track: Track, t_s: float) -> str:
    """UTC of a time of the record, counted from the nearest row that has one."""
    dated = [n for n, utc in enumerate(track.utc) if utc]
    if not dated:
        return ""
    row = min(dated, key=lambda n: abs(float(track.t_s[n]) - t_s))
    utc = datetime.fromisoformat(str(track.utc[row])) + timedelta(
        seconds=t_s - float(track.t_s[row])
    )
    return utc.isoformat()

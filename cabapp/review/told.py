"""What was said and done: alerts with what ended them, hand checks, and what a person changed."""

from dataclasses import dataclass

import numpy as np

from cabapp.outcome import Moment, What
from cabapp.review.shift import Shift
from cabapp.words import Level, Phase

TOGETHER_S = 2.0  # one alert on several channels within this is told once
ENDED_BY_S = 1.5  # a phase change so near the end is what ended it
CHECK_ROWS = 10  # rows in work before a dig that the dig is held against

# The level's name as an owner reads it.
LEVEL_WORDS = {Level.ACT: "ACT", Level.LOOK: "LOOK", Level.NO_READING: "NO READING"}

_LEFT = {
    Phase.LIFTED.value: "tool lifted",
    Phase.STANDING.value: "stopped",
    Phase.TURNING.value: "turned",
    Phase.BACKING.value: "backed",
    Phase.ROAD.value: "on the road",
    Phase.UNKNOWN.value: "phase lost",
}


@dataclass(frozen=True)
class Told:
    """One alert. ``count`` channels spoke together; ``lasted_s`` None where it never ended."""

    t_s: float
    utc: str
    level: Level
    rule: str
    headline: str
    action: str
    count: int
    lasted_s: float | None
    done: str
    lat_deg: float | None
    lon_deg: float | None


@dataclass(frozen=True)
class Check:
    """A dug depth beside the sensors' mean over the last seconds in work; SI, None if not read."""

    t_s: float
    utc: str
    dug_m: float
    sensor_m: float | None


@dataclass(frozen=True)
class Changed:
    """Something about plan or settings that a person changed, and who drove then, "" if unknown.

    ``speed_mps`` and ``depth_m`` are the bands in force from then on, for a change that moves
    them; None where the record has none.
    """

    t_s: float
    utc: str
    what: str
    value: float | str | None
    who: str = ""
    speed_mps: tuple[float, float] | None = None
    depth_m: tuple[float, float] | None = None


def alerts_of(moments: tuple[Moment, ...]) -> tuple[Told, ...]:
    """Every alert but notes, in order of its onset, and what was done about it."""
    onsets = [m for m in moments if m.what is What.ONSET and m.level in LEVEL_WORDS]
    found: list[tuple[Moment, int]] = []
    for onset in onsets:
        if found and onset.rule == found[-1][0].rule and onset.t_s - found[-1][0].t_s < TOGETHER_S:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((onset, 1))
    return tuple(_told(onset, count, moments) for onset, count in found)


def _told(onset: Moment, count: int, moments: tuple[Moment, ...]) -> Told:
    end = next((m for m in moments if _ends(m, onset)), None)
    until = end.t_s if end else float("inf")
    assert onset.level is not None
    return Told(
        onset.t_s,
        onset.utc,
        onset.level,
        onset.rule,
        onset.headline,
        onset.action,
        count,
        None if end is None else round(end.t_s - onset.t_s, 1),
        _done(onset, end, [m for m in moments if onset.t_s <= m.t_s <= until + ENDED_BY_S]),
        onset.lat_deg,
        onset.lon_deg,
    )


def _ends(moment: Moment, onset: Moment) -> bool:
    same = moment.rule == onset.rule and moment.detail == onset.detail
    return moment.what is What.END and same and moment.t_s >= onset.t_s


def _done(onset: Moment, end: Moment | None, between: list[Moment]) -> str:
    """In words: quieted or not, and how it ended."""
    until = end.t_s if end else float("inf")
    quieted = [m for m in between if m.what is What.QUIET and m.rule == onset.rule]
    words = [f"quieted after {quieted[0].t_s - onset.t_s:.0f} s"] if quieted else []
    plans = [m for m in between if m.what is What.PLAN and m.t_s <= until]
    if plans:
        words.append("plan changed")
    if end is None:
        return ", ".join([*words, "open at the end"])
    left = [
        str(m.value)
        for m in between
        if m.what is What.PHASE and abs(m.t_s - until) <= ENDED_BY_S and m.value in _LEFT
    ]
    if left:
        words.append(_LEFT[left[0]])
    elif onset.level is Level.NO_READING:
        words.append("reading again")
    elif not plans:
        words.append("came back by itself" if not words else "came back")
    return ", ".join(words)


def checks_of(shift: Shift) -> tuple[Check, ...]:
    """Each dig, beside what the sensors said before it."""
    track = shift.track
    working = np.nonzero(track.working & np.isfinite(track.numbers["depth_m"]))[0]
    found = []
    for moment in shift.moments:
        if moment.what is not What.CHECK or not isinstance(moment.value, float):
            continue
        before = working[track.t_s[working] <= moment.t_s][-CHECK_ROWS:]
        sensor = float(track.numbers["depth_m"][before].mean()) if len(before) else None
        found.append(Check(moment.t_s, moment.utc, moment.value, sensor))
    return tuple(found)


_TAPS = {
    "speed_target": "speed band moved",
    "depth_target": "depth target moved",
    "raised": "raised on purpose",
    "set_aside": "set aside",
    "take_back": "taken back into use",
    "look_sounds": "look sounds",
    "tool": "tool said to be",
    "rain": "rain",
    "driver": "driver",
    "field": "field",
}


def changes_of(shift: Shift) -> tuple[Changed, ...]:
    """What a person changed, in order, with the bands that held from then on."""
    taps = [m for m in shift.moments if m.what is What.TAP]
    named = any(m.detail == "driver" for m in taps)
    who = "" if named else shift.page.driver  # the page has the last word: true of all if the only
    found = []
    for m in shift.moments:
        what = m.detail if m.what is What.TAP else "plan"
        if not ((m.what is What.TAP and what in _TAPS) or _is_set_up(m)):
            continue
        if what == "driver":
            who = str(m.value or "")
        speed = _band_after(shift, "speed", "mps", m.t_s) if what in _MOVE_SPEED else None
        depth = _band_after(shift, "depth", "m", m.t_s) if what in _MOVE_DEPTH else None
        found.append(Changed(m.t_s, m.utc, what, m.value, who, speed, depth))
    return tuple(found)


def _is_set_up(moment: Moment) -> bool:
    return moment.what is What.PLAN and moment.detail == "set up"


def _band_after(shift: Shift, thing: str, unit: str, t_s: float) -> tuple[float, float] | None:
    """The band of the first whole second after a change."""
    numbers = shift.track.numbers
    low, high = numbers[f"{thing}_low_{unit}"], numbers[f"{thing}_high_{unit}"]
    rows = np.nonzero((shift.track.t_s > t_s) & np.isfinite(low) & np.isfinite(high))[0][1:2]
    return (float(low[rows[0]]), float(high[rows[0]])) if len(rows) else None


_MOVE_SPEED = ("speed_target", "plan")
_MOVE_DEPTH = ("depth_target", "plan")


def change_words(change: Changed) -> str:
    """What the change was, without its value."""
    return "plan from set-up" if change.what == "plan" else _TAPS[change.what]

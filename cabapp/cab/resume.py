"""A shift goes on after a power loss or a restart: area, pegs and dug depth are built again."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cabapp.events import Peg, Resumed
from cabapp.ground.worked import Worked
from cabapp.outcome import What
from cabapp.readings import FixKind
from cabapp.words import Rule, say

if TYPE_CHECKING:
    from cabapp.cab.core import Cab

_FIX_KINDS = {kind.value for kind in FixKind}
MOST_ROWS = 60_000  # over 16 hours


def resume(cab: Cab, event: Resumed) -> None:
    """Take over the rows and moments on record; alerts and quiet ladders begin anew."""
    rows = [row for row in event.rows[-MOST_ROWS:] if _is_whole(row)]
    cab.shift = event.shift
    if rows:
        cab.field.take_over(Worked.rebuild(cab.rig.tool, cab.rig.receiver, rows))
    _pegs(cab, event)
    _dug(cab, event)
    minutes = max(1, round(event.gap_s / 60.0))
    cab.cards.continued((f"Interrupted for {minutes} min",))
    cab.notes.passing(say(Rule.CONTINUED).action, event.now)
    cab.note_moment(What.RUN, event.now, value=event.gap_s, detail="resumed")


def _pegs(cab: Cab, event: Resumed) -> None:
    found: dict[int, Peg] = {}
    for moment in event.moments:
        value, lat, lon = moment.get("value"), moment.get("lat_deg"), moment.get("lon_deg")
        if moment.get("what") != What.PEG.value or not isinstance(value, int | float):
            continue
        if isinstance(lat, int | float) and isinstance(lon, int | float):
            number = int(value)
            first = found.get(number)
            place = (float(lat), float(lon)) if first is None else (first.lat_deg, first.lon_deg)
            kind = str(moment.get("detail") or "other")
            found[number] = Peg(number, kind, *place, cab.plan.field)
    cab.field.set_pegs(found.values())


def _dug(cab: Cab, event: Resumed) -> None:
    """The last dug depth, as old as the interruption and the shift before it make it."""
    last = max((_number(row.get("t_s")) for row in event.rows), default=0.0)
    for moment in reversed(event.moments):
        depth = moment.get("value")
        if moment.get("what") == What.CHECK.value and isinstance(depth, int | float):
            age = max(0.0, last - _number(moment.get("t_s"))) + max(0.0, event.gap_s)
            cab.field.take_dug(float(depth), event.now - age)
            return


def _is_whole(row: dict[str, object]) -> bool:
    """Whether a row can be worked ground: a torn record may hold anything."""
    numbers = (row.get("lat_deg"), row.get("lon_deg"), row.get("course_deg"))
    return (
        isinstance(row.get("t_s"), int | float)
        and (row.get("fix") or "plain") in _FIX_KINDS
        and all(number is None or isinstance(number, int | float) for number in numbers)
    )


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0

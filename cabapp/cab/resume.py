"""A shift goes on after a power loss or a restart: area, pegs and dug depth are built again."""

from __future__ import annotations

from contextlib import suppress
from typing import TYPE_CHECKING

from cabapp.events import Peg, Resumed
from cabapp.ground.kept import take_up
from cabapp.ground.pack import PackError
from cabapp.outcome import What
from cabapp.words import Rule, say

if TYPE_CHECKING:
    from cabapp.cab.core import Cab


def resume(cab: Cab, event: Resumed) -> None:
    """Take over the ground and moments on record; alerts and quiet ladders begin anew."""
    cab.shift = event.shift
    with suppress(PackError):  # a capture that was tampered with: the shift goes on without
        cab.field.take_over(take_up(cab.rig.tool, cab.rig.receiver, event.ground))
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
    for moment in reversed(event.moments):
        depth = moment.get("value")
        if moment.get("what") == What.CHECK.value and isinstance(depth, int | float):
            before_s = max(0.0, event.last_t_s - _number(moment.get("t_s")))
            age = before_s + max(0.0, event.gap_s)
            cab.field.take_dug(float(depth), event.now - age)
            return


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0

"""The picture: everything a screen needs at one moment, from what the cab knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cabapp.cab.views import depth_view, field_view, speed_view, springs_view, tool_button
from cabapp.outcome import Snapshot
from cabapp.watch.calm import STARTING_S, calm
from cabapp.words import NOT_ON_RECORD, Phase

if TYPE_CHECKING:
    from cabapp.cab.core import Cab


def picture(cab: Cab, number: int) -> Snapshot:
    """The snapshot of this tick; ``number`` grows by one each time."""
    now, active = cab.sense.now, cab.judge.active
    bench = cab.notes.bench(now.at)
    quiet_words = calm(cab.rig, now, cab.plan.set_today, cab.judge.out_before_delay)
    band = bench or cab.desk.band(active, now, quiet_words, cab.sounding.looks_on, now.sound_well)
    note = cab.notes.line(cab.desk.notes(active, now), now.at)
    if not cab.recording and now.phase is Phase.UNKNOWN and now.started_s > STARTING_S:
        note = note or NOT_ON_RECORD
    return Snapshot(
        number=number,
        at=now.at,
        units=cab.units,
        night=cab.night,
        phase=now.phase,
        moving=now.moving and not cab.parked_hold,
        parked_hold=now.speed_mps is None and not cab.parked_hold,
        tool_tap=tool_button(cab.rig, now) is None and now.tool_source.value != "switch",
        looks_off=not cab.sounding.looks_on,
        band=band,
        speed=speed_view(now, active),
        depth=depth_view(now, active, cab.rig, cab.field, cab.plan),
        springs=springs_view(now, active, cab.rig),
        field=field_view(cab.sense, cab.field, cab.plan, note),
        tool_button=tool_button(cab.rig, now),
        peg_next=cab.field.peg_next,
        card=cab.cards.view(),
        utc=cab.utc_text(now.at),
        shift=cab.shift,
        place=_place(cab),
        along_deg=cab.sense.along.bearing_deg,
        recording=cab.recording,
    )


def _place(cab: Cab) -> tuple[float, float] | None:
    fix = cab.sense.last_fix
    if fix is None or fix.lat_deg is None or fix.lon_deg is None:
        return None
    return fix.lat_deg, fix.lon_deg

"""What Drive shows when its engine says nothing: the silence, and no number."""

from dataclasses import replace

from cabapp.outcome import (
    BandView,
    DepthView,
    FieldView,
    Snapshot,
    SpeedView,
    SpringsView,
    TileState,
)
from cabapp.units import UnitSystem
from cabapp.words import Level, Phase


def starting() -> Snapshot:
    """A snapshot before the engine has said anything: every tile starts."""
    state = TileState.STARTING
    band = BandView(None, "STARTING", "Waiting for the reader", "", mark=state)
    return _nothing_known(None, band, state)


def silent_after(last: Snapshot | None) -> Snapshot:
    """A snapshot in which nothing is known, in the look and units of the last one.

    It counts as moving, so that no other page opens on what nobody knows.
    """
    band = BandView(
        level=Level.NO_READING,
        headline="NO DATA",
        action="The tablet starts its reader again",
        short="Starts again",
        onset=(last.band.onset + 1) if last else 1,
    )
    return _nothing_known(last, band, TileState.NO_READING)


def _nothing_known(last: Snapshot | None, band: BandView, state: TileState) -> Snapshot:
    shanks = tuple(replace(shank, share=None) for shank in last.springs.shanks) if last else ()
    return Snapshot(
        number=last.number if last else 0,
        at=last.at if last else 0.0,
        units=last.units if last else UnitSystem.US,
        night=last.night if last else False,
        phase=Phase.UNKNOWN,
        moving=True,
        parked_hold=False,
        tool_tap=False,
        looks_off=False,
        band=band,
        speed=SpeedView(state),
        depth=DepthView(state),
        springs=SpringsView(state, shanks),
        field=FieldView(0.0),
        peg_next=last.peg_next if last else 1,
    )

"""A shift judged again against another band: from its track at once, or from its capture in full.

From the track, speed and depth are held against the new band second by second; what was unknown,
raised on purpose or not judged stays so. That leaves out the delays of alerts and anything that
the second's mean hides: the capture has it all, and ``in_full`` plays it through the judging.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from cabapp.cab import Cab
from cabapp.cab.later import later
from cabapp.events import Event, PlanChanged, Tap, TapKind
from cabapp.plan import Plan, faults_of
from cabapp.record.capture import Capture, CaptureError
from cabapp.record.folder import captures_of
from cabapp.record.makerun import RunMaker
from cabapp.record.reader import RunFileError
from cabapp.record.runfile import RunFacts
from cabapp.review.joined import files_of, opened
from cabapp.review.shift import CODE, CODES, Codes, Floats, Shift
from cabapp.review.sums import ALL, THINGS, Share

MEAN_ROWS = 3  # speed is judged on a mean of three seconds
_TARGETS = (TapKind.SPEED_TARGET, TapKind.DEPTH_TARGET)


@dataclass(frozen=True)
class Bands:
    """The band to judge against; None leaves a thing as it was judged. m/s and metres."""

    speed_mps: tuple[float, float] | None = None
    depth_m: tuple[float, float] | None = None

    def on(self, plan: Plan) -> Plan:
        """A plan with these bands in it. ValueError says what is wrong with them."""
        if self.speed_mps is not None:
            low, high = self.speed_mps
            plan = replace(plan, speed_low_mps=low, speed_high_mps=high)
        if self.depth_m is not None:
            low, high = self.depth_m
            plan = replace(
                plan, depth_low_m=low, depth_high_m=high, depth_target_m=(low + high) / 2
            )
        faults = faults_of(plan)
        if faults:
            raise ValueError("; ".join(faults))
        return plan


def judged_again(shift: Shift, bands: Bands) -> Shift:
    """The shift with speed and depth held against other bands. ValueError for bands at fault."""
    page = replace(shift.page, plan=bands.on(shift.page.plan))
    track = shift.track
    codes, numbers = dict(track.codes), dict(track.numbers)
    if bands.speed_mps is not None:
        low, high = bands.speed_mps
        mean = _trailing_mean(numbers["speed_mps"])
        codes["speed"] = _again(codes["speed"], mean, low, high, hard_stays=True)
        numbers |= _bands(len(track), "speed", "mps", low, high)
    if bands.depth_m is not None:
        low, high = bands.depth_m
        codes["depth"] = _again(codes["depth"], numbers["depth_m"], low, high, hard_stays=False)
        codes["depth"] = _above_layer(shift, codes["depth"])
        numbers |= _bands(len(track), "depth", "m", low, high)
    codes[ALL] = _worst([codes[thing] for thing in THINGS if thing != ALL])
    judged = replace(track, codes=codes, numbers=numbers)
    shares = {thing: _share(shift, codes[thing]) for thing in THINGS}
    brief = replace(shift.brief, page=page, sums=replace(shift.sums, shares=shares))
    return replace(shift, brief=brief, track=judged)


def in_full(run: Path, bands: Bands, out: Path) -> Path:
    """Play the run's capture through the judging against other bands, into a new run file.

    What a person did to the bands on the day is left out; everything else is as it was. A shift
    that was interrupted has a capture for each start, played one after the other.
    RunFileError where there is no capture; CaptureError for one at fault.
    """
    with opened(run) as found:
        files, shift = files_of(found).paths, found.page.shift
    captures = [Capture(path) for file in files for path in captures_of(file)]
    if not captures:
        raise RunFileError(f"{run}: no capture beside it; judge it from its track")
    plans = [_plan_of(capture, bands) for capture in captures]
    head = captures[0].head
    with RunMaker(out, RunFacts(head.rig, plans[0], head.rig_text, shift), again=True) as maker:
        for capture, plan in zip(captures, plans, strict=True):
            cab = Cab(capture.head.rig, plan, snapshots=False)
            for event in _without_targets(capture.events(), bands):
                maker.put(later(cab.step(event), capture.head.offset_s))
        if not maker.heard:
            lacks = "no place and no reading of a sensor in its capture"
            raise RunFileError(f"{run}: {lacks}; judge it from its track")
        return maker.end()


def _plan_of(capture: Capture, bands: Bands) -> Plan:
    try:
        return bands.on(capture.head.plan)
    except ValueError as error:
        raise CaptureError(f"{capture.path}: {error}") from None


def _without_targets(events: Iterator[Event], bands: Bands) -> Iterator[Event]:
    for event in events:
        if isinstance(event, Tap) and event.kind in _TARGETS:
            continue
        if isinstance(event, PlanChanged):
            event = replace(event, plan=bands.on(event.plan))
        yield event


def _again(codes: Codes, values: Floats, low: float, high: float, hard_stays: bool) -> Codes:
    judged = (codes == CODE["in"]) | (codes == CODE["out"]) | (codes == CODE["hard"])
    known = judged & np.isfinite(values)
    new = codes.copy()
    new[known] = np.where((values[known] < low) | (values[known] > high), CODE["out"], CODE["in"])
    if hard_stays:
        new[known & (codes == CODE["hard"]) & (values < low)] = CODE["hard"]
    new[judged & ~np.isfinite(values)] = CODE["unknown"]
    return new


def _above_layer(shift: Shift, codes: Codes) -> Codes:
    """Above the bottom of the layer is out, whatever the band."""
    bottom = shift.page.plan.layer_bottom_m
    if bottom is None:
        return codes
    numbers = shift.track.numbers
    least = np.fmin(np.fmin(numbers["depth_front_m"], numbers["depth_rear_m"]), numbers["depth_m"])
    return np.where((codes == CODE["in"]) & (least < bottom), CODE["out"], codes).astype(np.int8)


def _trailing_mean(values: Floats) -> Floats:
    """Mean of each row and the two before it, of those that are known."""
    padded = np.concatenate([np.full(MEAN_ROWS - 1, np.nan), values])
    windows = np.lib.stride_tricks.sliding_window_view(padded, MEAN_ROWS)
    known = np.isfinite(windows)
    sums, counts = np.where(known, windows, 0.0).sum(axis=1), known.sum(axis=1)
    return np.where(np.isfinite(values), sums / np.maximum(counts, 1), np.nan)


def _worst(found: list[Codes]) -> Codes:
    """The overall state: CODES stand in the order in which one outranks another."""
    worst: Codes = np.maximum.reduce(found)
    return worst


def _bands(rows: int, name: str, unit: str, low: float, high: float) -> dict[str, Floats]:
    return {
        f"{name}_low_{unit}": np.full(rows, low),
        f"{name}_high_{unit}": np.full(rows, high),
    }


def _share(shift: Shift, codes: Codes) -> Share:
    areas = {
        state: float(shift.track.area_m2[codes == code].sum()) for code, state in enumerate(CODES)
    }
    idle = areas.pop("idle")
    areas = {state: area for state, area in areas.items() if area > 0}
    if areas and shift.sums.unseen_m2 > 0:
        areas["unknown"] = areas.get("unknown", 0.0) + shift.sums.unseen_m2
    return Share(areas, idle)

"""What a person does at the screen, one function a kind; every tap is on the record."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import isfinite
from typing import TYPE_CHECKING

from cabapp.events import Tap, TapKind
from cabapp.firing import FIRST, fired
from cabapp.outcome import BandView, Quieting, What
from cabapp.plan import Plan, faults_of
from cabapp.readings import Quality
from cabapp.units import (
    INCH_M,
    KMH_MPS,
    MPH_MPS,
    UnitSystem,
    depth_text,
    shown_unit,
    shown_value,
)
from cabapp.watch.sounding import is_quiet
from cabapp.watch.toolpos import Source
from cabapp.words import PEGS, REFUSED, Level, Phase, Rule, say

if TYPE_CHECKING:
    from cabapp.cab.core import Cab

SPEED_STEP = {UnitSystem.US: 0.5 * MPH_MPS, UnitSystem.METRIC: 1.0 * KMH_MPS}
DEPTH_STEP = {UnitSystem.US: 0.5 * INCH_M, UnitSystem.METRIC: 0.01}
SPEED_LEAST_MPS, SPEED_MOST_MPS = 0.5, 25.0 * KMH_MPS
DEPTH_LEAST_M, DEPTH_MOST_M = 0.05, 0.80
ASK_AGAIN_M = 1.0 * INCH_M
DUG_MOST_M = 1.2


def take_tap(cab: Cab, tap: Tap) -> None:
    """Do what a tap asks, and record it; one that makes no sense now is recorded as refused."""
    if isinstance(tap.value, float) and not isfinite(tap.value):
        tap = replace(tap, value=None)
    done = _TAPS[tap.kind](cab, tap)
    if not done and tap.kind.value in REFUSED:
        cab.notes.passing(REFUSED[tap.kind.value], tap.now)
    detail = tap.kind.value if done else f"{tap.kind.value} refused"
    cab.note_moment(What.TAP, tap.now, value=tap.value, detail=detail)


def _quiet(cab: Cab, tap: Tap) -> bool:
    if cab.notes.quiet_bench():
        return True
    active = cab.judge.active
    alerts = cab.desk.to_quiet(active, tap.now)
    for alert in alerts:
        already = is_quiet(alert, active, tap.now)
        alert.machine.quiet.tap(tap.now)
        cab.judge.stir(alert)
        if not already:
            said = cab.desk.teller.say(alert, cab.sense.now)
            cab.note_moment(
                What.QUIET, tap.now, alert.level, alert.rule.value, said.headline, said.action
            )
    return bool(alerts)


def _peg(cab: Cab, tap: Tap) -> bool:
    fix = cab.sense.last_fix
    if fix is None or fix.lat_deg is None or fix.lon_deg is None:
        return False
    if fix.position_quality is not Quality.GOOD or tap.now - fix.at > 3.0:
        return False
    place = cab.field.worked.place or (fix.lat_deg, fix.lon_deg)
    peg = cab.field.add_peg(*place)
    cab.cards.pegged(peg.number, tap.now)
    cab.notes.passing(say(Rule.PEG_SAVED, number=peg.number).action, tap.now)
    cab.note_moment(What.PEG, tap.now, value=float(peg.number), detail="other")
    return True


def _peg_kind(cab: Cab, tap: Tap) -> bool:
    number = cab.cards.peg
    if number is None or tap.value not in PEGS:
        return False
    cab.field.name_peg(number, str(tap.value))
    cab.cards.peg_named()
    cab.note_moment(What.PEG, tap.now, value=float(number), detail=str(tap.value))
    return True


def _speed_target(cab: Cab, tap: Tap) -> bool:
    step = _steps(tap) * SPEED_STEP[cab.units]
    plan = cab.plan
    changed = replace(
        plan,
        speed_low_mps=plan.speed_low_mps + step,
        speed_high_mps=plan.speed_high_mps + step,
    )
    inside = changed.speed_low_mps > SPEED_LEAST_MPS and changed.speed_high_mps < SPEED_MOST_MPS
    return step != 0.0 and inside and _put(cab, changed, tap)


def _depth_target(cab: Cab, tap: Tap) -> bool:
    plan, step = cab.plan, _steps(tap) * DEPTH_STEP[cab.units]
    if plan.depth_target_m is None or step == 0.0:
        return False
    target = plan.depth_target_m + step
    if not DEPTH_LEAST_M < target < DEPTH_MOST_M:
        return False
    changed = replace(
        plan,
        depth_target_m=target,
        depth_low_m=None if plan.depth_low_m is None else plan.depth_low_m + step,
        depth_high_m=None if plan.depth_high_m is None else plan.depth_high_m + step,
    )
    done = _put(cab, changed, tap)
    walked = plan.walk_target_m
    if done and walked is not None and abs(target - walked) > ASK_AGAIN_M + 1e-9:
        cab.sense.now.to_adjust = "Target moved: ask again"
    return done


def _put(cab: Cab, plan: Plan, tap: Tap) -> bool:
    if faults_of(plan):
        return False
    cab.put_plan(plan, tap.now, tap.kind.value)
    return True


def _steps(tap: Tap) -> float:
    value = tap.value
    if not isinstance(value, int | float) or not -4 <= value <= 4:
        return 0.0
    return float(value)


def _raised(cab: Cab, tap: Tap) -> bool:
    if cab.sense.now.phase is not Phase.WORKING:
        return False
    cab.sense.raised.begin()
    return True


def _night(cab: Cab, tap: Tap) -> bool:
    cab.night = not cab.night if tap.value is None else tap.value in ("on", "night", 1)
    return True


def _tool(cab: Cab, tap: Tap) -> bool:
    if tap.value not in ("up", "down") or cab.sense.tool.source is Source.SWITCH:
        return False
    cab.sense.tool.tapped(tap.value == "down")
    return True


def _parked(cab: Cab, tap: Tap) -> bool:
    if cab.sense.now.speed_mps is not None:
        return False  # a known speed says by itself whether it stands
    cab.run.switch_moved(cab.sense.now.tool_down)
    cab.parked_hold = True
    return True


def _driver(cab: Cab, tap: Tap) -> bool:
    name = str(tap.value or "").strip()[:40]
    if not name:
        return cab.cards.ask_who(tap.now)
    before = cab.plan.driver
    cab.cards.named(cab.cards.drivers, name)
    if before and before != name:
        cab.cards.hand_over(hand_over_lines(cab, before))
    cab.put_plan(replace(cab.plan, driver=name), tap.now, "driver")
    return True


def _field(cab: Cab, tap: Tap) -> bool:
    name = str(tap.value or "").strip()[:40]
    if not name:
        return cab.cards.ask_who(tap.now)
    cab.cards.named(cab.cards.fields, name)
    moved_on = bool(cab.plan.field) and cab.plan.field != name
    plan = replace(cab.plan, field=name)
    if moved_on:  # outline, rows and area belong to the field that was left
        plan = replace(plan, area_m2=None, row_bearing_deg=None, outline=())
    cab.put_plan(plan, tap.now, "field")
    return True


def _rain(cab: Cab, tap: Tap) -> bool:
    cab.field.digging.again()
    return True


def _units(cab: Cab, tap: Tap) -> bool:
    if tap.value not in ("us", "metric"):
        return False
    cab.units = UnitSystem(tap.value)
    cab.desk.teller.units = cab.units
    return True


def _look_sounds(cab: Cab, tap: Tap) -> bool:
    if tap.value not in ("on", "off") or not is_parked(cab):
        return False
    cab.sounding.looks_on = tap.value == "on"
    cab.sense.now.looks_off = not cab.sounding.looks_on
    return True


def _stop_reason(cab: Cab, tap: Tap) -> bool:
    cab.cards.stop_reason(str(tap.value or ""))
    return True


def _end_shift(cab: Cab, tap: Tap) -> bool:
    if not is_parked(cab):
        return False
    cab.close(tap.now)
    return True


def _set_aside(cab: Cab, tap: Tap) -> bool:
    channel = str(tap.value or "")
    sensor = cab.rig.sensor(channel)
    if sensor is None or not is_parked(cab):
        return False
    cab.sense.set_aside.add(channel)
    cab.sense.now.set_aside = tuple(sorted(cab.sense.set_aside))
    cab.sense.families()
    for change, alert in cab.judge.set_aside(channel, sensor.shank, cab.sense.now):
        cab.changed(change, alert)
    return True


def _take_back(cab: Cab, tap: Tap) -> bool:
    channel = str(tap.value or "")
    if channel not in cab.sense.set_aside:
        return False
    cab.sense.set_aside.discard(channel)
    cab.sense.now.set_aside = tuple(sorted(cab.sense.set_aside))
    return True


def _dug(cab: Cab, tap: Tap) -> bool:
    value = tap.value
    if isinstance(value, str) or value is None or not 0.0 < float(value) < DUG_MOST_M:
        return False
    cab.field.take_dug(float(value), tap.now)
    cab.field.trends.reset()
    cab.sense.now.to_adjust = ""
    cab.note_moment(What.CHECK, tap.now, value=float(value), detail="dug")
    return True


def _note(cab: Cab, tap: Tap) -> bool:
    text = str(tap.value or "").strip()[:500]
    if text:
        cab.note_moment(What.NOTE, tap.now, value=text)
    return bool(text)


def _dismiss(cab: Cab, tap: Tap) -> bool:
    cab.cards.dismiss(str(tap.value or ""))
    return True


def _fire(cab: Cab, tap: Tap) -> bool:
    """Show and sound an alert on the bench, parked: any of them, whatever is fitted.

    "louder" after the rule's value: as an ACT sounds that nobody has answered.
    """
    name, _, louder = str(tap.value).partition(" ")
    rule = next((rule for rule in FIRST if rule.value == name), None)
    if rule is None or not is_parked(cab):
        return False
    said = fired(rule)
    view = BandView(
        said.level,
        said.headline,
        said.action,
        said.short,
        said.arrow,
        rule=rule.value,
        onset=cab.desk.bench_onset(),
        quieting=Quieting.CAN_QUIET,
    )
    cab.notes.fire(view, tap.now)
    if said.level is not Level.NOTE:
        cab.sound(cab.sounding.bench(said.level, rule, tap.now, louder == "louder"))
    return True


def is_parked(cab: Cab) -> bool:
    """Standing by the receiver, or held to be parked while no speed is known."""
    return cab.parked_hold or cab.sense.now.phase is Phase.STANDING


def hand_over_lines(cab: Cab, before: str) -> tuple[str, ...]:
    """What the next driver has to know: the band, what is out of use, what is open."""
    plan, units = cab.plan, cab.units
    low = shown_value(plan.speed_low_mps, "speed", units)
    high = shown_value(plan.speed_high_mps, "speed", units)
    lines = [f"{before} drove until now", f"Speed {low:g} to {high:g} {shown_unit('speed', units)}"]
    if plan.depth_target_m is not None:
        lines.append(f"Depth {depth_text(plan.depth_target_m, units)}")
    lines += [f"Out of use: {channel}" for channel in cab.sense.now.set_aside]
    lines += [f"Open: {alert.rule.value.replace('_', ' ')}" for alert in cab.judge.active[:3]]
    if cab.sense.now.looks_off:
        lines.append("Look sounds are off")
    return tuple(lines)


_TAPS: dict[TapKind, Callable[[Cab, Tap], bool]] = {
    TapKind.QUIET: _quiet,
    TapKind.PEG: _peg,
    TapKind.PEG_KIND: _peg_kind,
    TapKind.SPEED_TARGET: _speed_target,
    TapKind.DEPTH_TARGET: _depth_target,
    TapKind.RAISED: _raised,
    TapKind.NIGHT: _night,
    TapKind.TOOL: _tool,
    TapKind.PARKED: _parked,
    TapKind.DRIVER: _driver,
    TapKind.FIELD: _field,
    TapKind.RAIN: _rain,
    TapKind.UNITS: _units,
    TapKind.LOOK_SOUNDS: _look_sounds,
    TapKind.STOP_REASON: _stop_reason,
    TapKind.END_SHIFT: _end_shift,
    TapKind.SET_ASIDE: _set_aside,
    TapKind.TAKE_BACK: _take_back,
    TapKind.DUG: _dug,
    TapKind.NOTE: _note,
    TapKind.DISMISS: _dismiss,
    TapKind.FIRE: _fire,
}

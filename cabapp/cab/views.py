"""The tiles of Drive as plain values: which state, which figure, which word."""

from dataclasses import replace
from datetime import timedelta

from cabapp.cab.field import FieldWork
from cabapp.cab.sense import STARTING_S, Sense
from cabapp.outcome import (
    DepthView,
    FieldView,
    ShankState,
    ShankView,
    SpeedView,
    SpringsView,
    TileState,
    ToolButton,
)
from cabapp.plan import Plan
from cabapp.readings import Quality
from cabapp.rig import Rig
from cabapp.watch.judge import Alert
from cabapp.watch.now import Now, ShankNow
from cabapp.watch.reminders import Digging
from cabapp.watch.springs import TRIP_SHARE
from cabapp.watch.toolpos import Source
from cabapp.words import Phase, Rule

ACT_DOWN = frozenset({Rule.BACKING, Rule.TURNING_HARD, Rule.DIGGING_IN})
_LEVEL_WORDS = {
    "rear_low": "REAR LOW",
    "rear_high": "REAR HIGH",
    "left_low": "LEFT LOW",
    "right_low": "RIGHT LOW",
}
_LIFTED = (Phase.LIFTED, Phase.ROAD)
_FREE_WORDS = {Phase.BACKING: "BACKING"}


def _is_lifted(now: Now) -> bool:
    return now.phase in _LIFTED or (now.phase is Phase.TURNING and now.tool_down is not True)


def _judged_state(value: float, low: float | None, high: float | None) -> TileState:
    if high is not None and value > high:
        return TileState.ABOVE
    if low is not None and value < low:
        return TileState.BELOW
    return TileState.IN_BAND


def speed_view(now: Now, active: list[Alert]) -> SpeedView:
    """Speed over ground: the mark at once, plate and frame with the alert."""
    value = now.mean_mps
    low, high = now.speed_low_mps, now.speed_high_mps  # told always: the menu sets them
    if value is None:
        starting = now.started_s < STARTING_S and now.speed_quality is Quality.STARTING
        if starting:
            return SpeedView(TileState.STARTING, None, low, high)
        lost_s = now.speed_lost_s
        return SpeedView(TileState.NO_READING, None, low, high, framed=True, lost_s=lost_s)
    if _is_lifted(now):
        return SpeedView(TileState.LIFTED, value, low, high, "LIFTED")
    if now.phase is not Phase.WORKING:
        return SpeedView(TileState.FREE, value, low, high, _FREE_WORDS.get(now.phase, ""))
    state = _judged_state(value, low, high)
    word = {Rule.TOO_FAST: "FAST", Rule.HARD_HERE: "HARD"}
    said = next((word[a.rule] for a in active if a.rule in word), "")
    return SpeedView(state, value, low, high, said, bool(said))


def depth_view(now: Now, active: list[Alert], rig: Rig, field: FieldWork, plan: Plan) -> DepthView:
    """Depth as a cut through the ground; by hand, with its age, where no sensor is fitted."""
    bare = DepthView(
        TileState.NOT_LIVE,
        target_m=now.target_m,
        low_m=now.depth_low_m,
        high_m=now.depth_high_m,
        layer_top_m=plan.layer_top_m,
        layer_bottom_m=plan.layer_bottom_m,
    )
    sensors = [sensor.channel for sensor in rig.fitted("depth")]
    if not sensors:
        return replace(bare, dug=field.dug_view(now.at))
    if now.depth_m is None:
        return _depth_lost(now, sensors, bare)
    live = replace(
        bare,
        value_m=now.depth_m,
        front_m=now.front_m,
        rear_m=now.rear_m,
        side=_side(now, rig),
    )
    if {alert.rule for alert in active} & ACT_DOWN:
        return replace(live, state=TileState.ACT, word="IN SOIL", framed=True)
    if _is_lifted(now):
        return replace(live, state=TileState.LIFTED, word="LIFTED", value_m=None)
    if any(alert.rule is Rule.TURNING for alert in active):
        return replace(live, state=TileState.FREE, word="IN SOIL", framed=True)
    if now.phase is not Phase.WORKING:
        return replace(live, state=TileState.FREE)
    shallow = any(alert.fact == "shallow" for alert in active)
    word = "SHALLOW" if shallow else "DEEP" if _deep(active) else _level_word(active)
    return replace(live, state=_depth_state(now), word=word, framed=bool(word))


def _level_word(active: list[Alert]) -> str:
    variants = (alert.variant for alert in active if alert.rule is Rule.LEVEL)
    return next((_LEVEL_WORDS[variant] for variant in variants), "")


def _deep(active: list[Alert]) -> bool:
    return any(a.fact == "deep" and a.rule is not Rule.TOO_DEEP_SLIGHTLY for a in active)


def _depth_state(now: Now) -> TileState:
    assert now.depth_m is not None
    if now.raised or not now.armed:
        return TileState.FREE
    layer = now.layer_bottom_m
    ends = [end for end in (now.front_m, now.rear_m, now.depth_m) if end is not None]
    if layer is not None and min(ends) < layer:
        return TileState.ABOVE
    if now.depth_low_m is not None and now.depth_m < now.depth_low_m:
        return TileState.ABOVE  # a shallow tool stands above its bracket in the cut
    if now.depth_high_m is not None and now.depth_m > now.depth_high_m:
        return TileState.BELOW
    return TileState.FREE if now.target_m is None else TileState.IN_BAND


def _depth_lost(now: Now, sensors: list[str], bare: DepthView) -> DepthView:
    if all(channel in now.set_aside for channel in sensors):
        return replace(bare, state=TileState.OUT_OF_USE)
    if not any(channel in now.unread or channel in now.frozen for channel in sensors):
        return replace(bare, state=TileState.STARTING)
    lost_s = max(now.unread.get(channel, 0.0) for channel in sensors)
    return replace(bare, state=TileState.NO_READING, framed=True, lost_s=lost_s)


def _side(now: Now, rig: Rig) -> float | None:
    if now.side_m is None:
        return None
    return max(-1.0, min(1.0, now.side_m / (2.8 * rig.limits.level_live_m)))


def springs_view(now: Now, active: list[Alert], rig: Rig) -> SpringsView:
    """The tool from above with what stands out."""
    fitted = [shank for shank in now.shanks if shank.fitted]
    lifted = _is_lifted(now)
    odd = _odd_shanks(active, now)
    worst = max(
        (shank for shank in fitted if shank.share is not None),
        key=lambda shank: shank.share or 0.0,
        default=None,
    )
    views = tuple(
        ShankView(
            shank.number,
            place.across_m,
            place.back_m,
            None if lifted else shank.share,
            odd.get(index) or _shank_state(shank, lifted, shank is worst),
        )
        for index, (shank, place) in enumerate(zip(now.shanks, rig.tool.shanks, strict=True))
    )
    if not fitted:
        return SpringsView(TileState.NOT_LIVE, views)
    if worst is None:
        return _springs_lost(now, fitted, views)
    state, number, word = _springs_word(now, active, odd, lifted)
    if number is not None:
        share = next((s.share for s in now.shanks if s.number == number), worst.share)
    else:
        share = worst.share
    return SpringsView(
        state, views, None if lifted and not word else share, number, word, bool(word)
    )


def _odd_shanks(active: list[Alert], now: Now) -> dict[int, ShankState]:
    states = {
        Rule.SHANK_UP: ShankState.STAYED_UP,
        Rule.NOT_PULLING: ShankState.NOT_PULLING,
        Rule.EASE_OFF: ShankState.HIGH,
        Rule.TRIPPING: ShankState.HIGH,
    }
    odd: dict[int, ShankState] = {}
    for alert in active:
        if alert.rule in states and alert.shank is not None:
            odd.setdefault(alert.shank, states[alert.rule])
    if any(alert.rule is Rule.HOOKED for alert in active):
        for index, shank in enumerate(now.shanks):
            if shank.share is not None and shank.share >= TRIP_SHARE:
                odd.setdefault(index, ShankState.HELD)
    return odd


def _shank_state(shank: ShankNow, lifted: bool, worst: bool) -> ShankState:
    if not shank.fitted or (lifted and shank.share is not None):
        return ShankState.BARE
    if shank.share is None:
        return ShankState.NO_READING
    if shank.share >= TRIP_SHARE:
        return ShankState.HIGH
    return ShankState.WORST if worst else ShankState.NORMAL


def _springs_word(
    now: Now, active: list[Alert], odd: dict[int, ShankState], lifted: bool
) -> tuple[TileState, int | None, str]:
    """State, the shank the word is about, and the word."""
    if any(alert.rule is Rule.HOOKED for alert in active):
        return TileState.ACT, None, "HOOK"
    words = {
        ShankState.STAYED_UP: (TileState.ACT, "UP"),
        ShankState.NOT_PULLING: (TileState.BELOW, "SLACK"),
        ShankState.HIGH: (TileState.ABOVE, "LOAD"),
    }
    for kind, (state, word) in words.items():
        for index, found in odd.items():
            if found is kind:
                trips = any(a.rule is Rule.TRIPPING and a.shank == index for a in active)
                said = "TRIPS" if trips and kind is ShankState.HIGH else word
                return state, now.shanks[index].number, said
    if any(alert.rule is Rule.EASE_OFF for alert in active):
        return TileState.ABOVE, None, "LOAD"
    if lifted:
        return TileState.LIFTED, None, ""
    if now.phase is not Phase.WORKING:
        return TileState.FREE, None, ""
    over = now.over_high > 0
    return (TileState.ABOVE if over else TileState.IN_BAND), None, ""


def _springs_lost(now: Now, fitted: list[ShankNow], views: tuple[ShankView, ...]) -> SpringsView:
    if all(shank.quality is Quality.SET_ASIDE for shank in fitted):
        return SpringsView(TileState.OUT_OF_USE, views)
    if all(shank.quality is Quality.STARTING for shank in fitted):
        return SpringsView(TileState.STARTING, views)
    lost = [now.unread.get(name, 0.0) for name in now.unread if name.startswith("spring")]
    return SpringsView(TileState.NO_READING, views, framed=True, lost_s=max(lost, default=0.0))


def tool_button(rig: Rig, now: Now) -> ToolButton | None:
    """The big button where no sensor tells whether the tool is down."""
    if rig.sensors and now.tool_source in (Source.SWITCH, Source.SENSORS):
        return None
    if rig.fitted("spring"):
        return None  # the springs tile keeps its place; Menu has the tap
    return ToolButton(None if now.phase is Phase.UNKNOWN else now.tool_down)


def field_view(sense: Sense, field: FieldWork, plan: Plan, note: str) -> FieldView:
    """Area, rate, what is left and when it is done, clock, row angle, dig.

    Without a speed nothing is counted, so no rate and no finish are shown as if it were.
    """
    now, left = sense.now, field.left_m2
    rate = None if now.mean_mps is None else field.rate.m2_s
    digging: Digging = field.digging
    first = now.first_passes and now.phase is Phase.WORKING
    angle = now.row_angle_deg if first else None
    return FieldView(
        field.area_m2,
        rate,
        left,
        _local(sense, left / rate) if left is not None and rate else "",
        _local(sense, 0.0),
        angle,
        digging.left_m2(sense.rig.tool.width_m),
        digging.left_s,
        digging.due,
        note,
    )


def _local(sense: Sense, ahead_s: float) -> str:
    """Local clock time ``ahead_s`` from now, "" while no time is known."""
    utc = sense.utc(sense.now.at)
    if utc is None or ahead_s > 48 * 3600.0:
        return ""
    local = utc + timedelta(seconds=ahead_s, minutes=sense.rig.locale.utc_offset_min)
    return f"{local.hour:02d}:{local.minute:02d}"

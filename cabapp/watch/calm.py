"""What the band says when no alert does: the phase, and in work how much of it is known."""

from collections.abc import Sequence

from cabapp.outcome import TileState
from cabapp.rig import Rig
from cabapp.watch.desk import Calm
from cabapp.watch.now import Now
from cabapp.words import CalmHeadline, Phase, next_step

STARTING_S = 10.0

_BY_PHASE: dict[Phase, Calm] = {
    Phase.STANDING: Calm(
        CalmHeadline.STANDING.value,
        "Menu opens Set up and Shifts",
        "Menu opens Set up",
        TileState.FREE,
    ),
    Phase.LIFTED: Calm(
        CalmHeadline.LIFTED.value, "Work is not judged", "Work is not judged", TileState.LIFTED
    ),
    Phase.TURNING: Calm(
        CalmHeadline.TURNING.value, "Work is not judged", "Work is not judged", TileState.LIFTED
    ),
    Phase.BACKING: Calm(
        CalmHeadline.BACKING.value, "Work is not judged", "Work is not judged", TileState.FREE
    ),
    Phase.ROAD: Calm(
        CalmHeadline.ON_THE_ROAD.value, "Nothing is judged", "Nothing is judged", TileState.LIFTED
    ),
}


def required(rig: Rig, now: Now) -> tuple[str, ...]:
    """The channels that some rule in force needs on this rig: speed, and every fitted sensor."""
    judged = {"depth", "spring", "tool_down", "wheel_speed", "reverse"}
    if now.target_m is None and now.layer_bottom_m is None:
        judged.discard("depth")
    found = ["speed"]
    for sensor in rig.sensors:
        if sensor.channel.rstrip("0123456789") in judged:
            found.append(sensor.channel)
    return tuple(found)


def calm(rig: Rig, now: Now, set_today: bool, anything_out: bool) -> Calm:
    """Headline and line below it; ALL IN BAND only when every required channel is read."""
    if now.phase in _BY_PHASE:
        return _BY_PHASE[now.phase]
    if now.phase is Phase.UNKNOWN:
        return _unknown(now)
    unread = [name for name in required(rig, now) if _is_unread(name, now)]
    aside = [name for name in required(rig, now) if name in now.set_aside]
    if not now.armed:
        return _working("Setting in", TileState.FREE)
    if anything_out:
        return _working("Not all in band", TileState.FREE)
    if unread:
        return _working("Not all reading", TileState.FREE)
    if now.raised:
        return _working("Raised: depth rests", TileState.FREE)
    if aside:
        what = _things(aside)
        return Calm(
            CalmHeadline.PART_KNOWN.value,
            f"{what} out of use, rest in band",
            f"{what} out of use",
            TileState.NOT_LIVE,
        )
    if not rig.fitted("depth"):
        return Calm(
            CalmHeadline.SPEED_ONLY.value,
            "Depth not measured, speed in band",
            "Depth not measured",
            TileState.NOT_LIVE,
        )
    if not set_today:
        return Calm(
            CalmHeadline.NOT_SET_TODAY.value,
            "Judged by the rig's usual band",
            "By the rig's usual band",
            TileState.NOT_LIVE,
        )
    count = f"all {len(required(rig, now))} reading"
    return Calm(CalmHeadline.ALL_IN_BAND.value, count, count, TileState.IN_BAND)


def _unknown(now: Now) -> Calm:
    if now.started_s < STARTING_S and now.speed_mps is None:
        left = f"{max(1.0, STARTING_S - now.started_s):.0f} s"
        return Calm(
            CalmHeadline.STARTING.value,
            f"Waiting for sensors, {left}",
            f"Sensors, {left}",
            TileState.STARTING,
        )
    step = next_step(now.speed_cause) if now.speed_mps is None else "Drive on to see which way"
    return Calm(CalmHeadline.WAITING.value, step, step, TileState.FREE)


def _working(action: str, mark: TileState) -> Calm:
    return Calm(CalmHeadline.WORKING.value, action, action, mark)


def _is_unread(channel: str, now: Now) -> bool:
    if channel == "speed":
        return now.mean_mps is None
    return channel in now.unread or channel in now.frozen


def _things(channels: Sequence[str]) -> str:
    """What is out of use, in words: the one thing, or the first of them and how many more."""
    names = [_thing(channel) for channel in channels]
    springs = "springs" if names.count("spring") > 1 else "spring"
    first, *more = dict.fromkeys(springs if name == "spring" else name for name in names)
    if not more:
        return first.capitalize()
    return f"{first} and {more[0] if len(more) == 1 else f'{len(more)} more'}".capitalize()


def _thing(channel: str) -> str:
    if channel.startswith("spring"):
        return "spring"
    return {"tool_down": "switch", "wheel_speed": "slip"}.get(channel, channel.rstrip("0123456789"))

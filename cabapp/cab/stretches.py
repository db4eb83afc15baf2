"""For the record: of each judged thing, whether it is in, out, unknown, raised, hard or idle."""

from cabapp.rig import Rig
from cabapp.watch.judge import Judge
from cabapp.watch.now import Now
from cabapp.words import Phase, Rule


def stretches(now: Now, judge: Judge, rig: Rig) -> dict[str, str]:
    """The state of speed, depth and springs at this tick; idle where nothing is judged."""
    relied = now.phase is Phase.UNKNOWN and now.last_known is Phase.WORKING
    if relied:
        return {
            "speed": "unknown",
            "depth": "unknown" if rig.fitted("depth") else "idle",
            "springs": "unknown" if rig.fitted("spring") else "idle",
        }
    if now.phase is not Phase.WORKING or not now.armed:
        return {"speed": "idle", "depth": "idle", "springs": "idle"}
    hard = any(alert.rule is Rule.HARD_HERE for alert in judge.active)
    return {
        "speed": _speed(now, hard),
        "depth": _depth(now) if rig.fitted("depth") else "idle",
        "springs": _springs(now) if rig.fitted("spring") else "idle",
    }


def _speed(now: Now, hard: bool) -> str:
    if now.mean_mps is None:
        return "unknown"
    if now.mean_mps > now.speed_high_mps:
        return "out"
    if now.mean_mps < now.speed_low_mps:
        return "hard" if hard else "out"
    return "in"


def _depth(now: Now) -> str:
    if now.depth_m is None:
        return "unknown"
    if now.raised:
        return "raised"
    ends = [end for end in (now.front_m, now.rear_m, now.depth_m) if end is not None]
    above = now.layer_bottom_m is not None and min(ends) < now.layer_bottom_m
    shallow = now.depth_low_m is not None and now.depth_m < now.depth_low_m
    deep = now.depth_high_m is not None and now.depth_m > now.depth_high_m
    return "out" if above or shallow or deep else "in"


def _springs(now: Now) -> str:
    if not now.all_springs:
        return "unknown"
    return "out" if now.over_high else "in"

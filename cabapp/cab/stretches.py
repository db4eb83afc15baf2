"""For the record: of each judged thing, whether it is in, out, unknown, raised, hard or idle.

An alert may begin sooner on a pass that was in band at once, and later on one that never was: so
it is armed. A share of ground is no alert. It is fair only if every pass is judged from the same
place on, whatever its speed and depth, and up to the same place.
"""

from cabapp.rig import Rig
from cabapp.watch.judge import Judge
from cabapp.watch.motion import HELD_S, RATE_SPAN_S
from cabapp.watch.now import Now
from cabapp.watch.phase import ARMED_STRAIGHT_M
from cabapp.watch.rules import When
from cabapp.watch.toolpos import Source
from cabapp.words import Level, Phase, Rule

# A straight or a turn counts once it has held, on a rate of turn that is taken over a span itself:
# so long after the tool went in or came out the phase follows, where nothing else tells of it.
INFERRED_S = HELD_S + RATE_SPAN_S
JUDGED_FROM_M = ARMED_STRAIGHT_M  # of the stretch, straight or not
_TOLD = (Source.SWITCH, Source.SENSORS)
_OF_WORK = (When.WORK, When.WORK_DEPTH, When.WORK_SETTLED, When.WORK_SET_IN)


def stretches(now: Now, judge: Judge, rig: Rig) -> dict[str, str]:
    """The state of speed, depth, level and springs at this tick; idle where nothing is judged."""
    relied = now.phase is Phase.UNKNOWN and now.last_known is Phase.WORKING
    if relied:
        return {
            "speed": "unknown",
            "depth": "unknown" if rig.fitted("depth") else "idle",
            "level": "unknown" if _levels(rig) else "idle",
            "springs": "unknown" if rig.fitted("spring") else "idle",
        }
    if not _is_judged(now, judge):
        return {"speed": "idle", "depth": "idle", "level": "idle", "springs": "idle"}
    hard = any(alert.rule is Rule.HARD_HERE for alert in judge.active)
    return {
        "speed": _speed(now, hard),
        "depth": _depth(now) if rig.fitted("depth") else "idle",
        "level": _level(now, rig.limits.level_live_m) if _levels(rig) else "idle",
        "springs": _springs(now) if rig.fitted("spring") else "idle",
    }


def _is_judged(now: Now, judge: Judge) -> bool:
    """From a fixed length of the stretch on, and sooner only where an alert speaks of it.

    Where nothing tells the tool's position, a turn that begins has lifted it: what its speed is
    says nothing of the work, though the turn is not a turn until it has held for two seconds.
    """
    if now.phase is not Phase.WORKING:
        return False
    if now.turn_beginning and now.tool_source not in _TOLD:
        return False
    if now.stretch_m >= JUDGED_FROM_M:
        return True
    return any(
        alert.row.when in _OF_WORK and alert.level is not Level.NOTE for alert in judge.active
    )


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


def _levels(rig: Rig) -> bool:
    """Whether depth is read at two places along the tool, or two across it."""
    fitted = rig.fitted("depth")
    return len({s.back_m for s in fitted}) > 1 or len({s.across_m for s in fitted}) > 1


def _level(now: Now, limit_m: float) -> str:
    """Idle until there are 150 m to take the mean of."""
    if now.depth_m is None:
        return "unknown"
    if now.raised:
        return "raised"
    means = [mean for mean in (now.level_150_m, now.side_150_m) if mean is not None]
    if not means:
        return "idle"
    return "out" if any(abs(mean) > limit_m for mean in means) else "in"


def _springs(now: Now) -> str:
    if not now.all_springs:
        return "unknown"
    return "out" if now.over_high else "in"

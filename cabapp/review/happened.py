"""What happened on the way, in words: a stretch that was out, a change, a time not recorded."""

from cabapp.review.digits import NONE, fine_depth_text, speed_text
from cabapp.review.lapses import Lapse
from cabapp.review.phrases import STATE_WORDS, WORDS
from cabapp.review.shift import Shift, local
from cabapp.review.told import Changed
from cabapp.review.worst import Stretch
from cabapp.units import UnitSystem, shown_unit, shown_value


def clock_text(utc: str | None, shift: Shift) -> str:
    """Local clock time of a moment, ``06:40``."""
    when = local(utc or "", shift.page)
    return when.strftime("%H:%M") if when else NONE


def lapse_text(lapse: Lapse, shift: Shift) -> str:
    """``09:12 to 10:02: the tablet was off``; without times where no date was known."""
    if not lapse.from_utc:
        return lapse.why.capitalize()
    start, end = clock_text(lapse.from_utc, shift), clock_text(lapse.to_utc, shift)
    return f"{start} to {end}: {lapse.why}"


def stretch_text(stretch: Stretch, units: UnitSystem) -> str:
    """What was out on one of the worst stretches: ``depth 11 3/4 in, band 13 to 15 in``."""
    times = f", {stretch.passes} passes" if stretch.passes > 1 else ""
    return _stretch_words(stretch, units) + times


def _stretch_words(stretch: Stretch, units: UnitSystem) -> str:
    name = WORDS[stretch.thing].lower()
    state = STATE_WORDS[stretch.state]
    if stretch.state == "unknown":
        return f"{name} not read"
    value = _value_text(stretch, stretch.value, units)
    if stretch.thing in ("speed", "depth") and stretch.low is not None and stretch.high is not None:
        low = _value_text(stretch, stretch.low, units).rpartition(" ")[0]
        return f"{name} {value}, band {low} to {_value_text(stretch, stretch.high, units)}" + (
            f", {state}" if stretch.state in ("hard", "raised") else ""
        )
    if stretch.thing == "springs":
        return f"springs over the limit, worst {value}"
    return f"{name} {value} front to rear"


def _value_text(stretch: Stretch, value: float | None, units: UnitSystem) -> str:
    if value is None:
        return NONE
    if stretch.thing == "speed":
        return speed_text(value, units)
    if stretch.thing == "springs":
        return f"{100 * value:.0f} % of trip"
    return fine_depth_text(value, units)


def change_value(change: Changed, units: UnitSystem) -> str:
    """What something was changed to: bands in the person's units, a name as it is."""
    if isinstance(change.value, str):
        return (
            change.value if change.what in ("driver", "field") else change.value.replace("_", " ")
        )
    if change.what in ("plan", "speed_target", "depth_target"):
        return _moved_text(change, units)
    if change.value is None:
        return ""
    return "up" if change.value > 0 else "down"


def _moved_text(change: Changed, units: UnitSystem) -> str:
    """``up, band 5.5 to 7.5 mph``; for a whole plan its speeds, target and depths."""
    words = []
    plan = change.what == "plan"
    if isinstance(change.value, float) and not plan:
        words.append("up" if change.value > 0 else "down")
    if change.speed_mps is not None:
        low, high = (shown_value(v, "speed", units) for v in change.speed_mps)
        name = "speed" if plan else "band"
        words.append(f"{name} {low:.1f} to {high:.1f} {shown_unit('speed', units)}")
    if change.depth_m is not None:
        low_m, high_m = change.depth_m
        words.append(f"target {fine_depth_text((low_m + high_m) / 2, units)}")
        ends = fine_depth_text(low_m, units), fine_depth_text(high_m, units)
        words.append(f"band {ends[0]} to {ends[1]}")
    elif isinstance(change.value, float) and plan:
        words.append(f"target {fine_depth_text(change.value, units)}")
    return ", ".join(words)

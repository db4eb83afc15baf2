"""Every word the driver is shown about state and alerts: one table from what is so to what is said.

Headline, action, short action and chip are templates; ``say`` fills them in the person's units.
The widths of all of them in the shipped font are checked in tests/screens.
"""

import re
from dataclasses import dataclass
from enum import Enum

from cabapp.units import UnitSystem, depth_text, shown_unit, shown_value


class Level(Enum):
    """How much an alert matters."""

    ACT = "act"
    LOOK = "look"
    NO_READING = "no_reading"
    NOTE = "note"


class Phase(Enum):
    """What the machine is doing, as far as the witnesses tell."""

    STANDING = "standing"
    LIFTED = "lifted"
    WORKING = "working"
    TURNING = "turning"
    BACKING = "backing"
    ROAD = "road"
    UNKNOWN = "unknown"


class Rule(Enum):
    """Everything that can be an alert. The order is the ranking inside the whole table."""

    BACKING = "backing_in_ground"
    TURNING_HARD = "turning_hard_in_ground"
    HOOKED = "hooked"
    SHANK_UP = "shank_stayed_up"
    DIGGING_IN = "digging_in"
    NO_SPRINGS = "no_springs"
    UP_OR_DOWN = "depth_and_springs_disagree"
    NO_SWITCH = "no_switch"
    NOT_PULLING = "shank_not_pulling"
    TRIPPING = "shank_tripping"
    NO_DEPTH = "no_depth"
    DEPTH_STUCK = "depth_stuck"
    NO_POSITION = "no_position"
    NO_SPEED = "no_speed_sent"
    NO_SLIP = "no_slip"
    NOT_SAVING = "not_saving"
    NO_SOUND = "no_sound"
    ABOVE_LAYER = "above_layer"
    TURNING = "turning_in_ground"
    DEPTH_FAR = "depth_far_out"
    DEPTH = "depth_out"
    STONES = "stones"
    SLIP = "slip"
    SLIP_HIGH = "slip_high"
    EASE_OFF = "ease_off"
    LEVEL = "level"
    HARD_HERE = "hard_here"
    TOO_FAST = "too_fast"
    TOOL_IS_UP = "tool_is_up"
    PIPE_AHEAD = "pipe_ahead"
    PEG_AHEAD = "peg_ahead"
    TOO_DEEP_SLIGHTLY = "too_deep_slightly"
    ROWS = "angle_to_rows"
    DIG = "dig"
    CREEPING = "depth_creeping"
    RISING = "side_rising"
    ADJUST_NEXT_STOP = "adjust_next_stop"
    CHECKS_OPEN = "checks_open"
    RAISED = "raised_on_purpose"
    SWITCH_LOST = "going_by_speed"
    STORAGE = "storage_filling"
    PEG_SAVED = "peg_saved"
    CONTINUED = "shift_continued"
    DISAGREEING_SENSOR = "depth_sensor_disagrees"
    RULER = "ruler_not_held"
    LOOKS_OFF = "look_sounds_off"


class Arrow(Enum):
    """Which way to change depth or speed, as the action's first word says: on the look shape."""

    NONE = "none"
    UP = "up"
    DOWN = "down"


@dataclass(frozen=True)
class Saying:
    """Templates for one rule and variant. ``short`` is used on small panels and beside a chip."""

    level: Level
    headline: str
    action: str
    chip: str
    short: str = ""
    arrow: Arrow = Arrow.NONE


# (rule, variant) -> what is said. Variants are the sides, the way out, or the remedy.
SAYINGS: dict[tuple[Rule, str], Saying] = {
    (Rule.BACKING, ""): Saying(
        Level.ACT, "STOP", "Tool is down: lift first", "BACKING", "Tool is down"
    ),
    (Rule.TURNING_HARD, ""): Saying(
        Level.ACT, "STRAIGHTEN", "or lift: turning in the ground", "TURN", "or lift the tool"
    ),
    (Rule.HOOKED, ""): Saying(
        Level.ACT, "STOP", "Stop pulling, then look back", "HOOKED", "Stop pulling, look"
    ),
    (Rule.SHANK_UP, ""): Saying(
        Level.ACT, "STOP", "Look back: shank {shank} stayed up", "SHANK", "Shank {shank} stayed up"
    ),
    (Rule.DIGGING_IN, ""): Saying(Level.ACT, "DIGGING IN", "Ease off, then lift", "WHEELS"),
    (Rule.NO_SPRINGS, ""): Saying(Level.NO_READING, "NO SPRINGS", "{next_step}", "SPRINGS"),
    (Rule.NO_SPRINGS, "one"): Saying(
        Level.NO_READING, "NO SPRING {shank}", "{next_step}", "SPRINGS"
    ),
    (Rule.UP_OR_DOWN, ""): Saying(
        Level.NO_READING, "UP OR DOWN?", "Depth and springs disagree", "TOOL", "Springs disagree"
    ),
    (Rule.NO_SWITCH, ""): Saying(
        Level.NO_READING, "NO SWITCH", "Going by speed and turns", "SWITCH", "By speed now"
    ),
    (Rule.NO_SWITCH, "no_speed"): Saying(Level.NO_READING, "NO SWITCH", "{next_step}", "SWITCH"),
    (Rule.NOT_PULLING, ""): Saying(Level.LOOK, "NOT PULLING", "Stop, see shank {shank}", "IDLE"),
    (Rule.TRIPPING, ""): Saying(Level.LOOK, "TRIPPING", "Shank {shank}, next stop", "TRIPS"),
    (Rule.NO_POSITION, ""): Saying(Level.NO_READING, "NO POSITION", "{next_step}", "FIX"),
    (Rule.NO_SPEED, ""): Saying(Level.NO_READING, "NO SPEED", "{next_step}", "SPEED"),
    (Rule.NO_DEPTH, ""): Saying(Level.NO_READING, "NO DEPTH", "{next_step}", "DEPTH"),
    (Rule.NO_DEPTH, "one"): Saying(Level.NO_READING, "NO DEPTH {sensor}", "{next_step}", "DEPTH"),
    (Rule.DEPTH_STUCK, ""): Saying(Level.NO_READING, "DEPTH STUCK", "{next_step}", "DEPTH"),
    (Rule.NO_SLIP, ""): Saying(Level.NO_READING, "NO SLIP", "Check wheel sensor", "SLIP"),
    (Rule.NOT_SAVING, ""): Saying(Level.NO_READING, "NOT SAVING", "{next_step}", "SAVING"),
    (Rule.NO_SOUND, ""): Saying(Level.NO_READING, "NO SOUND", "Check speaker plug", "SOUND"),
    (Rule.ABOVE_LAYER, ""): Saying(
        Level.LOOK, "ABOVE LAYER", "{advice}", "LAYER", arrow=Arrow.DOWN
    ),
    (Rule.TURNING, ""): Saying(
        Level.LOOK, "STRAIGHTEN", "or lift: turning in the ground", "TURN", "or lift the tool"
    ),
    (Rule.DEPTH_FAR, "shallow"): Saying(
        Level.LOOK, "TOO SHALLOW", "{advice}", "SHALLOW", arrow=Arrow.DOWN
    ),
    (Rule.DEPTH_FAR, "deep"): Saying(Level.LOOK, "TOO DEEP", "{advice}", "DEEP", arrow=Arrow.UP),
    (Rule.DEPTH, "shallow"): Saying(
        Level.LOOK, "TOO SHALLOW", "{advice}", "SHALLOW", arrow=Arrow.DOWN
    ),
    (Rule.DEPTH, "deep"): Saying(Level.LOOK, "TOO DEEP", "{advice}", "DEEP", arrow=Arrow.UP),
    (Rule.STONES, ""): Saying(Level.LOOK, "STONES", "Slow down", "STONES", arrow=Arrow.DOWN),
    (Rule.SLIP, ""): Saying(
        Level.LOOK,
        "SLIP {percent} %",
        "Shallower or gear down",
        "SLIP",
        "Shallower, gear down",
        Arrow.UP,
    ),
    (Rule.SLIP_HIGH, ""): Saying(
        Level.LOOK,
        "SLIP {percent} %",
        "Shallower or gear down",
        "SLIP",
        "Shallower, gear down",
        Arrow.UP,
    ),
    (Rule.EASE_OFF, ""): Saying(
        Level.LOOK, "EASE OFF", "Shallower {half_step}", "SPRINGS", arrow=Arrow.UP
    ),
    (Rule.EASE_OFF, "one"): Saying(
        Level.LOOK,
        "EASE OFF",
        "Shallower {half_step}: shank {shank}",
        "SPRINGS",
        "Shallower {half_step}",
        Arrow.UP,
    ),
    (Rule.LEVEL, "rear_low"): Saying(
        Level.LOOK, "REAR LOW", "Shorten levelling link, next stop", "LEVEL", "Shorten the link"
    ),
    (Rule.LEVEL, "rear_high"): Saying(
        Level.LOOK, "REAR HIGH", "Lengthen levelling link, next stop", "LEVEL", "Lengthen the link"
    ),
    (Rule.LEVEL, "left_low"): Saying(
        Level.LOOK, "LEFT LOW", "Level left, next stop", "LEVEL", "Level left"
    ),
    (Rule.LEVEL, "right_low"): Saying(
        Level.LOOK, "RIGHT LOW", "Level right, next stop", "LEVEL", "Level right"
    ),
    (Rule.HARD_HERE, ""): Saying(Level.LOOK, "HARD HERE", "Gear down", "HARD"),
    (Rule.HARD_HERE, "slipping"): Saying(
        Level.LOOK, "HARD HERE", "Shallower {half_step}", "HARD", arrow=Arrow.UP
    ),
    (Rule.TOO_FAST, ""): Saying(
        Level.LOOK, "TOO FAST", "Ease to {speed}", "FAST", arrow=Arrow.DOWN
    ),
    (Rule.TOOL_IS_UP, ""): Saying(Level.LOOK, "TOOL IS UP", "Lower it or stop", "UP"),
    (Rule.PIPE_AHEAD, ""): Saying(
        Level.LOOK,
        "PIPE AHEAD",
        "In {distance}: lift, or know its depth",
        "PIPE",
        "In {distance}: lift",
    ),
    (Rule.PEG_AHEAD, ""): Saying(Level.NOTE, "", "{kind} ahead, {distance}", "PEG"),
    (Rule.TOO_DEEP_SLIGHTLY, ""): Saying(Level.NOTE, "", "A little deep", "DEEP"),
    (Rule.ROWS, ""): Saying(Level.NOTE, "", "Rows {angle}°: angle more", "ROWS"),
    (Rule.DIG, ""): Saying(Level.NOTE, "", "Dig and measure", "DIG"),
    (Rule.CREEPING, ""): Saying(Level.NOTE, "", "Depth creeping: dig", "CREEP"),
    (Rule.RISING, "left"): Saying(Level.NOTE, "", "Left springs rising: look", "RISING"),
    (Rule.RISING, "right"): Saying(Level.NOTE, "", "Right springs rising: look", "RISING"),
    (Rule.RISING, "slip"): Saying(Level.NOTE, "", "Slip rising: look", "RISING"),
    (Rule.ADJUST_NEXT_STOP, ""): Saying(Level.NOTE, "", "{advice} at stop", "ADJUST"),
    (Rule.CHECKS_OPEN, ""): Saying(Level.NOTE, "", "A check is open", "CHECKS"),
    (Rule.RAISED, ""): Saying(Level.NOTE, "", "Raised: depth rests", "RAISED"),
    (Rule.RAISED, "remind"): Saying(Level.NOTE, "", "Still raised: lower again", "RAISED"),
    (Rule.SWITCH_LOST, ""): Saying(Level.NOTE, "", "Going by speed and turns", "SWITCH"),
    (Rule.STORAGE, ""): Saying(Level.NOTE, "", "Storage {percent} % full", "STORAGE"),
    (Rule.PEG_SAVED, ""): Saying(Level.NOTE, "", "Peg {number} saved", "PEG"),
    (Rule.CONTINUED, ""): Saying(Level.NOTE, "", "Shift continued", "SHIFT"),
    (Rule.DISAGREEING_SENSOR, ""): Saying(Level.NOTE, "", "Depth {sensor} disagrees", "DEPTH"),
    (Rule.RULER, ""): Saying(Level.NOTE, "", "Screen not measured", "RULER"),
    (Rule.LOOKS_OFF, ""): Saying(Level.NOTE, "", "LOOK sounds off this shift", "SOUNDS"),
}


@dataclass(frozen=True)
class Said:
    """Filled-in words of one alert."""

    level: Level
    headline: str
    action: str
    short: str
    chip: str
    arrow: Arrow


def say(rule: Rule, variant: str = "", **values: object) -> Said:
    """Fill the templates of a rule; KeyError if rule and variant are not in the table."""
    saying = SAYINGS[(rule, variant)]
    action = saying.action.format(**values)
    return Said(
        level=saying.level,
        headline=saying.headline.format(**values),
        action=action,
        short=(saying.short or saying.action).format(**values),
        chip=saying.chip,
        arrow=saying.arrow,
    )


class CalmHeadline(Enum):
    """What the band says when no alert does."""

    ALL_IN_BAND = "ALL IN BAND"
    WORKING = "WORKING"
    SPEED_ONLY = "SPEED ONLY"
    PART_KNOWN = "PART KNOWN"
    LIFTED = "LIFTED"
    TURNING = "TURNING"
    BACKING = "BACKING"
    STANDING = "STANDING"
    ON_THE_ROAD = "ON THE ROAD"
    STARTING = "STARTING"
    WAITING = "WAITING"
    NOT_SET_TODAY = "NOT SET TODAY"


# What a peg marks: the kind as it is recorded, in the order offered, and as a person reads it.
PEGS: dict[str, str] = {
    "stone": "Stone",
    "wet": "Wet place",
    "pipe": "Pipe",
    "tile": "Drain tile",
    "obstacle": "Obstacle",
    "other": "Other",
}


def peg_words(kind: str) -> str:
    """``Wet place``; "" where nobody said what a peg marks."""
    return "" if kind == "other" else PEGS.get(kind, "")


# What a stop may have been for, in the order offered.
STOP_REASONS = ("fuel", "plugged", "stone", "repair", "dig", "meal", "weather")

# What to do about a value that is not read: cause key -> next step. {cable} and {side} are filled.
CAUSES: dict[str, str] = {
    "": "Check the plug",
    "cable": "Check cable {cable}{side}",
    "arm": "Check arm {cable}{side}",
    "receiver_plug": "Check receiver plug",
    "node_plug": "Check node plug",
    "no_speed_sent": "It sends no speed",
    "sky": "Wait for open sky",
    "time_stands": "Restart the receiver",
    "settling": "Settling, a moment",
    "crawl": "Too slow for a course",
    "simulated": "Receiver is simulating",
    "reckoned": "Wait for open sky",
    "in_use": "In use elsewhere",
    "denied": "Locked: see Fit-up",
    "wrong_baud": "Finding its speed",
    "wrong_unit": "Sends another unit",
    "not_calibrated": "Calibrate in Fit-up",
    "disk_full": "Storage full",
    "disk_slow": "Storage is stuck",
    "disk_failed": "Storage failed",
}


def next_step(cause: str, cable: int | None = None, side: str = "") -> str:
    """The next step for a cause key of CAUSES; a cable without a number says "the cable"."""
    template = CAUSES[cause]
    if "{cable}" in template and cable is None:
        return re.sub(r"(\w+) \{cable\}\{side\}", r"the \1", template)
    return template.format(cable=cable, side=f", {side}" if side else "")


def speed_text(speed_mps: float, system: UnitSystem) -> str:
    """A target speed as said in an action: ``7`` mph, ``11.3`` km/h without its unit."""
    return f"{shown_value(speed_mps, 'speed', system):g}"


def distance_text(distance_m: float, system: UnitSystem) -> str:
    """A distance ahead: ``60 m`` or ``200 ft``, rounded to ten."""
    tens = 10 * round(shown_value(distance_m, "length", system) / 10)
    return f"{tens:.0f} {shown_unit('length', system)}"


def advice_text(change_m: float, system: UnitSystem) -> str:
    """``Deeper 1 1/2 in`` for a positive change, ``Shallower 2 cm`` for a negative one."""
    word = "Deeper" if change_m > 0 else "Shallower"
    return f"{word} {depth_text(abs(change_m), system)}"


# How a tap on Drive that can't be done is answered, by its kind, in the note line for some seconds.
REFUSED: dict[str, str] = {
    "peg": "No peg: no position",
    "speed_target": "Speed stays: at its end",
    "depth_target": "Depth stays as it was",
    "raised": "Raised: only at work",
    "tool": "Tool: the switch tells it",
    "driver": "No names yet: see Set up",
    "field": "No names yet: see Set up",
}

# While no run's file is written and nobody can tell whether it works: what comes waits in memory.
NOT_ON_RECORD = "Not on record yet"

# A plugged tool hurts people who clear it in a hurry. Usual practice of the trade; the operator's
# manual of the tool comes first.
CAUTIONS_PLUGGED: tuple[str, ...] = (
    "Lower the tool or set its locks",
    "Engine off, key out, brake on",
    "Springs under load: keep clear",
    "Follow the operator's manual",
)

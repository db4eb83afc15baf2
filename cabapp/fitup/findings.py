"""What can be wrong with a calibration: each by name, with what was found and the mend.

One table holds every sentence and what the finding does to the calibration. The first line fits a
verdict plate; the mend is one thing to do.
"""

from dataclasses import dataclass
from enum import Enum

from cabapp.units import UNITS, to_unit

DECIMALS = {"in": 2, "cm": 1, "m": 3, "mm": 0, "N": 0, "lbf": 0, "kN": 2, "%": 1}


@dataclass(frozen=True)
class Measure:
    """The unit known values are typed in, and how they are printed again."""

    unit: str

    @property
    def si_per_unit(self) -> float:
        return UNITS[self.unit].si_per_unit

    def number(self, value_si: float) -> str:
        """The value in the typed unit without trailing zeros: ``14``, ``0.4``, ``−2``."""
        text = f"{to_unit(value_si, self.unit):.{DECIMALS.get(self.unit, 2)}f}"
        text = text.rstrip("0").rstrip(".") if "." in text else text
        return "0" if text == "-0" else text.replace("-", "−")

    def text(self, value_si: float) -> str:
        """The value with its unit: ``14 in``."""
        return f"{self.number(value_si)} {self.unit}"


class Fault(Enum):
    """Every fault a calibration can have."""

    NO_NUMBER = "no_number"
    WIRE = "wire"
    NEVER_STILL = "never_still"
    SILENT = "silent"
    NOT_BELIEVABLE = "not_believable"
    TOO_FEW = "too_few"
    TWINS = "twins"
    SAME_SIGNAL = "same_signal"
    NOT_MONOTONIC = "not_monotonic"
    FIT_TURNS = "fit_turns"
    REVERSED = "reversed"
    SIGN = "sign"
    SWAPPED = "swapped"
    WRONG_ONE = "wrong_one"
    MISTYPED = "mistyped"
    OTHER_UNIT = "other_unit"
    CURVED = "curved"
    SCATTER = "scatter"
    GAP = "gap"
    HYSTERESIS = "hysteresis"
    ONE_WAY = "one_way"
    NOT_REPEATED = "not_repeated"
    NO_REPEAT = "no_repeat"
    BEYOND = "beyond"
    NO_SLOTS = "no_slots"
    SLOT_FAR = "slot_far"
    SLOTS_AT_ONE_DEPTH = "slots_at_one_depth"
    SLOT_SPREAD = "slot_spread"
    SLOT_SLOPE = "slot_slope"
    NOT_VERIFIED = "not_verified"
    VERIFY_USED = "verify_used"
    VERIFY_OFF = "verify_off"
    NOT_LIFTED = "not_lifted"
    NO_TRIP = "no_trip"
    ONE_TRIP = "one_trip"
    TRIP_SPREAD = "trip_spread"


class Weight(Enum):
    """What a finding does to the calibration it is about."""

    REFUSES = "refuses"  # may not be accepted
    UNPROVEN = "unproven"  # may be used, and is named as unproven wherever it is signed
    READ = "read"  # has only to be read


@dataclass(frozen=True)
class Words:
    """A finding's two sentences, and what it does to the calibration."""

    what: str
    mend: str
    weight: Weight = Weight.REFUSES


WORDS: dict[Fault, Words] = {
    Fault.NO_NUMBER: Words(
        "{where} has no number", "Take it again; if it stays empty, check the cable."
    ),
    Fault.WIRE: Words(
        "{where} reads {found}: wire fault",
        "A sound wire gives {least} to {most}. Check plug, supply and cable.",
    ),
    Fault.NEVER_STILL: Words(
        "Not still in {seconds} s: {least} to {most}",
        "Stop all movement, check the mounting and the cable, then take it.",
    ),
    Fault.SILENT: Words(
        "Nothing heard for {seconds} s", "Check the plug. The points taken are kept."
    ),
    Fault.NOT_BELIEVABLE: Words(
        "{found} cannot be right here", "Expected {least} to {most}. Type it again, mind the unit."
    ),
    Fault.TOO_FEW: Words(
        "{found} of {needed} points for the fit", "Take {missing} more, well apart."
    ),
    Fault.TWINS: Words(
        "{where} has the same value, not the same signal", "Type one of them again or leave it out."
    ),
    Fault.SAME_SIGNAL: Words(
        "{where} has the same signal, not the same value",
        "Did the sensor move? Check its arm or string, then take both again.",
    ),
    Fault.NOT_MONOTONIC: Words(
        "The signal turns back at {where}",
        "Take that point again; if it stays, the linkage folds over: mount it anew.",
    ),
    Fault.FIT_TURNS: Words(
        "The curve turns back inside the range", "Use straight pieces or a straight line."
    ),
    Fault.REVERSED: Words(
        "The slope is reversed",
        "Deeper should read {expected}. Check which way it is mounted, or swap its wires.",
    ),
    Fault.SIGN: Words(
        "Clearances need a minus sign", "A point hanging above ground is less than 0. Turn signs."
    ),
    Fault.SWAPPED: Words(
        "{where}: plugs are swapped", "Swap the two plugs, or their names, and move each again."
    ),
    Fault.WRONG_ONE: Words(
        "Moved {where}, but {found} answered", "Move the other one too, then swap plugs or names."
    ),
    Fault.MISTYPED: Words(
        "{where} looks mistyped: {found}", "Others say {expected}. Without it {rest} at most."
    ),
    Fault.OTHER_UNIT: Words(
        "{where}: {slip}", "{expected}. Read the tape again, and type what it says with its unit."
    ),
    Fault.CURVED: Words(
        "The points bend, a straight line hides it", "Use the curve: off by {rest} at most."
    ),
    Fault.SCATTER: Words(
        "{where} is off by {found}", "{allowed} is allowed. Take it again, settled and still."
    ),
    Fault.GAP: Words(
        "Between its neighbours {where} is off by {found}",
        "{allowed} is allowed. Add points close to it on both sides, or take it again.",
    ),
    Fault.HYSTERESIS: Words(
        "Up and down differ by {found} at {where}",
        "{allowed} is allowed. Look for play or a dry pivot.",
    ),
    Fault.ONE_WAY: Words(
        "Taken one way only", "Take the points up and down, so that play shows.", Weight.READ
    ),
    Fault.NOT_REPEATED: Words(
        "{where} came back {found} apart", "{allowed} is allowed. Look for a loose mounting."
    ),
    Fault.NO_REPEAT: Words(
        "No point was repeated", "Take one point three times the same way.", Weight.READ
    ),
    Fault.BEYOND: Words(
        "{found} lies beyond the last point {expected}",
        "At most 10 % beyond may be judged. Prove a point near {found}.",
    ),
    Fault.NO_SLOTS: Words(
        "Not proven in soil yet",
        "Dig slots at two depths: in the field the wheels sink.",
        Weight.UNPROVEN,
    ),
    Fault.SLOTS_AT_ONE_DEPTH: Words(
        "Slots at one depth only", "Dig at a second depth, {needed} or more away."
    ),
    Fault.SLOT_FAR: Words(
        "Slot {where} and the shed differ by {found}",
        "More than wheels sink. Measure the slot again, then the arm and the tyres.",
    ),
    Fault.SLOT_SPREAD: Words(
        "Slot {where} is off by {found}",
        "{allowed} is allowed. Measure from undisturbed ground, loose soil cleared.",
    ),
    Fault.SLOT_SLOPE: Words(
        "Slots and shed disagree on slope: {found} of 1",
        "Measure both again in one unit; then look at tyres and arm length.",
    ),
    Fault.NOT_VERIFIED: Words(
        "No point was kept for proof",
        "Take one more at a value not used in the fit.",
        Weight.UNPROVEN,
    ),
    Fault.VERIFY_USED: Words(
        "{where} was used in the fit", "Prove it at a value not used in the fit."
    ),
    Fault.VERIFY_OFF: Words(
        "The proof at {where} is off by {found}", "{allowed} is allowed. Take it again or fit anew."
    ),
    Fault.NOT_LIFTED: Words(
        "No reading with the tool lifted", "Lift, locks in, people clear, then take 0."
    ),
    Fault.NO_TRIP: Words(
        "No trip has been seen yet", "Load stays unknown until somebody sees this shank trip."
    ),
    Fault.ONE_TRIP: Words(
        "One trip seen, not repeated", "See a second trip to know how close it is.", Weight.UNPROVEN
    ),
    Fault.TRIP_SPREAD: Words(
        "Trips differ by {found}", "{allowed} is allowed. Check the pivot and the pack's setting."
    ),
}


@dataclass(frozen=True)
class Suggestion:
    """What a point should have been: its row, the value (SI) and how the slip was made.

    ``signal`` is the signal the others would give at the value as typed, for the case that the
    reading and not the value was written down wrongly.
    """

    row: int
    value: float
    typed: float
    slip: str
    signal: float
    text: str


@dataclass(frozen=True)
class Finding:
    """One named fault with its words; ``rows`` are the table rows it points at."""

    fault: Fault
    what: str
    mend: str
    rows: tuple[int, ...] = ()
    suggestion: Suggestion | None = None

    @property
    def weight(self) -> Weight:
        """What this finding does to the calibration."""
        return WORDS[self.fault].weight


def finding(
    fault: Fault,
    *,
    rows: tuple[int, ...] = (),
    suggestion: Suggestion | None = None,
    **figures: str,
) -> Finding:
    """A finding with its sentences filled in; ``where`` is made from ``rows`` if not given."""
    figures.setdefault("where", where_text(rows))
    words = WORDS[fault]
    what = words.what.format(**figures)
    return Finding(
        fault, what[:1].upper() + what[1:], words.mend.format(**figures), rows, suggestion
    )


def exceeds(
    fault: Fault, size: float, allowed: float, measure: Measure, row: int, where: str = ""
) -> Finding:
    """A finding of the "found, so much is allowed" kind; size and allowed in SI."""
    return finding(
        fault,
        rows=(row,),
        where=where or where_text((row,)),
        found=measure.text(size),
        allowed=measure.text(allowed),
    )


def where_text(rows: tuple[int, ...]) -> str:
    """``point 3`` or ``points 2 and 5``."""
    if not rows:
        return "a point"
    if len(rows) == 1:
        return f"point {rows[0]}"
    return "points " + ", ".join(map(str, rows[:-1])) + f" and {rows[-1]}"

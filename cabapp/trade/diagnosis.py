"""From what is seen behind the tool to one change to make: how a search through it works.

The table itself is ``diagnosis_rows.py``. A change is tried alone, a short stretch is driven, and
the ground is dug and looked at again before the next one.
"""

from collections.abc import Collection
from dataclasses import dataclass
from enum import Enum

from cabapp.trade.sources import Source


class Step(Enum):
    """The set-up step that a change belongs to; the value is the step's key."""

    CHECKS = "checks"
    WILL_IT_PULL = "will_it_pull"
    HARD_LAYER = "hard_layer"
    LEVEL = "level"
    SHANK_DEPTH = "shank_depth"
    FRONT_DISCS = "front_discs"
    REAR_FINISH = "rear_finish"
    JUDGE = "judge"


class Hands(Enum):
    """Where a change is made from, and so what comes before it."""

    SEAT = "from the seat"
    GROUND = "tool lowered or locked up, engine off, key out, brake on"


@dataclass(frozen=True)
class Cause:
    """One likely cause and the ONE adjustment that goes with it.

    ``by_m`` and ``by_mps`` are how much, in SI, where an amount is usual; None where not.
    """

    why: str
    change: str
    step: Step
    hands: Hands = Hands.GROUND
    by_m: float | None = None
    by_mps: float | None = None


@dataclass(frozen=True)
class Symptom:
    """Something a person can see, with its causes, the likeliest first.

    ``caution`` is shown before anything is tried, "" where the change's own place says enough.
    """

    key: str
    seen: str
    causes: tuple[Cause, ...]
    source: Source
    caution: str = ""


def next_cause(symptom: Symptom, tried: Collection[str] = ()) -> Cause | None:
    """The likeliest cause whose ``why`` is not among those tried; None when all were tried.

    Order of causes: common practice and memory, as the symptom's ``source`` says.
    """
    return next((cause for cause in symptom.causes if cause.why not in tried), None)

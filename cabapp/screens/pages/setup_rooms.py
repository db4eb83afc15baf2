"""Where in Set up a person is, and what is being asked there."""

from dataclasses import dataclass, field
from enum import Enum

from cabapp.screens.typing import Typed
from cabapp.walk.entries import Doubt


class Room(Enum):
    """What of Set up is in front."""

    LIST = "list"
    MORE = "more"  # the keys under the list, on small panels
    LOOK = "look"  # before a step: what to look at, and the cautions in full
    HOLD = "hold"  # buried lines have to be asked first
    STEP = "step"
    VALUES = "values"  # all values of a step, on small panels
    PLAN = "plan"
    DUG = "dug"
    WEAR = "wear"
    WHO = "who"
    NAME = "name"  # letters
    FAULTS = "faults"  # of the owner's steps file


@dataclass
class Asking:
    """What is being asked and typed: a question's key, the figure, and a doubt or a refusal."""

    key: str = ""
    typed: Typed = field(default_factory=Typed)
    letters: str = ""
    part: int = 0  # of the letters, on a small panel
    doubt: Doubt | None = None
    refused: str = ""

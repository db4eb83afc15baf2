"""The pages of fit-up in their order, what each is for, and the cautions at its step."""

from dataclasses import dataclass
from enum import Enum


class Page(Enum):
    """The installer's pages."""

    PLUGS = "plugs"
    RECEIVER = "receiver"
    SENSORS = "sensors"
    FIND = "find"
    CALIBRATE = "calibrate"
    SPRINGS = "springs"
    SWITCH = "switch"
    TOOL = "tool"
    LIMITS = "limits"
    SCREEN = "screen"
    SOUNDS = "sounds"
    ALERTS = "alerts"
    FILES = "files"
    SIGN = "sign"


@dataclass(frozen=True)
class PageWords:
    """A page's title, help line, cautions at the step, and whether the PIN stands before it."""

    title: str
    help: str
    cautions: tuple[str, ...] = ()
    locked: bool = False
    card: str = ""  # a shorter title for the list


UNDER = "Locks in, engine off, before you measure under a point."
CLEAR = "People clear, horn, before the tool moves."
DIG = "Dig only with the tool on the ground or locked, engine off, key out, brake on."
WEIGHTS = "Hang weights with a safety chain, nobody below."
OIL = "Never feel for an oil leak: card and eye protection."
MANUAL = "The operator's manual of your tool goes before this page."

PAGES: dict[Page, PageWords] = {
    Page.PLUGS: PageWords("What is plugged in", "Each plug, and what it sends now", card="Plugs"),
    Page.RECEIVER: PageWords(
        "Receiver", "Still at rest, and true to a tape", ("A clear stretch, nobody near it.",)
    ),
    Page.SENSORS: PageWords("Sensors", "Raw and converted, side by side", (CLEAR,)),
    Page.FIND: PageWords(
        "Which one is this",
        "Move one part; the one that moved is named",
        (CLEAR, UNDER),
        card="Which one",
    ),
    Page.CALIBRATE: PageWords(
        "Calibrate", "Clearances below 0, 0 on concrete, then dug slots", (UNDER, DIG, MANUAL), True
    ),
    Page.SPRINGS: PageWords(
        "Springs", "Lifted is 0; a trip you saw is 100 %", (CLEAR, UNDER, WEIGHTS, OIL), True
    ),
    Page.SWITCH: PageWords("Tool switch", "Lift, lower, lift: five changes, and watch", (CLEAR,)),
    Page.TOOL: PageWords("Tool", "Tape it; the drawing grows as you type", (UNDER,)),
    Page.LIMITS: PageWords("Limits", "No tighter than the sensors were proven", (), True),
    Page.SCREEN: PageWords("Screen", "All in mm: hold a ruler against it; how far is the eye?"),
    Page.SOUNDS: PageWords("Sounds", "In the running cab: hear both, tell them apart"),
    Page.ALERTS: PageWords("Alerts", "Fire each one here, without driving"),
    Page.FILES: PageWords("Rig file", "Step back, copy to a stick, restore a spare tablet"),
    Page.SIGN: PageWords("Sign-off sheet", "What was verified, and what was not", card="Sign-off"),
}

"""What stands in front of Drive's tiles: menus, questions, cards, the parked hold.

Which one may stand there follows from the snapshot: while moving only the moving menu, the two
questions of one tap and the hold; everything that has to be read, or that opens another page,
waits for a stop. A new ACT clears the front.
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from cabapp.engine.wire import Message
from cabapp.events import TapKind
from cabapp.outcome import Card, CardView, Snapshot
from cabapp.screens.ink import Tile
from cabapp.screens.ruler import Layout
from cabapp.screens.tiles.cards import CardSheet
from cabapp.screens.tiles.parked import ParkedTile
from cabapp.screens.tiles.sheets import ChoiceSheet, MoreMenu, MovingMenu, ParkedMenu, Sheet
from cabapp.units import UnitSystem
from cabapp.words import PEGS, STOP_REASONS, Level

PAGES = ("setup", "shifts", "fitup")
PLUGGED = (
    "Tool lowered or locked, tractor in park, brake on",
    "Engine off, key out, every part at rest",
    "Keep clear of a shank under spring load",
    "Never reach between discs or into a basket",
    "The tool's own manual says how to clear it",
)
ASIDE = (
    "{what} stays NO READING, without sound",
    "It is on the record and on the hand-over card",
    "It is asked again at the next key-on",
)
STEPS = {
    "speed_less": (TapKind.SPEED_TARGET, -1.0),
    "speed_more": (TapKind.SPEED_TARGET, 1.0),
    "depth_less": (TapKind.DEPTH_TARGET, -1.0),
    "depth_more": (TapKind.DEPTH_TARGET, 1.0),
}


class Front(Enum):
    """What is in front of the tiles."""

    NONE = "none"
    MENU = "menu"
    MORE = "more"
    PARKED = "parked"
    REASON = "reason"
    ASIDE = "aside"
    PLUGGED = "plugged"
    CARD = "card"  # what the snapshot brings


STANDING_ONLY = (Front.MORE, Front.REASON, Front.ASIDE, Front.PLUGGED)


@dataclass(frozen=True)
class Way:
    """How a page reaches the world: a tap to the engine, a page to open, which pages there are.

    ``tell`` sends any other message of the wire: a plan, a rig that was written.
    """

    send: Callable[[TapKind, str | float | None], None]
    open: Callable[[str], None]
    pages: tuple[str, ...] = ()
    tell: Callable[[Message], None] = lambda message: None


def front_after(front: Front, before: Snapshot | None, new: Snapshot) -> Front:
    """What stays in front when a new snapshot comes."""
    card = new.card.card
    if before is None:
        return Front.CARD if card is not Card.NONE else front
    act = new.band.level is Level.ACT
    fresh = before.band.level is not Level.ACT or new.band.onset != before.band.onset
    if (act and fresh) or (new.moving and not before.moving):
        front = Front.NONE
    if card is not before.card.card and (card is not Card.NONE or front is Front.CARD):
        front = Front.NONE if card is Card.NONE else Front.CARD
    if new.moving and front in STANDING_ONLY:
        front = Front.NONE
    if front is Front.PARKED and not new.parked_hold:
        front = Front.NONE if new.moving else Front.MENU
    return front


class Fronts:
    """All sheets and cards, made once; ``bring`` is how one of them asks for another."""

    def __init__(self, layout: Layout, way: Way, bring: Callable[[Front], None]) -> None:
        self.way, self.bring = way, bring
        self.snapshot: Snapshot | None = None
        self.front = Front.NONE
        self.aside = ""
        self.moving_menu = MovingMenu(layout, self._menu)
        self.parked_menu = ParkedMenu(layout, self._menu, way.pages)
        self.more_menu = MoreMenu(layout, self._menu)
        self.kind = ChoiceSheet(layout, self._kind, ((5, 8, 5), (1, 1), (2,)))
        self.who = ChoiceSheet(layout, self._who, ((1, 1), (1, 1), (2,)))
        self.reason = ChoiceSheet(layout, self._reason, ((5, 7, 5), (1, 1), (1, 1)))
        self.card = CardSheet(layout, lambda name: self.dismiss(), ("read",))
        self.ask_aside = CardSheet(layout, self._aside_key, ("aside", "close"))
        self.parked = ParkedTile(
            layout, lambda: bring(Front.NONE), lambda: self.tap(TapKind.PARKED)
        )

    def all(self) -> tuple[Tile, ...]:
        """Every one of them, shown or not."""
        menus = (self.moving_menu, self.parked_menu, self.more_menu)
        cards = (self.kind, self.who, self.reason, self.card, self.ask_aside, self.parked)
        return (*menus, *cards)

    def tap(self, kind: TapKind, value: str | float | None = None) -> None:
        """Tell the engine."""
        self.way.send(kind, value)

    # -- which, and what is in it ------------------------------------------------------------------

    def tile(self, snapshot: Snapshot) -> Tile | None:
        """What stands in front now."""
        if self.front is Front.CARD:
            return self._card_tile(snapshot)
        simple: dict[Front, Tile] = {
            Front.MENU: self.moving_menu if snapshot.moving else self.parked_menu,
            Front.MORE: self.more_menu,
            Front.PARKED: self.parked,
            Front.REASON: self.reason,
            Front.ASIDE: self.ask_aside,
            Front.PLUGGED: self.card,
        }
        return simple.get(self.front)

    def _card_tile(self, snapshot: Snapshot) -> Tile | None:
        card = snapshot.card.card
        asked: dict[Card, Tile] = {Card.PEG_KIND: self.kind, Card.WHO_WHERE: self.who}
        if card in asked:
            return asked[card]
        if snapshot.moving:  # what has to be read waits for a stop
            return None
        return self.reason if card is Card.STOP_REASON else self.card

    def fill(self, tile: Tile | None, snapshot: Snapshot) -> None:
        """Write what is in front."""
        self.snapshot = snapshot
        if tile is self.parked:
            self.parked.show(snapshot.units)
        elif tile is self.kind:
            self.kind.ask(f"Peg {snapshot.peg_next - 1}: what is it?", tuple(PEGS.values()))
        elif tile is self.who:
            self._ask_who(snapshot.card)
        elif tile is self.reason:
            reasons = tuple(reason.capitalize() for reason in STOP_REASONS)
            self.reason.ask("Standing: what for?", reasons)
        elif tile is self.ask_aside:
            lines = tuple(line.format(what=self.aside.capitalize()) for line in ASIDE)
            self.ask_aside.tell("Out of use this shift?", lines, ("Out of use", "No, keep it"))
        elif tile is self.card:
            self._tell_card(snapshot.card)
        elif isinstance(tile, Sheet):
            tile.show(snapshot)

    def _ask_who(self, card: CardView) -> None:
        """Choices are ``driver:NAME`` or ``field:NAME``."""
        pairs = [choice.partition(":") for choice in card.choices]
        question = card.lines[0] if card.lines else "Who drives, and where?"
        names = tuple(name or kind for kind, _, name in pairs)
        self.who.ask(question, names, tuple(kind if name else "" for kind, _, name in pairs))

    def _tell_card(self, card: CardView) -> None:
        if self.front is Front.PLUGGED or card.card is Card.PLUGGED:
            lines = card.lines if card.card is Card.PLUGGED and card.lines else PLUGGED
            self.card.tell("Plugged: before you clear it", lines, ("I have read it",), True)
        elif card.card is Card.HAND_OVER:
            self.card.tell("Hand-over", card.lines, ("I have read it",))
        else:
            self.card.tell("Shift goes on", card.lines, ("I have read it",))

    # -- what a key does ---------------------------------------------------------------------------

    def dismiss(self) -> None:
        """Close what is in front; a card of the snapshot is told to the engine as read."""
        if self.front is Front.CARD and self.snapshot is not None:
            self.tap(TapKind.DISMISS, self.snapshot.card.card.value)
        self.bring(Front.NONE)

    def set_aside(self, what: str) -> None:
        """Offer to set a tile's sensors aside."""
        self.aside = what
        self.bring(Front.ASIDE)

    def _menu(self, name: str) -> None:
        snapshot = self.snapshot
        if snapshot is None:
            return
        fronts = {"more": Front.MORE, "stop": Front.REASON}
        if name in STEPS:
            self.tap(*STEPS[name])
        elif name in fronts:
            self.bring(fronts[name])
        elif name == "raised" and snapshot.parked_hold:
            self.bring(Front.PARKED)
        elif name in PAGES:
            self.bring(Front.NONE)
            if not snapshot.moving:
                self.way.open(name)
        else:
            self.bring(Front.NONE)
            self._say(name, snapshot)

    def _say(self, name: str, snapshot: Snapshot) -> None:
        """What a menu key tells the engine; "close" tells nothing."""
        down = snapshot.tool_button.down if snapshot.tool_button else None
        said: dict[str, tuple[TapKind, str | None]] = {
            "raised": (TapKind.RAISED, None),
            "peg": (TapKind.PEG, None),
            "tool": (TapKind.TOOL, "up" if down else "down"),
            "night": (TapKind.NIGHT, "day" if snapshot.night else "night"),
            "end": (TapKind.END_SHIFT, None),
            "driver": (TapKind.DRIVER, None),
            "field": (TapKind.FIELD, None),
            "rain": (TapKind.RAIN, None),
            "units": (TapKind.UNITS, "metric" if snapshot.units is UnitSystem.US else "us"),
            "looks": (TapKind.LOOK_SOUNDS, "on" if snapshot.looks_off else "off"),
        }
        if name in said:
            self.tap(*said[name])

    def _kind(self, name: str) -> None:
        if name == "close":
            self.dismiss()
            return
        self.bring(Front.NONE)
        self.tap(TapKind.PEG_KIND, list(PEGS)[int(name)])

    def _who(self, name: str) -> None:
        snapshot = self.snapshot
        if name == "close" or snapshot is None:
            self.dismiss()
            return
        kind, _, value = snapshot.card.choices[int(name)].partition(":")
        self.bring(Front.NONE)
        self.tap(TapKind.FIELD if kind == "field" else TapKind.DRIVER, value or kind)

    def _reason(self, name: str) -> None:
        if name == "close":
            self.dismiss()
            return
        reason = STOP_REASONS[int(name)]
        self.tap(TapKind.STOP_REASON, reason)
        self.bring(Front.PLUGGED if reason == "plugged" else Front.NONE)

    def _aside_key(self, name: str) -> None:
        if name == "aside":
            self.tap(TapKind.SET_ASIDE, self.aside)
        self.bring(Front.NONE)

"""The card over the tiles: hand-over, peg kind, reason for a stop, who and where, continued."""

from dataclasses import dataclass

from cabapp.events import TapKind
from cabapp.outcome import Card, CardView
from cabapp.plan import Plan
from cabapp.watch.now import Now
from cabapp.words import CAUTIONS_PLUGGED, PEGS, STOP_REASONS, Phase

PEG_KIND_S = 8.0
STOP_REASON_AFTER_S = 180.0
WHO_WHERE_AFTER_S = 20.0  # of work
WHO_WHERE_FOR_S = 60.0
MOST_NAMES = 3


@dataclass(slots=True)
class _Open:
    """A card that is up, and until when; None is until dismissed."""

    card: Card
    lines: tuple[str, ...]
    until: float | None = None


class Cards:
    """At most one card at a time, the newest that asks something in front."""

    def __init__(self, plan: Plan, drivers: tuple[str, ...], fields: tuple[str, ...]) -> None:
        self.peg: int | None = None
        self.drivers = _names(plan.driver, drivers)
        self.fields = _names(plan.field, fields)
        self._open: list[_Open] = []
        self._asked_stop = False
        self._asked_who = False

    def tick(self, now: Now, plan: Plan, worked_s: float) -> None:
        """Cards that come and go with time and movement."""
        self._open = [c for c in self._open if c.until is None or now.at < c.until - 1e-6]
        if now.phase is not Phase.STANDING:
            self._asked_stop = False
            self._close(Card.STOP_REASON)
        elif not self._asked_stop and now.at - now.phase_since >= STOP_REASON_AFTER_S - 1e-6:
            self._asked_stop = True
            self._put(Card.STOP_REASON, ())
        named = plan.driver and plan.field
        known = self.drivers or self.fields
        if known and not self._asked_who and not named and worked_s >= WHO_WHERE_AFTER_S:
            self._asked_who = True
            self.ask_who(now.at)

    def ask_who(self, at: float) -> bool:
        """Offer the names that are known; False when there is none."""
        if not (self.drivers or self.fields):
            return False
        self._put(Card.WHO_WHERE, (), at + WHO_WHERE_FOR_S)
        return True

    def pegged(self, number: int, at: float) -> None:
        """A peg was set: its kind may be told for eight seconds."""
        self.peg = number
        self._put(Card.PEG_KIND, (), at + PEG_KIND_S)

    def peg_named(self) -> None:
        """Its kind was told."""
        self.peg = None
        self._close(Card.PEG_KIND)

    def stop_reason(self, reason: str) -> None:
        """The stop has its reason; a plugged tool has its cautions."""
        self._asked_stop = True
        self._close(Card.STOP_REASON)
        if reason == "plugged":
            self._put(Card.PLUGGED, CAUTIONS_PLUGGED)

    def named(self, names: list[str], name: str) -> None:
        """A driver or a field that was told, for one tap the next time."""
        if name in names:
            names.remove(name)
        names.insert(0, name)
        del names[MOST_NAMES:]
        self._close(Card.WHO_WHERE)

    def hand_over(self, lines: tuple[str, ...]) -> None:
        """Another driver sits down."""
        self._put(Card.HAND_OVER, lines)

    def continued(self, lines: tuple[str, ...]) -> None:
        """The shift goes on after an interruption."""
        self._put(Card.CONTINUED, lines)

    def dismiss(self, name: str) -> None:
        """Read. Without a name, the one in front."""
        front = self._open[-1].card.value if self._open else ""
        self._open = [c for c in self._open if c.card.value != (name or front)]

    def view(self) -> CardView:
        """The card in front."""
        if not self._open:
            return CardView()
        card = self._open[-1]
        return CardView(card.card, card.lines, self._choices(card.card))

    def expired_peg(self, at: float) -> None:
        """Nobody told the kind in time."""
        if self.peg is not None and not any(c.card is Card.PEG_KIND for c in self._open):
            self.peg = None

    def _choices(self, card: Card) -> tuple[str, ...]:
        if card is Card.PEG_KIND:
            return tuple(PEGS)
        if card is Card.STOP_REASON:
            return STOP_REASONS
        if card is Card.WHO_WHERE:
            who = tuple(f"{TapKind.DRIVER.value}:{name}" for name in self.drivers)
            return who + tuple(f"{TapKind.FIELD.value}:{name}" for name in self.fields)
        return ()

    def _put(self, card: Card, lines: tuple[str, ...], until: float | None = None) -> None:
        self._close(card)
        self._open.append(_Open(card, lines, until))

    def _close(self, card: Card) -> None:
        self._open = [other for other in self._open if other.card is not card]


def _names(first: str, known: tuple[str, ...]) -> list[str]:
    """The newest names, each once, none empty."""
    return list(dict.fromkeys(name for name in (first, *known) if name))[:MOST_NAMES]

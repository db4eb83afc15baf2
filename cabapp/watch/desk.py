"""What the band shows: one headline, at most two chips, the count of the rest, and the notes."""

from collections.abc import Sequence
from dataclasses import dataclass

from cabapp.outcome import BandView, Chip, Quieting, TileState
from cabapp.watch.judge import RANK, Alert
from cabapp.watch.now import Now
from cabapp.watch.rules import GATES
from cabapp.watch.sayings import Teller
from cabapp.watch.sounding import is_quiet
from cabapp.words import Level, Rule, Said

MOST_CHIPS = 2
WORDS_LAST_S = 1.0  # figures inside a headline change at most once a second
_LOOK_SHANK = frozenset({Rule.NOT_PULLING, Rule.TRIPPING})
NEEDED_FIRST = frozenset({Rule.NO_SPRINGS, Rule.UP_OR_DOWN, Rule.NO_SWITCH})


def _group(alert: Alert) -> int:
    """Act; no reading that an act needs; looks about a shank; other no reading; looks; notes."""
    if alert.level is Level.ACT:
        return 0
    if alert.level is Level.NO_READING:
        return 1 if alert.rule in NEEDED_FIRST else 3
    if alert.level is Level.LOOK:
        return 2 if alert.rule in _LOOK_SHANK else 4
    return 5


def ranked(active: Sequence[Alert]) -> list[Alert]:
    """Active alerts in order, of each fact only its worst."""
    kept: list[Alert] = []
    for alert in sorted(active, key=lambda a: (_group(a), RANK[a.rule], a.order)):
        if not any(other.same_fact(alert) for other in kept):
            kept.append(alert)
    return kept


@dataclass(frozen=True, slots=True)
class Calm:
    """What the band says when no alert does."""

    headline: str
    action: str
    short: str
    mark: TileState


class Desk:
    """Keeps the headline's words steady and counts headlines, for a screen to pulse once each."""

    def __init__(self, teller: Teller) -> None:
        self.teller = teller
        self._headline: Alert | None = None
        self._onset = 0
        self._onset_at = -1.0
        self._said: Said | None = None
        self._said_at = float("-inf")

    def band(
        self, active: Sequence[Alert], now: Now, calm: Calm, looks_on: bool, sound_well: bool | None
    ) -> BandView:
        """The band at this tick."""
        order = ranked(active)
        told = [alert for alert in order if alert.level is not Level.NOTE]
        if not told:
            self._headline = None
            quieting = _at_rest(looks_on, sound_well)
            return BandView(
                None, calm.headline, calm.action, calm.short, mark=calm.mark, quieting=quieting,
                onset=self._onset,
            )  # fmt: skip
        first = told[0]
        said = self._words(first, now)
        quieting, left = self._quieting(first, told, active, now.at, looks_on, sound_well)
        chips = tuple(self._chip(alert, now) for alert in _beside(told[1:]))
        return BandView(
            first.level, said.headline, said.action, said.short, said.arrow, TileState.FREE,
            first.rule.value, self._onset, chips, max(0, len(told) - 1 - MOST_CHIPS), quieting,
            left,
        )  # fmt: skip

    def bench_onset(self) -> int:
        """The next number of a headline, for an alert fired on the bench."""
        self._onset += 1
        return self._onset

    def notes(self, active: Sequence[Alert], now: Now) -> list[str]:
        """The words of the active notes, most important first, each where it is of use."""
        notes = [
            alert
            for alert in ranked(active)
            if alert.level is Level.NOTE and GATES[alert.row.when](now) is not False
        ]
        return [self.teller.say(alert, now).action for alert in notes]

    def to_quiet(self, active: Sequence[Alert], now: float) -> list[Alert]:
        """What one tap quiets: the first alert not yet quiet, with all of its fact."""
        told = [alert for alert in ranked(active) if alert.level is not Level.NOTE]
        first = next((a for a in told if not is_quiet(a, active, now)), None)
        if first is None:
            return []
        return [
            a for a in active
            if a.same_fact(first) and a.order >= first.order and a.level is not Level.NOTE
        ]  # fmt: skip

    def _words(self, alert: Alert, now: Now) -> Said:
        onset_at = alert.machine.onset_at
        if alert is not self._headline or onset_at != self._onset_at or self._said is None:
            self._headline, self._onset_at = alert, onset_at
            self._onset += 1
        elif now.at - self._said_at < WORDS_LAST_S - 1e-6:
            return self._said
        self._said, self._said_at = self.teller.say(alert, now), now.at
        return self._said

    def _chip(self, alert: Alert, now: Now) -> Chip:
        said = self.teller.say(alert, now)
        return Chip(alert.level, said.chip, said.arrow)

    @staticmethod
    def _quieting(
        first: Alert,
        told: Sequence[Alert],
        active: Sequence[Alert],
        at: float,
        looks_on: bool,
        sound_well: bool | None,
    ) -> tuple[Quieting, float | None]:
        if sound_well is False:
            return Quieting.NO_SOUND, None
        if any(not is_quiet(alert, active, at) for alert in told):
            only_looks = all(alert.level is not Level.ACT for alert in told)
            if not looks_on and only_looks:
                return Quieting.LOOKS_OFF, None
            return Quieting.CAN_QUIET, None
        until = first.machine.quiet.until
        left = None if until is None or until == float("inf") else max(0.0, until - at)
        return Quieting.QUIETED, left


def _beside(others: Sequence[Alert]) -> list[Alert]:
    """What stands beside the headline: the worst, but a pipe ahead is never only counted."""
    shown, hidden = list(others[:MOST_CHIPS]), others[MOST_CHIPS:]
    pipe = [alert for alert in hidden if alert.rule is Rule.PIPE_AHEAD]
    return [*shown[: MOST_CHIPS - len(pipe)], *pipe]


def _at_rest(looks_on: bool, sound_well: bool | None) -> Quieting:
    if sound_well is None:
        return Quieting.UNKNOWN
    if not sound_well:
        return Quieting.NO_SOUND
    return Quieting.SOUND_ON if looks_on else Quieting.LOOKS_OFF

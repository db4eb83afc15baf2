"""The engine's loop: events in order to the cab, its answers to screen, speaker and record.

Nothing here waits for disk, sound or screen: the record's queue, the pipes' outboxes and the log
take what they are given and return.
"""

import logging
import queue
from collections.abc import Callable
from typing import Protocol

from cabapp.engine.grid import Clock, Feed
from cabapp.engine.listening import Listening
from cabapp.engine.odometer import Odometer
from cabapp.engine.service import Guarded
from cabapp.engine.watchers import ScreenWatch, VoiceWatch
from cabapp.engine.wire import (
    BEAT_S,
    Alive,
    Leaving,
    Loudness,
    Message,
    Part,
    PlanMade,
    Received,
    RigWritten,
    RunCopied,
    RunWanted,
    SamplesWanted,
    SparesWanted,
    TapMade,
    Voice,
)
from cabapp.events import Event, Health, HealthKind, PlanChanged, Tap
from cabapp.outcome import Outcome, Pattern, Sound

OLD_TAP_S = 3.0  # a tap that waited longer for a new engine no longer means what it meant

log = logging.getLogger(__name__)


class Judge(Protocol):
    """The pure centre."""

    def step(self, event: Event) -> Outcome:
        """The answer to one event."""
        ...


class Record(Protocol):
    """Where everything is kept; none of these waits."""

    def event(self, event: Event) -> None:
        """An event as it is handed to the cab, for the capture."""
        ...

    def put(self, outcome: Outcome) -> None:
        """Rows and moments to keep."""
        ...

    def health(self) -> Health | None:
        """News about the record, or None."""
        ...

    def copy(self, told: Callable[[RunCopied], None]) -> None:
        """Ask for a copy of the run being written; ``told`` hears of it, in another thread."""
        ...


Say = Callable[[Message], None]


class Engine:
    """Everything the engine does with one event."""

    def __init__(self, judge: Judge, record: Record, screen: Say, speaker: Say) -> None:
        self._judge = judge
        self._record = record
        self._screen = screen
        self._speaker = speaker
        self._guard = Guarded("engine")
        self.driven = Odometer()

    def step(self, event: Event) -> None:
        """One event through the cab. Sound and picture go out before the record is told."""
        self._guard.run(lambda: self._record.event(event))
        self._guard.run(lambda: self._answer(event))

    def record_health(self) -> Health | None:
        """News about the record."""
        return self._record.health()

    def copy_run(self) -> None:
        """Ask for a copy of the run being written; the screen is told when it is there."""
        self._guard.run(lambda: self._record.copy(self._screen))

    def _answer(self, event: Event) -> None:
        outcome = self._judge.step(event)
        for sound in outcome.sounds:
            self._speaker(sound)
        if outcome.snapshot is not None:
            self._screen(outcome.snapshot)
        for row in outcome.rows:
            self.driven.take(row)
        self._record.put(outcome)


class Loop:
    """Waits for what comes and for the next tick, and looks after the companions.

    ``post`` may be called from any thread. A queue of WAITING events bounds what can wait; beyond
    it the newest is let go and counted: only a stopped loop ever gets there.
    """

    WAITING = 4096

    def __init__(
        self,
        clock: Clock,
        screen: Say,
        speaker: Say,
        keeper: Say,
        replaced: Callable[[], bool],
    ) -> None:
        self._clock = clock
        self._screen = screen
        self._speaker = speaker
        self._keeper = keeper
        self._replaced = replaced
        self._queue: queue.Queue[Event] = queue.Queue(self.WAITING)
        self._feed = Feed(clock.now())
        self._voice = VoiceWatch(clock.real_now())
        self._picture = ScreenWatch()
        self._beat_at = float("-inf")
        self._ending = self._run_wanted = False
        self.lost = 0
        self._listening = Listening()
        self._began = clock.real_now()
        self.look_round: Callable[[Say], None] = lambda say: None  # at what no port reads

    def post(self, event: Event) -> None:
        """Hand over an event, from any thread."""
        try:
            self._queue.put_nowait(event)
        except queue.Full:
            self.lost += 1

    def end(self) -> None:
        """Leave the loop after the event in hand; safe in a signal handler and from any thread."""
        self._ending = True

    def from_screen(self, received: Received) -> None:
        """A message of the screen, in its reading thread."""
        match received.message:
            case Alive(drawn=drawn):
                self._picture.hear(drawn, self._clock.real_now())
            case TapMade(kind=kind, value=value):
                if self._clock.real_now() - received.sent < OLD_TAP_S:
                    self.post(Tap(self._clock.now(), kind, value))
            case PlanMade(plan=plan):
                self.post(PlanChanged(self._clock.now(), plan))
            case SamplesWanted(on=on):
                self._listening.open = on
            case SparesWanted():
                self.look_round(self._screen)
            case RunWanted():
                self._run_wanted = True
            case Loudness() as loudness:
                self._speaker(loudness)
            case RigWritten():
                log.info("the rig was written: starting again with it")
                self.end()

    def from_speaker(self, received: Received) -> None:
        """A message of the speaker, in its reading thread."""
        if isinstance(received.message, Voice):
            self._voice.hear(received.message, self._clock.real_now())

    def run(self, engine: Engine) -> None:
        """Turn until told to end, and say that this is no failure."""
        while not self._ending:
            self._round(engine)
        for say in (self._screen, self._speaker):
            say(Leaving())

    def _round(self, engine: Engine) -> None:
        wait_s = self._clock.real_s(self._feed.next_tick - self._clock.now())
        try:
            event = self._queue.get(timeout=wait_s) if wait_s else self._queue.get_nowait()
        except queue.Empty:
            due = self._feed.ticks(self._clock.now())
        else:
            due = self._feed.before(event)
        for one in due:
            engine.step(one)
            if self._listening.hear(one):
                self._screen(self._listening.ports(one.now))
        if self._clock.real_now() - self._beat_at >= BEAT_S:
            self._beat_at = self._clock.real_now()
            self._look_after(engine, self._beat_at)

    def _look_after(self, engine: Engine, real_now: float) -> None:
        for say in (self._screen, self._speaker, self._keeper):
            say(Alive(Part.ENGINE))
        if self._replaced():
            self.end()
        if self._run_wanted:
            self._run_wanted = False
            engine.copy_run()
        if self._listening.open:
            self._screen(self._listening.samples())
            self._screen(self._listening.ports(self._clock.now()))
            if (receiving := self._listening.receiving(engine.driven, self._began)) is not None:
                self._screen(receiving)
        if (news := self._voice.news(real_now)) is not None:
            well, cause = news
            self.post(Health(self._clock.now(), HealthKind.SOUND, well, cause))
        if (health := engine.record_health()) is not None:
            self.post(health)
        if self._picture.sound_due(real_now):
            log.warning("the screen does not answer: telling by ear")
            self.post(Health(self._clock.now(), HealthKind.SCREEN, False))
            self._speaker(Sound(0, Pattern.LOOK, False, "no_screen", self._clock.now()))

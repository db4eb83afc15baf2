"""The engine goes on judging, sounding and showing, whatever its record or its judge does."""

import threading
import time
from collections.abc import Callable
from pathlib import Path

from cabapp.engine.grid import Clock
from cabapp.engine.loop import OLD_TAP_S, Engine, Loop
from cabapp.engine.wire import (
    Alive,
    Leaving,
    Loudness,
    Message,
    Part,
    PlanMade,
    Ports,
    Received,
    RigWritten,
    RunCopied,
    RunWanted,
    SamplesWanted,
    TapMade,
    Voice,
)
from cabapp.events import (
    Bytes,
    Event,
    Health,
    HealthKind,
    PlanChanged,
    PortCondition,
    PortState,
    Tap,
    TapKind,
    Tick,
)
from cabapp.outcome import Outcome, Snapshot, Sound
from cabapp.plan import Plan, default_plan
from cabapp.record.disk import Disk
from cabapp.record.runfile import RunFacts
from cabapp.record.writer import Writer
from cabapp.rig import Rig
from tests.faults.cabin import sentence
from tests.faults.stand_in import SpeedJudge


class Kept:
    """A record that keeps everything it is told."""

    def __init__(self) -> None:
        self.events: list[Event] = []
        self.outcomes: list[Outcome] = []

    def event(self, event: Event) -> None:
        self.events.append(event)

    def put(self, outcome: Outcome) -> None:
        self.outcomes.append(outcome)

    def health(self) -> Health | None:
        return None

    def copy(self, told: Callable[[RunCopied], None]) -> None:
        told(RunCopied("runs/shift-0007.gpkg", "live/shift-0007.gpkg"))


class Running:
    """A loop in a thread of its own, with lists for pipes."""

    def __init__(self, judge: object = None) -> None:
        self.screen: list[Message] = []
        self.speaker: list[Message] = []
        self.keeper: list[Message] = []
        self.replaced = False
        self.record = Kept()
        self.loop = Loop(
            Clock(), self.screen.append, self.speaker.append, self.keeper.append,
            lambda: self.replaced,
        )  # fmt: skip
        engine = Engine(judge or SpeedJudge(), self.record, self.screen.append, self.speaker.append)
        self.thread = threading.Thread(target=self.loop.run, args=(engine,), daemon=True)
        self.thread.start()

    def until(self, true: Callable[[], object]) -> None:
        end = time.monotonic() + 5.0
        while not true():
            assert time.monotonic() < end
            time.sleep(0.005)

    def say(self, message: Message, age_s: float = 0.0) -> None:
        self.loop.from_screen(Received(message, time.monotonic() - age_s))

    def heard(self, kind: type) -> list[Event]:
        return [event for event in self.record.events if isinstance(event, kind)]

    def __enter__(self) -> "Running":
        return self

    def __exit__(self, *error: object) -> None:
        self.loop.end()
        self.thread.join(2.0)
        assert not self.thread.is_alive()


def test_taps_and_plans_reach_the_cab_and_the_record_in_order() -> None:
    with Running() as run:
        run.say(TapMade(TapKind.QUIET))
        run.say(TapMade(TapKind.DEPTH_TARGET, 1))
        run.say(PlanMade(Plan(field="Home")))
        run.until(lambda: run.heard(PlanChanged))
    taps = [(tap.kind, tap.value) for tap in run.heard(Tap)]  # type: ignore[attr-defined]
    assert taps == [(TapKind.QUIET, None), (TapKind.DEPTH_TARGET, 1)]
    times = [event.now for event in run.record.events]
    assert times == sorted(times)


def test_a_tap_that_waited_for_a_new_engine_is_not_obeyed_any_more() -> None:
    with Running() as run:
        run.say(TapMade(TapKind.TOOL, "up"), age_s=OLD_TAP_S + 1)
        run.say(TapMade(TapKind.QUIET))
        run.until(lambda: run.heard(Tap))
    assert [tap.kind for tap in run.heard(Tap)] == [TapKind.QUIET]  # type: ignore[attr-defined]


def test_screen_speaker_and_keeper_all_hear_that_the_engine_is_alive() -> None:
    with Running() as run:
        for heard in (run.screen, run.speaker, run.keeper):
            run.until(lambda: Alive(Part.ENGINE) in heard)  # noqa: B023


def test_what_the_speaker_says_of_itself_becomes_health() -> None:
    with Running() as run:
        run.loop.from_speaker(Received(Voice(True), time.monotonic()))
        run.until(lambda: run.heard(Health))
        run.loop.from_speaker(Received(Voice(False), time.monotonic()))
        run.until(lambda: len(run.heard(Health)) == 2)
    found = [(health.kind, health.well) for health in run.heard(Health)]  # type: ignore[attr-defined]
    assert found == [(HealthKind.SOUND, True), (HealthKind.SOUND, False)]


def test_a_written_rig_or_another_keeper_ends_the_loop() -> None:
    with Running() as run:
        run.say(RigWritten())
        run.until(lambda: not run.thread.is_alive())
        assert [run.screen[-1], run.speaker[-1]] == [Leaving(), Leaving()]  # no alarm for that
    with Running() as run:
        run.replaced = True
        run.until(lambda: not run.thread.is_alive())


def test_the_loudness_that_was_signed_for_reaches_the_speaker() -> None:
    with Running() as run:
        run.say(Loudness(0.4, 0.7))
        run.until(lambda: Loudness(0.4, 0.7) in run.speaker)


def test_an_installers_page_hears_of_ports_at_each_change_and_all_the_while_when_open() -> None:
    with Running() as run:
        run.loop.post(PortState(time.monotonic(), "gnss", PortCondition.OK, "/dev/x"))
        run.until(lambda: any(isinstance(message, Ports) for message in run.screen))
        run.say(SamplesWanted(True))
        before = len(run.screen)
        run.until(lambda: sum(isinstance(m, Ports) for m in run.screen[before:]) >= 2)


def test_a_cab_that_raises_is_logged_and_the_next_event_is_judged() -> None:
    class Faulty(SpeedJudge):
        """Raises at bytes."""

        def step(self, event: Event) -> Outcome:
            if isinstance(event, Bytes):
                raise ValueError("unforeseen")
            return super().step(event)

    with Running(Faulty()) as run:
        run.loop.post(Bytes(time.monotonic(), "gnss", b"x"))
        seen = len(run.screen)
        run.until(lambda: any(isinstance(m, Snapshot) for m in run.screen[seen:]))


def test_with_a_frozen_disk_every_second_of_a_full_line_is_judged_sounded_and_kept(
    tmp_path: Path,
) -> None:
    """20 Hz, the line full at 38,400 baud, for a minute; the disk answers only afterwards."""
    thawed = threading.Event()

    class Frozen(Disk):
        """Answers nothing until thawed."""

        def connect(self, path: Path):  # type: ignore[no-untyped-def]
            thawed.wait()
            return super().connect(path)

        def append(self, path: Path):  # type: ignore[no-untyped-def]
            thawed.wait()
            return super().append(path)

    now = [0.0]
    writer = Writer(tmp_path, lambda: now[0], Frozen())
    writer.begin(RunFacts(Rig(), default_plan(Rig())))
    screen: list[Message] = []
    speaker: list[Message] = []
    engine = Engine(SpeedJudge(), writer, screen.append, speaker.append)
    satellites = ",".join(["10", "45", "120", "38"] * 3)
    filler = sentence(f"GPGSV,2,1,6,{satellites}") + sentence(f"GPGSV,2,2,6,{satellites}")
    for step in range(60 * 20):
        now[0] = step / 20
        over = 30 <= now[0] < 33
        rmc = sentence(f"GPRMC,120000,A,5150.0,N,01030.0,E,{25.0 if over else 5.0},90,150626,,,A")
        engine.step(Bytes(now[0], "gnss", rmc + filler))
        if step % 2 == 0:
            engine.step(Tick(now[0]))
    assert not thawed.is_set()
    assert [s.at for s in speaker if isinstance(s, Sound)] == [30.0, 32.5]
    assert sum(isinstance(message, Snapshot) for message in screen) == 600
    news: list[Health] = []
    until = time.monotonic() + 10.0  # the writer's own thread needs a core first
    while not news and time.monotonic() < until:
        news += [one for one in (writer.health(),) if one is not None]
    [health] = news
    assert (health.kind, health.well, health.cause) == (HealthKind.RECORD, False, "disk_slow")
    thawed.set()
    assert writer.end()
    assert writer.saved == (60, 0)
    writer.stop()


def test_the_owner_s_page_asks_once_and_hears_of_the_copy_while_ticks_go_on() -> None:
    with Running() as run:
        run.say(RunWanted())
        run.until(lambda: any(isinstance(said, RunCopied) for said in run.screen))
        ticks = len(run.heard(Tick))
        run.until(lambda: len(run.heard(Tick)) > ticks + 5)
    copied = [said for said in run.screen if isinstance(said, RunCopied)]
    assert copied == [RunCopied("runs/shift-0007.gpkg", "live/shift-0007.gpkg")]

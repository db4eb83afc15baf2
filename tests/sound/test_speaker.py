"""What the speaker says of its output, and when it makes way for a new process."""

import threading
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace

import pytest

from cabapp.engine.wire import Message, Voice
from cabapp.sound import speaker
from cabapp.sound.speaker import REFUSED_S, STUCK_S, Speaker

STEP_S = 0.25


class Output:
    """Stands for lookout and player: what is known of an output, settable from the outside."""

    def __init__(self) -> None:
        self.found, self.missing = threading.Event(), threading.Event()
        self.open, self.well = True, None

    def step(self, now: float) -> None:
        return


class Bench:
    """A speaker whose clock goes a beat a round; ``story`` is asked each round what happens now."""

    def __init__(self, tmp_path: Path, patch: pytest.MonkeyPatch) -> None:
        self.output, self.now, self.rounds = Output(), 0.0, 0
        self.said: list[tuple[float, bool]] = []
        patch.setattr(speaker, "Lookout", lambda: self.output)
        patch.setattr(speaker, "Player", lambda folder: self.output)
        patch.setattr(speaker, "time", SimpleNamespace(monotonic=self._clock))
        patch.setattr(speaker, "STEP_S", 0.0)
        self._speaker = Speaker(tmp_path, tmp_path / "loudness.json")

    def run(self, story: Callable[["Bench"], None], for_s: float) -> float:
        """Until it leaves by itself, or so long; returns when that was."""
        self._story, self._until = story, self.now + for_s
        self._speaker.run(self)  # type: ignore[arg-type]
        return self.now

    def _clock(self) -> float:
        self.now += STEP_S
        self._story(self)
        return self.now

    # what the speaker takes for its links
    engine_heard = True

    def engine_silent_s(self) -> float:
        return 0.0

    def send(self, message: Message) -> None:
        assert isinstance(message, Voice)
        self.said.append((self.now, message.well))

    def beat(self) -> bool:
        return self.now < self._until


@pytest.fixture
def bench(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Bench:
    made = Bench(tmp_path, monkeypatch)
    made._story = lambda b: None
    return made


def at(moment_s: float, act: Callable[[Output], None]) -> Callable[[Bench], None]:
    def story(bench: Bench) -> None:
        if bench.now >= moment_s:
            act(bench.output)

    return story


def test_nothing_is_said_until_something_is_known(bench: Bench) -> None:
    bench.run(lambda b: None, 5.0)
    assert bench.said == []


def test_without_an_output_it_says_so_each_beat_and_stays(bench: Bench) -> None:
    ended = bench.run(at(2.0, lambda o: o.missing.set()), 60.0)
    assert ended >= 60.0
    assert {well for _, well in bench.said} == {False}
    assert bench.said[0][0] < 2.6


def test_an_output_that_opened_is_sound_only_when_the_probe_has_told(bench: Bench) -> None:
    def story(b: Bench) -> None:
        b.output.missing.set()
        if b.now > 4.0:
            b.output.found.set()
        if b.now > 8.0:
            b.output.well = True

    bench.run(story, 12.0)
    first_well = next(now for now, well in bench.said if well)
    assert 8.0 < first_well < 8.6
    assert not any(well for now, well in bench.said if now <= 8.0)


def test_a_lost_output_is_told_and_the_process_makes_way_at_once(bench: Bench) -> None:
    def story(b: Bench) -> None:
        b.output.found.set()
        b.output.open = b.output.well = b.now < 5.0

    assert bench.run(story, 60.0) < 6.0
    assert bench.said[-1][1] is False


def test_a_stuck_output_is_waited_for_and_a_refused_one_not_so_long(
    bench: Bench, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stuck(b: Bench) -> None:
        b.output.found.set()
        b.output.well = b.now < 5.0

    assert bench.run(stuck, 60.0) - 5.0 == pytest.approx(STUCK_S, abs=2 * STEP_S)
    refused = Bench(tmp_path, monkeypatch)
    refused._story = lambda b: None

    def refuse(b: Bench) -> None:
        b.output.found.set()
        b.output.open = b.output.well = False

    assert REFUSED_S <= refused.run(refuse, 60.0) < REFUSED_S + 1.5

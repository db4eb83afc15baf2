"""What the engine concludes from what its companions say, and from what they do not."""

from cabapp.engine.watchers import ScreenWatch, VoiceWatch
from cabapp.engine.wire import BEAT_S, Voice


def test_a_speaker_that_never_speaks_is_no_sound_within_three_seconds() -> None:
    watch = VoiceWatch(100.0)
    assert watch.news(102.0) is None
    assert watch.news(103.0) == (False, "")
    assert watch.news(104.0) is None  # told once


def test_news_come_once_at_each_change() -> None:
    watch = VoiceWatch(100.0)
    watch.hear(Voice(True), 100.5)
    assert watch.news(100.5) == (True, "")
    watch.hear(Voice(True), 100.5 + BEAT_S)
    assert watch.news(101.0) is None
    watch.hear(Voice(False), 101.0)
    assert watch.news(101.0) == (False, "")


def test_a_speaker_that_dies_is_no_sound_within_three_seconds_and_sound_when_it_is_back() -> None:
    watch = VoiceWatch(100.0)
    watch.hear(Voice(True), 110.0)
    assert watch.news(110.0) == (True, "")
    assert watch.news(113.0) == (False, "")
    watch.hear(Voice(True), 114.0)
    assert watch.news(114.0) == (True, "")


def test_a_lost_picture_is_told_by_ear_within_three_seconds_and_then_seldom() -> None:
    watch = ScreenWatch()
    assert not watch.sound_due(100.0)  # no screen yet: nothing was lost
    watch.hear(7, 100.0)
    due = [t / 10 for t in range(1000, 1500) if watch.sound_due(t / 10)]
    assert len(due) == 3
    assert due[0] <= 103.0
    assert due[1] - due[0] >= 20.0


def test_a_screen_that_returns_in_time_makes_no_sound() -> None:
    watch = ScreenWatch()
    watch.hear(7, 100.0)
    assert not watch.sound_due(102.5)
    watch.hear(1, 102.6)
    assert not watch.sound_due(105.0)
    assert watch.drawn == 1

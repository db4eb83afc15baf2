"""How loud the sounds are, signed for once and kept."""

from pathlib import Path

import pytest

from cabapp.engine.wire import Loudness
from cabapp.sound.loudness import keep_loudness, read_loudness, usable


def test_what_was_signed_for_is_there_after_a_restart(tmp_path: Path) -> None:
    keep_loudness(tmp_path / "loudness.json", Loudness(0.45, 0.8))
    assert read_loudness(tmp_path / "loudness.json") == Loudness(0.45, 0.8)


@pytest.mark.parametrize(
    "text", ["", "{", "3", "[]", '{"first": 0.0, "stepped": 1.0}', '{"first": "x", "stepped": 1}']
)
def test_a_torn_or_silent_file_leaves_the_usual_loudness(tmp_path: Path, text: str) -> None:
    file = tmp_path / "loudness.json"
    file.write_text(text)
    assert read_loudness(file) == Loudness()


def test_nobody_can_sign_for_silence_or_for_a_second_sound_softer_than_the_first() -> None:
    assert not usable(Loudness(0.0, 1.0))
    assert not usable(Loudness(0.8, 0.5))
    assert not usable(Loudness(float("nan"), 1.0))
    assert usable(Loudness(0.3, 0.3))


def test_a_storage_that_refuses_stops_nothing(tmp_path: Path) -> None:
    keep_loudness(tmp_path / "missing" / "loudness.json", Loudness(0.5, 0.9))

"""The sound output missing, plugged in late, pulled, and stuck: shown in time, and found again."""

import time
from pathlib import Path

from tests.faults.cabin import ACT_PULSES_S, Cabin, driving, until
from tests.faults.test_processes_killed import MODULES


def test_an_output_is_missed_found_lost_and_found_again(tmp_path: Path) -> None:
    with driving(tmp_path, MODULES, ear=False) as cabin:
        first = cabin.shown()[0]["at"]
        assert cabin.shows(0.0, lambda e: e["sound"] == "no_sound" and e["at"] - first < 3.0)
        cabin.ear.plug_in()
        heard_in_time(cabin, plugged_at=time.monotonic())
        for lose in (cabin.ear.pull, lambda: cabin.ear.stall(3.0)):
            lost = time.monotonic()
            lose()
            until(lambda: cabin.shows(lost, says_no_sound), 3.0, "no sound, shown")  # noqa: B023
            shown = next(e["at"] for e in cabin.shown(lost) if says_no_sound(e))
            assert shown - lost < 3.0
            if not cabin.ear.there:
                cabin.ear.plug_in()
            heard_in_time(cabin, plugged_at=time.monotonic())


def says_no_sound(entry: dict[str, object]) -> bool:
    return entry["sound"] == "no_sound"


def heard_in_time(cabin: Cabin, plugged_at: float) -> None:
    """The screen takes NO SOUND back, and an overload is heard over the new output."""
    until(lambda: cabin.shows(plugged_at, lambda e: e["sound"] == "sound_on"), 8.0, "sound found")
    cabin.speed_kn = 25.0
    asked = time.monotonic()
    assert cabin.ear.wait_for(ACT_PULSES_S, asked, 4.0) - asked < 1.0
    cabin.speed_kn = 5.0

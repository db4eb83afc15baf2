"""The sound output missing, plugged in late, pulled, and stuck: shown in time, and found again."""

import time
from pathlib import Path
from typing import Any

from tests.faults.cabin import ACT_PULSES_S, Cabin, driving
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
            assert cabin.when(lost, says_no_sound, "no sound, shown") - lost < 3.0
            if not cabin.ear.there:
                cabin.ear.plug_in()
            heard_in_time(cabin, plugged_at=time.monotonic())


def says_no_sound(entry: dict[str, Any]) -> bool:
    return entry["sound"] == "no_sound"


def heard_in_time(cabin: Cabin, plugged_at: float) -> None:
    """The screen takes NO SOUND back, and an overload is heard over the new output."""
    found = cabin.when(plugged_at, lambda e: e["sound"] == "sound_on", "sound found")
    assert found - plugged_at < 8.0
    cabin.speed_kn = 25.0
    asked = time.monotonic()
    assert cabin.ear.wait_for(ACT_PULSES_S, asked) - asked < 1.0
    cabin.speed_kn = 5.0

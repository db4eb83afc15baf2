"""The sound output missing, plugged in late, pulled, and stuck: shown in time, and found again."""

import os
import time
from pathlib import Path
from typing import Any

from tests.faults.cabin import ACT_PULSES_S, Cabin, driving
from tests.faults.test_processes_killed import MODULES

LOOKS_S = 5.0


def test_an_output_is_missed_found_lost_and_found_again(tmp_path: Path) -> None:
    with driving(tmp_path, MODULES, ear=False) as cabin:
        first = cabin.shown()[0]["at"]
        assert cabin.when(0.0, says_no_sound, "no sound, shown") - first < 3.0
        assert not cabin.shows(0.0, lambda e: e["sound"] == "sound_on")
        looks_quietly(cabin)
        cabin.ear.plug_in()
        heard_in_time(cabin, plugged_at=time.monotonic())
        for lose in (cabin.ear.pull, lambda: cabin.ear.stall(3.0)):
            lost = time.monotonic()
            lose()
            assert cabin.when(lost, says_no_sound, "no sound, shown") - lost < 3.0
            if not cabin.ear.there:
                cabin.ear.plug_in()
            heard_in_time(cabin, plugged_at=time.monotonic())


def looks_quietly(cabin: Cabin) -> None:
    """One process looks for an output: no restarts, nothing said twice, hardly any work."""
    looking = cabin.pid("speaker")
    before = cpu_s(looking)
    time.sleep(LOOKS_S)
    assert cabin.pids("speaker") == [looking]
    assert cpu_s(looking) - before < 0.05 * LOOKS_S
    said = (cabin.home / "log" / "speaker.log").read_text().splitlines()
    assert [line.split(": ", 1)[1] for line in said if "no sound output" in line] == [
        "no sound output; looking for one each 2 s"
    ]
    assert not any(word in line for line in said for word in ("ERROR", "CRITICAL"))


def cpu_s(pid: int) -> float:
    """What a process has used of a core (proc_pid_stat(5), fields 14 and 15)."""
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def says_no_sound(entry: dict[str, Any]) -> bool:
    return entry["sound"] == "no_sound"


def heard_in_time(cabin: Cabin, plugged_at: float) -> None:
    """The screen takes NO SOUND back, and an overload is heard over the new output."""
    found = cabin.when(plugged_at, lambda e: e["sound"] == "sound_on", "sound found")
    assert found - plugged_at < 4.0
    cabin.speed_kn = 25.0
    asked = time.monotonic()
    assert cabin.ear.wait_for(ACT_PULSES_S, asked) - asked < 1.0
    cabin.speed_kn = 5.0

"""A power cut between capture and accept: the process is killed, and every point shown is there."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from cabapp.engine.home import Home
from cabapp.record.rigfile import RigFile
from cabapp.rig import Rig, Sensor
from cabapp.screens.pages.fitup_work import Work

TAKES = """
import sys, itertools
from pathlib import Path
from cabapp.engine.home import Home
from cabapp.fitup.points import Approach, Place
from cabapp.fitup.session import CalibrationSession
from cabapp.fitup.stillness import Look, Standing
from cabapp.fitup.task import depth_task
from cabapp.screens.pages.fitup_work import Work
work = Work(Home(Path(sys.argv[1])), lambda message: None, lambda: 0.0)
session = CalibrationSession("depth1", "4417", depth_task("in")).confirm_safety()
for n in itertools.count(1):
    session = session.open_row(0.001 * (n % 300), Place.SHED)
    still = Look(Standing.STEADY, 1.5, 1.499, 1.501, 3.0)
    session = session.take(len(session.rows), still, Approach.UP)
    fault = work.keep(session)
    print(fault or n, flush=True)
"""


@pytest.mark.parametrize("shown", [1, 7, 23])
def test_every_point_that_was_shown_as_taken_is_there_after_a_kill(tmp_path: Path, shown: int):
    home = Home(tmp_path)
    RigFile(home.rig).write(Rig(sensors=(Sensor("depth1", "DEPTH1", "gnss", "V"),)))
    before = home.rig.read_bytes()
    child = subprocess.Popen(
        [sys.executable, "-c", TAKES, str(tmp_path)], stdout=subprocess.PIPE, text=True
    )
    assert child.stdout is not None
    for n in range(1, shown + 1):
        assert child.stdout.readline().strip() == str(n)
    child.send_signal(signal.SIGKILL)
    child.communicate()
    again = Work(home, lambda message: None, lambda: 0.0)
    session, fault = again.session("depth1")
    assert fault == "" and session is not None and session.safe
    assert len(session.rows) >= shown
    assert all(len(row.takes) == 1 for row in session.rows)
    assert home.rig.read_bytes() == before and again.rig.sensor("depth1").curve is None

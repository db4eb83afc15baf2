"""What a finger found at the running pages of fit-up: springs, switch and tool, by touch alone."""

from dataclasses import replace

import pytest

from cabapp.fitup.pages import Page
from cabapp.fitup.plugs import Mark
from cabapp.rigcheck import read_rig
from cabapp.screens.pages.fitup_invented import GOOD_PORTS, Bench
from cabapp.screens.pictures import layout_of
from cabapp.units import from_unit

TEN = "10in-1280x800"


@pytest.fixture(autouse=True)
def window(cabin):
    """Widgets need the window of the run."""


@pytest.fixture
def bench(tmp_path):
    made = Bench(layout_of(TEN), tmp_path)
    made.enter()
    made.ports(*GOOD_PORTS)
    made.run(2.0)
    return made


def words(bench):
    """Everything that can be read."""
    return [say.text for say in bench.page.paper.over.says if say.text]


def reads(bench, part):
    return part in " ".join(words(bench))


def on_disk(bench):
    return read_rig(bench.home.rig.read_text())


def lifted(bench):
    bench.tap("springs")
    bench.tap("go")
    bench.run(3.5)
    bench.tap("lifted")


def trip(bench, number, newtons):
    bench.tap(f"spring_spring{number}")
    bench.springs[f"SPRING{number}"] = newtons
    bench.run(0.4)
    bench.springs[f"SPRING{number}"] = 900.0 + 40 * number
    bench.run(0.4)
    bench.tap("trip")


def test_the_same_trip_touched_again_proves_nothing(bench):
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.run(3.0)
    bench.tap("trip")
    assert reads(bench, "No new trip of it in the last 10 s")
    bench.tap("back")
    assert reads(bench, "One trip seen, not repeated")
    trip(bench, 1, 17_200.0)
    assert reads(bench, "Lifted is 0, the trips agree")


def test_a_touch_on_accept_is_answered(bench):
    lifted(bench)
    trip(bench, 1, 17_000.0)
    assert reads(bench, "Accept 1")
    bench.tap("accept")
    assert reads(bench, "Accept 0") and reads(bench, f"Accepted {bench.page.work.day}.")


def calibrate_by_loads(bench, number):
    """Five loads and one kept for proof, as the node reads them; accepted."""
    bench.tap(f"calibrate_spring{number}")
    if any(target.name == "go" for target in bench.page.targets()):
        bench.tap("go")
    for place, lbf in ((0, 0), (0, 1200), (0, 2400), (0, 3600), (0, 4600), (1, 3000)):
        bench.springs[f"SPRING{number}"] = from_unit(lbf, "lbf")
        bench.tap("add")
        bench.tap(f"choice_{place}")
        bench.type(str(lbf))
        bench.run(5.0)
        bench.tap("take_up")
    bench.tap("verdict_0")


def test_a_spring_proven_by_loads_stays_so_when_others_are_accepted(bench):
    work = bench.page.work
    work.save(replace(work.rig, sensors=tuple(
        replace(s, trip_n=22_000.0) if s.channel == "spring2" else s for s in work.rig.sensors
    )))  # fmt: skip
    lifted(bench)
    bench.tap("full")
    calibrate_by_loads(bench, 2)
    curve = on_disk(bench).sensor("spring2").curve
    bench.tap("back")
    lifted(bench)
    trip(bench, 1, 17_000.0)
    bench.tap("accept")
    assert on_disk(bench).sensor("spring2").curve == curve
    assert bench.page.leaves[Page.SPRINGS].state() == (Mark.TO_DO, "1 of 7 trips proven")

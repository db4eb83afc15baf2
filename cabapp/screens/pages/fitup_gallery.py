"""Invented moments of the invented fitting: every page and state of Fit-up, for pictures and tests.

Nothing here is measured.
"""

import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from cabapp.curve import Curve, CurveKind
from cabapp.engine.wire import PortLine, SpareLine, Spares
from cabapp.events import PortCondition
from cabapp.fitup.edits import accept_curve
from cabapp.fitup.evidence import SensorProof, SwitchProof
from cabapp.fitup.judge import Verdict
from cabapp.fitup.pages import Page
from cabapp.readings import Sample
from cabapp.record.rigfile import RigFile
from cabapp.rig import Sensor
from cabapp.screens.gallery import STANDING
from cabapp.screens.pages.fitup_calibrate_gallery import CALIBRATING
from cabapp.screens.pages.fitup_files import FilesLeaf
from cabapp.screens.pages.fitup_invented import GOOD_PORTS, RIG, Bench
from cabapp.screens.ruler import Layout
from cabapp.units import INCH_M


def _list(bench: Bench) -> None:
    bench.ports(*GOOD_PORTS)
    bench.run(2.0)


def _trouble(bench: Bench) -> None:
    bench.ports(
        *GOOD_PORTS,
        PortLine("node2", PortCondition.SILENT, "/dev/ttyUSB1"),
        PortLine("node3", PortCondition.GARBAGE, "/dev/ttyUSB2"),
    )
    bench.run(2.0)
    bench.page.go(Page.PLUGS)
    bench.run(1.0)


SPARES = Spares(
    (
        SpareLine("/dev/serial/by-id/usb-node-11", PortCondition.OK, "node", ("XDR",), 10.0),
        SpareLine("/dev/ttyUSB7", PortCondition.SILENT),
    )
)


def _spares(bench: Bench) -> None:
    bench.begin(Page.PLUGS)
    bench.page.heard(SPARES)


def _receiver(bench: Bench) -> None:
    bench.begin(Page.RECEIVER)
    bench.receiving(25.0)


def _course(bench: Bench) -> None:
    """A course of 300 ft kept as proven, and the rest with it."""
    _receiver(bench)
    bench.tap("keep")
    bench.tap("length")
    bench.tap("choice_0")
    bench.type("300")
    bench.tap("start")
    bench.receiving(46.0, 2.0)
    bench.receiving(2.0)
    bench.tap("end")
    bench.tap("read")


def _take_role(bench: Bench) -> None:
    bench.begin(Page.PLUGS)
    bench.tap("plug_node")


def _new_heard(bench: Bench) -> None:
    bench.extra = (Sample("node", "ADC3", "U", 2.41, "V", bench.at),)
    bench.begin(Page.SENSORS)


def _detail(bench: Bench) -> None:
    bench.begin(Page.SENSORS)
    bench.tap("sensor_depth1")


def _found(bench: Bench) -> None:
    bench.begin(Page.FIND)
    bench.tap("move_depth1")
    bench.depths["DEPTH1"] += 0.4
    bench.run(1.0)


def _springs(bench: Bench) -> None:
    bench.begin(Page.SPRINGS)
    bench.tap("go")
    bench.run(3.5)
    bench.tap("lifted")
    for n, peaks in ((1, (16800.0, 17100.0)), (2, (16500.0,)), (3, (16000.0, 19500.0))):
        bench.tap(f"spring_spring{n}")
        for peak in peaks:
            before = bench.springs[f"SPRING{n}"]
            bench.springs[f"SPRING{n}"] = peak
            bench.run(0.4)
            bench.springs[f"SPRING{n}"] = before
            bench.run(0.6)
            bench.tap("trip")
            bench.run(11.0)


def _switch_proven(bench: Bench) -> None:
    bench.begin(Page.SWITCH)
    for _ in range(6):
        bench.down = 1.0 - bench.down
        bench.run(2.0)


def _switch_on_change(bench: Bench) -> None:
    bench.begin(Page.SWITCH)
    bench.silent = {"TOOLDOWN"}
    for _ in range(3):
        bench.run(5.0)
        bench.down = 1.0 - bench.down
        bench.extra = (Sample("node", "TOOLDOWN", "G", bench.down, "", bench.at),)
        bench.run(0.2)
        bench.extra = ()
    bench.run(3.0)


def _tool(group: int) -> Callable[[Bench], None]:
    def scene(bench: Bench) -> None:
        bench.begin(Page.TOOL)
        bench.tap(f"tab_{group}")

    return scene


def _tool_doubt(bench: Bench) -> None:
    bench.begin(Page.TOOL)
    bench.tap("tool_width_m")
    bench.type("9")


def _limit_refused(bench: Bench) -> None:
    """An arm proven to 1.4 in, and a band of 1 1/2 in that is asked to be tighter."""
    rig = bench.page.work.rig
    curve = Curve(CurveKind.LINEAR, 0.6, 4.3, coefficients=(-0.2, 0.1), proven_error=1.4 * INCH_M)
    rig = accept_curve(rig, "depth1", curve)
    bench.page.work.save(replace(rig, limits=replace(rig.limits, depth_margin_m=1.5 * INCH_M)))
    bench.page.go(Page.LIMITS)
    bench.tap("depth_margin_m_minus")


def _limits_tight(bench: Bench) -> None:
    """A depth accepted as unproven in soil, under a band of an inch: too tight as it stands."""
    curve = Curve(CurveKind.LINEAR, 0.6, 4.3, coefficients=(-0.2, 0.1), proven_error=1.5 * INCH_M)
    rig = accept_curve(bench.page.work.rig, "depth1", curve)
    limits = replace(rig.limits, depth_margin_m=INCH_M, level_live_m=INCH_M)
    bench.page.work.save(replace(rig, limits=limits))
    bench.page.go(Page.LIMITS)


def _eye_refused(bench: Bench) -> None:
    bench.begin(Page.SCREEN)
    bench.tap("eye_mm")
    bench.type("1400")


def _sounds(bench: Bench) -> None:
    bench.begin(Page.SOUNDS)
    bench.tap("engine_running")
    bench.tap("act_heard")


def _fired(bench: Bench) -> None:
    bench.begin(Page.ALERTS)
    bench.tap("fire_shank_stayed_up")
    band = replace(
        STANDING.band,
        headline="STOP",
        action="Look back: shank 3 stayed up",
        rule="shank_stayed_up",
    )
    bench.page.show(replace(STANDING, band=band))


def _foreign(bench: Bench) -> None:
    stick = bench.home.root / "stick"
    RigFile(stick / "rig.toml").write(replace(RIG, id="rig-40", name="Valley ripper"))
    leaf = bench.page.leaves[Page.FILES]
    assert isinstance(leaf, FilesLeaf)
    leaf.find_sticks = lambda: [stick]
    bench.begin(Page.FILES)
    bench.tap("restore")
    bench.tap("choice_0")


def _pin(bench: Bench) -> None:
    bench.page.work.set_pin("2580")
    bench.page.work.unlocked = False
    bench.page.go(Page.LIMITS)
    for key in "258":
        bench.tap(f"key_{key}")


def _new_pin(bench: Bench) -> None:
    bench.tap("pin")


def _trusting(bench: Bench) -> None:
    """Every spring and the wheel by their nodes' own figures, and an arm at the front right."""
    rig = bench.page.work.rig
    sensors = tuple(
        replace(s, trusted=True, trip_n=17_000.0)
        if s.channel.startswith("spring")
        else replace(s, words="front right")
        if s.channel == "depth2"
        else s
        for s in rig.sensors
    )
    wheel = Sensor("wheel_speed", "WHEEL", "node", trusted=True)
    bench.page.work.save(replace(rig, sensors=(*sensors, wheel)))
    bench.extra = (Sample("node", "WHEEL", "V", 1.9, "m/s", bench.at),)
    bench.ports(*GOOD_PORTS)
    bench.run(4.0)


def _trusting_on(page: Page) -> Callable[[Bench], None]:
    def scene(bench: Bench) -> None:
        _trusting(bench)
        bench.page.go(page)
        if bench.page.over is not None:
            bench.page.close_over()
        bench.run(4.0)

    return scene


def _list_done(bench: Bench) -> None:
    """The list after much was done: the longest words that its cards say."""
    _trusting(bench)
    _course(bench)
    _sign(bench)
    _limits_tight(bench)
    bench.page.go(Page.SIGN)
    bench.tap("sign")
    bench.page.to_list()


def _sign(bench: Bench) -> None:
    """One arm proven, the other not; the switch proven; nothing else done."""
    work = bench.page.work
    curve = Curve(CurveKind.LINEAR, 0.6, 4.3, coefficients=(-0.236, 0.137), proven_error=0.008)
    work.save(accept_curve(work.rig, "depth1", curve))
    how = "4 points in the shed, 3 dug slots, proven at 5 in, off 0.31 in at most"
    proof = SensorProof("depth1", "4417", Verdict.PROVEN, how, (), curve)
    work.prove(replace(work.evidence.with_proof(proof), switch=SwitchProof(6, 6)))
    bench.page.go(Page.SIGN)
    work.day = "2031-04-09"
    bench.tap("fitted_by")
    bench.spell("J. Arden")


def _name(bench: Bench) -> None:
    bench.page.go(Page.SIGN)
    bench.tap("fitted_by")


def _signed(bench: Bench) -> None:
    _sign(bench)
    bench.tap("sign")


SCENES: dict[str, Callable[[Bench], None]] = {
    "list": _list,
    "ports": lambda bench: bench.begin(Page.PLUGS),
    "ports-trouble": _trouble,
    "ports-role": _take_role,
    "ports-spare": _spares,
    "receiver": _receiver,
    "receiver-proven": _course,
    "sensors": lambda bench: bench.begin(Page.SENSORS),
    "sensors-new": _new_heard,
    "sensor": _detail,
    "find": lambda bench: bench.begin(Page.FIND),
    "find-moved": _found,
    **CALIBRATING,
    "springs": _springs,
    "springs-trusted": _trusting_on(Page.SPRINGS),
    "switch": _switch_proven,
    "switch-on-change": _switch_on_change,
    "tool": _tool(0),
    "tool-shanks": _tool(1),
    "tool-depth": _tool(4),
    "tool-doubt": _tool_doubt,
    "limits": lambda bench: bench.begin(Page.LIMITS),
    "limits-refused": _limit_refused,
    "limits-tight": _limits_tight,
    "screen": lambda bench: bench.begin(Page.SCREEN),
    "screen-refused": _eye_refused,
    "sounds": _sounds,
    "alerts": lambda bench: bench.begin(Page.ALERTS),
    "alerts-fired": _fired,
    "files": lambda bench: bench.begin(Page.FILES),
    "files-foreign": _foreign,
    "pin": _pin,
    "pin-new": _new_pin,
    "name": _name,
    "sign": _sign,
    "signed": _signed,
    "sign-trusted": _trusting_on(Page.SIGN),
    "ports-wheel": _trusting_on(Page.PLUGS),
    "list-done": _list_done,
}
EMPTY: dict[str, Callable[[Bench], None]] = {
    "empty-list": lambda bench: None,
    "empty-ports": lambda bench: bench.page.go(Page.PLUGS),
    "empty-sensors": lambda bench: bench.page.go(Page.SENSORS),
    "empty-tool": lambda bench: bench.page.go(Page.TOOL),
    "empty-sign": lambda bench: bench.page.go(Page.SIGN),
}


def bring(name: str, layout: Layout, folder: Path, night: bool = False) -> Bench:
    """A bench showing one scene."""
    empty = name in EMPTY
    bench = Bench(layout, folder, None if empty else RIG)
    bench.enter(replace(STANDING, night=night))
    (EMPTY if empty else SCENES)[name](bench)
    return bench


def pictures(stage: Any, layout: Layout, night: bool, folder: Path) -> Iterator[Path]:
    """Write ``fitup-SCENE.png`` of every scene for one panel and look; yields the paths."""
    for name in (*SCENES, *EMPTY):
        with tempfile.TemporaryDirectory() as state:
            bench = bring(name, layout, Path(state), night)
            stage.show(bench.page, layout.panel.wide_px, layout.panel.high_px)
            stage.shot(folder / f"fitup-{name}.png")
            yield folder / f"fitup-{name}.png"

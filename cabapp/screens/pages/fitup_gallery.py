"""Invented moments of an invented fitting: every page and state of Fit-up, for pictures and tests.

Nothing here is measured. A V of seven shanks, two arms in volts, seven springs, one switch.
"""

import tempfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from cabapp.curve import Curve, CurveKind
from cabapp.engine.home import Home
from cabapp.engine.wire import PortLine, Ports, Receiving, Samples, SpareLine, Spares
from cabapp.events import PortCondition
from cabapp.fitup.edits import accept_curve
from cabapp.fitup.evidence import SensorProof, SwitchProof
from cabapp.fitup.geometry import vee
from cabapp.fitup.judge import Verdict
from cabapp.fitup.pages import Page
from cabapp.outcome import Snapshot
from cabapp.readings import FixKind, Quality, Sample
from cabapp.record.rigfile import RigFile
from cabapp.rig import Port, Rig, Sensor
from cabapp.screens.fronts import Way
from cabapp.screens.gallery import STANDING
from cabapp.screens.pages.fitup import FitupPage
from cabapp.screens.pages.fitup_files import FilesLeaf
from cabapp.screens.ruler import Layout
from cabapp.units import INCH_M, POUND_FORCE_N

VOLTS_AT_ZERO, VOLTS_A_INCH = 1.718, 0.185
RIG = Rig(
    id="rig-21",
    name="Hill ripper",
    ports=(Port("gnss"), Port("node", role="node")),
    sensors=(
        Sensor("depth1", "DEPTH1", "node", "V", "left front", 2, "left", "4417", -1.8, 4.4),
        Sensor("depth2", "DEPTH2", "node", "V", "right rear", 3, "right", "4420", 1.8, 5.6),
        *(Sensor(f"spring{n}", f"SPRING{n}", "node", shank=n) for n in range(1, 8)),
        Sensor("tool_down", "TOOLDOWN", "node", "switch"),
    ),
)
RIG = replace(RIG, tool=replace(RIG.tool, shanks=vee(7, 30 * INCH_M, 4.2, 18 * INCH_M), lag_m=4.8))
# What was typed, the volts up and down, and where: the third was meant to be 2 in clearance.
POINTS = (
    (-6.0, "shed"),
    (-4.0, "shed"),
    (-20.0, "shed"),
    (0.0, "shed"),
    (8.0, "slot"),
    (11.0, "slot"),
)


def depth_volts(inches: float) -> float:
    """What the invented arms send at a depth."""
    return VOLTS_AT_ZERO + VOLTS_A_INCH * inches


class Bench:
    """One Fit-up page on a folder of its own, fed invented samples; ``at`` is everybody's time."""

    def __init__(self, layout: Layout, folder: Path, rig: Rig | None = RIG) -> None:
        self.at = 500.0
        self.home = Home(folder)
        self.taps: list[tuple[Any, Any]] = []
        self.told: list[Any] = []
        if rig is not None:
            RigFile(self.home.rig).write(rig)
        way = Way(
            lambda kind, value: self.taps.append((kind, value)),
            lambda name: None,
            tell=self.told.append,
        )
        self.page = FitupPage(layout, way, self._back, self.home, lambda: self.at)
        self.backs = 0
        self.depths: dict[str, float] = {"DEPTH1": depth_volts(3.0), "DEPTH2": depth_volts(2.0)}
        self.springs: dict[str, float] = {f"SPRING{n}": 900.0 + 40 * n for n in range(1, 8)}
        self.down = 1.0
        self.silent: set[str] = set()
        self.metres = self.lost_s = 0.0
        self.extra: tuple[Sample, ...] = ()

    def _back(self) -> None:
        self.backs += 1

    def enter(self, snapshot: Snapshot = STANDING) -> None:
        """Bring the page to the front."""
        self.page.enter(snapshot)

    def samples(self, at: float) -> Iterator[Sample]:
        """One line of the node, slightly unquiet as a wire is."""
        ripple = 0.001 if round(at * 10) % 2 else -0.001
        for name, value in self.depths.items():
            yield Sample("node", name, "U", value + ripple, "V", at)
        for name, value in self.springs.items():
            for end in ("", "MAX", "MIN"):
                yield Sample("node", name + end, "N", value + 2000 * ripple, "N", at)
        yield Sample("node", "TOOLDOWN", "G", self.down, "", at)

    def run(self, seconds: float) -> None:
        """Let the node speak ten times a second; the page is told each two seconds."""
        found: list[Sample] = []
        for n in range(1, round(seconds * 10) + 1):
            self.at = round(self.at + 0.1, 3)
            found += [s for s in self.samples(self.at) if s.name not in self.silent]
            found += [replace(s, at=self.at) for s in self.extra]
            if n % 20 == 0 or n == round(seconds * 10):
                self.page.heard(Samples(tuple(found)))
                found = []

    def ports(self, *lines: PortLine) -> None:
        """How the ports are."""
        self.page.heard(Ports(lines))

    def receiving(
        self,
        seconds: float,
        speed_mps: float = 0.02,
        kind: FixKind = FixKind.SATELLITE_CORRECTED,
        lost: bool = False,
    ) -> None:
        """The engine's word on the receiver for some seconds, the page in front."""
        for _ in range(round(seconds * 4)):
            self.at += 0.25
            self.metres += 0.25 * speed_mps if speed_mps >= 0.3 else 0.0
            self.lost_s += 0.25 * lost
            fixed = None if lost or kind is FixKind.NONE else speed_mps
            quality = Quality.GOOD if fixed is not None else Quality.NO_FIX
            told = Receiving(kind, fixed, quality, 11, 0.9, self.at, self.metres, self.lost_s, 1.0)
            self.page.heard(told)
        self.ports(*GOOD_PORTS)

    def tap(self, name: str) -> None:
        """What a finger on a key does."""
        target = next(target for target in self.page.targets() if target.name == name)
        target.fire()

    def type(self, text: str) -> None:
        """A figure on the keypad, and Enter."""
        for key in text.split():
            names = [f"key_{key}"] if "/" in key else [f"key_{letter}" for letter in key]
            for name in names:
                self.tap(name)
        self.tap("enter")

    def spell(self, text: str) -> None:
        """A name on the letters, and Enter."""
        for letter in text.upper():
            key = "key_space" if letter == " " else f"key_{letter}"
            if all(target.name != key for target in self.page.targets()):
                self.tap("part")
            self.tap(key)
        self.tap("enter")


GOOD_PORTS = (
    PortLine("gnss", PortCondition.OK, "/dev/ttyACM0", ("GGA", "RMC", "VTG"), 5.0, 0.1),
    PortLine("node", PortCondition.OK, "/dev/ttyUSB0", ("XDR",), 10.0, 0.0),
)


def _begun(bench: Bench, page: Page) -> None:
    bench.ports(*GOOD_PORTS)
    bench.run(4.0)
    bench.page.go(page)
    bench.run(4.0)


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
    _begun(bench, Page.PLUGS)
    bench.page.heard(SPARES)


def _receiver(bench: Bench) -> None:
    _begun(bench, Page.RECEIVER)
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
    _begun(bench, Page.PLUGS)
    bench.tap("plug_node")


def _new_heard(bench: Bench) -> None:
    bench.extra = (Sample("node", "ADC3", "U", 2.41, "V", bench.at),)
    _begun(bench, Page.SENSORS)


def _detail(bench: Bench) -> None:
    _begun(bench, Page.SENSORS)
    bench.tap("sensor_depth1")


def _found(bench: Bench) -> None:
    _begun(bench, Page.FIND)
    bench.tap("move_depth1")
    bench.depths["DEPTH1"] += 0.4
    bench.run(1.0)


def _cautions(bench: Bench) -> None:
    _begun(bench, Page.CALIBRATE)
    bench.tap("calibrate_depth1")


def take_points(bench: Bench, points: tuple[tuple[float, str], ...] = POINTS) -> None:
    """Type and take each point up and down, the third as if two inches had been meant."""
    places = {"shed": 0, "slot": 1, "proof": 2}
    for known, place in points:
        bench.tap("add")
        bench.tap(f"choice_{places[place]}")
        if known < 0:
            bench.tap("key_-")
        whole = int(abs(known))
        bench.type(f"{whole}")
        truth = -2.0 if known == -20.0 else known
        for way, off in (("up", 0.0), ("down", 0.008)):
            bench.depths["DEPTH1"] = depth_volts(truth) + off
            bench.run(4.0)
            bench.tap(f"take_{way}")


def _safe(bench: Bench) -> None:
    _cautions(bench)
    bench.tap("go")


def _mistyped(bench: Bench) -> None:
    _safe(bench)
    take_points(bench)
    bench.tap("add")
    bench.tap("choice_1")
    bench.type("14")
    bench.depths["DEPTH1"] = depth_volts(14.0)
    bench.run(4.0)


def _holds(bench: Bench) -> None:
    _safe(bench)
    good = tuple((-2.0 if known == -20.0 else known, place) for known, place in POINTS)
    take_points(bench, (*good, (14.0, "slot"), (5.0, "proof")))


def _unproven(bench: Bench) -> None:
    """Points in the shed alone: it may be accepted, as unproven."""
    _safe(bench)
    take_points(bench, tuple((known, "shed") for known in (-6.0, -4.0, -2.0, 0.0, 4.0, 8.0, 14.0)))


def _one_off(bench: Bench) -> None:
    """A point whose sensor was not where it was said to be: no slip of typing explains it."""
    _safe(bench)
    for known, true in ((0.0, 0.0), (4.0, 4.0), (8.0, 10.5), (12.0, 12.0), (-4.0, -4.0)):
        _take_at(bench, known, depth_volts(true))


def _take_at(bench: Bench, known: float, volts: float) -> None:
    bench.tap("add")
    bench.tap("choice_0")
    if known < 0:
        bench.tap("key_-")
    bench.type(f"{abs(known):g}")
    bench.depths["DEPTH1"] = volts
    bench.run(4.0)
    bench.tap("take_up")
    bench.tap("take_down")


def _left_out(bench: Bench) -> None:
    _one_off(bench)
    bench.tap("verdict_1")


def _after_left_out(bench: Bench) -> None:
    _left_out(bench)
    bench.tap("read")


def _row_menu(bench: Bench) -> None:
    _unproven(bench)
    bench.tap("row_5")
    bench.tap("row_5")


def _spring_loads(bench: Bench) -> None:
    """A spring by loads, in pounds, from a node that sends newtons."""
    _begun(bench, Page.CALIBRATE)
    bench.tap("calibrate_spring1")
    bench.tap("go")
    for pounds in (0, 1000, 2000, 3000, 4000):
        bench.tap("add")
        bench.tap("choice_0")
        bench.type(f"{pounds}")
        bench.springs["SPRING1"] = pounds * POUND_FORCE_N - 3.0
        bench.run(4.0)
        bench.tap("take_up")
        if pounds < 4000:
            bench.tap("take_down")


def _never_still(bench: Bench) -> None:
    _safe(bench)
    bench.tap("add")
    bench.tap("choice_0")
    bench.type("0")
    for n in range(80):
        bench.depths["DEPTH1"] = 1.7 + 0.2 * (n % 2)
        bench.run(0.4)


def _pulled(bench: Bench) -> None:
    _safe(bench)
    take_points(bench, POINTS[:2])
    bench.silent = {"DEPTH1"}
    bench.run(6.0)


def _keypad(bench: Bench) -> None:
    _safe(bench)
    bench.tap("add")
    bench.tap("choice_0")
    for key in ("key_-", "key_6", "key_1/2"):
        bench.tap(key)


def _refused_figure(bench: Bench) -> None:
    _safe(bench)
    bench.tap("add")
    bench.tap("choice_0")
    bench.type("140")


def _springs(bench: Bench) -> None:
    _begun(bench, Page.SPRINGS)
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
    _begun(bench, Page.SWITCH)
    for _ in range(6):
        bench.down = 1.0 - bench.down
        bench.run(2.0)


def _switch_on_change(bench: Bench) -> None:
    _begun(bench, Page.SWITCH)
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
        _begun(bench, Page.TOOL)
        bench.tap(f"tab_{group}")

    return scene


def _tool_doubt(bench: Bench) -> None:
    _begun(bench, Page.TOOL)
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
    _begun(bench, Page.SCREEN)
    bench.tap("eye_mm")
    bench.type("1400")


def _sounds(bench: Bench) -> None:
    _begun(bench, Page.SOUNDS)
    bench.tap("engine_running")
    bench.tap("act_heard")


def _fired(bench: Bench) -> None:
    _begun(bench, Page.ALERTS)
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
    _begun(bench, Page.FILES)
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
    "ports": lambda bench: _begun(bench, Page.PLUGS),
    "ports-trouble": _trouble,
    "ports-role": _take_role,
    "ports-spare": _spares,
    "receiver": _receiver,
    "receiver-proven": _course,
    "sensors": lambda bench: _begun(bench, Page.SENSORS),
    "sensors-new": _new_heard,
    "sensor": _detail,
    "find": lambda bench: _begun(bench, Page.FIND),
    "find-moved": _found,
    "calibrate-which": lambda bench: _begun(bench, Page.CALIBRATE),
    "calibrate-cautions": _cautions,
    "calibrate-keypad": _keypad,
    "calibrate-refused": _refused_figure,
    "calibrate": _mistyped,
    "calibrate-holds": _holds,
    "calibrate-never-still": _never_still,
    "calibrate-pulled": _pulled,
    "calibrate-unproven": _unproven,
    "calibrate-off": _one_off,
    "calibrate-left-out": _left_out,
    "calibrate-after-left-out": _after_left_out,
    "calibrate-menu": _row_menu,
    "calibrate-spring": _spring_loads,
    "springs": _springs,
    "springs-trusted": _trusting_on(Page.SPRINGS),
    "switch": _switch_proven,
    "switch-on-change": _switch_on_change,
    "tool": _tool(0),
    "tool-shanks": _tool(1),
    "tool-depth": _tool(4),
    "tool-doubt": _tool_doubt,
    "limits": lambda bench: _begun(bench, Page.LIMITS),
    "limits-refused": _limit_refused,
    "limits-tight": _limits_tight,
    "screen": lambda bench: _begun(bench, Page.SCREEN),
    "screen-refused": _eye_refused,
    "sounds": _sounds,
    "alerts": lambda bench: _begun(bench, Page.ALERTS),
    "alerts-fired": _fired,
    "files": lambda bench: _begun(bench, Page.FILES),
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

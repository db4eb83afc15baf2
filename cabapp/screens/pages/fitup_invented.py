"""An invented fitting that pictures and tests work at: its rig, what its node sends, and a hand.

Nothing here is measured. A V of seven shanks, two arms in volts, seven springs, one switch.
"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from cabapp.engine.home import Home
from cabapp.engine.wire import PortLine, Ports, Receiving, Samples
from cabapp.events import PortCondition
from cabapp.fitup.geometry import vee
from cabapp.fitup.pages import Page
from cabapp.outcome import Snapshot
from cabapp.readings import FixKind, Quality, Sample
from cabapp.record.rigfile import RigFile
from cabapp.rig import Port, Rig, Sensor
from cabapp.screens.fronts import Way
from cabapp.screens.gallery import STANDING
from cabapp.screens.pages.fitup import FitupPage
from cabapp.screens.ruler import Layout
from cabapp.units import INCH_M

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
GOOD_PORTS = (
    PortLine("gnss", PortCondition.OK, "/dev/ttyACM0", ("GGA", "RMC", "VTG"), 5.0, 0.1),
    PortLine("node", PortCondition.OK, "/dev/ttyUSB0", ("XDR",), 10.0, 0.0),
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

    def begin(self, page: Page) -> None:
        """The good ports, a while of the list, then a page and a while of that."""
        self.ports(*GOOD_PORTS)
        self.run(4.0)
        self.page.go(page)
        self.run(4.0)

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

"""What ``cabapp drive`` and ``cabapp demo`` start: the keeper, on real or on invented wires."""

import os
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.home import Home, default_home, hold
from cabapp.engine.known import Known, write_known
from cabapp.engine.pipes import KEEPER_MARK
from cabapp.engine.service import begin
from cabapp.engine.supervise import Keeper
from cabapp.paths import shipped
from cabapp.record.safewrite import named_text
from cabapp.rigcheck import read_rig
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World

DEMO_RIG = "rig-us-full.toml"
DEMO_BAUD = 38400


def drive(rig: Path | None = None, windowed: bool = False) -> int:
    """Run the kiosk until told to end; 1 with a line on stderr if something is at fault.

    A named rig file becomes this tablet's, unless it has another already. Raises RigError and
    FileFault for a rig file at fault.
    """
    home = default_home()
    home.root.mkdir(parents=True, exist_ok=True)
    if rig is not None:
        text = _rig_text(rig)
        if home.rig.exists() and named_text(home.rig) != text:
            print(f"{home.rig}: this tablet has another rig; move that file away first",
                  file=sys.stderr)  # fmt: skip
            return 1
        home.rig.write_text(text, encoding="utf-8")
    if home.rig.exists():
        _rig_text(home.rig)
    return _keep(home, windowed, 1.0, lambda: False)


def demo(rig: Path | None = None, speed: float = 1.0) -> int:
    """Drive an invented tractor through pseudo-terminals, ``speed`` times real time.

    Runs in a folder of its own, which it names at the end. Raises RigError and FileFault.
    """
    source = rig or shipped("config", DEMO_RIG)
    text = _rig_text(source)
    fitted = read_rig(text, str(source))
    home = Home(Path(tempfile.mkdtemp(prefix="cabapp-demo-")))
    home.rig.write_text(text, encoding="utf-8")
    world = World(SCENARIOS["short_demo"], fitted)
    names = [port.name for port in fitted.ports]
    wires = DemoWires(world.chunks(), names, home.root / "wires", speed)
    write_known(home.ports, {n: Known(d, DEMO_BAUD) for n, d in wires.devices.items()})
    wires.start()
    try:
        return _keep(home, True, speed, lambda: wires.done)
    finally:
        wires.stop()
        for run in sorted(home.runs.glob("*.gpkg")):
            print(f"the run of this demo: {run}")


def _rig_text(path: Path) -> str:
    """The text of a rig file that is good: RigError names every fault, FileFault an unread file."""
    text = named_text(path)
    read_rig(text, str(path))
    return text


def _keep(home: Home, windowed: bool, speed: float, over: Callable[[], bool]) -> int:
    if hold(home.root / "keeper.lock") is None:
        print(f"{home.root}: cabapp runs here already{_in_charge(home)}; use its window, or end "
              "that process and start again", file=sys.stderr)  # fmt: skip
        return 1
    if windowed:
        os.environ["CABAPP_WINDOWED"] = "1"
    if not (os.environ.get("DISPLAY") or os.environ.get("SDL_VIDEODRIVER")):
        print("No display (DISPLAY is not set): it judges, sounds and records, and nobody sees "
              "what it draws. Ctrl-C ends it.", file=sys.stderr)  # fmt: skip
    listener = begin(home.root, "keeper")
    code = Keeper(home.root, speed).run(over)
    listener.stop()
    return code


def _in_charge(home: Home) -> str:
    """Which process keeps this folder, as far as it has said so."""
    try:
        return f" as process {(home.root / KEEPER_MARK).read_text().split()[0]}"
    except (OSError, IndexError):
        return ""

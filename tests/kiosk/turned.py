"""Proof: a tap lands on what the picture shows, full screen, in all four turns of a tablet.

``python -m tests.kiosk.turned``: for each turn an X server of its own, the window manager of the
kiosk, the real ``cabapp drive`` with an invented receiver on a real pseudo-terminal. The place of
the Peg key is taken from the picture on the X server, not from the toolkit: first a tap where the
key would be unturned, then one on the key; the run must hold exactly one peg, of the second tap.
Needs Xvfb, matchbox-window-manager and xdotool.
"""

import os
import signal
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import numpy.typing as npt
from PIL import Image, ImageGrab

from cabapp.engine.demo_wires import DemoWires
from cabapp.engine.known import Known, write_known
from cabapp.outcome import What
from cabapp.paths import shipped
from cabapp.record.reader import open_run
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.screens.app import layout_for
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import World

TURNS_DEG = (0, 90, 180, 270)
WIDE, HIGH = 1280, 800  # of the picture as a person sees it
SETTLE_S = 10.0  # the drive has begun: a peg is possible
ALIKE = 12.0  # mean difference of two pictures of one key, of 255; another place differs by 40

Pixels = npt.NDArray[np.int16]


def main(folder: Path) -> int:
    """Prove every turn; one line each, and 1 if one of them fails."""
    folder.mkdir(parents=True, exist_ok=True)
    upright: Pixels | None = None
    failed = 0
    for turned_deg in TURNS_DEG:
        seen, pegs, other = prove(turned_deg, folder)
        upright = seen if upright is None else upright
        apart = float(np.abs(key_of(seen) - key_of(upright)).mean())
        good = pegs == 1 and apart < ALIKE
        failed += not good
        print(
            f"turned {turned_deg:3d}: {pegs} peg of 1 tap on the key and 1 at {other}, "
            f"key's picture differs by {apart:.1f}: {'ok' if good else 'FAILED'}",
            flush=True,
        )
    return 1 if failed else 0


def prove(turned_deg: int, folder: Path) -> tuple[Pixels, int, tuple[int, int]]:
    """The picture as a person sees it, the pegs on record, and where the other tap went."""
    size = (WIDE, HIGH) if turned_deg % 180 == 0 else (HIGH, WIDE)
    with tempfile.TemporaryDirectory() as name, x_server(*size) as display:
        home = Path(name)
        with driving(home, display, turned_deg):
            time.sleep(SETTLE_S)
            image = ImageGrab.grab(xdisplay=display).convert("RGB")
            seen = np.rot90(np.asarray(image, dtype=np.int16), -turned_deg // 90)
            Image.fromarray(seen.astype(np.uint8)).save(folder / f"turned-{turned_deg}.png")
            on_key = on_glass(size, turned_deg, *middle_of_key())
            other = on_glass(size, turned_deg + 180, *middle_of_key())
            for spot in (other, on_key):
                tap(display, *spot)
                time.sleep(1.5)
        (run,) = sorted((home / "runs").glob("*.gpkg"))
        with open_run(run) as kept:
            pegs = sum(moment.what is What.PEG for moment in kept.moments())
    return seen, pegs, other


def on_glass(size: tuple[int, int], turned_deg: int, x: int, y: int) -> tuple[int, int]:
    """Where on the panel a pixel of the turned picture lies; all counted from the top left."""
    rows, columns = np.indices((size[1], size[0]))
    turn = -turned_deg // 90
    y %= np.rot90(rows, turn).shape[0]
    x %= np.rot90(rows, turn).shape[1]
    return int(np.rot90(columns, turn)[y, x]), int(np.rot90(rows, turn)[y, x])


def key_area() -> tuple[int, int, int, int]:
    """Left, top, right, bottom of the Peg key in the picture."""
    layout = layout_for(WIDE, HIGH, demo_rig().display)
    slot = layout.slots["peg"]
    left, top, right, bottom = (
        round(length * layout.scale) for length in (slot.x, slot.y, slot.right, slot.bottom)
    )
    return left, top, right, bottom


def middle_of_key() -> tuple[int, int]:
    left, top, right, bottom = key_area()
    return (left + right) // 2, (top + bottom) // 2


def key_of(seen: Pixels) -> Pixels:
    left, top, right, bottom = key_area()
    return seen[top:bottom, left:right]


def demo_rig() -> Rig:
    """The shipped example with every sensor."""
    return read_rig(shipped("config", "rig-us-full.toml").read_text(encoding="utf-8"))


@contextmanager
def x_server(wide: int, high: int) -> Iterator[str]:
    """An X server with the kiosk's window manager; its display's name."""
    read, write = os.pipe()
    words = ["Xvfb", "-displayfd", str(write), "-screen", "0", f"{wide}x{high}x24",
             "-nolisten", "tcp"]  # fmt: skip
    with _running(words, dict(os.environ), (write,)):
        os.close(write)
        with os.fdopen(read) as told:
            display = ":" + told.readline().strip()
        manager = ["matchbox-window-manager", "-use_titlebar", "no", "-use_cursor", "no"]
        with _running(manager, {**os.environ, "DISPLAY": display}):
            yield display


@contextmanager
def _running(
    words: list[str], environment: dict[str, str], fds: tuple[int, ...] = ()
) -> Iterator[None]:
    """A program while it is wanted; it is ended however the wish for it ends."""
    silent = subprocess.DEVNULL
    process = subprocess.Popen(words, env=environment, pass_fds=fds, stdout=silent, stderr=silent)
    try:
        yield
    finally:
        process.terminate()
        process.wait()


@contextmanager
def driving(home: Path, display: str, turned_deg: int) -> Iterator[None]:
    """The kiosk as its unit starts it, on invented wires; ended as its unit ends it."""
    text = shipped("config", "rig-us-full.toml").read_text(encoding="utf-8")
    text = text.replace("[display]", f"[display]\nturned = {turned_deg}", 1)
    (home / "rig.toml").write_text(text, encoding="utf-8")
    rig = read_rig(text)
    assert rig.display.turned_deg == turned_deg
    scene = SCENARIOS["short_demo"]
    world = World(scene, rig)
    wires = DemoWires(world.chunks(), [port.name for port in rig.ports], home / "wires")
    write_known(home / "ports.json", {n: Known(d, 38400) for n, d in wires.devices.items()})
    environment = {**os.environ, "DISPLAY": display, "CABAPP_STATE": str(home),
                   "SDL_VIDEODRIVER": "x11", "SDL_AUDIODRIVER": "dummy"}  # fmt: skip
    wires.start()
    kiosk = subprocess.Popen(
        [sys.executable, "-m", "cabapp", "drive"], env=environment, stderr=subprocess.DEVNULL
    )
    try:
        yield
    finally:
        kiosk.send_signal(signal.SIGTERM)
        kiosk.wait(10.0)
        wires.stop()


def tap(display: str, x: int, y: int) -> None:
    """One tap on the glass."""
    words = ["xdotool", "mousemove", str(x), str(y), "sleep", "0.2", "click", "1"]
    subprocess.run(words, env={**os.environ, "DISPLAY": display}, check=True)


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1]) if sys.argv[1:] else Path(tempfile.mkdtemp())))

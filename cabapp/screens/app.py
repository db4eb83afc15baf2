"""The screen process: shows what the engine says, tells it what is tapped.

Started by the keeper as ``python -m cabapp.screens.app`` with its words. The toolkit reads its
settings when it is first imported, so everything that imports it is imported late, in ``main``.
``CABAPP_WINDOWED=1`` opens a window instead of the whole screen.
"""

import logging
import os
import sys
import threading
from pathlib import Path

from cabapp.engine.home import Home
from cabapp.engine.pipes import wires_of
from cabapp.engine.service import begin
from cabapp.rig import Display, Rig
from cabapp.rigcheck import read_rig
from cabapp.rigfault import RigError
from cabapp.screens.ruler import Layout, Panel, arrange, unmeasured
from cabapp.screens.window import configure, prepare, screen_size

log = logging.getLogger(__name__)
WINDOW = (1280, 800)
GET_READY_S = 2.0  # after Drive has had its first seconds to itself


def layout_for(wide: int, high: int, display: Display) -> Layout:
    """The layout of a panel as its rig file measures it; a guess where it can't be used."""
    if not display.confirmed:
        return unmeasured(wide, high)
    panel = Panel(wide, high, display.width_mm, display.height_mm, display.eye_mm)
    found = arrange(panel, display.signed_beyond)
    if isinstance(found, Layout):
        return found
    log.warning("%s", found.reason)
    return unmeasured(wide, high)


def rig_at(path: Path) -> Rig:
    """The rig file, or a receiver alone where there is none that can be used."""
    try:
        return read_rig(path.read_text(encoding="utf-8"), str(path))
    except (OSError, UnicodeDecodeError, RigError) as error:
        log.info("%s: %s; showing a receiver alone", path, error)
        return Rig()


def main() -> int:
    """Entry of the process."""
    wires = wires_of(sys.argv[1:])
    listener = begin(wires.home, "screen")
    prepare()
    windowed = os.environ.get("CABAPP_WINDOWED") == "1"
    wide, high = WINDOW if windowed else (screen_size() or WINDOW)
    rig = rig_at(wires.home / "rig.toml")
    turned_deg = rig.display.turned_deg
    configure(wide, high, full=not windowed, turned_deg=turned_deg)
    if turned_deg in (90, 270):
        wide, high = high, wide
    from cabapp.screens.kiosk import Kiosk
    from cabapp.screens.pages.registry import get_ready, pages

    kiosk = Kiosk(wires, layout_for(wide, high, rig.display), pages(Home(wires.home)))
    later = threading.Timer(GET_READY_S, get_ready)
    later.daemon = True
    later.start()
    kiosk.run()
    listener.stop()
    return 0


if __name__ == "__main__":
    sys.exit(main())

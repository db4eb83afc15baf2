"""The real screen process, which also counts its frames and notes when a live speed was drawn."""

import os
import sys
import time

from cabapp.engine.home import Home
from cabapp.engine.pipes import wires_of
from cabapp.engine.service import begin
from cabapp.screens.app import WINDOW, layout_for, rig_at
from cabapp.screens.window import configure, prepare


def main() -> None:
    wires = wires_of(sys.argv[1:])
    begin(wires.home, "screen")
    prepare()
    configure(*WINDOW, full=False)
    rig = rig_at(wires.home / "rig.toml")
    from kivy.core.window import Window

    from cabapp.screens.kiosk import Kiosk
    from cabapp.screens.pages.registry import pages

    frames = [0]
    kept = os.open(wires.home / "frames", os.O_WRONLY | os.O_CREAT)
    live = wires.home / "live"

    def flipped(window: object) -> None:
        frames[0] += 1
        os.pwrite(kept, f"{frames[0]:9}".encode(), 0)  # never half there
        shown = app.house.snapshot
        if shown is not None and shown.speed.value_mps is not None and not live.exists():
            live.with_suffix(".new").write_text(str(time.monotonic()))
            live.with_suffix(".new").replace(live)

    app = Kiosk(wires, layout_for(*WINDOW, rig.display), pages(Home(wires.home)))
    Window.bind(on_flip=flipped)
    app.run()


if __name__ == "__main__":
    main()

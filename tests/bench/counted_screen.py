"""The real screen process, which also counts its frames and notes when a live speed was drawn."""

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
    live = wires.home / "live"

    def flipped(window: object) -> None:
        frames[0] += 1
        (wires.home / "frames").write_text(str(frames[0]))
        shown = app.house.snapshot
        if shown is not None and shown.speed.value_mps is not None and not live.exists():
            live.write_text(str(time.monotonic()))

    app = Kiosk(wires, layout_for(*WINDOW, rig.display), pages(Home(wires.home)))
    Window.bind(on_flip=flipped)
    app.run()


if __name__ == "__main__":
    main()

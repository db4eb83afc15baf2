"""The real screen process, which also notes when each change of its headline has been drawn."""

import json
import os
import sys
import time

from cabapp.engine.pipes import wires_of
from cabapp.engine.service import begin
from cabapp.screens.app import WINDOW
from cabapp.screens.ruler import unmeasured
from cabapp.screens.window import configure, prepare


def main() -> None:
    wires = wires_of(sys.argv[1:])
    begin(wires.home, "screen")
    prepare()
    configure(*WINDOW, full=False)
    from kivy.core.window import Window

    from cabapp.screens.kiosk import Kiosk

    notes = (wires.home / "shown.jsonl").open("a", buffering=1)
    last = [""]

    def flipped(window: object) -> None:
        snapshot = app.shown
        if snapshot is None or snapshot.band.headline == last[0]:
            return
        last[0] = snapshot.band.headline
        said = {"at": time.monotonic(), "text": last[0], "sound": snapshot.band.quieting.value}
        notes.write(json.dumps({**said, "pid": os.getpid()}) + "\n")

    class Timed(Kiosk):
        """Remembers what was shown last."""

        shown = None

        def _take(self, dt: float) -> None:
            newest = self.inbox._snapshot
            super()._take(dt)
            self.shown = newest or self.shown

    app = Timed(wires, unmeasured(*WINDOW))
    Window.bind(on_flip=flipped)
    app.run()


if __name__ == "__main__":
    main()

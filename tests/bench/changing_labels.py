"""Draws the Drive page until so many labels have changed; prints changes, frames, MB, MB.

A label counts as changed when its text is another than in the frame before.
"""

import os
import sys
from dataclasses import replace

from cabapp.screens.app import WINDOW
from cabapp.screens.window import configure, prepare
from tests.bench.bench_growth import resident_mb
from tests.bench.bench_window import working


def main(wanted: int) -> None:
    prepare()
    configure(*WINDOW, full=False, fps=0)
    from kivy.base import EventLoop
    from kivy.core.window import Window

    from cabapp.screens.drive import DrivePage
    from cabapp.screens.fronts import Way
    from cabapp.screens.ruler import unmeasured

    page = DrivePage(unmeasured(*WINDOW), Way(lambda kind, value: None, lambda name: None))
    Window.add_widget(page)
    EventLoop.start()
    labels = [word for tile in page.tiles() for word in tile.says]
    texts = [label.text for label in labels]
    snapshots = working()
    changed = frames = 0
    early_mb = 0.0
    while changed < wanted:
        shown = snapshots[frames * 7 % len(snapshots)]
        speed = replace(shown.speed, value_mps=frames * 0.37 % 30.0)
        page.show(replace(shown, speed=speed))
        EventLoop.idle()
        frames += 1
        now = [label.text for label in labels]
        changed += sum(a != b for a, b in zip(now, texts, strict=True))
        texts = now
        if not early_mb and changed > wanted / 10:
            early_mb = resident_mb(os.getpid())
    print(changed, frames, early_mb, resident_mb(os.getpid()))


if __name__ == "__main__":
    main(int(sys.argv[1]))

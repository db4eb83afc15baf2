"""Draws the Drive page until so many labels have changed; prints changes, frames, MB, MB.

A label counts as changed when its text is another than in the frame before. The page's own time
goes on from frame to frame by what a number stands still at least: by the wall clock, 100,000
changes would take hours.
"""

import os
import sys
from dataclasses import replace

from cabapp.outcome import Snapshot
from cabapp.screens.app import WINDOW
from cabapp.screens.window import configure, prepare
from tests.bench.bench_growth import resident_mb
from tests.bench.bench_window import working


def with_other_figures(shown: Snapshot, frame: int) -> Snapshot:
    """The snapshot with figures that come round only after hundreds of frames."""
    return replace(
        shown,
        band=replace(shown.band, action=f"Dig in {frame % 997}"),
        speed=replace(shown.speed, value_mps=frame * 0.37 % 30.0),
        depth=replace(shown.depth, value_m=0.2 + frame * 0.013 % 0.3),
        springs=replace(shown.springs, worst_share=frame * 0.07 % 1.0),
        field=replace(
            shown.field,
            area_m2=frame * 811.0 % 4e6,
            rate_m2_s=1.0 + frame * 0.11 % 9.0,
            clock=f"{frame // 60 % 24:02d}:{frame % 60:02d}",
        ),
    )


def main(wanted: int) -> None:
    prepare()
    configure(*WINDOW, full=False, fps=0)
    from kivy.base import EventLoop
    from kivy.core.window import Window

    from cabapp.screens.drive import DrivePage
    from cabapp.screens.fronts import Way
    from cabapp.screens.motion import CHANGE_S
    from cabapp.screens.ruler import unmeasured

    changed = frames = 0
    way = Way(lambda kind, value: None, lambda name: None)
    page = DrivePage(unmeasured(*WINDOW), way, lambda: 1000.0 + frames * CHANGE_S)
    Window.add_widget(page)
    EventLoop.start()
    labels = [word for tile in page.tiles() for word in tile.says]
    texts = [label.text for label in labels]
    snapshots = working()
    early_mb = 0.0
    while changed < wanted:
        shown = snapshots[frames * 7 % len(snapshots)]
        page.show(with_other_figures(shown, frames))
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

"""A bare window of the same size and settings: one rectangle that changes its grey at each redraw.

Words: how many redraws a second (0: draw once and wait) and the file to note in
when the first was drawn and how many were.
"""

import os
import sys
import time
from pathlib import Path

from cabapp.screens.app import WINDOW
from cabapp.screens.window import configure, prepare


def main(per_s: float, notes: Path) -> None:
    prepare()
    configure(*WINDOW, full=False)
    from kivy.app import App
    from kivy.clock import Clock
    from kivy.core.window import Window
    from kivy.graphics import Color, Rectangle
    from kivy.uix.widget import Widget

    frames: list[float] = []
    kept = os.open(notes, os.O_WRONLY | os.O_CREAT)

    def flipped(window: object) -> None:
        frames.append(time.monotonic())
        os.pwrite(kept, f"{frames[0]:15.6f} {len(frames):9}".encode(), 0)  # never half there

    class Bare(App):
        def build(self) -> Widget:
            root = Widget()
            with root.canvas:
                self.shade = Color(0.5, 0.5, 0.5)
                Rectangle(size=WINDOW)
            if per_s:
                Clock.schedule_interval(self.change, 1 / per_s)
            return root

        def change(self, dt: float) -> None:
            self.shade.r = 1.0 - self.shade.r * 0.9

    Window.bind(on_flip=flipped)
    Bare().run()


if __name__ == "__main__":
    main(float(sys.argv[1]), Path(sys.argv[2]))

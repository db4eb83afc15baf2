"""A bare window of the same size and settings: one rectangle that changes its grey at each redraw.

Words: how many redraws a second (0: draw once and wait) and the file to note frames in.
"""

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

    frames = [0]

    def flipped(window: object) -> None:
        frames[0] += 1
        notes.write_text(f"{time.monotonic()} {frames[0]}" if frames[0] == 1 or per_s else "")

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

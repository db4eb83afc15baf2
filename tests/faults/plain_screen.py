"""A Kivy window that shows the speed, says what it shows in shown.jsonl, and stalls on demand.

The stall is inside a drawing call that holds the interpreter, as a wedged graphics driver does: no
thread of this process turns while it lasts.
"""

import ctypes
import json
import os
import sys
import time
from pathlib import Path

from cabapp.engine.pipes import Links, wires_of
from cabapp.engine.service import begin
from cabapp.engine.wire import BEAT_S, ENGINE_GONE_SCREEN_S, Part, Received
from cabapp.outcome import Snapshot

os.environ.update(
    KIVY_NO_ARGS="1", KIVY_NO_CONFIG="1", KIVY_NO_FILELOG="1", KIVY_LOG_MODE="PYTHON",
    KIVY_WINDOW="sdl2",
)  # fmt: skip

STALL_S = 30


def main() -> None:
    from kivy.app import App
    from kivy.clock import Clock
    from kivy.graphics import Callback
    from kivy.uix.label import Label

    wires = wires_of(sys.argv[1:])
    begin(wires.home, "screen")
    newest: list[Snapshot] = []
    shown = (wires.home / "shown.jsonl").open("a", buffering=1)

    class Shows(App):
        """One label."""

        def build(self) -> Label:
            """The label and the instruction that may stall."""
            self.drawn = 0
            self.label = Label(text="STARTING")
            with self.label.canvas:
                Callback(lambda instruction: stall(wires.home))
            return self.label

        def show(self, *args: object) -> None:
            """Draw the newest snapshot, or that the engine is gone."""
            gone = links.engine_silent_s() > ENGINE_GONE_SCREEN_S
            text, sound, number = "ENGINE STOPPED", "", self.drawn
            if not gone and newest:
                snap = newest[-1]
                speed = snap.speed.value_mps
                text = "NO READING" if speed is None else f"{speed:.2f}"
                sound, number = snap.band.quieting.value, snap.number
            elif not gone:
                text = "STARTING"
            self.label.text = text
            self.drawn = number
            said = {"at": time.monotonic(), "text": text, "sound": sound, "number": number}
            shown.write(json.dumps({**said, "pid": os.getpid()}) + "\n")

    def take(received: Received) -> None:
        if isinstance(received.message, Snapshot):
            newest[:] = [received.message]
            trigger()

    app = Shows()
    trigger = Clock.create_trigger(app.show)
    links = Links(wires, Part.SCREEN, take)
    Clock.schedule_interval(app.show, 0.25)
    Clock.schedule_interval(lambda dt: links.beat(app.drawn) or app.stop(), BEAT_S)
    app.run()


def stall(home: Path) -> None:
    """Hold the interpreter inside the drawing call, once for each file named ``stall``."""
    if (home / "stall").exists():
        with (home / "wedged.jsonl").open("a") as wedged:
            wedged.write(json.dumps({"at": time.monotonic()}) + "\n")
        (home / "stall").unlink()
        for _ in range(STALL_S):
            ctypes.PyDLL(None).usleep(999_999)


if __name__ == "__main__":
    main()

"""A screen without a window: notes what it is shown in the file NOTED names, and taps notes.

It is not on the storage whose faults are looked at, as a real screen's picture is not. A note to be
tapped is a file ``say-...`` beside it, whose text is the note.
"""

import json
import os
import sys
import time
from pathlib import Path

from cabapp.engine.pipes import Links, wires_of
from cabapp.engine.wire import BEAT_S, Part, Received, TapMade
from cabapp.events import TapKind
from cabapp.outcome import Snapshot

if __name__ == "__main__":
    noted = Path(os.environ["NOTED"])
    lines = noted.open("a", buffering=1)

    def take(received: Received) -> None:
        """Each snapshot with the engine's own stamp."""
        shown = received.message
        if isinstance(shown, Snapshot):
            said = {"at": received.sent, "recording": shown.recording,
                    "headline": shown.band.headline, "action": shown.band.action}  # fmt: skip
            lines.write(json.dumps(said) + "\n")

    links = Links(wires_of(sys.argv[1:]), Part.SCREEN, take)
    while links.beat(0):
        for note in sorted(noted.parent.glob("say-*")):
            links.send(TapMade(TapKind.NOTE, note.read_text()))
            note.unlink()
        time.sleep(BEAT_S / 4)

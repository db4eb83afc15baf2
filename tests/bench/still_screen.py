"""A screen that only says that it lives: the keeper wants one, the engine's memory does not."""

import sys
import time

from cabapp.engine.pipes import Links, wires_of
from cabapp.engine.wire import BEAT_S, Part

if __name__ == "__main__":
    links = Links(wires_of(sys.argv[1:]), Part.SCREEN, lambda received: None)
    while links.beat(0):
        time.sleep(BEAT_S)

"""The keeper with other modules for some parts: words are the state folder, then PART=MODULE."""

import argparse
import sys
from pathlib import Path

from cabapp.engine.service import begin
from cabapp.engine.supervise import Keeper
from cabapp.engine.wire import Part

if __name__ == "__main__":
    parser = argparse.ArgumentParser()
    parser.add_argument("--speed", type=float, default=1.0)
    parser.add_argument("home", type=Path)
    parser.add_argument("modules", nargs="*")
    words = parser.parse_args()
    begin(words.home, "keeper")
    modules = {Part(name): module for name, module in (pair.split("=") for pair in words.modules)}
    sys.exit(Keeper(words.home, words.speed, modules).run())

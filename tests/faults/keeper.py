"""The keeper with other modules for some parts: words are the state folder, then PART=MODULE."""

import sys
from pathlib import Path

from cabapp.engine.service import begin
from cabapp.engine.supervise import Keeper
from cabapp.engine.wire import Part

if __name__ == "__main__":
    home, *pairs = sys.argv[1:]
    begin(Path(home), "keeper")
    modules = {Part(name): module for name, module in (pair.split("=") for pair in pairs)}
    sys.exit(Keeper(Path(home), modules=modules).run())

"""The rows of one module, made in a process of its own: words are the module, the function and
the descriptor to write to.

Each row is a line of JSON as soon as it is there. What cannot be measured raises, and ends this
process with the reason in the last line of stderr.
"""

import importlib
import json
import signal
import sys
from dataclasses import asdict


def main(name: str, make: str, to_write: str) -> None:
    """Tell the rows that ``MAKE`` of the module ``NAME`` gives."""
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit("took too long, or was ended"))
    module = importlib.import_module(name)
    with open(int(to_write), "w", encoding="utf-8") as told:
        for row in getattr(module, make)():
            print(json.dumps(asdict(row)), file=told, flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])

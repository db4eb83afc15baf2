"""The rows of one module, made in a process of its own: words are the module and the function.

Each row is a line of JSON as soon as it is there. What cannot be measured raises, and ends this
process with the reason in the last line of stderr.
"""

import importlib
import json
import signal
import sys
from dataclasses import asdict


def main(name: str, make: str) -> None:
    """Print the rows of ``bench_NAME.MAKE``."""
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit("took too long, or was ended"))
    module = importlib.import_module(f"tests.bench.bench_{name}")
    for row in getattr(module, make)():
        print(json.dumps(asdict(row)), flush=True)


if __name__ == "__main__":
    main(*sys.argv[1:])

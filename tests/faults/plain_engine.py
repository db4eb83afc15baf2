"""The engine process around the stand-in judge."""

import sys

from cabapp.engine.pipes import wires_of
from cabapp.engine.process import run
from tests.faults.stand_in import fit

if __name__ == "__main__":
    sys.exit(run(wires_of(sys.argv[1:]), fit))

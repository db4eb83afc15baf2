"""How much: a taste in the ordinary suite, the full count with CABAPP_LONG=1."""

import os

LONG = os.environ.get("CABAPP_LONG") == "1"
FUZZ_BYTES = 10_000_000 if LONG else 60_000
ROUNDS = 100 if LONG else 1  # of every capture with every kind of damage

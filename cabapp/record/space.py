"""What is still written as storage runs short: capture goes first, then rows, moments last."""

from dataclasses import dataclass

MIB = 1024 * 1024


@dataclass(frozen=True)
class Ration:
    """What may be written. ``row_every_s`` 1 is every row, 0 is none."""

    below_bytes: int
    capture: bool
    row_every_s: int
    well: bool


# Free bytes below which a ration holds, richest first. A full rig writes about 25 MiB of run in a
# shift; with the last 200 MiB a day can be ended and copied in peace.
RATIONS = (
    Ration(1024 * MIB, capture=True, row_every_s=1, well=False),  # told, nothing dropped yet
    Ration(200 * MIB, capture=False, row_every_s=1, well=False),
    Ration(50 * MIB, capture=False, row_every_s=10, well=False),
    Ration(15 * MIB, capture=False, row_every_s=0, well=False),
)
PLENTY = Ration(2**63, capture=True, row_every_s=1, well=True)


def ration(free_bytes: int) -> Ration:
    """The ration for so much free storage."""
    held = PLENTY
    for step in RATIONS:
        if free_bytes < step.below_bytes:
            held = step
    return held

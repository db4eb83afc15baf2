"""What is wrong with a rig file: each fault with its key path, what was found, and the mend."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One fault of a rig file."""

    key: str
    found: str
    expected: str
    mend: str

    def __str__(self) -> str:
        return f"{self.key}: found {self.found}, expected {self.expected}; {self.mend}"


class RigError(ValueError):
    """A rig file that cannot be used, with every fault in it."""

    def __init__(self, source: str, faults: tuple[Fault, ...]) -> None:
        self.source = source
        self.faults = faults
        super().__init__("\n".join(f"{source}: {fault}" for fault in faults))

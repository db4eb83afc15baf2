"""The state folder: where the rig, the runs, the book, the found ports and the logs lie."""

import fcntl
import os
import time
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_state_path


@dataclass(frozen=True)
class Home:
    """Names inside one state folder."""

    root: Path

    @property
    def rig(self) -> Path:
        """The rig file; absent on a tablet that was never fitted."""
        return self.root / "rig.toml"

    @property
    def runs(self) -> Path:
        """One GeoPackage and one capture a shift."""
        return self.root / "runs"

    @property
    def live(self) -> Path:
        """The copy of the run being written that the owner's page reads."""
        return self.root / "live"

    @property
    def book(self) -> Path:
        """Fields, pits, plans, hand checks, drivers."""
        return self.root / "book.gpkg"

    @property
    def plan(self) -> Path:
        """The plan in force when the program last ran."""
        return self.root / "plan.json"

    @property
    def loudness(self) -> Path:
        """How loud the two sounds are, as signed for in the running cab."""
        return self.root / "loudness.json"

    @property
    def ports(self) -> Path:
        """Which device was whose, and at which speed, when last heard."""
        return self.root / "ports.json"


def default_home() -> Home:
    """The folder CABAPP_STATE names, else the person's own state folder."""
    named = os.environ.get("CABAPP_STATE")
    return Home(Path(named) if named else user_state_path("cabapp"))


def hold(path: Path, wait_s: float = 0.0) -> int | None:
    """Hold a lock file for the life of this process; None if another holds it after ``wait_s``.

    The lock goes with the process, however it ends (flock(2)). Returns the file descriptor.
    """
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        path.touch(0o640)
    fd = os.open(path, os.O_RDONLY | os.O_CLOEXEC)  # to open it for writing waits for a frozen disk
    until = time.monotonic() + wait_s
    while True:
        try:
            fcntl.flock(fd, fcntl.LOCK_EX | fcntl.LOCK_NB)
            return fd
        except OSError:
            if time.monotonic() >= until:
                os.close(fd)
                return None
            time.sleep(0.05)

"""A small real file system of one's own, to be filled and frozen: a loop mount, where root may."""

import contextlib
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

MIB = 1024 * 1024


def call(*words: str) -> bool:
    """Run a system tool; whether it is there and did its work."""
    if shutil.which(words[0]) is None:
        return False
    return subprocess.run(words, capture_output=True, check=False).returncode == 0


@contextlib.contextmanager
def own_ext4(folder: Path, size: int) -> Iterator[Path]:
    """An ext4 of so many bytes (a sparse file), taken down whatever happens; skips without root."""
    image, place = folder / "disk.img", folder / "disk"
    place.mkdir()
    with open(image, "wb") as file:
        file.truncate(size)
    made = call("mkfs.ext4", "-q", "-F", "-m", "0", str(image))
    if not (made and call("mount", "-o", "loop", str(image), str(place))):
        pytest.skip("no loop mount here; the seam's tests tell the same stories")
    try:
        yield place
    finally:
        call("fsfreeze", "-u", str(place))
        call("umount", "-l", str(place))


def leave_free(place: Path, size: int) -> None:
    """Fill a file system at once until so many bytes are free, or free them again."""
    filler = place / "filler"
    filler.touch()
    stat = os.statvfs(place)
    held = filler.stat().st_blocks * 512
    wanted = held + stat.f_bavail * stat.f_frsize - size
    if wanted < held:
        os.truncate(filler, 0)
    if wanted > 0:
        with open(filler, "r+b") as file:
            os.posix_fallocate(file.fileno(), 0, wanted)


def fill_up(place: Path) -> None:
    """Take the very last block."""
    leave_free(place, MIB)
    with open(place / "filler", "ab", buffering=0) as file, contextlib.suppress(OSError):
        while True:
            file.write(bytes(4096))

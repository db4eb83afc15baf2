"""Files copied to a stick and proven: read back from the stick itself, not from memory.

Each goes beside its name first, is synced, its pages are dropped from the cache, and it is read
back and compared; only then does it take its name. So what stands there under its name is whole.
"""

import hashlib
import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from cabapp.record.disk import Disk

BLOCK = 1 << 20
STICK_SYSTEMS = frozenset(("vfat", "exfat", "ntfs", "ntfs3", "fuseblk", "ext4", "ext3", "ext2"))
STICK_PLACES = ("/media/", "/run/media/", "/mnt/")


class StickError(Exception):
    """A stick that did not take a file, or gave back another: names it, and says the mend."""


@dataclass(frozen=True)
class Copied:
    """What was copied, proven and synced."""

    folder: Path
    names: tuple[str, ...]
    size: int

    def words(self) -> str:
        """``3 files, 12.4 MB, read back and the same. Safe to pull.``"""
        files = f"{len(self.names)} file{'s' if len(self.names) != 1 else ''}"
        size = f"{self.size / 1e6:.1f} MB"
        return f"{files}, {size}, read back and the same. Safe to pull."


def sticks(mounts: Path = Path("/proc/mounts")) -> list[Path]:
    """Where sticks are mounted, writable ones only; none where the system does not say."""
    try:
        lines = mounts.read_text(encoding="utf-8", errors="replace").splitlines()
    except OSError:
        return []
    found = []
    for line in lines:
        _, place, system, options, *_ = line.split(" ")
        place = place.replace("\\040", " ")
        if (
            system in STICK_SYSTEMS
            and f"{place}/".startswith(STICK_PLACES)
            and "ro" not in options.split(",")
        ):
            found.append(Path(place))
    return found


def copy_to(
    folder: Path, files: Iterable[Path], progress: Callable[[float], None] = lambda share: None
) -> Copied:
    """Copy files into a folder of the stick, each proven; StickError at the first that is not.

    A file already there under that name is replaced once the new one is proven. ``progress`` is
    told shares of the whole, 0 to 1.
    """
    wanted = list(files)
    try:
        whole = sum(path.stat().st_size for path in wanted)
        folder.mkdir(parents=True, exist_ok=True)
        done = 0
        for path in wanted:
            done += _copy(path, folder / path.name)
            progress(done / max(whole, 1))
        Disk().sync(folder)
    except OSError as error:
        where = error.filename or folder
        raise StickError(f"{where}: {error.strerror}; free space, or take another stick") from None
    return Copied(folder, tuple(path.name for path in wanted), done)


def _copy(source: Path, target: Path) -> int:
    beside = target.with_name(target.name + ".part")
    wrote = hashlib.sha256()
    size = 0
    with open(source, "rb") as read, open(beside, "wb") as written:
        while block := read.read(BLOCK):
            wrote.update(block)
            written.write(block)
            size += len(block)
        written.flush()
        os.fsync(written.fileno())
    if read_back(beside) != wrote.digest():
        beside.unlink(missing_ok=True)
        raise StickError(f"{target}: read back other than written; take another stick")
    os.replace(beside, target)
    return size


def read_back(path: Path) -> bytes:
    """SHA-256 of a file as the storage gives it: its cached pages are dropped first."""
    found = hashlib.sha256()
    handle = os.open(path, os.O_RDONLY)
    try:
        os.posix_fadvise(handle, 0, 0, os.POSIX_FADV_DONTNEED)
        while block := os.read(handle, BLOCK):
            found.update(block)
    finally:
        os.close(handle)
    return found.digest()

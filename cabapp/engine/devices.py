"""The serial devices of this machine: their stable names, who holds them, who may open them."""

import grp
import os
import stat
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from serial.tools import list_ports

OURS = "cabapp"  # how a holder is named that is this very app, running
_ENGINE = b"cabapp.engine."
MEMBERS_OPEN = stat.S_IRGRP | stat.S_IWGRP
LINK_FOLDERS = (Path("/dev/serial/by-id"), Path("/dev/serial/by-path"))


@dataclass(frozen=True)
class Device:
    """A device file and the names that stay the same when it is plugged in again.

    ``names`` holds by-id before by-path. An adapter without a serial number shares its by-id name
    with its twins, so a name is where to look first and never proof of who is there.
    """

    path: str
    names: tuple[str, ...] = ()
    words: str = ""

    @property
    def stable(self) -> str:
        """The name to remember it by."""
        return self.names[0] if self.names else self.path


def find_devices(folders: tuple[Path, ...] = LINK_FOLDERS) -> list[Device]:
    """All serial devices now plugged in, found afresh at each call."""
    links: dict[str, list[str]] = {}
    for folder in folders:
        for link in sorted(folder.iterdir()) if folder.is_dir() else ():
            links.setdefault(os.path.realpath(link), []).append(str(link))
    found = {
        os.path.realpath(port.device): port.description or "" for port in list_ports.comports()
    }
    paths = sorted(found.keys() | links.keys())
    return [Device(path, tuple(links.get(path, ())), found.get(path, "")) for path in paths]


def group_of(path: str) -> str:
    """The group whose members may open a device, its number where it has no name.

    "" where none may, or only root's: to join that is no advice.
    """
    try:
        status = os.stat(path)
    except OSError:
        return ""
    gid = status.st_gid
    if gid == 0 or status.st_mode & MEMBERS_OPEN != MEMBERS_OPEN:
        return ""
    try:
        return grp.getgrgid(gid).gr_name
    except KeyError:
        return str(gid)


def holder_of(path: str) -> str:
    """The name of another process that has a device open, as far as this user may see; else ""."""
    target = os.path.realpath(path)
    for process in _others():
        try:
            if any(os.path.realpath(fd) == target for fd in (process / "fd").iterdir()):
                return OURS if _is_ours(process) else (process / "comm").read_text().strip()
        except OSError:  # another user's process, or gone since
            continue
    return ""


def ours_runs() -> bool:
    """Whether another process is this app's engine; whose files are open is the account's secret,
    what it was started with is not."""
    return any(_is_ours(process) for process in _others())


def _others() -> Iterator[Path]:
    processes = Path("/proc").glob("[0-9]*")
    return (process for process in processes if int(process.name) != os.getpid())


def _is_ours(process: Path) -> bool:
    try:
        words = (process / "cmdline").read_bytes().split(b"\0")
    except OSError:
        return False
    return any(word.startswith(_ENGINE) for word in words)

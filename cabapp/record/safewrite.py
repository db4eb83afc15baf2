"""Small files written whole or not at all, across a power cut."""

import contextlib
import errno
import json
import os
from pathlib import Path
from typing import Any

from cabapp.record.disk import Disk

# What to do where the disk refuses, by why it does.
MENDS = {
    errno.ENOENT: "no file can be made there, name another place",
    errno.ENOTDIR: "a part of that path is a file, name another place",
    errno.EEXIST: "a part of that path is a file, name another place",
    errno.EISDIR: "that is a folder, name a file",
    errno.EACCES: "not yours to write, name another place",
    errno.EPERM: "not yours to write, name another place",
    errno.EROFS: "it can only be read, take the lock off or name another place",
    errno.ENOSPC: "free space",
    errno.EDQUOT: "free space",
    errno.ENAMETOOLONG: "give it a shorter name",
}
ELSE = "free space, or name another place"


class FileFault(Exception):
    """A file that could not be written or read; names the file, what was found and the mend."""


def write_whole(path: Path, text: str) -> None:
    """Write beside, sync, rename over, sync the folder: the old text or the new, never half.

    Raises FileFault where the disk refuses; the file is then as it was.
    """
    beside = _beside(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(beside, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(beside, path)
        Disk().sync(path.parent)
    except OSError as error:
        raise FileFault(refused(path, error)) from None
    finally:  # also where a person stops it half-way
        with contextlib.suppress(OSError):
            beside.unlink(missing_ok=True)


def try_place(path: Path) -> None:
    """FileFault where no file can be made: tried, before anything is done that would be in vain."""
    beside = _beside(path)
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        beside.touch()
        beside.unlink()
    except OSError as error:
        raise FileFault(refused(path, error)) from None


def _beside(path: Path) -> Path:
    return path.with_name(f".{path.name}.new")


def refused(path: Path, error: OSError) -> str:
    """Why a file was not written and what to do, in one sentence."""
    reason, mend = error.strerror or str(error), MENDS.get(error.errno or 0, ELSE)
    return f"{path}: not written ({reason}); {mend}"


def read_text(path: Path) -> str | None:
    """The file's text, None where there is no file; FileFault where it cannot be read as text."""
    try:
        return path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except OSError as error:
        raise FileFault(
            f"{path}: cannot be read ({error.strerror}); name a file that can be, or restore a "
            "kept copy"
        ) from None
    except UnicodeDecodeError as error:
        raise FileFault(
            f"{path}: found a byte {error.object[error.start]:#04x} at {error.start}, expected "
            "UTF-8 text; save it as UTF-8 text, or restore a kept copy"
        ) from None


def named_text(path: Path) -> str:
    """The text of a file that a person named; FileFault also where there is none."""
    text = read_text(path)
    if text is None:
        raise FileFault(f"{path}: there is no such file; name one that is there")
    return text


def write_json(path: Path, plain: dict[str, Any]) -> None:
    """A small keep-safe, as a calibration under way or the PIN's record."""
    write_whole(path, json.dumps(plain, indent=1, allow_nan=False) + "\n")


def read_json(path: Path) -> dict[str, Any] | None:
    """The kept values, None where nothing is kept; FileFault where the file is not ours."""
    text = read_text(path)
    if text is None:
        return None
    try:
        plain = json.loads(text)
    except json.JSONDecodeError as error:
        raise FileFault(f"{path}: found {error}, expected JSON; remove it and begin anew") from None
    if not isinstance(plain, dict):
        found = type(plain).__name__
        raise FileFault(f"{path}: found a {found}, expected a table; remove it and begin anew")
    return plain

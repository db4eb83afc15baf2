"""The rig file on disk: old ones kept, one step back, a spare tablet restored from a copy.

Nothing is written that does not read back as the same rig, and nothing broken or foreign takes
the place of a good file.
"""

import re
from dataclasses import dataclass, replace
from pathlib import Path

from cabapp.codec import to_plain
from cabapp.record.rigtext import rig_text
from cabapp.record.safewrite import FileFault, read_text, write_whole
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.rigfault import Fault, RigError

KEPT_FOLDER = "rig-kept"
_KEPT_NAME = re.compile(r"^rig-(\d{4,})\.toml$")


@dataclass(frozen=True)
class Opened:
    """The rig in force and where it came from.

    ``refused`` is the fault of the file that should have been used, None when all is well; then
    ``rig`` is the last good one, and ``source`` says which.
    """

    rig: Rig
    source: str
    refused: RigError | None = None


class ForeignRig(Exception):
    """A good file of another machine; says both names and how to take it all the same."""


class RigFile:
    """``rig.toml`` in a folder, with the earlier ones numbered in ``rig-kept`` beside it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.kept_folder = path.parent / KEPT_FOLDER

    def open(self) -> Opened:
        """The rig file; if it is broken the newest kept one that is not; an empty rig without any.

        Never raises for a bad file: it is named in ``refused`` and left as it lies.
        """
        refused: RigError | None = None
        try:
            text = read_text(self.path)
            if text is not None:
                return Opened(read_rig(text, str(self.path)), str(self.path))
        except RigError as error:
            refused = error
        except FileFault as error:
            fault = Fault("(file)", str(error), "a text file", "restore a kept copy")
            refused = RigError(str(self.path), (fault,))
        return self._last_good(refused)

    def write(self, rig: Rig) -> None:
        """Write a rig with the comments of the file in force; the old file is kept, numbered.

        Raises RigError if the rig has faults (nothing is written then), FileFault if the disk
        refuses.
        """
        old = self._text_to_change()
        text = rig_text(rig, old)
        if not same_rig(read_rig(text, str(self.path)), rig):
            fault = Fault("(file)", "a rig that reads back otherwise", "the same", "report this")
            raise RigError(str(self.path), (fault,))
        self._put(text)

    def undo(self) -> Rig | None:
        """One step back: the newest kept file takes the place of the present one, which is kept.

        A second undo therefore brings the present one back. None where nothing is kept.
        """
        kept = self.kept()
        if not kept:
            return None
        text = read_text(kept[-1]) or ""
        rig = read_rig(text, str(kept[-1]))
        self._put(text)
        kept[-1].unlink()
        return rig

    def restore(self, copy: Path, another_machine: bool = False) -> Rig:
        """Take a copied rig file, as on a spare tablet; comments and all, byte for byte.

        Raises RigError or FileFault for a broken file and ForeignRig for one of another machine
        (``another_machine`` takes it all the same). The file in force then stays.
        """
        text = read_text(copy)
        if text is None:
            raise FileFault(f"{copy}: no such file; choose the copied rig.toml")
        rig = read_rig(text, str(copy))
        present = self.open().rig
        fresh = present.id == Rig().id and not present.sensors
        if rig.id != present.id and not (fresh or another_machine):
            raise ForeignRig(
                f"{copy}: found rig {rig.id} ({rig.name}), expected {present.id} ({present.name}); "
                "confirm that this tablet moves to that machine"
            )
        self._put(text)
        return rig

    def kept(self) -> tuple[Path, ...]:
        """Earlier files, oldest first."""
        if not self.kept_folder.is_dir():
            return ()
        named = [(int(m[1]), p) for p in self.kept_folder.iterdir() if (m := _match(p))]
        return tuple(path for _, path in sorted(named))

    def _put(self, text: str) -> None:
        """Keep the present file, then write the new one over it."""
        present = self._present_bytes()
        if present is not None:
            kept = self.kept()
            number = int(_KEPT_NAME.match(kept[-1].name)[1]) + 1 if kept else 1  # type: ignore[index]
            write_whole(self.kept_folder / f"rig-{number:04d}.toml", present)
        write_whole(self.path, text)

    def _present_bytes(self) -> str | None:
        """The present file, broken or not: what a person typed is kept even if it has faults."""
        try:
            return self.path.read_bytes().decode("utf-8", errors="replace")
        except FileNotFoundError:
            return None
        except OSError as error:
            raise FileFault(
                f"{self.path}: cannot be read ({error.strerror}); check the disk"
            ) from None

    def _text_to_change(self) -> str:
        """The text whose comments go on: the file in force, or the last good one."""
        opened = self.open()
        if opened.source == "":
            return ""
        return read_text(Path(opened.source)) or ""

    def _last_good(self, refused: RigError | None) -> Opened:
        for path in reversed(self.kept()):
            try:
                return Opened(read_rig(read_text(path) or "", str(path)), str(path), refused)
            except (RigError, FileFault):
                continue
        return Opened(Rig(), "", refused)


def _match(path: Path) -> re.Match[str] | None:
    return _KEPT_NAME.match(path.name)


def same_rig(one: Rig, other: Rig) -> bool:
    """Equal but for what decimals typed in feet and inches cost: a part in 10^9."""
    return _close(to_plain(replace(one)), to_plain(replace(other)))


def _close(one: object, other: object) -> bool:
    if isinstance(one, dict) and isinstance(other, dict):
        return one.keys() == other.keys() and all(_close(one[k], other[k]) for k in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_close, one, other))
    if isinstance(one, float) and isinstance(other, float | int):
        return abs(one - other) <= 1e-9 * max(1.0, abs(one))
    return one == other

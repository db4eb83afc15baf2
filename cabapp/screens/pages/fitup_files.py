"""The rig file: one step back, a copy on a stick, and a spare tablet restored from one."""

import os
from collections.abc import Callable
from functools import partial
from pathlib import Path

from cabapp.fitup.pages import Page
from cabapp.fitup.pin import WAY_BACK
from cabapp.fitup.plugs import Mark
from cabapp.screens.pages.fitup_asks import AskChoice, Notice, plate
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role

# Where a desktop or a plain system shows a stick.
PLACES = (Path("/media"), Path("/run/media"), Path("/mnt"))
MOST_FOUND = 12


def sticks(places: tuple[Path, ...] = PLACES) -> list[Path]:
    """Folders where something is mounted, one or two levels down."""
    found = []
    for place in places:
        for folder in [*_folders(place), *(f for one in _folders(place) for f in _folders(one))]:
            if os.path.ismount(folder):
                found.append(folder)
    return found


def _folders(place: Path) -> list[Path]:
    try:
        return sorted(path for path in place.iterdir() if path.is_dir())
    except OSError:
        return []


def rig_files(folders: list[Path]) -> list[Path]:
    """Rig files on the sticks, at their top or one folder down."""
    found: list[Path] = []
    for folder in folders:
        for one in [folder, *_folders(folder)]:
            try:
                found += sorted(one.glob("*.toml"))
            except OSError:
                continue
    return found[:MOST_FOUND]


class FilesLeaf(Leaf):
    """Three keys, and what is known of the file in force."""

    page = Page.FILES
    find_sticks: Callable[[], list[Path]] = staticmethod(sticks)

    def state(self) -> tuple[Mark, str]:
        if self.work.refused:
            return Mark.TROUBLE, "Has faults: the last good one"
        kept = len(self.work.file.kept())
        return Mark.DONE, f"{kept} earlier one{'' if kept == 1 else 's'} kept"

    def write(self, paper: Paper) -> None:
        self.head()
        wide = (self.shell.right - 24 - 28) / 3
        kept = len(self.work.file.kept())
        keys = (
            ("undo", self._undo, "One step back", f"{kept} kept"),
            ("copy", self._copy, "Copy to a stick", "rig and sheet"),
            ("restore", self._restore, "Restore", "from a stick"),
        )
        for n, (name, fire, *words) in enumerate(keys):
            rect = Rect(24 + n * (wide + 14), 134, wide, 110)
            paper.key(name, rect, fire, *words, high=30)
        rig = self.work.rig
        y = 300.0
        for word, value in (
            ("Machine", f"{rig.name} ({rig.id})"),
            (
                "Fitted",
                f"{len(rig.sensors)} sensors on {len(rig.ports)} plugs, "
                f"{len(rig.tool.shanks)} shanks",
            ),
            ("File", self._place(paper)),
        ):
            paper.say(word, 24, y, 23, Role.SOFT, False)
            paper.say(value, 170, y, 25, limit=self.shell.right - 170)
            self.rule(paper, y + 16)
            y += 58
        foot = paper.lines(WAY_BACK, 24, y + 8, 21, self.shell.right - 24, 3, Role.SOFT, False)
        if self.work.refused:
            lines = self.work.refused.split("\n")
            top = max(foot - 10, self.shell.bottom - 130)
            place = Rect(24, top, self.shell.right - 264, self.shell.bottom - top)
            plate(paper, place, "The file has faults; the last good one is used", lines[0], True)
            rect = Rect(self.shell.right - 216, self.shell.bottom - 96, 216, 88)
            paper.key("faults", rect, self._faults, "Faults", f"{len(lines)} of them")

    def _place(self, paper: Paper) -> str:
        """Where the file lies; a long path by its end."""
        path = self.work.file.path
        fits = paper.over.width_of(str(path), 25) < self.shell.right - 170
        return str(path) if fits else f"…/{path.parent.name}/{path.name}"

    def _faults(self) -> None:
        self.shell.tell_fault(self.work.refused, "Faults of the rig file")

    def _undo(self) -> None:
        if not self.shell.tell_fault(self.work.undo()):
            lines = (f"In force again: {self.work.rig.name}.", "One step back once more undoes it.")
            self.shell.put(Notice("One step back", lines, warn=False))

    def _copy(self) -> None:
        folders = self.find_sticks()
        if not folders:
            self.shell.tell_fault("No stick is found: push it in, wait a moment, try again.")
            return
        choices = tuple((folder.name, "") for folder in folders[:MOST_FOUND])
        self.shell.put(AskChoice("Copy to", "", choices, lambda n: self._copy_to(folders[n])))

    def _copy_to(self, folder: Path) -> None:
        if not self.shell.tell_fault(self.work.copy_to(folder), "Not copied"):
            self.shell.put(
                Notice("Copied", (f"{self.work.rig.id}.toml is on {folder}.",), warn=False)
            )

    def _restore(self) -> None:
        files = rig_files(self.find_sticks())
        if not files:
            self.shell.tell_fault(
                "No rig file is found on a stick: push it in, wait a moment, try again."
            )
            return
        choices = tuple((path.name, f"on {path.parent.name}") for path in files)
        self.shell.put(
            AskChoice(
                "Restore from",
                "It is checked before it takes the old one's place",
                choices,
                lambda n: self._take(files[n]),
            )
        )

    def _take(self, path: Path, another: bool = False) -> None:
        fault, foreign = self.work.restore(path, another)
        if foreign:
            go = ("Take it all the same", partial(self._take, path, True))
            self.shell.put(Notice("Another machine's file", (fault,), go))
        elif not self.shell.tell_fault(fault, "Refused; the last good file stays"):
            lines = (
                f"This tablet is now {self.work.rig.name}.",
                "Hold a ruler to the screen and hear the sounds anew: they are this tablet's own.",
            )
            self.shell.put(Notice("Restored", lines, warn=False))

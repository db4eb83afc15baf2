"""Pages put in their place: a page of ours is made anew, anything else there is left alone."""

from pathlib import Path

from cabapp.record.folder import CAPTURE_SUFFIX, RUN_SUFFIX
from cabapp.record.reader import RunFileError
from cabapp.record.safewrite import FileFault, refused, try_place, write_whole

MARK = b'<meta name="generator" content="cabapp">'  # both templates have it near their top
LOOK_BYTES = 1024


def check_place(path: Path) -> None:
    """RunFileError where no page can be written, or where something else lies or belongs."""
    if path.suffix in (RUN_SUFFIX, CAPTURE_SUFFIX):
        raise RunFileError(f"{path}: the name of a run or a capture; name a page, as page.html")
    try:
        try_place(path)
        taken = path.exists() and not _is_ours(path)
    except FileFault as error:
        raise RunFileError(str(error)) from None
    except OSError as error:
        raise RunFileError(refused(path, error)) from None
    if taken:
        raise RunFileError(
            f"{path}: is there already and is no page of this program; name another file"
        )


def write_page(path: Path, text: str) -> None:
    """Write a page whole or not at all; RunFileError as for ``check_place``."""
    check_place(path)
    try:
        write_whole(path, text)
    except FileFault as error:
        raise RunFileError(str(error)) from None


def _is_ours(path: Path) -> bool:
    with open(path, "rb") as file:
        return MARK in file.read(LOOK_BYTES)

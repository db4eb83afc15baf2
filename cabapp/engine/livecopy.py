"""A copy of the run being written, for the owner's page: the run itself is opened by nobody else.

The writer makes it between two commits. It lies in a folder of its own, so that no season counts
the shift twice, and goes with the next start of the engine, which follows each shift's end.
"""

from collections.abc import Callable
from concurrent.futures import Future
from pathlib import Path

from cabapp.engine.wire import RunCopied
from cabapp.record.disk import Disk
from cabapp.record.space import ration
from cabapp.record.writer import Writer

Told = Callable[[RunCopied], None]


def copy_live(writer: Writer, folder: Path, disk: Disk, told: Told) -> None:
    """Ask the writer for a copy in ``folder``; ``told`` hears the answer, in the writer's thread.

    Storage that is short keeps what is left for the record itself.
    """
    run = writer.path
    if run is None:
        told(RunCopied())
        return
    copy = folder / run.name
    try:
        forget_copies(folder, but=run.stem)
        folder.mkdir(parents=True, exist_ok=True)
        if not ration(disk.free_bytes(folder) - _size(run)).capture:
            told(RunCopied(str(run), fault=f"{run.name}: storage is short, no copy; end the shift"))
            return
    except OSError as error:
        told(RunCopied(str(run), fault=_fault(run, error)))
        return
    writer.copy_to(copy).add_done_callback(lambda done: told(_answer(run, done)))


def forget_copies(folder: Path, but: str = "") -> None:
    """Remove the copies, and the reports made of them, of all shifts ``but`` one."""
    for path in folder.glob("*"):
        if not but or not path.name.startswith(but):
            path.unlink(missing_ok=True)


def _size(run: Path) -> int:
    """Bytes of a run with what waits in its log."""
    files = (run, Path(f"{run}-wal"))
    return sum(path.stat().st_size for path in files if path.exists())


def _answer(run: Path, done: "Future[Path]") -> RunCopied:
    error = done.exception()
    if error is not None:
        return RunCopied(str(run), fault=_fault(run, error))
    return RunCopied(str(run), str(done.result()))


def _fault(run: Path, error: BaseException) -> str:
    return f"{run.name}: no copy of the run being written ({error}); end the shift to read it"

"""What the writer's thread does: the run file and the capture of the shift in hand.

Every method runs on that thread and turns errors of the storage into a condition.
"""

import logging
import sqlite3
from collections import Counter
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import replace
from pathlib import Path

from cabapp.outcome import Moment, Row, What
from cabapp.record.capture import CaptureFile, CaptureHead
from cabapp.record.condition import Condition, cause_of
from cabapp.record.disk import Disk
from cabapp.record.folder import CAPTURE_SUFFIX, RUN_SUFFIX, captures_of, dated, next_stem
from cabapp.record.reader import GOES_ON_FROM
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.record.space import PLENTY, ration
from cabapp.record.waiting import Waiting

RETRY_S = 1.0
LEAVE_EACH_S = 30.0  # files are not left oftener than this, or they would pile up
TELL_LOST_EACH_S = 60.0  # what was not kept is put on record at once, then no oftener than this

log = logging.getLogger(__name__)


class Session:
    """The shift being recorded; ``begun`` from begin to end, whether or not a file is open."""

    def __init__(
        self,
        folder: Path,
        disk: Disk,
        waiting: Waiting,
        condition: Condition,
        clock: Callable[[], float],
    ) -> None:
        self._folder = folder
        self._disk = disk
        self._waiting = waiting
        self._condition = condition
        self._clock = clock
        self._facts: RunFacts | None = None
        self._run: RunFile | None = None
        self._capture: CaptureFile | None = None
        self._ration = PLENTY
        self._retry_at = self._left_at = float("-inf")
        self._told_lost: Counter[str] = Counter()
        self._told_lost_at = float("-inf")
        self._last: Row | Moment | None = None  # what was committed last
        self._left = ""  # the file that had to be left, until the next one says so
        self.path: Path | None = None
        self.saved = (0, 0)

    @property
    def begun(self) -> bool:
        """Whether a shift is in hand."""
        return self._facts is not None

    def begin(self, facts: RunFacts, go_on: Path | None, head: CaptureHead) -> None:
        """Take up a shift: the file is made or gone on with now, or as soon as that works."""
        self.saved = (0, 0)
        self._retry_at = float("-inf")
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            self._fail(error)
        if go_on is not None:
            try:
                self._run, self.path = RunFile.resume(go_on, self._disk), go_on
                self._facts = replace(facts, shift=self._run.shift)
            except (sqlite3.Error, OSError, ValueError) as error:
                log.error("%s: cannot go on with it (%s); a new file is begun", go_on, error)
                self._left = go_on.name
        if self._run is None:
            stem = next_stem(self._folder, facts.utc)
            self.path = self._folder / (stem + RUN_SUFFIX)
            self._facts = replace(facts, shift=facts.shift or stem)
        self.look_at_space()
        self._begin_capture(head)
        self.write()

    def write(self) -> None:
        """Commit all that waits, as far as the storage lets."""
        while self._ready() and (batch := self._waiting.head()):
            self._commit(batch)

    def who(self, field: str, driver: str) -> None:
        """Note field and driver."""
        if self._facts is None:
            return
        plan = replace(self._facts.plan, field=field, driver=driver)
        self._facts = replace(self._facts, plan=plan)
        if self._ready() and self._run is not None:
            try:
                self._run.who(field, driver)
            except (sqlite3.Error, OSError) as error:
                self._fail(error)

    def copy_to(self, path: Path, done: "Future[Path]") -> None:
        """Copy the live run for readers; the Future gets the path or the error."""
        try:
            if self._run is None:
                raise FileNotFoundError("no run is being written")
            self._run.copy_to(path)
            done.set_result(path)
        except (sqlite3.Error, OSError) as error:
            done.set_exception(error)

    def end(self, summary: dict[str, object] | None, ended: "Future[bool]") -> None:
        """Finish the shift and give file and captures their date, if one is known."""
        self._retry_at = float("-inf")
        self.write()
        self._tell_last_losses()
        self.flush_capture()
        self._end_capture("")
        well = self._run is None or self._end_run(self._run, summary)
        self._run = self._facts = None
        ended.set_result(well)

    def leave(self) -> None:
        """The program stops: what waits is written, the run is left to be gone on with."""
        self.write()
        self._tell_last_losses()
        self.flush_capture()
        self._end_capture("")
        if self._run is not None:
            self._run.leave()
            self._run = None

    def flush_capture(self) -> None:
        """Put the waiting events into the capture, pushed out to the file."""
        if not self.begun:
            return
        events = self._waiting.take_events()
        if self._capture is None:
            return
        if self._waiting.events_lost:
            self._end_capture("more events waited than are kept")
            return
        try:
            for event in events:
                self._capture.add(event)
            self._capture.flush()
        except OSError as error:
            log.error("%s: capture given up (%s)", self._capture.path, error)
            self._capture.leave()
            self._capture = None

    def look_at_space(self) -> None:
        """Ration what is written by the storage that is free."""
        try:
            self._ration = ration(self._disk.free_bytes(self._folder))
            used = self._disk.used_share(self._folder)
        except OSError:
            return  # a storage that is gone shows at the next commit
        self._condition.storage(self._ration.well, used, self._ration.row_every_s != 1)
        if not self._ration.capture:
            self._end_capture("storage short")

    # -- inside -------------------------------------------------------------------------------

    def _ready(self) -> bool:
        """Whether a run is open; opens it when it is time to try."""
        if self._facts is None or self._clock() < self._retry_at:
            return False
        if self._run is None:
            assert self.path is not None
            try:
                self._run = RunFile.begin(self.path, self._facts, self._disk)
            except (sqlite3.Error, OSError) as error:
                self._forget_half_made(self.path)
                self._fail(error)
        return self._run is not None

    def _commit(self, batch: Batch) -> None:
        assert self._run is not None
        rows = self._rationed(batch.rows)
        lost = self._untold_losses()
        last = batch.moments[-1] if batch.moments else batch.rows[-1]
        told = [*self._where_from(batch), *_lost_moments(last, lost)]
        kept = Batch(rows, [*batch.moments, *told])
        try:
            if kept:
                self._run.write(kept)
        except (sqlite3.ProgrammingError, sqlite3.InterfaceError, ValueError) as error:
            log.error("%s: rows or moments that no file can hold: %s", self.path, error)
            self._waiting.lose(len(batch.rows), len(batch.moments))
            self._waiting.written(batch)
            return
        except (sqlite3.Error, OSError) as error:
            self._fail(error)
            return
        self._left, self._last = "", last
        self._told(lost)
        self._waiting.lose(len(batch.rows) - len(rows), 0)
        self._waiting.written(batch)
        self.saved = (self.saved[0] + len(rows), self.saved[1] + len(batch.moments))
        self._condition.fine()

    def _fail(self, error: Exception) -> None:
        """Say what is wrong; leave a file that failed for another reason than full or busy."""
        cause = cause_of(error)
        log.error("%s: not written: %s", self.path, error)
        self._condition.trouble(cause)
        self._retry_at = self._clock() + RETRY_S
        if cause == "disk_full":
            self._end_capture("storage full")
        elif cause == "disk_failed" and self._run is not None:
            self._leave_file()

    def _leave_file(self) -> None:
        assert self._run is not None and self._facts is not None
        self._let_go(self._run)
        self._left, self._run = self._run.path.name, None
        self.path = self._folder / (next_stem(self._folder, self._facts.utc) + RUN_SUFFIX)
        self._condition.left_file()
        if self._clock() >= self._left_at + LEAVE_EACH_S:
            self._retry_at = float("-inf")  # at once; a storage that fails on and on gets a rest
            self._left_at = self._clock()
        else:
            self._retry_at = self._left_at + LEAVE_EACH_S

    def _where_from(self, batch: Batch) -> list[Moment]:
        """In a file that goes on from one that had to be left: which that was."""
        if not self._left:
            return []
        first = batch.rows[0] if batch.rows else batch.moments[0]
        return [Moment(first.utc, first.t_s, What.RUN, value=self._left, detail=GOES_ON_FROM)]

    def _let_go(self, run: RunFile) -> None:
        try:
            run.leave()
        except sqlite3.Error as error:
            log.error("%s: left without closing: %s", run.path, error)

    def _forget_half_made(self, path: Path) -> None:
        """Remove a file whose making failed, so that the next try begins clean."""
        for leftover in (path, Path(f"{path}-wal"), Path(f"{path}-shm")):
            try:
                leftover.unlink(missing_ok=True)
            except OSError:
                return

    def _rationed(self, rows: list[Row]) -> list[Row]:
        every = self._ration.row_every_s
        return [row for row in rows if every and int(row.t_s) % every == 0]

    def _untold_losses(self) -> dict[str, int]:
        """What was not kept and is not on record yet: kind to count."""
        if self._clock() < self._told_lost_at + TELL_LOST_EACH_S:
            return {}
        return {
            kind: count - self._told_lost[kind]
            for kind, count in self._waiting.lost.items()
            if count > self._told_lost[kind]
        }

    def _told(self, lost: dict[str, int]) -> None:
        for kind, count in lost.items():
            self._told_lost[kind] += count
            self._told_lost_at = self._clock()

    def _tell_last_losses(self) -> None:
        """Put on record what was not kept since it was last told, before the file is let go."""
        self._told_lost_at = float("-inf")
        lost = self._untold_losses()
        if not lost or self._last is None or self._run is None:
            return
        try:
            self._run.write(Batch(moments=_lost_moments(self._last, lost)))
            self._told(lost)
        except (sqlite3.Error, OSError) as error:
            self._fail(error)

    def _begin_capture(self, head: CaptureHead) -> None:
        if self.path is None or not self._ration.capture:
            return
        stem, number = self.path.name.removesuffix(RUN_SUFFIX), len(captures_of(self.path)) + 1
        name = stem + (f"-{number}" if number > 1 else "") + CAPTURE_SUFFIX
        try:
            self._capture = CaptureFile(self._folder / name, head, self._disk)
        except OSError as error:
            log.error("%s: no capture (%s)", name, error)

    def _end_capture(self, why: str) -> None:
        if self._capture is None:
            return
        try:
            self._capture.end(why)
        except OSError as error:
            log.error("%s: capture left (%s)", self._capture.path, error)
            self._capture.leave()
        self._capture = None

    def _end_run(self, run: RunFile, summary: dict[str, object] | None) -> bool:
        try:
            run.end("ended", summary)
            self._date_files(run)
        except (sqlite3.Error, OSError, ValueError) as error:
            log.error("%s: not ended (%s); the next start does it", run.path, error)
            self._condition.trouble(cause_of(error))
            self._let_go(run)
            return False
        return True

    def _date_files(self, run: RunFile) -> None:
        """Rename run and captures to their date, now that all are closed."""
        stem = run.path.name.removesuffix(RUN_SUFFIX)
        new_stem = dated(stem, run.first_utc)
        if new_stem == stem:
            return
        for path in [*captures_of(run.path), run.path]:
            path.rename(path.with_name(new_stem + path.name.removeprefix(stem)))
        self.path = run.path.with_name(new_stem + RUN_SUFFIX)
        self._disk.sync(self._folder)


def _lost_moments(last: Row | Moment, lost: dict[str, int]) -> list[Moment]:
    """A moment for each kind of loss, at the time of the last thing that came."""
    return [
        Moment(last.utc, last.t_s, What.DROPPED, rule=kind, value=float(count))
        for kind, count in lost.items()
    ]

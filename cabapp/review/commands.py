"""What ``report``, ``export`` and ``season`` do: each returns the command's exit code."""

import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from cabapp.record.capture import CaptureError
from cabapp.record.reader import RunFileError
from cabapp.review.again import Bands, in_full, judged_again
from cabapp.review.beside import AGAIN, RUNS, book_path
from cabapp.review.export import export_shift
from cabapp.review.joined import last_file_of
from cabapp.review.notes import add_note, notes_of
from cabapp.review.page import check_place, write_page
from cabapp.review.report import Options, report_html, season_html
from cabapp.review.season import season_of, text_of
from cabapp.review.shift import Shift, load_brief, load_shift
from cabapp.review.summary import summarize
from cabapp.units import UnitSystem


@dataclass(frozen=True)
class Asked:
    """What is asked of a report besides its place: a note to add, another band.

    ``speed_mps`` and ``depth_m`` are the lower and the upper end; ``in_full`` plays the capture,
    into a run of its own.
    """

    customer: bool = False
    note: str = ""
    by: str = ""
    speed_mps: tuple[float, float] | None = None
    depth_m: tuple[float, float] | None = None
    in_full: bool = False


def report(run: Path, out: Path | None, units: str | None, asked: Asked) -> int:
    """The report of a run as one HTML file, beside the run where no other place is named."""
    try:
        run = _whole(run)
        bands = Bands(asked.speed_mps, asked.depth_m)
        if asked.in_full:
            out = out or run.with_name(f"{run.stem}-again-report.html")
        check_place(_page_of(run, out, asked.customer))  # before a note is told to the book
        if asked.note:
            _add_note(run, asked)
        if asked.in_full:
            again = run.parent / AGAIN / run.name  # apart: a season must not count it twice
            run = in_full(run, bands, again)
        print(make_report(run, out, units, asked.customer, lambda share: None, bands))
    except (RunFileError, CaptureError) as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def _whole(run: Path) -> Path:
    """The last file of a shift; says so where another one was named."""
    last = last_file_of(run)
    if last != run:
        print(f"{run}: the shift goes on in {last.name}; both are read", file=sys.stderr)
    return last


def _add_note(run: Path, asked: Asked) -> None:
    """Add a note with the desk's date: the run itself is never written to."""
    now = datetime.now(UTC).isoformat(timespec="seconds").replace("+00:00", "Z")
    add_note(load_brief(run), book_path(run), asked.note, asked.by, now)


def _page_of(run: Path, out: Path | None, customer: bool) -> Path:
    """Where the report of a run goes: the file named, in the folder named, or beside the run."""
    name = f"{run.stem}-{'customer-report' if customer else 'report'}.html"
    path = out or run.with_name(name)
    return path / name if path.is_dir() else path


def make_report(
    run: Path,
    out: Path | None,
    units: str | None,
    customer: bool,
    progress: Callable[[float], None],
    bands: Bands = Bands(),  # noqa: B008  frozen
) -> Path:
    """Write the report and answer its path; ``progress`` is told shares of the whole, 0 to 1.

    RunFileError for a run that cannot be read or a place that takes no file.
    """
    shift = load_shift(run)
    if bands != Bands():
        try:
            shift = judged_again(shift, bands)
        except ValueError as error:
            raise RunFileError(f"{run}: not judged again: {error}") from None
    progress(0.4)
    summary = summarize(shift)
    progress(0.6)
    notes = notes_of(shift.brief, book_path(run))
    text = report_html(summary, Options(units_of(shift, units), customer, bands != Bands()), notes)
    progress(0.9)
    path = _page_of(run, out, customer)
    write_page(path, text)
    progress(1.0)
    return path


def export(run: Path, out: Path | None, units: str | None) -> int:
    """CSV and GeoJSON of a run into a folder, beside the run where none is named."""
    try:
        shift = load_shift(_whole(run))
        for path in export_shift(summarize(shift), out or run.parent, units_of(shift, units)):
            print(path)
    except RunFileError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def season(folder: Path, out: Path | None, units: str) -> int:
    """All runs of a folder as a table or a page; what is no run or a copy is named on stderr."""
    try:
        found = season_of(folder)
        if not found.lines and not found.faults:
            raise RunFileError(_no_runs(folder))
        if out is not None:
            write_page(out, season_html(found, UnitSystem(units)))
    except RunFileError as error:
        print(error, file=sys.stderr)
        return 1
    print(text_of(found, UnitSystem(units)) if out is None else out)
    for words in (*found.copies, *found.faults):
        print(words, file=sys.stderr)
    return 1 if found.faults else 0


def _no_runs(folder: Path) -> str:
    """What is wrong with a folder without a run, with a guess at the right one."""
    names = {path.parent.name for path in folder.glob("*/*.gpkg")}
    inside = sorted(names, key=lambda name: (name != RUNS, name))
    mend = f"name {folder / inside[0]}" if inside else "name the folder with the *.gpkg of Shifts"
    return f"{folder}: there is no run in it; {mend}"


def units_of(shift: Shift, named: str | None) -> UnitSystem:
    """The units asked for, else the rig's own."""
    return UnitSystem(named) if named else shift.page.rig.units

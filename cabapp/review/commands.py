"""What ``report``, ``export`` and ``season`` do: each returns the command's exit code."""

import sys
from collections.abc import Callable
from pathlib import Path

from cabapp.record.reader import RunFileError
from cabapp.record.safewrite import FileFault, write_whole
from cabapp.review.export import export_shift
from cabapp.review.notes import book_path, notes_of
from cabapp.review.report import Options, report_html
from cabapp.review.season import season_of, text_of
from cabapp.review.shift import Shift, load_shift
from cabapp.review.summary import summarize
from cabapp.units import UnitSystem


def report(run: Path, out: Path | None, units: str | None, customer: bool) -> int:
    """The report of a run as one HTML file, beside the run where no other place is named."""
    try:
        print(make_report(run, out, units, customer, lambda share: None))
    except RunFileError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def make_report(
    run: Path,
    out: Path | None,
    units: str | None,
    customer: bool,
    progress: Callable[[float], None],
) -> Path:
    """Write the report and answer its path; ``progress`` is told shares of the whole, 0 to 1.

    RunFileError for a run that cannot be read or a place that takes no file.
    """
    shift = load_shift(run)
    progress(0.4)
    summary = summarize(shift)
    progress(0.6)
    notes = notes_of(shift.brief, book_path(run))
    text = report_html(summary, Options(units_of(shift, units), customer), notes)
    progress(0.9)
    kind = "customer-report" if customer else "report"
    path = out or run.with_name(f"{run.stem}-{kind}.html")
    if path.is_dir():
        path = path / f"{run.stem}-{kind}.html"
    try:
        write_whole(path, text)
    except FileFault as error:
        raise RunFileError(str(error)) from None
    progress(1.0)
    return path


def export(run: Path, out: Path | None, units: str | None) -> int:
    """CSV and GeoJSON of a run into a folder, beside the run where none is named."""
    try:
        shift = load_shift(run)
        for path in export_shift(summarize(shift), out or run.parent, units_of(shift, units)):
            print(path)
    except RunFileError as error:
        print(error, file=sys.stderr)
        return 1
    return 0


def season(folder: Path, out: Path | None, units: str) -> int:
    """All runs of a folder as a table on stdout; files that are no runs are named on stderr."""
    try:
        found = season_of(folder)
    except RunFileError as error:
        print(error, file=sys.stderr)
        return 1
    print(text_of(found, UnitSystem(units)))
    for fault in found.faults:
        print(fault, file=sys.stderr)
    return 1 if found.faults else 0


def units_of(shift: Shift, named: str | None) -> UnitSystem:
    """The units asked for, else the rig's own."""
    return UnitSystem(named) if named else shift.page.rig.units

"""What ``report``, ``export`` and ``season`` do: each returns the command's exit code."""

import sys
from pathlib import Path

from cabapp.record.reader import RunFileError
from cabapp.review.export import export_shift
from cabapp.review.shift import Shift, load_shift
from cabapp.review.summary import summarize
from cabapp.units import UnitSystem


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


def units_of(shift: Shift, named: str | None) -> UnitSystem:
    """The units asked for, else the rig's own."""
    return UnitSystem(named) if named else shift.page.rig.units

"""The command ``cabapp``: each command here only reads its words and hands over.

Exit codes: 0 done, 1 the file or rig is at fault (one line a fault on stderr), 2 wrong use.
"""

import argparse
import json
import sys
from collections.abc import Callable, Sequence
from datetime import date
from pathlib import Path

from cabapp import __version__
from cabapp.record.capture import CaptureError
from cabapp.record.reader import RunFileError
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.rigfault import RigError
from cabapp.sources import SourceError, sources


class FileFault(Exception):
    """A file that cannot be used: the message names it, what was found and the mend."""


FAULTS = (FileFault, SourceError, CaptureError, RunFileError)


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code, never a traceback for a file's fault."""
    options = _parser().parse_args(words)
    try:
        return int(options.run(options))
    except RigError as error:
        for fault in error.faults:
            print(f"{error.source}: {fault}", file=sys.stderr)
    except FAULTS as error:
        print(error, file=sys.stderr)
    except BrokenPipeError:
        sys.stderr.close()
    except KeyboardInterrupt:
        return 130
    return 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="cabapp", description="Set up, watch and review a combination primary-tillage tool."
    )
    parser.add_argument("--version", action="version", version=__version__)
    parser.set_defaults(run=_drive, rig=None, windowed=False)
    commands = parser.add_subparsers(title="commands", metavar="COMMAND")

    def add(
        name: str, run: Callable[[argparse.Namespace], int], words: str
    ) -> argparse.ArgumentParser:
        command = commands.add_parser(name, help=words, description=words)
        command.set_defaults(run=run)
        return command

    def rig_option(command: argparse.ArgumentParser) -> None:
        command.add_argument("--rig", type=Path, help="the rig file (default: a receiver alone)")

    drive = add("drive", _drive, "the kiosk: full screen, on Drive")
    drive.add_argument(
        "--rig", type=Path, help="the rig file (default: the one in the state folder)"
    )
    drive.add_argument("--windowed", action="store_true", help="in a window, for a desk")

    demo = add("demo", _demo, "an invented tractor through real pseudo-terminals")
    demo.add_argument("--speed", type=float, default=1.0, help="times real time (default 1)")
    demo.add_argument(
        "--pictures", type=Path, metavar="DIR", help="one PNG of every page and state"
    )
    demo.add_argument(
        "--panels", action="store_true", help="with --pictures: on the small and fine panels too"
    )
    rig_option(demo)

    replay = add("replay", _replay, "captures or one receiver's NMEA log, as JSON lines on stdout")
    replay.add_argument("files", nargs="+", type=Path, metavar="FILE")
    rig_option(replay)
    replay.add_argument("--readings", action="store_true", help="every channel at every tick")
    replay.add_argument(
        "--run", type=Path, dest="out", metavar="OUT.gpkg", help="make the run file"
    )
    replay.add_argument(
        "--quiet", action="store_true", help="no lines: only the run file or faults"
    )
    near = "move dates to the 1024-week era nearest to DATE (yyyy-mm-dd)"
    replay.add_argument("--near", type=date.fromisoformat, metavar="DATE", help=near)
    replay.add_argument("--baud", type=int, default=9600, help="speed of the wire (default 9600)")

    for name, run, help_words in (
        ("report", _report, "one self-contained HTML page of a run"),
        ("export", _export, "CSV and GeoJSON of a run"),
    ):
        command = add(name, run, help_words)
        command.add_argument("file", type=Path, metavar="RUN.gpkg")
        command.add_argument("--out", type=Path, help="where to write (default: beside the run)")
        command.add_argument("--units", choices=("us", "metric"), help="default: the rig's own")
        if name == "report":
            customer = "the customer's version, without the driver's alerts"
            command.add_argument("--customer", action="store_true", help=customer)
            _report_options(command)

    season = add("season", _season, "all runs of a folder together")
    season.add_argument("folder", type=Path, metavar="DIR")
    season.add_argument("--out", type=Path, help="write an HTML page instead of a table")
    season.add_argument("--units", choices=("us", "metric"), default="us")

    check = add("check", _check, "every fault of a rig file at once")
    check.add_argument("file", type=Path, metavar="RIG.toml")

    add("ports", _ports, "what is plugged in, and what each wire sends")
    return parser


def _report_options(command: argparse.ArgumentParser) -> None:
    command.add_argument("--note", default="", help="add a note or correction to the book first")
    command.add_argument("--by", default="", metavar="NAME", help="whose note it is")
    band = "judge again against this speed band, as '5 mph' '6.5 mph'; the record stays"
    command.add_argument("--speed", nargs=2, metavar=("LOW", "HIGH"), help=band)
    band = "judge again against this depth band, as '12 1/2 in' '15 in'; the record stays"
    command.add_argument("--depth", nargs=2, metavar=("LOW", "HIGH"), help=band)
    full = "judge again by playing the capture in full, into again/RUN.gpkg"
    command.add_argument("--in-full", action="store_true", help=full)


def load_rig(path: Path | None) -> Rig:
    """The rig file at ``path``, or a receiver alone where none is named."""
    if path is None:
        return Rig()
    return read_rig(_text(path), str(path))


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except OSError as error:
        raise FileFault(f"{path}: {error.strerror}; name a file that can be read") from None
    except UnicodeDecodeError as error:
        raise FileFault(
            f"{path}: byte {error.start} is not UTF-8 text; this is no rig file"
        ) from None


def _check(options: argparse.Namespace) -> int:
    rig = load_rig(options.file)
    print(f"{options.file}: good: {rig.name}, {len(rig.tool.shanks)} shanks, "
          f"{len(rig.sensors)} sensors")  # fmt: skip
    return 0


def _replay(options: argparse.Namespace) -> int:
    from cabapp.cab import Cab
    from cabapp.record.makerun import RunMaker
    from cabapp.record.runfile import RunFacts
    from cabapp.replay import told

    rig = load_rig(options.rig) if options.rig else None
    if options.out and len(options.files) > 1:
        raise FileFault(f"{options.out}: one run is made of one file; name a single FILE")
    for source in sources(options.files, rig, options.baud):
        facts = RunFacts(source.rig, source.plan, shift=source.path.stem)
        maker = RunMaker(options.out, facts) if options.out else None
        names = source.drivers, source.fields
        cab = Cab(source.rig, source.plan, options.near, False, *names)
        keep = maker.put if maker else None
        for line in told(cab, source.events, options.readings, keep, source.offset_s):
            if not options.quiet:
                print(json.dumps(line, allow_nan=False))
        if maker:
            maker.put(cab.end(cab.sense.now.at))
            print(f"{maker.end()}: made", file=sys.stderr)
    return 0


def _ports(options: argparse.Namespace) -> int:
    import time

    from cabapp.engine.survey import survey, words_of

    found = survey(time.monotonic)
    for one in found:
        print(words_of(one))
    if not found:
        print("No serial port is plugged in.")
    return 0


def _drive(options: argparse.Namespace) -> int:
    from cabapp.engine.start import drive

    return drive(rig=options.rig, windowed=options.windowed)


def _demo(options: argparse.Namespace) -> int:
    if options.pictures:
        from cabapp.screens.pictures import PANELS, pictures

        for path in pictures(options.pictures, tuple(PANELS)[: None if options.panels else 1]):
            print(path, flush=True)
        return 0
    from cabapp.engine.start import demo

    return demo(rig=options.rig, speed=options.speed)


def _report(options: argparse.Namespace) -> int:
    from cabapp.review.commands import Asked, report

    speeds = tuple(options.speed) if options.speed else None
    depths = tuple(options.depth) if options.depth else None
    asked = Asked(options.customer, options.note, options.by, speeds, depths, options.in_full)
    return report(options.file, options.out, options.units, asked)


def _export(options: argparse.Namespace) -> int:
    from cabapp.review.commands import export

    return export(options.file, options.out, options.units)


def _season(options: argparse.Namespace) -> int:
    from cabapp.review.commands import season

    return season(options.folder, options.out, options.units)

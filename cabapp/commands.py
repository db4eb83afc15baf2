"""What the command ``cabapp`` does: each command here only reads its words and hands over.

Exit codes: 0 done, 1 the file or rig is at fault (one line a fault on stderr), 2 wrong use.
"""

import argparse
import json
import math
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, nullcontext
from datetime import date
from pathlib import Path

from cabapp import __version__
from cabapp.record.capture import CaptureError
from cabapp.record.reader import RunFileError
from cabapp.record.safewrite import FileFault, named_text, refused
from cabapp.rig import Rig
from cabapp.rigbounds import BOUNDS, bounds_text, within
from cabapp.rigcheck import read_rig
from cabapp.rigcross import unready
from cabapp.rigfault import RigError
from cabapp.sources import BAUDS, Source, SourceError, Times, sources, unheard, unmade
from cabapp.units import UnitError, parse_quantity

FASTEST_DEMO = 100.0  # times real time: more than any machine here can play
FAULTS = (FileFault, SourceError, CaptureError, RunFileError)


class WrongUse(Exception):
    """Words that cannot be obeyed together: names the option, what is missing and the mend."""


def run(words: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code, never a traceback for a file's fault."""
    options = _parser().parse_args(words)
    try:
        return int(options.run(options))
    except RigError as error:
        for fault in error.faults:
            print(f"{error.source}: {fault}", file=sys.stderr)
    except WrongUse as error:
        print(f"cabapp: {error}", file=sys.stderr)
        return 2
    except FAULTS as error:
        print(error, file=sys.stderr)
    except BrokenPipeError:
        sys.stderr.close()
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

    drive = add("drive", _drive, "the kiosk: full screen, on Drive")
    drive.add_argument(
        "--rig", type=Path, help="the rig file (default: the one in the state folder)"
    )
    drive.add_argument("--windowed", action="store_true", help="in a window, for a desk")

    demo = add("demo", _demo, "an invented tractor through real pseudo-terminals")
    demo.add_argument("--speed", type=_pace, default=1.0, help="times real time (default 1)")
    demo.add_argument(
        "--pictures", type=Path, metavar="DIR", help="one PNG of every page and state"
    )
    demo.add_argument(
        "--panels", action="store_true", help="with --pictures: on the small and fine panels too"
    )
    demo.add_argument("--rig", type=Path, help="the rig file (default: one with every sensor)")

    replay = add("replay", _replay, "captures or one receiver's NMEA log, as JSON lines on stdout")
    replay.add_argument("files", nargs="+", type=Path, metavar="FILE")
    tool = "the rig file: a run of a log needs it; a capture has its own"
    replay.add_argument("--rig", type=Path, help=tool)
    replay.add_argument("--readings", action="store_true", help="every channel at every tick")
    replay.add_argument(
        "--run", type=Path, dest="out", metavar="OUT.gpkg", help="make the run file"
    )
    replay.add_argument(
        "--quiet", action="store_true", help="no lines: only the run file or faults"
    )
    near = "move dates to the 1024-week era nearest to DATE (yyyy-mm-dd)"
    replay.add_argument("--near", type=_day, metavar="DATE", help=near)
    replay.add_argument("--baud", type=_baud, default=9600, help="speed of the wire (default 9600)")

    for name, run, help_words in (
        ("report", _report, "one self-contained HTML page of a run"),
        ("export", _export, "CSV and GeoJSON of a run; no file is written over"),
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
    command.add_argument("--note", help="add a note or correction to the book first")
    command.add_argument("--by", metavar="NAME", help="whose note it is")
    band = "judge again against this speed band, as '5 mph' '6.5 mph'; the record stays"
    command.add_argument("--speed", nargs=2, type=_speed, metavar=("LOW", "HIGH"), help=band)
    band = "judge again against this depth band, as '12 1/2 in' '15 in'; the record stays"
    command.add_argument("--depth", nargs=2, type=_depth, metavar=("LOW", "HIGH"), help=band)
    full = "judge again by playing the capture in full, into again/RUN.gpkg"
    command.add_argument("--in-full", action="store_true", help=full)


def _pace(text: str) -> float:
    return _number(text, 0.0 < _float(text) <= FASTEST_DEMO, f"above 0, at most {FASTEST_DEMO:g}")


def _baud(text: str) -> int:
    return int(_number(text, text.isdecimal() and int(text) in BAUDS,
                       f"a whole number {BAUDS[0]} to {BAUDS[-1]}"))  # fmt: skip


def _number(text: str, good: bool, expected: str) -> float:
    if not good:
        raise argparse.ArgumentTypeError(f"found {text!r}, expected {expected}")
    return float(text)


def _float(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        return math.nan


def _day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"found {text!r}, expected a day as 2026-10-14") from None


def _speed(text: str) -> float:
    return _bounded(text, "speed", "limits.speed_low_mps")


def _depth(text: str) -> float:
    return _bounded(text, "length", "limits.depth_target_m")


def _bounded(text: str, quantity: str, bounds: str) -> float:
    try:
        value = parse_quantity(text, quantity)
    except UnitError as error:
        raise argparse.ArgumentTypeError(str(error)) from None
    if not within(value, BOUNDS[bounds]):
        expected = bounds_text(BOUNDS[bounds], quantity)
        raise argparse.ArgumentTypeError(f"found {text!r}, expected {expected}")
    return value


def _rig(path: Path) -> Rig:
    return read_rig(named_text(path), str(path))


def _check(options: argparse.Namespace) -> int:
    rig = _rig(options.file)
    faults = unready(rig)
    if faults:
        raise RigError(str(options.file), faults)
    print(f"{options.file}: good: {rig.name}, {len(rig.tool.shanks)} shanks, "
          f"{len(rig.sensors)} sensors")  # fmt: skip
    return 0


def _replay(options: argparse.Namespace) -> int:
    if options.out and len(options.files) > 1:
        raise WrongUse(f"--run {options.out}: one run is made of one file; name a single FILE")
    rig = _rig(options.rig) if options.rig else None
    found = sources(options.files, rig, options.baud)
    if options.out and rig is None and not found[0].is_capture:
        raise WrongUse(
            f"--run {options.out}: {found[0].path} is a log, and says nothing of the tool; name "
            "its rig file with --rig"
        )
    with _killed_like_interrupted():
        for source in found:
            _play(source, options)
    return 0


def _play(source: Source, options: argparse.Namespace) -> None:
    """One source through the cab: its lines, and its run where one is asked for."""
    from cabapp.cab import Cab
    from cabapp.record.makerun import RunMaker
    from cabapp.record.runfile import RunFacts
    from cabapp.replay import told

    shift = source.path.stem if source.is_capture or not options.out else options.out.stem
    cab = Cab(source.rig, source.plan, options.near, False, source.drivers, source.fields)
    facts = RunFacts(source.rig, source.plan, shift=shift)
    with RunMaker(options.out, facts) if options.out else nullcontext() as maker:
        keep = maker.put if maker else None
        times = Times()
        for line in told(cab, source.events, options.readings, keep, source.offset_s):
            times.see(line)
            if not options.quiet:
                print(json.dumps(line, allow_nan=False))
        if times.epochs == 0 and not source.is_capture:
            raise SourceError(unheard(source.path, cab.ears.counts(source.rig.receiver.port)))
        if times.back and not source.is_capture:
            print(f"{source.path}: {times.back}", file=sys.stderr)
        if maker:
            maker.put(cab.end(cab.sense.now.at))
            if not maker.heard:
                raise SourceError(unmade(source, cab.ears.counts))
            print(f"{maker.end()}: made", file=sys.stderr)


@contextmanager
def _killed_like_interrupted() -> Iterator[None]:
    """A plain kill ends a command as Ctrl-C does, so that nothing half-made is left behind."""

    def stop(number: int, frame: object) -> None:
        raise SystemExit(128 + number)

    before = signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


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
        return _pictures(options)
    from cabapp.engine.start import demo

    return demo(rig=options.rig, speed=options.speed)


def _pictures(options: argparse.Namespace) -> int:
    from cabapp.screens.pictures import PANELS, pictures

    try:
        options.pictures.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise FileFault(refused(options.pictures, error)) from None
    for path in pictures(options.pictures, tuple(PANELS)[: None if options.panels else 1]):
        print(path, flush=True)
    return 0


def _report(options: argparse.Namespace) -> int:
    from cabapp.review.commands import Asked, report

    _whole_note(options)
    for name, band in (("--speed", options.speed), ("--depth", options.depth)):
        if band and band[0] >= band[1]:
            raise WrongUse(f"{name}: the band is turned round or empty; name the lower end first")
    speeds = tuple(options.speed) if options.speed else None
    depths = tuple(options.depth) if options.depth else None
    note, by = (options.note or "").strip(), (options.by or "").strip()
    asked = Asked(options.customer, note, by, speeds, depths, options.in_full)
    with _killed_like_interrupted():
        return report(options.file, options.out, options.units, asked)


def _whole_note(options: argparse.Namespace) -> None:
    """WrongUse for half a note: text and name go together."""
    if options.note is None and options.by is None:
        return
    if not (options.note or "").strip():
        raise WrongUse("--by without a note; say what was seen with --note TEXT")
    if not (options.by or "").strip():
        raise WrongUse("--note without a name; say whose it is with --by NAME")


def _export(options: argparse.Namespace) -> int:
    from cabapp.review.commands import export

    return export(options.file, options.out, options.units)


def _season(options: argparse.Namespace) -> int:
    from cabapp.review.commands import season

    return season(options.folder, options.out, options.units)

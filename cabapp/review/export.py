"""A shift in open form: CSV (RFC 4180) and GeoJSON (RFC 7946). The run is itself a GIS file."""

import csv
import io
import json
import math
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from pathlib import Path
from typing import Any

from cabapp.outcome import Moment
from cabapp.record.reader import RunFileError
from cabapp.record.safewrite import FileFault, refused, write_whole
from cabapp.review.figures import figures
from cabapp.review.pieces import Piece, pieces_of, plane_of, swath_of
from cabapp.review.shift import CODES, Floats, Shift, local
from cabapp.review.summary import Summary
from cabapp.review.sums import THINGS
from cabapp.review.table import Column, columns_of_run
from cabapp.trade.geodesy import LocalPlane
from cabapp.units import UnitSystem

PLACES = 7  # decimals of a degree: a centimetre


def export_shift(summary: Summary, folder: Path, units: UnitSystem) -> list[Path]:
    """Write all exports of a shift into a folder, or none; the paths written.

    RunFileError where one of them is there already, or where the storage refuses.
    """
    stem = summary.shift.brief.path.stem
    made: dict[str, Callable[[], str]] = {
        f"{stem}-figures.csv": lambda: figures_csv(summary, units),
        f"{stem}-track.csv": lambda: track_csv(summary.shift, units),
        f"{stem}-moments.csv": lambda: moments_csv(summary.shift),
        f"{stem}-passes.geojson": lambda: passes_geojson(summary),
        f"{stem}-moments.geojson": lambda: moments_geojson(summary.shift),
        f"{stem}-coverage.geojson": lambda: coverage_geojson(summary.shift),
    }
    paths = {folder / name: make for name, make in made.items()}
    for path in paths:
        _must_be_new(path)
    with ExitStack() as half_made:  # a stop may come between two of them
        for path, make in paths.items():
            half_made.callback(path.unlink, missing_ok=True)
            try:
                write_whole(path, make())
            except FileFault as error:
                raise RunFileError(str(error)) from None
        half_made.pop_all()
    return list(paths)


def _must_be_new(path: Path) -> None:
    try:
        there = path.exists() or path.is_symlink()
    except OSError as error:
        raise RunFileError(refused(path, error)) from None
    if there:
        raise RunFileError(
            f"{path}: is there already and is not written over; name another folder with --out"
        )


def plain(text: str) -> str:
    """A text that no spreadsheet takes for a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t", "\r") else text


def _table(rows: Iterator[list[object]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    for row in rows:
        writer.writerow([plain(c) if type(c) is str else c for c in row])
    return text.getvalue()


# -- CSV ------------------------------------------------------------------------------------------


def figures_csv(summary: Summary, units: UnitSystem) -> str:
    """Every printed figure, as it is printed."""

    def rows() -> Iterator[list[object]]:
        yield ["key", "what", "figure"]
        for figure in figures(summary, units):
            yield [figure.key, figure.words, figure.text]

    return _table(rows())


def track_csv(shift: Shift, units: UnitSystem) -> str:
    """One line a second: local time with its offset, UTC, place, readings, states, ground."""
    columns = columns_of_run(shift, units)
    return _table(_track_rows(shift, columns))


def _track_rows(shift: Shift, columns: list[Column]) -> Iterator[list[object]]:
    track = shift.track
    head = ["local_time", "utc", "time (s)", "latitude (deg)", "longitude (deg)", "phase", "fix"]
    yield [*head, *(column.head for column in columns), *(f"state_{thing}" for thing in THINGS)]
    states = [[CODES[code] for code in track.codes[thing].tolist()] for thing in THINGS]
    written = [column.texts() for column in columns]
    lat, lon = _fixed(track.lat_deg, 8), _fixed(track.lon_deg, 8)
    for row, utc in enumerate(track.utc):
        when = local(utc or "", shift.page)
        yield [
            when.isoformat() if when else "",
            utc or "",
            f"{track.t_s[row]:.3f}",
            lat[row],
            lon[row],
            track.phase[row],
            track.fix[row] or "",
            *(Number(column[row]) for column in written),
            *(column[row] for column in states),
        ]


class Number(str):
    """Digits: a minus sign in front of them makes no formula."""


def _fixed(values: Floats, decimals: int) -> list[str]:
    return [Number(f"{v:.{decimals}f}") if math.isfinite(v) else "" for v in values.tolist()]


def moments_csv(shift: Shift) -> str:
    """Every moment: when, what, where."""

    def rows() -> Iterator[list[object]]:
        yield ["local_time", "utc", "time (s)", "what", "level", "rule", "headline", "action",
               "value", "detail", "latitude (deg)", "longitude (deg)"]  # fmt: skip
        for m in shift.moments:
            when = local(m.utc, shift.page)
            yield [
                when.isoformat() if when else "", m.utc, f"{m.t_s:.3f}", m.what.value,
                m.level.value if m.level else "", m.rule, m.headline, m.action,
                "" if m.value is None else m.value, m.detail,
                "" if m.lat_deg is None else m.lat_deg, "" if m.lon_deg is None else m.lon_deg,
            ]  # fmt: skip

    return _table(rows())


# -- GeoJSON --------------------------------------------------------------------------------------


def _collection(features: list[dict[str, Any]]) -> str:
    found = {"type": "FeatureCollection", "features": features}
    return json.dumps(found, allow_nan=False, ensure_ascii=False, separators=(",", ":")) + "\n"


def _feature(geometry: dict[str, Any] | None, properties: dict[str, Any]) -> dict[str, Any]:
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def _positions(plane: LocalPlane, x: Floats, y: Floats) -> list[list[float]]:
    """Longitude and latitude of places, in that order (RFC 7946, 3.1.1)."""
    lat, lon = plane.to_lat_lon(x, y)
    pairs = zip(lon.tolist(), lat.tolist(), strict=True)
    return [[round(east, PLACES), round(north, PLACES)] for east, north in pairs]


def passes_geojson(summary: Summary) -> str:
    """A line for each piece of a pass in one state."""
    shift = summary.shift
    plane = plane_of(shift)
    if plane is None:
        return _collection([])
    letters = {stretch.letter: stretch for stretch in summary.worst}
    return _collection(
        [
            _feature(
                {"type": "LineString", "coordinates": _positions(plane, piece.x_m, piece.y_m)},
                {
                    **_piece_facts(shift, piece),
                    "worst": "".join(
                        letter
                        for letter, stretch in letters.items()
                        if stretch.first <= piece.last and piece.first <= stretch.last
                    ),
                },
            )
            for piece in pieces_of(shift)
        ]
    )


def _piece_facts(shift: Shift, piece: Piece) -> dict[str, Any]:
    return {
        "pass": piece.pass_number,
        "state": "not judged" if piece.state == "idle" else piece.state,
        "things": [] if piece.state == "idle" else list(piece.out),
        "from_utc": shift.track.utc[piece.first],
        "to_utc": shift.track.utc[piece.last],
        "length_m": round(piece.length_m, 2),
        "area_m2": round(piece.area_m2, 2),
    }


def coverage_geojson(shift: Shift) -> str:
    """The ground of each pass as polygons, anticlockwise (RFC 7946, 3.1.6)."""
    plane = plane_of(shift)
    if plane is None:
        return _collection([])
    width = shift.page.rig.tool.width_m
    rings: dict[int, list[list[list[list[float]]]]] = {}
    for piece in _parts(shift):
        ring = swath_of(piece, width)
        closed = _positions(plane, ring[:, 0], ring[:, 1])
        closed[-1] = closed[0]
        rings.setdefault(piece.pass_number, []).append([closed])
    return _collection(
        [
            _feature(
                {"type": "MultiPolygon", "coordinates": rings.get(one.number, [])},
                {
                    "pass": one.number,
                    "length_m": round(one.length_m, 2),
                    "gross_m2": round(one.gross_m2, 2),
                    "new_m2": round(one.new_m2, 2),
                },
            )
            for one in shift.sums.passes
        ]
    )


def _parts(shift: Shift) -> list[Piece]:
    """Whole passes, cut only where the place was lost."""
    joined: list[Piece] = []
    for piece in pieces_of(shift):
        before = joined[-1] if joined else None
        if before and before.pass_number == piece.pass_number and before.last + 1 == piece.first:
            joined[-1] = before.with_next(piece)
        else:
            joined.append(piece)
    return joined


def moments_geojson(shift: Shift) -> str:
    """A point for each moment; no geometry where there was no place (RFC 7946, 3.2)."""
    return _collection([_feature(_point(m), _moment_facts(m)) for m in shift.moments])


def _point(moment: Moment) -> dict[str, Any] | None:
    if moment.lat_deg is None or moment.lon_deg is None:
        return None
    place = [round(moment.lon_deg, PLACES), round(moment.lat_deg, PLACES)]
    return {"type": "Point", "coordinates": place}


def _moment_facts(moment: Moment) -> dict[str, Any]:
    return {
        "utc": moment.utc,
        "time_s": moment.t_s,
        "what": moment.what.value,
        "level": moment.level.value if moment.level else None,
        "rule": moment.rule,
        "headline": moment.headline,
        "action": moment.action,
        "value": moment.value,
        "detail": moment.detail,
    }

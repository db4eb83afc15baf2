"""The sums stored at the end of a run, and made again from it on demand with the same result."""

import json
import sqlite3
from collections import Counter
from collections.abc import Iterator

from cabapp.cab.run import WITHDRAWN
from cabapp.codec import from_plain, to_plain
from cabapp.ground.pack import pack
from cabapp.ground.shares import Trace, areas_by_state, pack_trace, unseen_rows
from cabapp.ground.worked import Worked
from cabapp.record.geopackage import place
from cabapp.rig import Rig

GROUND_COLUMNS = ("course_deg", "phase", "fix")


def totals(connection: sqlite3.Connection) -> dict[str, object]:
    """Areas, passes, seconds by phase and stretch, counts; the worked ground itself as bytes.

    Areas in m2, times in seconds. ``overlap_m2`` is None where the fixes were too poor for it.
    ``area_by_stretch_m2`` is ground by the state it was worked in, ``unseen_m2`` what may have
    been worked while the place was unknown (ground/shares.py).
    """
    rig = from_plain(Rig, json.loads(connection.execute("SELECT rig FROM run").fetchone()[0]))
    trace = Trace()
    worked = Worked.rebuild(
        rig.tool, rig.receiver, ground_rows(connection), withdrawn(connection), trace.each
    )
    sums: dict[str, object] = {
        "gross_m2": round(worked.gross_m2, 2),
        "net_m2": round(worked.net_m2, 2),
        "overlap_m2": round(worked.overlap_m2, 2) if worked.overlap_measurable else None,
        "misses_m2": round(worked.misses_m2(), 2),
        "edge_error_m": worked.edge_error_m,
        "area_by_fix_m2": {kind.value: round(m2, 2) for kind, m2 in worked.by_kind.items()},
        "passes": [to_plain(done) for done in worked.passes],
        "seconds_by_phase": seconds_by(connection, "phase"),
        "seconds_by_stretch": {
            column: seconds_by(connection, column, "WHERE phase = 'working'")
            for column in columns_of(connection, "track")
            if column.startswith("stretch")
        },
        **shares(connection, trace, worked.gross_m2),
        "trips": counted(
            connection,
            "SELECT value, count(*) FROM moment WHERE what = 'trip' "
            "AND value IS NOT NULL GROUP BY 1 ORDER BY 1",
        ),
        "alerts": counted(
            connection,
            "SELECT rule, count(*) FROM moment WHERE what = 'onset' "
            "AND level <> 'note' GROUP BY 1 ORDER BY 1",
        ),
        "rows": connection.execute("SELECT count(*) FROM track").fetchone()[0],
        "moments": connection.execute("SELECT count(*) FROM moment").fetchone()[0],
    }
    if worked.raster is not None and worked.plane is not None:
        sums["ground"] = pack(worked.raster, worked.plane)
        sums["plane_deg"] = [worked.plane.lat_deg, worked.plane.lon_deg]
    sums["trace"] = pack_trace(trace)
    return sums


def shares(connection: sqlite3.Connection, trace: Trace, gross_m2: float) -> dict[str, object]:
    """Ground by state of each judged thing, and the ground that passed unseen."""
    columns = [name for name in columns_of(connection, "track") if name.startswith("stretch")]
    listed = ", ".join(["phase" if "phase" in columns_of(connection, "track") else "NULL",
                        *(f'"{name}"' for name in columns)])  # fmt: skip
    rows = connection.execute(f"SELECT {listed} FROM track ORDER BY fid").fetchall()
    phases, *states = (list(column) for column in zip(*rows, strict=True)) if rows else ([],)
    areas = trace.by_row()
    by_state = {
        name: {state: round(m2, 2) for state, m2 in areas_by_state(areas, found).items()}
        for name, found in zip(columns, states, strict=bool(rows))
    }
    speeds = dict(zip(columns, states, strict=bool(rows))).get("stretch_speed")
    unseen = unseen_rows(phases, speeds) if speeds else 0
    working = phases.count("working")
    return {
        "area_by_stretch_m2": by_state,
        "unseen_s": unseen,
        "unseen_m2": round(gross_m2 * unseen / working, 2) if working else 0.0,
    }


def counted(connection: sqlite3.Connection, sql: str) -> dict[str, int]:
    """What a query with two columns counts; whole numbers lose their point."""
    return {
        f"{key:g}" if isinstance(key, float) else str(key): int(count)
        for key, count in connection.execute(sql)
    }


def ground_rows(connection: sqlite3.Connection) -> Iterator[dict[str, object]]:
    """The rows as worked ground wants them, in the order they were written."""
    there = columns_of(connection, "track")
    wanted = [name if name in there else f"NULL AS {name}" for name in GROUND_COLUMNS]
    for t_s, geom, course, phase, fix in connection.execute(
        f"SELECT t_s, geom, {', '.join(wanted)} FROM track ORDER BY fid"
    ):
        lat, lon = place(geom) or (None, None)
        yield {"t_s": t_s, "lat_deg": lat, "lon_deg": lon, "course_deg": course,
               "phase": phase, "fix": fix}  # fmt: skip


def withdrawn(connection: sqlite3.Connection) -> tuple[tuple[float, float], ...]:
    """Stretches (from, to) in ``t_s`` whose work was taken back as a lane."""
    found = connection.execute(
        "SELECT value, t_s FROM moment WHERE what = 'run' AND detail = ? AND value IS NOT NULL",
        (WITHDRAWN,),
    )
    return tuple((float(start), float(end)) for start, end in found)


def seconds_by(connection: sqlite3.Connection, column: str, where: str = "") -> dict[str, int]:
    """How many rows, one a second, have each word of a column; "unknown" where a row has none."""
    if column not in columns_of(connection, "track"):
        return {}
    seconds: Counter[str] = Counter()
    for word, count in connection.execute(
        f'SELECT "{column}", count(*) FROM track {where} GROUP BY 1 ORDER BY 1'
    ):
        seconds[word or "unknown"] += count
    return dict(seconds)


def columns_of(connection: sqlite3.Connection, table: str) -> list[str]:
    """Names of a table's columns in order."""
    return [str(row[1]) for row in connection.execute(f"PRAGMA table_info({table})")]

"""The layout of a run file: an OGC GeoPackage 1.3, made by hand with sqlite3.

Written to the OGC GeoPackage Encoding Standard 1.3 (OGC 12-128r17): application_id "GPKG",
user_version 10300, the tables gpkg_spatial_ref_sys, gpkg_contents and gpkg_geometry_columns, and
points as GeoPackage binary. ``user_version`` belongs to the standard, so the run layout keeps its
own version in a column of ``run``.
"""

import sqlite3
import struct
from dataclasses import dataclass

APPLICATION_ID = 0x47504B47  # "GPKG"
USER_VERSION = 10300
SCHEMA_VERSION = 1  # of the tables below: grows when a reader has to know
WGS84 = 4326

_POINT = struct.Struct("<2sBBiBIdd")  # header without envelope, then a little-endian WKB point
_PLACE = struct.Struct("<dd")
_OWN = struct.pack("<2sBBiBI", b"GP", 0, 1, WGS84, 1, 1)  # how this program's points begin
_NO_DATE = "1970-01-01T00:00:00.000Z"  # the standard wants a date where none is known

WGS84_WKT = (
    'GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563]],'
    'PRIMEM["Greenwich",0],UNIT["degree",0.0174532925199433]]'
)

STANDARD_TABLES = """
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY, organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
  description TEXT DEFAULT '', last_change DATETIME NOT NULL, min_x DOUBLE, min_y DOUBLE,
  max_x DOUBLE, max_y DOUBLE, srs_id INTEGER REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL, column_name TEXT NOT NULL, geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  PRIMARY KEY (table_name, column_name), UNIQUE (table_name),
  FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
"""


@dataclass(frozen=True)
class Table:
    """A table of a GeoPackage: its columns as SQL, whether it has points, and what it holds."""

    name: str
    columns: str
    points: bool
    words: str


RUN_TABLES = (
    Table(
        "track",
        "t_s REAL NOT NULL, utc DATETIME",
        True,
        "One row a second: readings, phase, what was in band",
    ),
    Table(
        "moment",
        "t_s REAL NOT NULL, utc DATETIME, what TEXT NOT NULL, level TEXT, rule TEXT, "
        "headline TEXT, action TEXT, value REAL, words TEXT, detail TEXT",
        True,
        "Alerts, phases, hand checks, marks and notes",
    ),
    Table(
        "run",
        "schema_version INTEGER NOT NULL, program TEXT NOT NULL, shift TEXT NOT NULL, "
        "begun_utc DATETIME, ended_utc DATETIME, ended TEXT, field TEXT, driver TEXT, "
        "rig_text TEXT, rig TEXT NOT NULL, plan TEXT NOT NULL",
        False,
        "Who and where, the rig and the plan: enough to judge the shift again",
    ),
    Table("summary", "key TEXT NOT NULL UNIQUE, value TEXT, bytes BLOB", False, "The shift's sums"),
)


def create(connection: sqlite3.Connection, tables: tuple[Table, ...], utc: str) -> None:
    """Make an empty GeoPackage with these tables inside the open transaction.

    ``utc`` is the date of last change, "" while no date is known.
    """
    for statement in STANDARD_TABLES.split(";"):
        if statement.strip():
            connection.execute(statement)
    connection.executemany(
        "INSERT INTO gpkg_spatial_ref_sys VALUES (?, ?, ?, ?, ?, ?)",
        (
            ("Undefined cartesian", -1, "NONE", -1, "undefined", None),
            ("Undefined geographic", 0, "NONE", 0, "undefined", None),
            ("WGS 84", WGS84, "EPSG", WGS84, WGS84_WKT, "longitude, latitude in degrees"),
        ),
    )
    for table in tables:
        _create_table(connection, table, utc or _NO_DATE)
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
    connection.execute(f"PRAGMA user_version = {USER_VERSION}")


def _create_table(connection: sqlite3.Connection, table: Table, utc: str) -> None:
    points = "geom POINT, " if table.points else ""
    connection.execute(
        f"CREATE TABLE {table.name} (fid INTEGER PRIMARY KEY NOT NULL, {points}{table.columns})"
    )
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, "
        "srs_id) VALUES (?, ?, ?, ?, ?, ?)",
        (
            table.name,
            "features" if table.points else "attributes",
            table.name,
            table.words,
            utc,
            WGS84 if table.points else 0,
        ),
    )
    if table.points:
        connection.execute(
            "INSERT INTO gpkg_geometry_columns VALUES (?, 'geom', 'POINT', ?, 0, 0)",
            (table.name, WGS84),
        )


def point(lat_deg: float | None, lon_deg: float | None) -> bytes | None:
    """A point as GeoPackage binary; None (a null geometry) where there was no place."""
    if lat_deg is None or lon_deg is None:
        return None
    return _POINT.pack(b"GP", 0, 1, WGS84, 1, 1, lon_deg, lat_deg)


def place(blob: bytes | None) -> tuple[float, float] | None:
    """Latitude and longitude of a point; None for a null or empty geometry.

    A GIS may have written it with an envelope or in the other byte order. ValueError if it is no
    point in GeoPackage binary.
    """
    if blob is None:
        return None
    if len(blob) == _POINT.size and blob.startswith(_OWN):
        lon_deg, lat_deg = _PLACE.unpack_from(blob, 13)
        return lat_deg, lon_deg
    if len(blob) < 8 or blob[:2] != b"GP":
        raise ValueError(f"a geometry of {len(blob)} bytes is not GeoPackage binary")
    flags = blob[3]
    envelope = {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}.get((flags >> 1) & 7)
    if envelope is None:
        raise ValueError(f"geometry flags {flags:#04x} name no envelope of the standard")
    if flags & 0x10:
        return None
    body = blob[8 + envelope :]
    order = "<" if body[:1] == b"\x01" else ">"
    if len(body) < 21 or struct.unpack(order + "I", body[1:5])[0] % 1000 != 1:
        raise ValueError("the geometry is not a point")
    lon_deg, lat_deg = struct.unpack(order + "dd", body[5:21])
    return lat_deg, lon_deg


def note_extent(connection: sqlite3.Connection, table: str, extent: "Extent", utc: str) -> None:
    """Write a table's bounds and date of change into the contents."""
    connection.execute(
        "UPDATE gpkg_contents SET min_x = ?, min_y = ?, max_x = ?, max_y = ?, "
        "last_change = coalesce(?, last_change) WHERE table_name = ?",
        (*extent.bounds, utc or None, table),
    )


class Extent:
    """The bounds of the points seen so far: least lon, least lat, most lon, most lat."""

    def __init__(self) -> None:
        self._bounds: tuple[float, float, float, float] | None = None

    def see(self, lat_deg: float | None, lon_deg: float | None) -> None:
        """Widen the bounds to a place."""
        if lat_deg is None or lon_deg is None:
            return
        low_x, low_y, high_x, high_y = self._bounds or (lon_deg, lat_deg, lon_deg, lat_deg)
        self._bounds = (
            min(low_x, lon_deg),
            min(low_y, lat_deg),
            max(high_x, lon_deg),
            max(high_y, lat_deg),
        )

    @property
    def bounds(self) -> tuple[float | None, float | None, float | None, float | None]:
        """The four bounds, all None before the first place."""
        return self._bounds or (None, None, None, None)

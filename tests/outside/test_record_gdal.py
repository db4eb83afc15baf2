"""A finished run in GDAL (through pyogrio): any GIS opens it as it lies.

GDAL's GeoPackage driver is the independent reader and writer here (OGC GeoPackage 1.3).
"""

import hashlib
import multiprocessing
import os
import sqlite3
import tempfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pyogrio
import pyogrio.raw
import pytest
import shapely

from cabapp.record.disk import Disk
from cabapp.record.geopackage import place
from cabapp.record.reader import open_run
from cabapp.record.runfile import Batch, RunFile
from tests.record.making import FACTS, alert, blind_row, row

ROWS = 90
NOBODY = 65534


@pytest.fixture
def ended() -> Iterator[Path]:
    """A run in a folder that everybody may read and nobody may write."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        run = RunFile.begin(folder / "2026-04-18-1300-shift-0001.gpkg", FACTS, Disk())
        run.write(Batch([row(second) for second in range(ROWS)], [alert(5), alert(50)]))
        run.write(Batch([blind_row(ROWS)]))
        run.end("ended")
        run.path.chmod(0o444)
        folder.chmod(0o555)
        yield run.path
        folder.chmod(0o755)


def read_as_another(path: str, answers: "multiprocessing.Queue[Any]") -> None:
    if os.getuid() == 0:
        os.setgroups([])
        os.setgid(NOBODY)
        os.setuid(NOBODY)
    meta, _, geometry, fields = pyogrio.raw.read(path, layer="track")
    names = list(meta["fields"])
    answers.put(
        {
            "layers": [str(layer[0]) for layer in pyogrio.list_layers(path)],
            "crs": meta["crs"],
            "rows": len(geometry),
            "places": [None if blob is None else bytes(blob) for blob in geometry],
            "utc": [str(when) for when in fields[names.index("utc")]],
            "depth": [float(value) for value in fields[names.index("depth1_m")]],
            "moments": pyogrio.read_info(path, layer="moment")["features"],
            "writable": os.access(path, os.W_OK),
        }
    )


def read_by_gdal(path: Path) -> dict[str, Any]:
    """What GDAL makes of the file in a process of another user (where the tests run as root)."""
    fork = multiprocessing.get_context("fork")
    answers: multiprocessing.Queue[Any] = fork.Queue()
    reader = fork.Process(target=read_as_another, args=(str(path), answers))
    reader.start()
    found: dict[str, Any] = answers.get(timeout=30.0)
    reader.join(10.0)
    return found


def test_gdal_reads_a_run_from_a_read_only_folder_and_leaves_it_as_it_was(ended: Path) -> None:
    before = hashlib.sha256(ended.read_bytes()).hexdigest()
    found = read_by_gdal(ended)
    if os.getuid() == 0:
        assert not found["writable"]
    assert {"track", "moment", "run", "summary"} <= set(found["layers"])
    assert found["crs"] == "EPSG:4326"
    assert (found["rows"], found["moments"]) == (ROWS + 1, 2)
    first = shapely.from_wkb(found["places"][0])
    assert (first.x, first.y) == (5.0, 52.0)
    assert shapely.from_wkb(found["places"][40]).y == 52.0 + 40 * 2.5 / 111_270.0
    assert found["places"][ROWS] is None
    assert datetime.fromisoformat(found["utc"][61]).replace(tzinfo=UTC) == datetime(
        2026, 4, 18, 13, 1, 1, tzinfo=UTC
    )
    assert found["depth"][7] == 0.31
    assert hashlib.sha256(ended.read_bytes()).hexdigest() == before
    assert [path.name for path in ended.parent.iterdir()] == [ended.name]


def test_a_run_that_a_gis_has_indexed_and_added_to_still_opens(ended: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy.gpkg"
    copy.write_bytes(ended.read_bytes())
    meta, _, geometry, fields = pyogrio.raw.read(
        str(ended), layer="track", max_features=1, columns=["t_s"]
    )
    pyogrio.raw.write(
        str(copy),
        geometry=geometry,
        field_data=fields,
        fields=meta["fields"],
        layer="track",
        geometry_type="Point",
        crs="EPSG:4326",
        append=True,
    )
    with sqlite3.connect(copy) as connection:
        connection.execute("CREATE INDEX by_time ON track (utc)")
    pyogrio.raw.write(
        str(copy),
        geometry=geometry,
        field_data=fields,
        fields=meta["fields"],
        layer="somebodys_layer",
        geometry_type="Point",
        crs="EPSG:4326",
        SPATIAL_INDEX="YES",
    )
    with open_run(copy) as run:
        rows = list(run.rows())
        assert len(rows) == ROWS + 2
        assert rows[-1]["t_s"] == 0.0
        assert len(run.moments()) == 2
        assert run.totals()["rows"] == ROWS + 2


@pytest.mark.parametrize("spatial_index", ["YES", "NO"])
def test_points_that_gdal_wrote_are_read_where_they_are(tmp_path: Path, spatial_index: str) -> None:
    path = tmp_path / "points.gpkg"
    points = shapely.to_wkb(shapely.points([(5.25, 52.5), (-93.0, -41.0)]))
    pyogrio.raw.write(
        str(path),
        geometry=points,
        field_data=[],
        fields=[],
        layer="points",
        geometry_type="Point",
        crs="EPSG:4326",
        SPATIAL_INDEX=spatial_index,
    )
    with sqlite3.connect(path) as connection:
        blobs = [found[0] for found in connection.execute("SELECT geom FROM points ORDER BY fid")]
    assert [place(blob) for blob in blobs] == [(52.5, 5.25), (-41.0, -93.0)]


def test_the_layout_keeps_what_the_standard_asks(ended: Path) -> None:
    """OGC 12-128r17, GeoPackage 1.3, clauses on the file's identity, on reference systems and on
    contents; what they ask is put here from memory, and GDAL above is the judge of the whole."""
    with sqlite3.connect(f"file:{ended}?mode=ro&immutable=1", uri=True) as connection:
        assert connection.execute("PRAGMA application_id").fetchone()[0] == int.from_bytes(b"GPKG")
        assert connection.execute("PRAGMA user_version").fetchone()[0] == 10300
        ids = {row[0] for row in connection.execute("SELECT srs_id FROM gpkg_spatial_ref_sys")}
        assert {-1, 0, 4326} <= ids
        features = {
            row[0]
            for row in connection.execute(
                "SELECT table_name FROM gpkg_contents WHERE data_type = 'features'"
            )
        }
        columns = {
            row[0] for row in connection.execute("SELECT table_name FROM gpkg_geometry_columns")
        }
        assert features == columns == {"track", "moment"}
        assert connection.execute("PRAGMA foreign_key_check").fetchall() == []

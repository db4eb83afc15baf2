"""The exports against the world outside: GDAL, RFC 7946, RFC 4180, pandas, shapely, geodesics.

One run answers to all of them: what is printed, exported and kept in the run file is the same.
"""

import csv
import json
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pyogrio
import pytest
import shapely
from pyproj import Geod
from shapely.geometry import shape

from cabapp.review.digits import area_text
from cabapp.review.export import export_shift
from cabapp.review.figures import figures
from cabapp.review.season import season_of
from cabapp.review.shift import load_shift
from cabapp.review.summary import Summary, summarize
from cabapp.units import ACRE_M2, UnitSystem
from tests.review.runs import hand_made, row, two_passes

GEOD = Geod(ellps="WGS84")


@pytest.fixture(scope="module")
def summary() -> Summary:
    return summarize(load_shift(two_passes()))


@pytest.fixture(scope="module")
def exported(summary: Summary, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("exported")
    export_shift(summary, folder, UnitSystem.US)
    return folder


def collection(exported: Path, name: str) -> Any:
    return json.loads((exported / f"two-passes-{name}.geojson").read_text(encoding="utf-8"))


# -- RFC 7946, The GeoJSON Format (2016) ----------------------------------------------------------


@pytest.mark.parametrize("name", ["passes", "moments", "coverage"])
def test_rfc_7946_members_and_order_of_coordinates(exported: Path, name: str) -> None:
    """Section 3.3: type and features; 3.2: geometry and properties in each; 4: no "crs"."""
    found = collection(exported, name)
    assert found["type"] == "FeatureCollection" and "crs" not in found
    for feature in found["features"]:
        assert feature["type"] == "Feature"
        assert {"geometry", "properties"} <= set(feature)
        assert "coordinates" not in feature and "features" not in feature  # 7.1
        if feature["geometry"] is None:
            continue  # 3.2: an unlocated feature
        for lon, lat in positions(feature["geometry"]["coordinates"]):
            assert 9.9 < lon < 10.1 and 43.9 < lat < 44.1, "3.1.1: longitude, then latitude"


def test_rfc_7946_lines_have_two_positions_and_rings_are_closed_and_anticlockwise(
    exported: Path,
) -> None:
    """Sections 3.1.4 and 3.1.6."""
    for feature in collection(exported, "passes")["features"]:
        assert feature["geometry"]["type"] == "LineString"
        assert len(feature["geometry"]["coordinates"]) >= 2
    for feature in collection(exported, "coverage")["features"]:
        for polygon in feature["geometry"]["coordinates"]:
            (ring,) = polygon
            assert len(ring) >= 4 and ring[0] == ring[-1]
            assert shapely.LinearRing(ring).is_ccw


def positions(nested: Any) -> list[list[float]]:
    if isinstance(nested[0], float | int):
        return [nested]
    return [position for inner in nested for position in positions(inner)]


# -- GDAL -----------------------------------------------------------------------------------------


def test_gdal_reads_every_collection_with_its_columns(exported: Path) -> None:
    kinds = {"passes": "LineString", "moments": "Point", "coverage": "MultiPolygon"}
    for name, kind in kinds.items():
        meta, _, geometry, _ = pyogrio.raw.read(exported / f"two-passes-{name}.geojson")
        assert meta["geometry_type"] == kind
        assert meta["crs"] == "EPSG:4326"
        assert len(geometry) == len(collection(exported, name)["features"])


def track_of(run: Path) -> pd.DataFrame:
    """The recipe of DEVELOPERS.md, word for word."""
    meta, _, points, columns = pyogrio.raw.read(run, layer="track")
    frame = pd.DataFrame(dict(zip(meta["fields"], columns, strict=True)))
    return frame.assign(run=run.stem, place=points)


def test_gdal_reads_the_run_file_itself(summary: Summary) -> None:
    frame = track_of(two_passes())
    assert len(frame) == summary.shift.sums.rows
    assert set(frame["stretch_depth"].unique()) <= {
        "in",
        "out",
        "unknown",
        "raised",
        "hard",
        "idle",
    }


# -- pandas: the shares, from the CSV and from the run --------------------------------------------


def test_pandas_finds_the_printed_shares_in_the_csv(exported: Path, summary: Summary) -> None:
    table = pd.read_csv(exported / "two-passes-track.csv")
    printed = {figure.key: figure.text for figure in figures(summary, UnitSystem.US)}
    for thing in ("speed", "depth", "level", "springs", "all"):
        judged = table[(table[f"state_{thing}"] != "idle")]
        areas = judged.groupby(f"state_{thing}")["ground of this second (ac)"].sum()
        shares = (100 * areas / areas.sum())[lambda s: s > 0]
        for state, share in shares.items():
            assert printed[f"{thing}_{state}"] == f"{share:.0f}", (thing, state)
    gross = table["ground of this second (ac)"].sum()
    assert printed["area_gross"].startswith(f"{gross:.2f} ac")


def test_the_csv_follows_rfc_4180_with_units_and_both_times(exported: Path) -> None:
    """RFC 4180 (2005): CRLF, the same number of fields in each line. ISO 8601 with its offset."""
    raw = (exported / "two-passes-track.csv").read_bytes()
    assert raw.count(b"\n") == raw.count(b"\r\n")
    rows = list(csv.reader(raw.decode().splitlines()))
    assert {len(one) for one in rows} == {len(rows[0])}
    assert {"local_time", "utc", "speed (mph)", "depth (in)", "slip (%)"} <= set(rows[0])
    local, utc = pd.Timestamp(rows[50][0]), pd.Timestamp(rows[50][1])
    assert local.tzinfo is not None and local == utc


def test_a_folder_of_runs_loads_into_one_frame_as_documented(tmp_path: Path) -> None:
    """The recipe of DEVELOPERS.md: pyogrio and pandas over a folder, rigs unlike one another."""
    for n in range(3):
        made = hand_made(f"shift-{n:04d}.gpkg", [row(s, "out" if n else "in") for s in range(40)])
        made.rename(tmp_path / made.name)
    two_passes_here = tmp_path / "shift-0100.gpkg"
    two_passes_here.write_bytes(two_passes().read_bytes())
    season = pd.concat([track_of(path) for path in sorted(tmp_path.glob("*.gpkg"))])
    assert season["run"].nunique() == 4
    assert season.loc[season["run"] == "shift-0000", "depth1_m"].isna().all()
    assert season.loc[season["run"] == "shift-0100", "depth1_m"].notna().any()
    assert len(season) == sum(load_shift(line.path).sums.rows for line in season_of(tmp_path).lines)


# -- shapely and geodesics: the areas -------------------------------------------------------------


def test_the_coverage_polygons_hold_the_printed_area(exported: Path, summary: Summary) -> None:
    """Area on the ellipsoid (Karney 2013, as in pyproj) of every polygon, pass by pass."""
    whole = 0.0
    for feature in collection(exported, "coverage")["features"]:
        polygon = shape(feature["geometry"])
        assert polygon.is_valid
        area = abs(GEOD.geometry_area_perimeter(polygon)[0])
        assert area == pytest.approx(feature["properties"]["gross_m2"], rel=0.002)
        whole += area
    assert area_text(whole, UnitSystem.US) == area_text(summary.shift.sums.gross_m2, UnitSystem.US)
    passes = sum(f["properties"]["area_m2"] for f in collection(exported, "passes")["features"])
    assert passes == pytest.approx(summary.shift.sums.gross_m2, rel=0.002)


def test_net_area_is_the_union_that_shapely_finds(tmp_path: Path) -> None:
    """Two passes side by side that overlap by a metre: 5 m wide, 250 m long, fixed by phase."""
    east = 4.0 / (111_320.0 * np.cos(np.radians(52.0)))
    rows = [row(n) for n in range(101)]
    turn = [row(100 + n, phase="turning", stretch="idle") for n in range(1, 5)]
    second = []
    for n in range(101):
        one = row(105 + n)
        lat = rows[n].lat_deg
        second.append(type(one)(one.t_s, one.utc, lat, 5.0 + east, one.values))
    for one in turn:
        one.values["stretch_speed"] = "idle"
    path = hand_made("overlap.gpkg", [*rows, *turn, *second])
    summary = summarize(load_shift(path))
    export_shift(summary, tmp_path, UnitSystem.METRIC)
    found = json.loads((tmp_path / "overlap-coverage.geojson").read_text())
    union = shapely.union_all([shape(feature["geometry"]) for feature in found["features"]])
    area = abs(GEOD.geometry_area_perimeter(union)[0])
    assert summary.shift.sums.net_m2 == pytest.approx(area, rel=0.005)
    assert area == pytest.approx(250 * 9.0, rel=0.01)
    printed = {figure.key: figure.text for figure in figures(summary, UnitSystem.METRIC)}
    assert (
        printed["overlap"]
        == f"{100 * (1 - summary.shift.sums.net_m2 / summary.shift.sums.gross_m2):.1f} %"
    )
    assert float(printed["area_net"].split(" ha")[0]) == pytest.approx(area / 10_000, abs=0.005)


def test_an_acre_of_the_page_is_the_international_acre(summary: Summary) -> None:
    """43,560 square feet of 0.3048 m (NIST SP 811, appendix B)."""
    assert pytest.approx(43_560 * 0.3048**2, rel=1e-12) == ACRE_M2
    assert area_text(ACRE_M2, UnitSystem.US) == "1.00 ac"
    assert summary.gross_error_m2 is not None

"""Reading runs: also those that a GIS, or somebody worse, has had in hand."""

import hashlib
import sqlite3
import stat
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from cabapp.record.disk import Disk
from cabapp.record.reader import RunFileError, open_run
from cabapp.record.runfile import Batch, RunFile
from tests.record.making import FACTS, alert, blind_row, row


@pytest.fixture
def ended(tmp_path: Path) -> Path:
    run = RunFile.begin(tmp_path / "run.gpkg", FACTS, Disk())
    run.write(Batch([*(row(second) for second in range(20)), blind_row(20)], [alert(5)]))
    run.end("ended")
    return run.path


def test_moments_come_back_as_they_were(ended: Path) -> None:
    with open_run(ended) as run:
        assert run.moments() == [alert(5)]


def test_places_are_where_they_were_and_nan_without_a_fix(ended: Path) -> None:
    with open_run(ended) as run:
        lat, lon = run.places()
    assert lat[4] == 52.0 + 4 * 2.5 / 111_270.0
    assert lon[4] == 5.0
    assert np.isnan(lat[20])


def test_a_column_that_this_rig_never_had_is_unknown_all_day(ended: Path) -> None:
    """Two rigs of one season read alike."""
    with open_run(ended) as run:
        found = run.numbers(["depth1_m", "spring7_ratio"])
        words = run.words(["phase", "stretch_springs"])
    assert found["depth1_m"][3] == 0.31
    assert np.isnan(found["spring7_ratio"]).all() and len(found["spring7_ratio"]) == 21
    assert words["stretch_springs"] == [None] * 21
    assert words["phase"][20] == "unknown"


def test_reading_touches_nothing_and_leaves_nothing_beside(ended: Path) -> None:
    before = hashlib.sha256(ended.read_bytes()).hexdigest()
    ended.parent.chmod(stat.S_IRUSR | stat.S_IXUSR)
    with open_run(ended) as run:
        run.summary()
        run.totals()
    ended.parent.chmod(0o755)
    assert hashlib.sha256(ended.read_bytes()).hexdigest() == before
    assert [path.name for path in ended.parent.iterdir()] == ["run.gpkg"]


def test_a_live_run_is_not_read_behind_the_writers_back(tmp_path: Path) -> None:
    run = RunFile.begin(tmp_path / "run.gpkg", FACTS, Disk())
    run.write(Batch([row(0)]))
    with pytest.raises(RunFileError, match="still being written"):
        open_run(run.path)
    run.leave()


def spoiled(*statements: str) -> Callable[[Path], None]:
    def spoil(path: Path) -> None:
        connection = sqlite3.connect(path)
        for statement in statements:
            connection.execute(statement)
        connection.commit()
        connection.close()

    return spoil


def cut(path: Path) -> None:
    path.write_bytes(path.read_bytes()[:5000])


def no_text(path: Path) -> None:
    """One byte of the layout's own text, as a bad cell of memory leaves it."""
    whole = path.read_bytes()
    assert b"CREATE TABLE track" in whole
    path.write_bytes(whole.replace(b"CREATE TABLE track", b"CREATE TABLE \xa4rack", 1))


def garbage(path: Path) -> None:
    path.write_bytes(b"\x5a" * 9000)


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (garbage, "not a run"),
        (no_text, "damaged"),
        (spoiled("PRAGMA application_id = 0"), "not a GeoPackage"),
        (spoiled("DROP TABLE moment"), "no table moment"),
        (
            spoiled("ALTER TABLE track RENAME TO t", "CREATE VIEW track AS SELECT * FROM t"),
            "not a plain table",
        ),
        (
            spoiled("DROP TABLE moment", "CREATE VIRTUAL TABLE moment USING rtree(a, b, c)"),
            "not a plain table",
        ),
        (
            spoiled("ALTER TABLE track ADD COLUMN big AS (hex(zeroblob(500000000)))"),
            "computed",
        ),
        (spoiled("ALTER TABLE track DROP COLUMN utc"), "no column utc"),
        (spoiled("DELETE FROM run"), "0 run pages"),
        (spoiled("UPDATE run SET schema_version = 99"), "layout 99"),
        (spoiled("UPDATE run SET rig = '{'"), "rig or plan"),
        (spoiled("UPDATE run SET rig = '[]'"), "rig or plan"),
    ],
)
def test_what_is_no_run_is_refused_in_one_sentence(
    ended: Path, spoil: Callable[[Path], None], words: str
) -> None:
    spoil(ended)
    with pytest.raises(RunFileError, match=words) as caught:
        open_run(ended)
    assert str(ended) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_missing_file_is_said_to_be_missing(tmp_path: Path) -> None:
    with pytest.raises(RunFileError, match="no such file"):
        open_run(tmp_path / "none.gpkg")


def test_a_cut_file_is_refused_when_its_rows_are_read(ended: Path) -> None:
    whole = ended.read_bytes()
    for length in range(4096, len(whole), 4096):
        ended.write_bytes(whole[:length])
        with pytest.raises(RunFileError), open_run(ended) as run:
            list(run.rows())
            run.moments()
            run.summary()
            raise RunFileError("nothing was missing")


def test_a_geometry_of_another_kind_is_refused_in_words(ended: Path) -> None:
    spoiled("UPDATE track SET geom = x'00010203'")(ended)
    with pytest.raises(RunFileError, match="damaged"), open_run(ended) as run:
        run.places()

"""Files from anybody: each refused in one sentence, quickly, in little memory, nothing run."""

import contextlib
import io
import json
import shutil
import sqlite3
import subprocess
import sys
import zlib
from collections.abc import Callable
from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.outcome import Moment, What
from cabapp.review.season import season_of
from tests.review.runs import hand_made, row, two_passes

MB = 1024 * 1024
# A process of its own for all of them: what each makes it say, and the most memory it ever took.
CHILD = """
import contextlib, io, json, sys
from cabapp.cli import main
for path in sys.argv[1:]:
    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
        code = main(["report", path])
    status = dict(line.split(":", 1) for line in open("/proc/self/status"))
    print(json.dumps([code, said.getvalue(), int(status["VmHWM"].split()[0]) / 1024]))
"""


def change(path: Path, *statements: str, values: tuple[object, ...] = ()) -> None:
    connection = sqlite3.connect(path)
    for statement in statements:
        connection.execute(statement, values if "?" in statement else ())
    connection.commit()
    connection.close()


def wrong_id(path: Path) -> None:
    change(path, "PRAGMA application_id = 1")


def torn(path: Path) -> None:
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2 + 77])


def half_copied(path: Path) -> None:
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2] + bytes(len(data) - len(data) // 2))


def view_for_track(path: Path) -> None:
    change(
        path,
        "ALTER TABLE track RENAME TO other",
        "CREATE VIEW track AS WITH RECURSIVE n(fid) AS (SELECT 1 UNION ALL SELECT fid + 1 FROM n) "
        "SELECT fid, NULL AS geom, fid AS t_s, NULL AS utc FROM n",
    )


def computed_column(path: Path) -> None:
    change(path, "ALTER TABLE track ADD COLUMN bomb TEXT AS (printf('%.*c', 100000000, 'x'))")


def huge_count(path: Path) -> None:
    change(
        path,
        "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 150000) "
        "INSERT INTO track (t_s) SELECT i FROM n",
    )


def deep_json(path: Path) -> None:
    change(path, "UPDATE run SET plan = ?", values=("[" * 200_000 + "]" * 200_000,))


def huge_number(path: Path) -> None:
    change(path, "UPDATE summary SET value = ? WHERE key = 'gross_m2'", values=("1e999",))


def bomb_in_the_trace(path: Path) -> None:
    change(path, "UPDATE summary SET bytes = ? WHERE key = 'trace'",
           values=(zlib.compress(bytes(500 * MB), 9),))  # fmt: skip


def words_for_a_number(path: Path) -> None:
    change(path, "UPDATE track SET speed_mps = 'fast'")


def unknown_moment(path: Path) -> None:
    change(path, "INSERT INTO moment (t_s, what) VALUES (1, 'run this')")


def words_for_a_moment_s_time(path: Path) -> None:
    change(path, "UPDATE moment SET t_s = 'noon' WHERE what = 'onset'")


def a_moment_at_no_end_of_time(path: Path) -> None:
    change(path, "UPDATE moment SET t_s = 9e999 WHERE what = 'phase'")


def a_row_before_all_time(path: Path) -> None:
    change(path, "UPDATE track SET t_s = -1e308 WHERE fid = 100")


def speed_beyond_measure(path: Path) -> None:
    change(path, "UPDATE track SET speed_mps = -1e308")


def bytes_for_a_clock_time(path: Path) -> None:
    change(path, "UPDATE moment SET utc = x'00ff'")


def number_for_a_clock_time(path: Path) -> None:
    change(path, "UPDATE track SET utc = 12.5 WHERE fid > 200")


def broken_place(path: Path) -> None:
    change(path, "UPDATE track SET geom = x'00'")


def endless_text(path: Path) -> None:
    change(path, "UPDATE run SET field = CAST(zeroblob(60000000) AS TEXT)")


def tool_of_no_width(path: Path) -> None:
    change(path, "UPDATE run SET rig = json_set(rig, '$.tool.width_m', -5.0)")


def of_another_program(path: Path) -> None:
    path.unlink()
    change(path, "CREATE TABLE other (a)", "PRAGMA application_id = 0x47504B47")


def no_file_at_all(path: Path) -> None:
    path.unlink()
    path.mkdir()


HARMS: tuple[Callable[[Path], None], ...] = (
    wrong_id, torn, half_copied, view_for_track, computed_column, huge_count, deep_json,
    huge_number, bomb_in_the_trace, words_for_a_number, unknown_moment, broken_place, endless_text,
    words_for_a_moment_s_time, a_moment_at_no_end_of_time, a_row_before_all_time,
    speed_beyond_measure, bytes_for_a_clock_time, number_for_a_clock_time,
    tool_of_no_width, of_another_program, no_file_at_all,
)  # fmt: skip


@pytest.fixture(scope="module")
def verdicts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, tuple[Path, int, str, float]]:
    """Each harm's file, exit code, words, and megabytes taken so far."""
    folder = tmp_path_factory.mktemp("hostile")
    paths = [folder / f"{harm.__name__}.gpkg" for harm in HARMS]
    for harm, path in zip(HARMS, paths, strict=True):
        shutil.copy(two_passes(), path)
        harm(path)
    done = subprocess.run(
        [sys.executable, "-c", CHILD, *map(str, paths)], capture_output=True, text=True,
        check=False, timeout=120,
    )  # fmt: skip
    told = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(told) == len(paths), done.stderr
    return {path.stem: (path, *found) for path, found in zip(paths, told, strict=True)}


@pytest.mark.parametrize("harm", HARMS, ids=lambda harm: harm.__name__)
def test_one_sentence_exit_1_and_no_traceback(
    harm: Callable[[Path], None], verdicts: dict[str, tuple[Path, int, str, float]]
) -> None:
    path, code, said, megabytes = verdicts[harm.__name__]
    assert code == 1, said
    assert said.count("\n") == 1 and str(path) in said
    assert megabytes < 100.0
    assert not list(path.parent.glob("*.html"))


def run(*words: str) -> tuple[int, str]:
    """A command in this process: its exit code and what it said on stderr."""
    said = io.StringIO()
    with contextlib.redirect_stderr(said), contextlib.redirect_stdout(io.StringIO()):
        return main(list(words)), said.getvalue()


def test_triggers_of_a_foreign_hand_never_run(tmp_path: Path) -> None:
    path = tmp_path / "shift-0001.gpkg"
    shutil.copy(two_passes(), path)
    change(path, "CREATE TRIGGER harm AFTER INSERT ON track BEGIN DELETE FROM moment; END")
    before = path.read_bytes()
    code, said = run("report", str(path), "--out", str(tmp_path / "page.html"))
    assert code == 0, said
    assert path.read_bytes() == before


def test_a_path_in_a_name_leads_nowhere(tmp_path: Path) -> None:
    path = tmp_path / "inner" / "shift-0001.gpkg"
    path.parent.mkdir()
    shutil.copy(two_passes(), path)
    change(path, "UPDATE run SET shift = '../../escaped', field = '../../escaped'")
    assert run("export", str(path))[0] == 0
    assert not list(tmp_path.glob("*escaped*"))
    assert {found.parent for found in tmp_path.rglob("*.csv")} == {path.parent}


def test_a_word_that_looks_like_a_formula_stays_a_word(tmp_path: Path) -> None:
    note = Moment("", 3.0, What.NOTE, value='=HYPERLINK("http://x","y")')
    made = hand_made("formula.gpkg", [row(n) for n in range(9)], [note])
    assert run("export", str(made), "--out", str(tmp_path))[0] == 0
    assert "\"'=HYPERLINK" in (tmp_path / "formula-moments.csv").read_text()


def test_the_other_files_of_a_folder_are_still_read(tmp_path: Path) -> None:
    for n, harm in enumerate(HARMS):
        path = tmp_path / f"shift-{n:04d}.gpkg"
        shutil.copy(two_passes(), path)
        harm(path)
    shutil.copy(two_passes(), tmp_path / "shift-9999.gpkg")
    change(tmp_path / "shift-9999.gpkg", "UPDATE run SET shift = 'another'")
    found = season_of(tmp_path)
    assert found.lines[-1].path.name == "shift-9999.gpkg"
    assert found.lines[-1].gross_m2 > 4000
    assert len(found.faults) >= 8
    assert all(fault.count("\n") == 0 for fault in found.faults)

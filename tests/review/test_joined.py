"""A shift that had to go on in another file is one shift, with the figures of an unbroken one."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.outcome import Moment, Outcome, Row, What
from cabapp.record.makerun import HurriedDisk
from cabapp.record.reader import GOES_ON_FROM, RunFileError, open_run
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.record.writer import Writer
from cabapp.review.export import figures_csv, track_csv
from cabapp.review.figures import Figure, figures
from cabapp.review.report import Options, report_html
from cabapp.review.season import season_of
from cabapp.review.shift import load_brief, load_shift
from cabapp.review.summary import summarize
from cabapp.units import UnitSystem
from tests.record.making import TroubledDisk, alert, second_of, until
from tests.review import runs

US = UnitSystem.US


def split(folder: Path, files: int = 3, again: int = 3) -> list[Path]:
    """The two passes in as many files as a failing storage makes of them, cut before each trip.

    A left file also holds ``again`` seconds of rows and moments that its follower was given anew.
    """
    with open_run(runs.two_passes()) as run:
        page, moments = run.page, run.moments()
        rows = [_row(values) for values in run.rows()]
    facts = RunFacts(page.rig, page.plan, page.rig_text, "shift-0007", page.begun_utc)
    paths, left = [], ""
    trips = [m.t_s for m in moments if m.what is What.TRIP]
    cuts = [max(row.t_s for row in rows if row.t_s < trip) for trip in trips[: files - 1]]
    edges = [rows[0].t_s, *cuts, float("inf")]
    for n, (start, end) in enumerate(pairwise(edges)):
        path = folder / f"2026-04-18-1300-shift-{7 + n:04d}.gpkg"
        file = RunFile.begin(path, facts, HurriedDisk())
        last = end + again if n < len(cuts) else end
        mine = [m for m in moments if (start <= m.t_s or n == 0) and m.t_s < last]
        if left:
            mine.append(Moment("", start, What.RUN, value=left, detail=GOES_ON_FROM))
        file.write(Batch([row for row in rows if start <= row.t_s < last], mine))
        if n == len(cuts):
            file.end("ended")
        else:
            file.end("power lost")  # what the next start makes of a left file
        paths.append(path)
        left = path.name
    return paths


def _row(values: dict[str, object]) -> Row:
    plain = {k: v for k, v in values.items() if k not in ("t_s", "utc", "lat_deg", "lon_deg")}
    lat, lon = values["lat_deg"], values["lon_deg"]
    return Row(float(str(values["t_s"])), str(values["utc"] or ""), lat, lon, plain)  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def parts(tmp_path_factory: pytest.TempPathFactory) -> list[Path]:
    return split(tmp_path_factory.mktemp("parts"))


def told(path: Path) -> dict[str, str]:
    return {figure.key: figure.text for figure in figures(summarize(load_shift(path)), US)}


def test_the_figures_of_three_files_are_those_of_one(parts: list[Path]) -> None:
    whole, joined = told(runs.two_passes()), told(parts[-1])
    assert whole.pop("record") == "whole"
    assert joined.pop("record") == "whole, in 3 files"
    assert joined == whole
    one, other = load_shift(runs.two_passes()), load_shift(parts[-1])
    assert other.page.shift == "shift-0007"
    ours = [m for m in other.moments if m.detail != GOES_ON_FROM]
    assert sorted(ours, key=lambda m: m.t_s) == sorted(one.moments, key=lambda m: m.t_s)
    assert track_csv(other, US) == track_csv(one, US)


def test_the_list_and_the_season_have_one_shift_and_count_no_ground_twice(
    parts: list[Path],
) -> None:
    season = season_of(parts[0].parent)
    [line] = season.lines
    assert season.faults == () and line.path == parts[-1] and line.files.paths == tuple(parts)
    assert season.whole.gross_m2 == pytest.approx(load_brief(runs.two_passes()).sums.gross_m2)
    assert season.whole.trips == {3: runs.TRIPS}


def test_report_and_export_name_every_file_whichever_of_them_is_asked_for(
    parts: list[Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pages = []
    for n, path in enumerate(parts):
        out = tmp_path / f"{n}.html"
        assert main(["report", str(path), "--out", str(out)]) == 0
        pages.append(out.read_text())
    said = capsys.readouterr().err
    assert f"the shift goes on in {parts[-1].name}" in said
    assert pages[0] == pages[1] == pages[2]
    assert all(path.name in pages[0] for path in parts)
    assert main(["export", str(parts[0]), "--out", str(tmp_path)]) == 0
    csv = (tmp_path / f"{parts[-1].stem}-figures.csv").read_text()
    for key, text in told(parts[-1]).items():
        assert f"{key}," in csv and text in csv


def test_a_lost_first_file_is_said_beside_every_figure(tmp_path: Path) -> None:
    first, *_, last = split(tmp_path, files=2)
    first.unlink()
    shift = load_shift(last)
    page = report_html(summarize(shift), Options(US))
    assert told(last)["record"] == "first part missing"
    assert "Not the whole shift" in page and first.name in page
    [fault] = season_of(tmp_path).faults
    assert first.name in fault and "missing" in fault


def test_a_file_of_that_name_from_another_tractor_is_not_taken_in(tmp_path: Path) -> None:
    first, last = split(tmp_path, files=2)
    with open_run(first) as run:
        page, rows = run.page, [_row(values) for values in run.rows()]
    first.unlink()
    facts = RunFacts(replace(page.rig, id="other"), page.plan, "", "shift-0007")
    other = RunFile.begin(first, facts, HurriedDisk())
    early = [replace(row, utc=row.utc.replace("2026-", "2025-")) for row in rows]
    other.write(Batch(early, []))
    other.end("ended")
    assert load_brief(last).files.paths == (last,)
    assert "of another shift" in load_brief(last).files.missing
    assert len(season_of(tmp_path).lines) == 2, "the other tractor's shift keeps its own line"


@pytest.mark.parametrize("named", ["../../../etc/passwd", "/etc/passwd.gpkg", "", "x" * 5000])
def test_a_name_that_is_none_leads_nowhere(tmp_path: Path, named: str) -> None:
    path = tmp_path / "shift-0002.gpkg"
    file = RunFile.begin(path, RunFacts(runs.ROW_RIG, runs.default_plan(runs.ROW_RIG)),
                         HurriedDisk())  # fmt: skip
    said = Moment("", 0.0, What.RUN, value=named, detail=GOES_ON_FROM)
    file.write(Batch([runs.row(n) for n in range(5)], [said]))
    file.end("ended")
    brief = load_brief(path)
    assert brief.files.paths == (path,)
    assert bool(brief.files.missing) == bool(named)


def test_files_that_go_on_from_one_another_in_a_ring_are_read_once(tmp_path: Path) -> None:
    names = ("shift-0001.gpkg", "shift-0002.gpkg")
    for name, other in zip(names, reversed(names), strict=True):
        facts = RunFacts(runs.ROW_RIG, runs.default_plan(runs.ROW_RIG), shift="shift-0001")
        file = RunFile.begin(tmp_path / name, facts, HurriedDisk())
        said = Moment("", 0.0, What.RUN, value=other, detail=GOES_ON_FROM)
        file.write(Batch([runs.row(n) for n in range(5)], [said]))
        file.end("power lost")
    for name in names:
        assert len(load_brief(tmp_path / name).files.paths) <= 2
        assert main(["report", str(tmp_path / name)]) == 0


def test_what_the_writer_leaves_behind_after_a_failed_sync_is_one_shift(tmp_path: Path) -> None:
    disk = TroubledDisk()
    writer = Writer(tmp_path, disk=disk)
    facts = RunFacts(runs.ROW_RIG, runs.default_plan(runs.ROW_RIG), utc="2026-04-18T13:00:00Z")
    writer.begin(facts)
    for second in range(20):
        if second == 9:
            disk.trouble.fail_at = frozenset({disk.trouble.commits + 1})
        writer.put(second_of(second))
        writer.put(Outcome(moments=(alert(second),) if second % 5 == 0 else ()))
        assert until(lambda want=second: writer.saved[0] == want + 1)
    assert writer.end()
    writer.stop()
    assert len(list(tmp_path.glob("*.gpkg"))) == 2
    [line] = season_of(tmp_path).lines
    shift = load_shift(line.path)
    assert shift.track.t_s.tolist() == [float(n) for n in range(20)]
    assert [m.t_s for m in shift.moments if m.what is What.ONSET] == [0.0, 5.0, 10.0, 15.0]
    summary = summarize(shift)
    assert Figure("record", "Record", "whole, in 2 files") in figures(summary, US)
    assert "whole, in 2 files" in figures_csv(summary, US)


def test_a_damaged_first_file_is_one_sentence_and_the_rest_is_read(tmp_path: Path) -> None:
    first, last = split(tmp_path, files=2)
    first.write_bytes(first.read_bytes()[:5000])
    brief = load_brief(last)
    assert first.name in brief.files.missing and brief.sums.rows > 50
    with pytest.raises(RunFileError):
        load_brief(first)

"""The commands: what they refuse, in which words, with which exit code, and what they leave."""

import os
import signal
import sqlite3
import subprocess
import sys
from functools import partial
from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.events import Bytes, Tick
from cabapp.outcome import Outcome
from cabapp.plan import default_plan
from cabapp.record.book import Book, Kind
from cabapp.record.capture import CaptureFile, CaptureHead
from cabapp.record.disk import Disk
from cabapp.record.makerun import RunMaker
from cabapp.record.reader import RunFileError, open_run
from cabapp.record.safewrite import FileFault, write_whole
from cabapp.review import export
from cabapp.review.season import season_of
from cabapp.rig import Rig
from tests.cab.drive import full_rig
from tests.record.making import FACTS, second_of, until
from tests.review.runs import capture, hand_made, row, two_passes
from tests.sentences import sentence

RIG = Path(__file__).parent.parent / "config" / "rig-metric-receiver.toml"


def log_of(path: Path, hour: int = 13, day: str = "180426") -> Path:
    """A minute of a receiver's log going north at about 2.5 m/s."""
    lines = []
    for second in range(60):
        minutes = second * 2.5 / 1854.5
        text = f"GPRMC,{hour:02d}00{second:02d}.00,A,52{minutes:09.6f},N,00500.000000,E,4.86,0.0,"
        lines.append(sentence(f"{text}{day},,,A"))
    path.write_bytes(b"".join(lines))
    return path


def run(capfd: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    """Exit code, stdout and stderr of a command; wrong words too, which argparse answers."""
    try:
        code = main([str(word) for word in words])
    except SystemExit as stopped:
        code = int(stopped.code or 0)
    said = capfd.readouterr()
    assert "Traceback" not in said.err
    return code, said.out, said.err


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A run of its own, called m.gpkg."""
    (tmp_path / "m.gpkg").write_bytes(two_passes().read_bytes())
    return tmp_path


def test_a_replay_writes_over_no_file_that_is_there(folder: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    log = log_of(folder / "my.nmea")
    taped = folder / "x.cap"
    taped.write_bytes(capture().read_bytes())
    for source, out in ((log, log), (taped, taped), (taped, folder / "m.gpkg")):
        before = out.read_bytes()
        code, _, err = run(capfd, "replay", source, "--rig", RIG, "--run", out, "--quiet")
        assert (code, err) == (
            1, f"{out}: is there already and is not written over; name another file\n"
        )  # fmt: skip
        assert out.read_bytes() == before
    assert not list(folder.glob("*.part*"))


def test_a_page_takes_the_place_of_a_page_and_of_nothing_else(folder: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    made, foreign = folder / "m.gpkg", folder / "letter.html"
    foreign.write_text("<!DOCTYPE html><p>Dear neighbour</p>")
    for words in (("report", made), ("season", folder)):
        for there in (made, foreign):
            before = there.read_bytes()
            code, _, err = run(capfd, *words, "--out", there)
            assert code == 1 and err.startswith(f"{there}: ") and err.count("\n") == 1
            assert there.read_bytes() == before
        assert run(capfd, *words, "--out", folder / "new.gpkg")[0] == 1
        assert not (folder / "new.gpkg").exists(), "no page under the name of a run"
        page = folder / f"{words[0]}.html"
        assert [run(capfd, *words, "--out", page)[0] for _ in range(2)] == [0, 0]


def test_an_export_writes_over_no_file_that_is_there_and_then_writes_none(
    folder: Path,
    capfd,  # type: ignore[no-untyped-def]
) -> None:
    made, open_forms = folder / "m.gpkg", folder / "open"
    assert run(capfd, "export", made, "--out", open_forms)[0] == 0
    names = sorted(path.name for path in open_forms.iterdir())
    assert len(names) == 6
    worked_on = open_forms / "m-moments.geojson"
    worked_on.write_text("mine by now")
    for path in open_forms.iterdir():
        if path != worked_on:
            path.unlink()
    code, out, err = run(capfd, "export", made, "--out", open_forms)
    assert (code, out) == (1, "")
    assert err == (
        f"{worked_on}: is there already and is not written over; name another folder with --out\n"
    )
    assert [path.read_text() for path in open_forms.iterdir()] == ["mine by now"]


def test_an_export_that_the_storage_stops_half_way_leaves_nothing(
    folder: Path,
    capfd,
    monkeypatch: pytest.MonkeyPatch,  # type: ignore[no-untyped-def]
) -> None:
    def full(path: Path, text: str) -> None:
        if path.name == "m-passes.geojson":
            raise FileFault(f"{path}: not written (No space left on device); free space")
        write_whole(path, text)

    monkeypatch.setattr(export, "write_whole", full)
    code, out, err = run(capfd, "export", folder / "m.gpkg")
    assert (code, out) == (1, "") and "m-passes.geojson: not written" in err
    assert list(folder.iterdir()) == [folder / "m.gpkg"]


@pytest.mark.parametrize(
    ("bytes_", "held"),
    [
        (b"A" * 50_000, "1 too long"),
        (b"a,b,c\n1,2,3\n", "2 without a $"),
        (b"$GPRMC,130000.00,V,,,,,,,180426,,\r\n" * 4, "4 without a checksum"),
        (b"$GPRMC,130000.00,V,,,,,,,180426,,*00\r\n" * 3, "3 with a wrong checksum"),
        (b"\xff\xfe" + "$GPRMC,1\r\n".encode("utf-16-le") * 2, "2 of other kinds"),
        (b"SQLite format 3\0" + bytes(40) + b"\n", "it may be a run, which report"),
    ],
)
def test_a_log_in_which_nothing_is_heard_is_at_fault_and_leaves_no_run(
    tmp_path: Path,
    capfd,
    bytes_: bytes,
    held: str,  # type: ignore[no-untyped-def]
) -> None:
    log, out = tmp_path / "odd.nmea", tmp_path / "o.gpkg"
    log.write_bytes(bytes_)
    for words in ((), ("--rig", RIG, "--run", out)):
        code, _, err = run(capfd, "replay", log, "--quiet", *words)
        assert code == 1 and err.count("\n") == 1
        assert held in err and f"{len(bytes_)} bytes" in err and "expected NMEA 0183" in err
    assert list(tmp_path.iterdir()) == [log]


def captured(path: Path, rig: Rig, port: str, line: bytes) -> Path:
    """A minute in which one wire says the same again each second; b"" for a silent one."""
    path.unlink(missing_ok=True)
    file = CaptureFile(path, CaptureHead(rig, default_plan(rig)), Disk())
    for second in range(60):
        if line:
            file.add(Bytes(float(second), port, line))
        file.add(Tick(float(second)))
    file.end()
    return path


@pytest.mark.parametrize(
    ("port", "line", "held"),
    [
        ("gnss", b"", "gnss: nothing, node: nothing"),
        ("gnss", b"\x99\x13 baud\r\n", "gnss: 60 without a $, node: nothing"),
        ("gnss", sentence("GPRMC,130000.00,V,,,,,,,180426,,,N"), "gnss: 60 checked sentences"),
        ("node", sentence("WIXDR,C,19.5,C,TEMPAIR"), "node: 60 checked sentences"),
    ],
)
def test_of_a_capture_in_which_nothing_is_heard_no_run_is_made(
    tmp_path: Path,
    capfd,
    port: str,
    line: bytes,
    held: str,  # type: ignore[no-untyped-def]
) -> None:
    taped, out = captured(tmp_path / "x.cap", full_rig(), port, line), tmp_path / "o.gpkg"
    code, _, err = run(capfd, "replay", taped, "--run", out, "--quiet")
    assert code == 1 and err.count("\n") == 1
    assert err.startswith(f"{taped}: no place and no reading of a sensor") and held in err
    assert "so no run is made; name" in err
    assert list(tmp_path.iterdir()) == [taped]
    assert run(capfd, "replay", taped)[0] == 0, "what the cab made of it can still be looked at"


def test_of_a_log_without_a_place_no_run_is_made(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    log, out = tmp_path / "shed.nmea", tmp_path / "o.gpkg"
    log.write_bytes(sentence("GPRMC,130000.00,V,,,,,,,180426,,,N") * 60)
    code, _, err = run(capfd, "replay", log, "--rig", RIG, "--run", out, "--quiet")
    assert code == 1 and err.count("\n") == 1
    assert err.startswith(f"{log}: no place") and "gnss: 60 checked sentences" in err
    assert list(tmp_path.iterdir()) == [log]


def test_of_a_node_alone_a_run_is_made(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    taped = captured(tmp_path / "x.cap", full_rig(), "node", sentence("WIXDR,G,1,,TOOLDOWN"))
    out = tmp_path / "o.gpkg"
    assert run(capfd, "replay", taped, "--run", out, "--quiet")[0] == 0 and out.exists()


def test_a_run_is_not_judged_in_full_from_a_capture_in_which_nothing_is_heard(
    folder: Path,
    capfd,  # type: ignore[no-untyped-def]
) -> None:
    captured(folder / "m.cap", full_rig(), "gnss", b"")
    code, _, err = run(capfd, "report", folder / "m.gpkg", "--in-full")
    assert code == 1 and err.count("\n") == 1
    assert err.startswith(f"{folder / 'm.gpkg'}: ") and "judge it from its track" in err
    assert not list(folder.glob("again/*")) and not list(folder.glob("*.html"))


def test_text_of_another_coding_is_named(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    log = log_of(tmp_path / "my.nmea")
    log.write_bytes(log.read_text().encode("utf-16"))
    code, _, err = run(capfd, "replay", log)
    assert code == 1 and "UTF-16 text, save it as plain text" in err


def test_a_log_whose_times_go_back_says_where(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    joined = tmp_path / "joined.nmea"
    late, early = log_of(tmp_path / "late.nmea", 13), log_of(tmp_path / "early.nmea", 7)
    joined.write_bytes(late.read_bytes() + early.read_bytes())
    code, _, err = run(capfd, "replay", joined, "--quiet")
    assert code == 0
    assert "go back from 2026-04-18 13:00 to 2026-04-18 07:00 UTC" in err and "oldest first" in err
    joined.write_bytes(early.read_bytes() + late.read_bytes())
    assert run(capfd, "replay", joined, "--quiet") == (0, "", "")


def test_a_run_of_a_log_needs_its_tool_and_a_capture_has_its_own(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    log, out = log_of(tmp_path / "my.nmea"), tmp_path / "o.gpkg"
    code, _, err = run(capfd, "replay", log, "--run", out, "--quiet")
    assert code == 2 and "--rig" in err and not out.exists()
    assert run(capfd, "replay", log, "--rig", RIG, "--run", out, "--quiet")[0] == 0
    with open_run(out) as made:
        assert made.page.rig.tool.width_m == 4.0
    assert run(capfd, "replay", capture(), "--run", tmp_path / "c.gpkg", "--quiet")[0] == 0


def test_two_shifts_from_logs_called_alike_keep_their_notes_apart(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    for day in ("monday", "tuesday"):
        (tmp_path / day).mkdir()
        log = log_of(tmp_path / day / "log.nmea")
        made = tmp_path / f"{day}.gpkg"
        assert run(capfd, "replay", log, "--rig", RIG, "--run", made, "--quiet")[0] == 0
    note = ("--note", "Points changed", "--by", "K. Tarn")
    assert run(capfd, "report", tmp_path / "monday.gpkg", *note)[0] == 0
    assert run(capfd, "report", tmp_path / "tuesday.gpkg")[0] == 0
    assert "Points changed" in (tmp_path / "monday-report.html").read_text()
    assert "Points changed" not in (tmp_path / "tuesday-report.html").read_text()
    assert (tmp_path / "book.gpkg").is_file(), "beside the run, not a folder above it"


def test_the_book_of_a_folder_of_runs_lies_beside_that_folder(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    made = tmp_path / "runs" / "m.gpkg"
    made.parent.mkdir()
    made.write_bytes(two_passes().read_bytes())
    note = ("--note", "Points changed", "--by", "K. Tarn")
    assert run(capfd, "report", made, *note)[0] == 0
    assert (tmp_path / "book.gpkg").is_file() and not (tmp_path / "runs" / "book.gpkg").exists()


def test_a_season_leaves_the_book_alone(folder: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    note = ("--note", "Points changed", "--by", "K. Tarn")
    assert run(capfd, "report", folder / "m.gpkg", *note)[0] == 0
    code, out, err = run(capfd, "season", folder)
    assert (code, err) == (0, "") and "1 shift " in out
    code, _, err = run(capfd, "report", folder / "book.gpkg")
    assert code == 1 and "no run" in err


def test_the_same_note_is_kept_once_and_not_for_a_page_that_cannot_be_written(
    folder: Path,
    capfd,  # type: ignore[no-untyped-def]
) -> None:
    words = ("report", folder / "m.gpkg", "--note", "Points changed", "--by", "K. Tarn")
    assert run(capfd, *words, "--out", folder / "m.gpkg" / "page.html")[0] == 1
    assert not (folder / "book.gpkg").exists()
    for _ in range(2):
        assert run(capfd, *words)[0] == 0
    book = Book(folder / "book.gpkg")
    assert [entry.value["text"] for entry in book.entries(Kind.NOTE)] == ["Points changed"]
    book.close()


def test_copies_of_a_run_are_one_shift_and_are_named(folder: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    for name in ("n.gpkg", "o.gpkg"):
        (folder / name).write_bytes((folder / "m.gpkg").read_bytes())
    code, out, err = run(capfd, "season", folder)
    assert code == 0 and "1 shift " in out and "1.06 ac" in out
    assert [line.split(": ")[0] for line in err.splitlines()] == [
        str(folder / "n.gpkg"), str(folder / "o.gpkg"),
    ]  # fmt: skip


def test_of_a_shift_and_an_earlier_copy_of_it_the_whole_one_counts(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    for name, rows in (("a.gpkg", 30), ("b.gpkg", 60), ("c.gpkg", 60)):
        made = hand_made("shift-0031.gpkg", [row(n) for n in range(rows)])
        (tmp_path / name).write_bytes(made.read_bytes())
    season = season_of(tmp_path)
    assert [line.path.name for line in season.lines] == ["b.gpkg"]
    assert len(season.copies) == 2
    assert all("shift of b.gpkg again, counted once" in words for words in season.copies)


def test_a_season_without_a_run_is_at_fault_and_guesses_the_folder(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run(capfd, "season", tmp_path)
    assert (code, out) == (1, "") and "no run in it" in err
    (tmp_path / "runs").mkdir()
    (tmp_path / "runs" / "m.gpkg").write_bytes(two_passes().read_bytes())
    assert f"name {tmp_path / 'runs'}" in run(capfd, "season", tmp_path)[2]


def test_what_the_storage_refuses_to_read_is_told_in_one_line(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    unreadable = Path("/proc/self/mem")  # a file, and its first byte cannot be read (proc(5))
    code, _, err = run(capfd, "report", unreadable)
    assert code == 1 and err.startswith(f"{unreadable}: cannot be read (Input/output error)")
    code, _, err = run(capfd, "season", tmp_path / ("x" * 300))
    assert code == 1 and "File name too long" in err and err.count("\n") == 1


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ("replay x --baud 0", "--baud: found '0', expected a whole number 1200 to 921600"),
        ("replay x --baud 1", "--baud: found '1'"),
        ("replay x --near 2026-13-45", "--near: found '2026-13-45', expected a day as"),
        ("replay x y --run o.gpkg", "name a single FILE"),
        ("demo --speed 0", "--speed: found '0', expected above 0"),
        ("demo --speed -1", "--speed: found '-1'"),
        ("demo --speed nan", "--speed: found 'nan'"),
        ("report m --speed 8 13", "--speed: '8' has no unit"),
        ("report m --speed 7_mph 6_mph", "--speed: the band is turned round"),
        ("report m --depth 1_in 400_ft", "--depth: found '1 in', expected 5 to 75 cm"),
        ("report m --note hi", "--by NAME"),
        ("report m --by K.Tarn", "--note TEXT"),
        ("report m --note _ --by K.Tarn", "--note TEXT"),
    ],
)
def test_wrong_use_is_told_by_its_option_with_exit_2(capfd, words: str, says: str) -> None:  # type: ignore[no-untyped-def]
    code, out, err = run(capfd, *(word.replace("_", " ") for word in words.split()))
    assert (code, out) == (2, "") and says in err


def test_pictures_in_a_place_that_takes_none_are_refused(capfd) -> None:  # type: ignore[no-untyped-def]
    code, _, err = run(capfd, "demo", "--pictures", "/proc/x")
    assert code == 1 and err.startswith("/proc/x: not written") and err.count("\n") == 1


def test_a_time_that_is_no_number_is_damage(folder: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    made = folder / "m.gpkg"
    connection = sqlite3.connect(made)
    connection.execute("UPDATE moment SET t_s = 'noon' WHERE fid = 1")
    connection.commit()
    connection.close()
    code, _, err = run(capfd, "report", made)
    assert (code, err) == (
        1, f"{made}: damaged (a value in it is not what belongs there); use another copy\n"
    )  # fmt: skip


def test_a_rig_file_is_read_with_a_byte_order_mark_and_told_to_be_utf_8(
    tmp_path: Path,
    capfd,  # type: ignore[no-untyped-def]
) -> None:
    text, rig = RIG.read_text(), tmp_path / "rig.toml"
    rig.write_text(text, encoding="utf-8-sig")
    assert run(capfd, "check", rig)[0] == 0
    for coding in ("utf-16", "latin-1"):
        rig.write_text(text.replace("Five", "Fünf"), encoding=coding)
        code, _, err = run(capfd, "check", rig)
        assert code == 1 and "save it as UTF-8 text" in err and err.count("\n") == 1


def test_a_rig_that_cannot_be_watched_is_not_good(tmp_path: Path, capfd) -> None:  # type: ignore[no-untyped-def]
    rig = tmp_path / "rig.toml"
    rig.write_text('version = 1\nid = "r"\nname = ""\n')
    code, _, err = run(capfd, "check", rig)
    assert code == 1
    assert [line.split(": ")[1] for line in err.splitlines()] == ["tool.shank", "name"]


def test_a_run_left_before_its_end_leaves_nothing(tmp_path: Path) -> None:
    with pytest.raises(KeyboardInterrupt), RunMaker(tmp_path / "o.gpkg", FACTS) as maker:
        maker.put(Outcome())
        maker.put(second_of(1))
        raise KeyboardInterrupt
    assert list(tmp_path.iterdir()) == []


def test_two_at_once_on_one_run_the_second_is_told_of_the_first(tmp_path: Path) -> None:
    out = tmp_path / "o.gpkg"
    with RunMaker(out, FACTS) as first:
        first.put(second_of(1))
        with pytest.raises(RunFileError, match="another cabapp is making this run"):
            RunMaker(out, FACTS)
        assert first.end() == out
    assert list(tmp_path.iterdir()) == [out]


def test_what_a_cut_left_half_made_is_begun_again(tmp_path: Path) -> None:
    out = tmp_path / "o.gpkg"
    out.with_name("o.gpkg.part").write_bytes(b"half a run")
    with RunMaker(out, FACTS) as maker:
        maker.put(second_of(1))
        maker.end()
    assert list(tmp_path.iterdir()) == [out]


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_a_replay_that_is_stopped_leaves_no_half_run_and_no_traceback(
    tmp_path: Path, how: signal.Signals
) -> None:
    pipe = tmp_path / "log.nmea"
    os.mkfifo(pipe)
    words = [sys.executable, "-m", "cabapp", "replay", str(pipe), "--rig", str(RIG), "--run",
             str(tmp_path / "o.gpkg"), "--quiet"]  # fmt: skip
    # As a person's shell starts it: the workers of pytest ignore Ctrl-C, and it is inherited.
    heed = partial(signal.signal, signal.SIGINT, signal.SIG_DFL)
    going = subprocess.Popen(words, stderr=subprocess.PIPE, text=True, preexec_fn=heed)
    with open(pipe, "wb") as wire:  # it looks what it is
        wire.write(b"$GPTXT,,*00\r\n" * 3)
    with open(pipe, "wb"):  # and now it plays it, and waits for more
        assert until((tmp_path / "o.gpkg.part").exists, 30.0)
        going.send_signal(how)
    _, err = going.communicate(timeout=30)
    assert going.returncode == 128 + how, err
    assert "Traceback" not in err
    assert list(tmp_path.iterdir()) == [pipe]


def test_an_early_stop_is_no_traceback() -> None:
    """Stopped while the first of the program's own modules is looked for."""
    text = (
        "import sys\n"
        "from cabapp.cli import main\n"
        "class Stop:\n"
        "    def find_spec(self, *_):\n"
        "        raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Stop())\n"
        "sys.exit(main(['ports']))\n"
    )
    done = subprocess.run([sys.executable, "-c", text], capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (130, "")

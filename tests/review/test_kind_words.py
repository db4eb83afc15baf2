"""What is said of an empty, cut or foreign file, or a wrong unit: found, expected, mend."""

from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.paths import shipped
from tests.review.runs import hand_made, row


def said(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    assert main(list(words)) == 1
    error = capsys.readouterr().err.strip()
    assert "\n" not in error and "Traceback" not in error
    return error


@pytest.fixture(scope="module")
def run() -> Path:
    return hand_made("kind.gpkg", [row(n) for n in range(50)])


def test_an_empty_run_a_half_copied_one_and_one_that_is_none(
    run: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    empty, half, other = (tmp_path / name for name in ("a.gpkg", "b.gpkg", "c.gpkg"))
    empty.write_bytes(b"")
    half.write_bytes(run.read_bytes()[:60_000])
    other.write_text("id = 'rig'\n")
    assert "it is empty, expected a run; copy it again" in said(capsys, "report", str(empty))
    words = said(capsys, "report", str(half))
    assert f"cut short, 60000 bytes of {run.stat().st_size}; copy it again" in words
    assert "not a run, it begins with \"id = 'rig'" in said(capsys, "report", str(other))


def test_a_place_that_takes_no_file_gets_advice_that_fits(
    run: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "file").write_text("")
    words = said(capsys, "report", str(run), "--out", str(tmp_path / "file" / "x.html"))
    assert "a part of that path is a file, name another place" in words
    assert "free space" not in words


def test_an_empty_rig_and_a_number_without_its_unit(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rig = tmp_path / "rig.toml"
    rig.write_text("\n")
    assert "it is empty, expected a rig; restore the kept copy" in said(capsys, "check", str(rig))
    text = shipped("config", "rig-us-full.toml").read_text(encoding="utf-8")
    lines = ["speed_low = 5" if line.startswith("speed_low") else line for line in text.split("\n")]
    rig.write_text("\n".join(lines))
    assert "limits.speed_low: found 5" in (words := said(capsys, "check", str(rig)))
    assert 'write "5 mph" or "5 km/h"' in words


def test_an_empty_capture_is_no_quiet_success(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    capture = tmp_path / "shift-0001.cap"
    capture.write_bytes(b"")
    assert "it is empty, expected a capture or a log" in said(capsys, "replay", str(capture))

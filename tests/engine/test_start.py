"""Starting what runs already: told in one line, and nothing is touched."""

import os
from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.engine.home import hold
from cabapp.engine.pipes import KEEPER_MARK
from cabapp.engine.supervise import Keeper
from cabapp.paths import shipped


def test_a_second_start_names_the_first_and_touches_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CABAPP_STATE", str(tmp_path))
    first = hold(tmp_path / "keeper.lock")
    assert first is not None
    (tmp_path / KEEPER_MARK).write_text("4321 12.345")
    before = sorted(tmp_path.iterdir())
    assert main(["drive", "--windowed"]) == 1
    assert capfd.readouterr().err == (
        f"{tmp_path}: cabapp runs here already as process 4321; "
        "use its window, or end that process and start again\n"
    )
    assert sorted(tmp_path.iterdir()) == before
    assert (tmp_path / KEEPER_MARK).read_text() == "4321 12.345"
    os.close(first)


@pytest.mark.parametrize("display", ["", ":5"])
def test_without_a_display_it_works_on_and_says_that_nobody_sees_it(
    display: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CABAPP_STATE", str(tmp_path))
    monkeypatch.setenv("DISPLAY", display)
    monkeypatch.delenv("SDL_VIDEODRIVER", raising=False)
    monkeypatch.setattr(Keeper, "run", lambda keeper, over: 0)
    assert main(["drive"]) == 0
    assert ("No display" in capfd.readouterr().err) is (display == "")


@pytest.mark.parametrize("command", ["drive", "demo"])
def test_a_rig_file_that_cannot_be_read_is_told_in_one_line(
    command: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CABAPP_STATE", str(tmp_path / "state"))
    latin = tmp_path / "rig.toml"
    latin.write_bytes(b'version = 1\nid = "F\xfcnf"\n')
    for rig, says in ((latin, "save it as UTF-8 text"), (tmp_path / "no.toml", "no such file")):
        assert main([command, "--rig", str(rig)]) == 1
        said = capfd.readouterr().err
        assert said.startswith(f"{rig}: ") and says in said and said.count("\n") == 1


def test_a_tablet_s_own_rig_of_another_coding_is_told_and_kept(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("CABAPP_STATE", str(tmp_path))
    own = tmp_path / "rig.toml"
    own.write_bytes(b'version = 1\nid = "F\xfcnf"\n')
    before = own.read_bytes()
    for words in (["drive"], ["drive", "--rig", str(shipped("config", "rig-us-full.toml"))]):
        assert main(words) == 1
        assert capfd.readouterr().err.startswith(f"{own}: found a byte 0xfc")
    assert own.read_bytes() == before

"""Starting what runs already: told in one line, and nothing is touched."""

import os
from pathlib import Path

import pytest

from cabapp.cli import main
from cabapp.engine.home import hold
from cabapp.engine.pipes import KEEPER_MARK


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

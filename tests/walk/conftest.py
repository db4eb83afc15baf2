"""The shipped steps, the full example rig, and an empty book."""

from pathlib import Path

import pytest

from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.walk.steps import Walk, read_walk
from tests.walk.story import Book

ROOT = Path(__file__).parent.parent.parent


@pytest.fixture(scope="session")
def walk() -> Walk:
    return read_walk((ROOT / "assets/walk/combination.toml").read_text())


@pytest.fixture(scope="session")
def rig() -> Rig:
    return read_rig((ROOT / "config/rig-us-full.toml").read_text())


@pytest.fixture
def book(walk: Walk, rig: Rig) -> Book:
    return Book(walk, rig)

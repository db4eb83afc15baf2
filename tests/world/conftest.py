"""Rigs and short worlds that the tests of this room share."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.world.constants import FIRST, Constants
from cabapp.world.scenarios import SCENARIOS
from cabapp.world.world import PortEvent, World

CONFIG = Path(__file__).parents[2] / "config"


def rig_of(name: str) -> Rig:
    """An example rig of the project."""
    return read_rig((CONFIG / name).read_text(encoding="utf-8"), name)


@pytest.fixture(scope="session")
def full_rig() -> Rig:
    """Every sensor fitted."""
    return rig_of("rig-us-full.toml")


@pytest.fixture(scope="session")
def receiver_rig() -> Rig:
    """A receiver alone."""
    return rig_of("rig-metric-receiver.toml")


@pytest.fixture(scope="session")
def world_of(full_rig: Rig) -> Callable[..., World]:
    """Makes (and keeps) the world of a scenario by name."""
    kept: dict[tuple[str, int, int], World] = {}

    def make(name: str, seed: int = 1, constants: Constants = FIRST) -> World:
        key = (name, seed, id(constants))
        if key not in kept:
            kept[key] = World(SCENARIOS[name], full_rig, seed, constants)
        return kept[key]

    return make


def lines_at(world: World, port: str) -> list[tuple[float, str]]:
    """Every sentence of a port with the time it was sent."""
    return [
        (chunk.t_s, line)
        for chunk in world.chunks()
        if chunk.port == port and chunk.event is PortEvent.BYTES
        for line in chunk.data.decode("latin-1").splitlines()
    ]


def groups_at(world: World, port: str = "node") -> dict[str, list[tuple[float, str]]]:
    """Each XDR name with the times and texts of its values."""
    found: dict[str, list[tuple[float, str]]] = {}
    for at, line in lines_at(world, port):
        fields = line[1 : line.index("*")].split(",")[1:]
        for n in range(0, len(fields), 4):
            found.setdefault(fields[n + 3], []).append((at, fields[n + 1]))
    return found


def column(values: list[tuple[float, str]]) -> tuple[np.ndarray, np.ndarray]:
    """Times and numbers, NaN for an empty field."""
    times = np.array([at for at, _ in values])
    return times, np.array([float(text) if text else np.nan for _, text in values])

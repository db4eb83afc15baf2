"""Fault tests race real processes against the clock; other people's work shall not decide it."""

import os
from collections.abc import Iterator

import pytest

from tests.faults.cabin import go_first


@pytest.fixture(scope="session", autouse=True)
def before_other_work() -> Iterator[None]:
    """The test process speaks for wires and listens for sound: it needs its core in time too."""
    go_first(os.getpid())
    yield
    go_first(os.getpid(), "0")


@pytest.fixture(scope="session", autouse=True)
def as_installed() -> Iterator[None]:
    """Processes start from compiled modules, as an install leaves them, whatever is set here."""
    with pytest.MonkeyPatch.context() as patch:
        patch.delenv("PYTHONDONTWRITEBYTECODE", raising=False)
        yield

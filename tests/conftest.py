"""How the tests are dealt out to workers: a folder goes to one worker, whole.

What a folder's tests share (a window, a cab, an invented day) is then made once.
"""

import os
from pathlib import PurePath

import pytest
from hypothesis import settings
from xdist.scheduler import LoadScopeScheduling

# No example is timed: a busy machine is no defect. The long form seeks new examples each time; the
# short one, which a change has to pass, is the same for everybody.
settings.register_profile("short", deadline=None, derandomize=True)
settings.register_profile("long", deadline=None)
settings.load_profile("long" if os.environ.get("CABAPP_LONG") == "1" else "short")

LONGEST_FIRST = ("cab", "screens", "world", "outside")


class ByFolder(LoadScopeScheduling):
    """A unit of work is a folder of tests."""

    def _split_scope(self, nodeid: str) -> str:
        return folder_of(nodeid)


def folder_of(nodeid: str) -> str:
    """``tests/cab/test_one.py::test_it`` is of the folder ``cab``."""
    return PurePath(nodeid.partition("::")[0]).parent.name


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The folders that take longest are dealt out first."""
    rank = {name: number for number, name in enumerate(LONGEST_FIRST)}
    items.sort(key=lambda item: rank.get(folder_of(item.nodeid), len(rank)))


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: object) -> ByFolder:
    """Where tests run side by side (``-n``)."""
    config.option.loadscopereorder = False
    return ByFolder(config, log)

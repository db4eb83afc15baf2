"""Which pages the kiosk has besides Drive: a name of the parked menu to what makes its page.

Their modules take longer to read than all of Drive, and a screen that was started again has to be
back in three seconds: they are read after Drive stands there, by ``get_ready``.
"""

from collections.abc import Callable
from functools import partial
from importlib import import_module
from typing import Any

from cabapp.engine.home import Home
from cabapp.screens.fronts import Way
from cabapp.screens.house import Factory
from cabapp.screens.ruler import Layout

PAGES = {
    "setup": ("cabapp.screens.pages.setup", "SetupPage"),
    "shifts": ("cabapp.screens.pages.shifts", "ShiftsPage"),
    "fitup": ("cabapp.screens.pages.fitup", "FitupPage"),
}


def pages(home: Home) -> dict[str, Factory]:
    """Factories by name; a page is made when it is first opened. ``home``: the state folder."""
    return {name: partial(_make, name, home) for name in PAGES}


def get_ready() -> None:
    """Read the pages' modules, in any thread, so that the first tap on one need not wait."""
    for module, _ in PAGES.values():
        import_module(module)


def _make(name: str, home: Home, layout: Layout, way: Way, back: Callable[[], None]) -> Any:
    module, page = PAGES[name]
    return getattr(import_module(module), page)(layout, way, back, home=home)

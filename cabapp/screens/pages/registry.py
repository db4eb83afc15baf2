"""Which pages the kiosk has besides Drive: a name of the parked menu to what makes its page."""

from functools import partial

from cabapp.engine.home import Home
from cabapp.screens.house import Factory
from cabapp.screens.pages import fitup
from cabapp.screens.pages.setup import SetupPage
from cabapp.screens.pages.shifts import ShiftsPage


def pages(home: Home) -> dict[str, Factory]:
    """Factories by name; a page is made when it is first opened. ``home``: the state folder."""
    return {
        "setup": partial(SetupPage, home=home),
        "shifts": partial(ShiftsPage, home=home),
        "fitup": fitup.factory(home),
    }

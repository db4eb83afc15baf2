"""One off-screen window for the whole run; no display, no sound, no configuration of the person."""

import os

os.environ.update(
    KIVY_NO_ARGS="1",
    KIVY_NO_CONFIG="1",
    KIVY_NO_FILELOG="1",
    KIVY_NO_CONSOLELOG="1",
    KIVY_LOG_MODE="PYTHON",
    KIVY_METRICS_DENSITY="1",
    KIVY_DPI="149.45",
    SDL_VIDEODRIVER="offscreen",
    SDL_AUDIODRIVER="dummy",
)

import logging
from dataclasses import dataclass, replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from cabapp.screens.gallery import FRONTS, SCENES
from cabapp.screens.pictures import LARGEST, PANELS, layout_of
from cabapp.screens.window import configure, prepare

logging.getLogger("kivy").setLevel(logging.CRITICAL)
prepare(offscreen=True)
configure(*LARGEST, full=False, fps=0)

STATES = (*SCENES, *FRONTS)


@dataclass
class Cabin:
    """The stage and one Drive page a panel, made once: making pages is what costs time."""

    stage: Any
    pages: dict[str, Any]

    def page(self, panel: str) -> Any:
        """The Drive page of a panel, shown in a window of its size, with nothing in front."""
        from cabapp.screens.theme import DAY

        if panel not in self.pages:
            self.pages[panel] = self.stage.drive(layout_of(panel))
        page = self.pages[panel]
        if page.parent is None:
            self.stage.show(page, page.layout.panel.wide_px, page.layout.panel.high_px)
        page.fresh()
        page.fingers.down.clear()
        page.fingers.fired.clear()
        page.repaint(DAY)
        self.stage.taps.clear()
        self.stage.opened.clear()
        return page

    def present(self, panel: str, state: str, night: bool = False) -> Any:
        """A page showing one state of the gallery, settled."""
        from cabapp.screens.fronts import Front

        page = self.page(panel)
        self.stage.time += 60.0
        scene, front = FRONTS.get(state, (state, ""))
        page.show(replace(SCENES[scene](), night=night))
        if front:
            page.fronts.aside = "depth"
            page.bring(Front(front))
        page.settle()
        return page

    def frames(self, count: int = 1) -> None:
        """Turn the loop a few times."""
        self.stage.frames(count)

    def shot(self, path: Path) -> None:
        """Write what the window shows."""
        self.stage.shot(path)

    def tap(self, page: Any, x: float, y: float, lasts: float = 0.1, rests: float = 0.5) -> None:
        """One finger down and up again at a point of the window, y up, after a look at it."""
        finger = SimpleNamespace(uid="finger", x=x, y=y)
        self.stage.time += rests
        page.on_touch_down(finger)
        self.stage.time += lasts
        page.on_touch_up(finger)
        self.stage.time += rests

    def tap_key(self, page: Any, name: str) -> None:
        """Tap the middle of what is called ``name``."""
        area = next(target.area for target in page.targets() if target.name == name)
        self.tap(page, area.x + area.w / 2, area.y + area.h / 2)


@pytest.fixture(scope="session")
def cabin() -> Cabin:
    from cabapp.screens.stage import Stage

    return Cabin(Stage(), {})


@pytest.fixture(params=list(PANELS))
def panel(request: pytest.FixtureRequest) -> str:
    return str(request.param)


@pytest.fixture(scope="session")
def seen(cabin: Cabin) -> dict[tuple[str, str], Any]:
    """Every state on every panel, read once: (panel, state) to what stands there."""
    from tests.screens.ink_on_page import look

    return {
        (panel, state): look(cabin.present(panel, state)) for panel in PANELS for state in STATES
    }

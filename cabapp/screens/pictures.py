"""One picture of every state of Drive, on three panels and in both looks, without a display."""

import signal
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

from cabapp.screens.gallery import FRONTS, SCENES
from cabapp.screens.ruler import Layout, Panel, arrange

PANELS: dict[str, Panel] = {
    "10in-1280x800": Panel(1280, 800, 217.5, 136.0, 900.0),
    "7in-1024x600": Panel(1024, 600, 153.4, 89.9, 700.0),
    "10in-1920x1200": Panel(1920, 1200, 217.5, 136.0, 900.0),
}

LARGEST = (1920, 1200)  # an off-screen window can be made smaller, never larger than at its start


def layout_of(panel: str) -> Layout:
    """The layout of one of PANELS."""
    found = arrange(PANELS[panel])
    if not isinstance(found, Layout):
        raise ValueError(found.reason)
    return found


def pictures(folder: Path, panels: tuple[str, ...] = tuple(PANELS)) -> Iterator[Path]:
    """Write ``drive-``, ``setup-``, ``fitup-`` and ``shifts-NAME.png`` for each panel and look.

    Yields each path as it is written.
    """
    from cabapp.screens.window import configure, prepare

    # The window library takes a plain kill that nobody took before it, and tells only its own loop.
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(128 + number))
    prepare(offscreen=True)
    configure(*LARGEST, full=False, fps=0)
    from cabapp.screens.pages import fitup_gallery, setup_gallery, shifts_gallery
    from cabapp.screens.stage import Stage

    stage = Stage()
    with tempfile.TemporaryDirectory(prefix="pictures-") as place_of_runs:
        home = Path(place_of_runs)
        shifts_gallery.make_runs(home / "runs")
        for panel in panels:
            page = stage.drive(layout_of(panel))
            for look in ("day", "night"):
                place = folder / panel / look
                place.mkdir(parents=True, exist_ok=True)
                for name in (*SCENES, *FRONTS):
                    yield shoot(stage, page, name, look == "night", place / f"drive-{name}.png")
            for look in ("day", "night"):
                place = folder / panel / look
                night = look == "night"
                yield from setup_gallery.pictures(stage, layout_of(panel), night, place)
                yield from fitup_gallery.pictures(stage, layout_of(panel), night, place)
                yield from shifts_gallery.pictures(stage, layout_of(panel), home, night, place)


def shoot(stage: Any, page: Any, name: str, night: bool, path: Path) -> Path:
    """Show one scene of the gallery on a page, let it settle and write its picture."""
    from cabapp.screens.fronts import Front

    scene, front = FRONTS.get(name, (name, ""))
    stage.time += 60.0  # long enough for a held-back number
    page.fresh()
    page.show(replace(SCENES[scene](), night=night))
    if front:
        page.fronts.aside = "depth"
        page.bring(Front(front))
    if name == "parked-hold":
        page.fronts.parked.target.fill(0.62)
    page.settle()
    stage.frames(2)
    stage.shot(path)
    if name == "parked-hold":
        page.fronts.parked.target.fill(0.0)
    return path

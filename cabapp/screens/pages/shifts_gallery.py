"""Invented shifts of an invented farm: every room of Shifts, for pictures and for tests.

Nothing here is measured. Each run is written by the record as any other, from rows that a formula
makes, with a row each 2.4 s so that a folder of them is quickly made.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from cabapp.engine.home import Home
from cabapp.outcome import Moment, Row, Snapshot, What
from cabapp.paths import shipped
from cabapp.plan import default_plan
from cabapp.record.makerun import HurriedDisk
from cabapp.record.runfile import Batch, RunFacts, RunFile
from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.screens.fronts import Way
from cabapp.screens.gallery import SCENES as DRIVE_SCENES
from cabapp.screens.pages.shifts import ShiftsPage
from cabapp.screens.ruler import Layout
from cabapp.units import INCH_M, MPH_MPS
from cabapp.words import Level

STEP_S = 2.4
PASS_ROWS, TURN_ROWS = 64, 7
SPEED_MPS = 6.0 * MPH_MPS
LAT, LON = 44.0, 10.0
METRES_A_DEGREE = 111_130.0


@dataclass(frozen=True)
class Day:
    """One invented shift: what is out, hard, raised or unknown, as passes and parts of a pass."""

    utc: str
    field: str
    driver: str
    passes: int
    states: tuple[tuple[str, str, int, int, float, float], ...] = ()
    alerts: tuple[tuple[Level, str, str, str], ...] = ()


# thing, state, from pass, to pass, from and to as parts of the pass
DAYS = (
    Day("2031-10-09T12:05:00", "Pond side", "T. Vane", 34,
        (("speed", "hard", 11, 16, 0.5, 0.7), ("depth", "unknown", 19, 20, 0.2, 0.8))),
    Day("2031-10-10T12:10:00", "Mill piece", "K. Tarn", 40,
        (("depth", "unknown", 7, 16, 0.0, 1.0), ("depth", "out", 23, 28, 0.2, 0.6)),
        ((Level.NO_READING, "no_depth", "NO DEPTH", "Check cable 2, left"),)),
    Day("2031-10-12T12:20:00", "Long acre", "T. Vane", 18,
        (("depth", "out", 5, 8, 0.3, 0.9), ("speed", "hard", 11, 14, 0.2, 0.5))),
    Day("2031-10-13T11:55:00", "Long acre", "K. Tarn", 38,
        (("speed", "out", 13, 16, 0.4, 0.8), ("depth", "raised", 25, 26, 0.1, 0.4))),
    Day("2031-10-14T11:40:00", "North field", "K. Tarn", 44,
        (("speed", "hard", 3, 6, 0.7, 0.92), ("speed", "out", 9, 14, 0.3, 0.55),
         ("depth", "out", 9, 14, 0.3, 0.55), ("depth", "unknown", 17, 18, 0.55, 1.0),
         ("springs", "unknown", 17, 18, 0.55, 1.0), ("level", "unknown", 17, 18, 0.55, 1.0),
         ("depth", "raised", 25, 30, 0.6, 0.78), ("springs", "out", 35, 36, 0.08, 0.2)),
        ((Level.ACT, "shank_stayed_up", "STOP", "Look back: shank 5 stayed up"),
         (Level.LOOK, "depth_out", "TOO SHALLOW", "Deeper 1 1/2 in"),
         (Level.LOOK, "too_fast", "TOO FAST", "Ease to 7"))),
)  # fmt: skip


def rig() -> Rig:
    """The full example rig."""
    path = shipped("config", "rig-us-full.toml")
    return read_rig(path.read_text(encoding="utf-8"), str(path))


def make_runs(folder: Path) -> list[Path]:
    """The runs of all DAYS in a folder."""
    folder.mkdir(parents=True, exist_ok=True)
    return [make_run(folder / f"{day.utc[:10]}-shift-{n:04d}.gpkg", day)
            for n, day in enumerate(DAYS, start=1)]  # fmt: skip


def make_run(path: Path, day: Day) -> Path:
    """One invented run."""
    fitted = rig()
    plan = replace(default_plan(fitted), field=day.field, driver=day.driver, set_today=True)
    run = RunFile.begin(path, RunFacts(fitted, plan, shift=path.stem), HurriedDisk())
    rows = list(_rows(day, fitted))
    run.write(Batch(rows, list(_moments(day, rows))))
    run.end("ended")
    return path


def _rows(day: Day, fitted: Rig) -> Iterator[Row]:
    began = datetime.fromisoformat(day.utc)
    east = math.cos(math.radians(LAT)) * METRES_A_DEGREE
    spacing = fitted.tool.width_m - 0.15
    number = 0
    for n in range(1, day.passes + 1):
        for part in range(PASS_ROWS + TURN_ROWS):
            works = part < PASS_ROWS
            along = min(part, PASS_ROWS) * STEP_S * SPEED_MPS
            up = n % 2 == 1
            north = along if up else PASS_ROWS * STEP_S * SPEED_MPS - along
            aside = spacing * (n - 1 + max(0, part - PASS_ROWS) / TURN_ROWS)
            t_s = number * STEP_S
            utc = (began + timedelta(seconds=t_s)).isoformat(timespec="seconds") + "Z"
            share = part / PASS_ROWS if up else 1 - part / PASS_ROWS
            values = _values(day, n, share, works, number, fitted)
            values["course_deg"] = 0.0 if up else 180.0
            yield Row(t_s, utc, LAT + north / METRES_A_DEGREE, LON + aside / east, values)
            number += 1


def _values(
    day: Day, number: int, share: float, works: bool, row: int, fitted: Rig
) -> dict[str, float | str | None]:
    limits = fitted.limits
    wave = math.sin(row / 9.0) + 0.6 * math.sin(row / 2.3)
    target = limits.depth_target_m or 14 * INCH_M
    states = dict.fromkeys(("speed", "depth", "level", "springs"), "in" if works else "idle")
    for thing, state, first, last, start, end in day.states:
        if works and first <= number <= last and start <= share <= end:
            states[thing] = state
    worst = next((s for s in ("unknown", "out", "raised", "hard", "in") if s in states.values()),
                 "idle")  # fmt: skip
    shifted = {"out": -2.6, "raised": -3.4}.get(states["depth"], 0.0) * INCH_M
    speed = SPEED_MPS + 0.08 * wave + {"out": 0.75, "hard": -0.7}.get(states["speed"], 0.0)
    known = states["depth"] != "unknown"
    found: dict[str, float | str | None] = {
        "phase": "working" if works else "turning",
        "fix": "fixed",
        "speed_mps": speed if works else 2.0,
        "depth_m": target + shifted + 0.006 * wave if works and known else None,
        "level_m": 0.006 * wave if works and states["level"] != "unknown" else None,
        "speed_low_mps": limits.speed_low_mps,
        "speed_high_mps": limits.speed_high_mps,
        "depth_low_m": target - limits.depth_margin_m,
        "depth_high_m": target + limits.depth_margin_m,
        "stretch": worst,
        "attention": "",
    }
    load = 0.6 + 0.05 * wave + (0.4 if states["springs"] == "out" else 0.0)
    for n in range(1, 8):
        found[f"spring{n}_ratio_most"] = load if works and states["springs"] != "unknown" else None
    return found | {f"stretch_{thing}": state for thing, state in states.items()}


def _moments(day: Day, rows: list[Row]) -> Iterator[Moment]:
    for n, (level, rule, headline, action) in enumerate(day.alerts):
        row = rows[(n + 3) * len(rows) // (len(day.alerts) + 6)]
        yield Moment(row.utc, row.t_s, What.ONSET, level, rule, headline, action,
                     lat_deg=row.lat_deg, lon_deg=row.lon_deg)  # fmt: skip
        yield Moment(row.utc, row.t_s + 21.0, What.END, level, rule, headline, action)
    for n in range(day.passes // 4):
        row = rows[(n + 1) * len(rows) // day.passes]
        yield Moment(row.utc, row.t_s, What.TRIP, value=3.0 if n % 3 else 5.0)
    for number, kind, share in ((1, "stone", 0.22), (2, "wet", 0.7)):
        row = rows[int(share * len(rows))]
        yield Moment(row.utc, row.t_s, What.PEG, value=float(number), detail=kind,
                     lat_deg=row.lat_deg, lon_deg=row.lon_deg)  # fmt: skip
    middle = rows[len(rows) // 2]
    yield Moment(middle.utc, middle.t_s, What.CHECK, value=13.75 * INCH_M, detail="dug")


# -- the rooms ------------------------------------------------------------------------------------


def standing(night: bool = False) -> Snapshot:
    """Parked by the field."""
    return replace(DRIVE_SCENES["standing"](), night=night, moving=False)


def page_for(layout: Layout, home: Path) -> ShiftsPage:
    """The page on a state folder, its work done at once."""
    way = Way(lambda kind, value: None, lambda name: None, ())
    return ShiftsPage(layout, way, lambda: None, Home(home), inline=True)


def _one(page: ShiftsPage, place: int = -1) -> None:
    page.choose(page.listing.season.lines[place].path)


def _more(page: ShiftsPage) -> None:
    _one(page)
    page.to_more()


def _places(page: ShiftsPage) -> None:
    _one(page)
    page.to_places()


def _tomorrow(page: ShiftsPage) -> None:
    _one(page)
    page.to_tomorrow()


def _figures(page: ShiftsPage) -> None:
    _one(page)
    page.to_figures()


def _again(page: ShiftsPage) -> None:
    _one(page)
    page.to_again()
    page.step_band("speed", 1, -1)
    page.step_band("depth", 1, -1)


def _two(page: ShiftsPage) -> None:
    _one(page)
    page.to_beside()
    _one(page, 1)


def _report(page: ShiftsPage) -> None:
    _one(page)
    page.to_report()


def _notes(page: ShiftsPage) -> None:
    _one(page)
    page.to_notes()


def _typing(page: ShiftsPage) -> None:
    _notes(page)
    page.to_note(None)


def _copied(page: ShiftsPage) -> None:
    _one(page)
    page.copy_one()


SCENES: dict[str, Callable[[ShiftsPage], None]] = {
    "list": lambda page: page.to_list(),
    "season": lambda page: page.to_season(),
    "one": _one,
    "more": _more,
    "places": _places,
    "tomorrow": _tomorrow,
    "figures": _figures,
    "again": _again,
    "two": _two,
    "report": _report,
    "notes": _notes,
    "typing": _typing,
    "no-stick": _copied,
}


def pictures(stage: Any, layout: Layout, home: Path, night: bool, folder: Path) -> Iterator[Path]:
    """Write ``shifts-ROOM.png`` of every room; ``home`` holds the runs."""
    page = page_for(layout, home)
    stage.show(page, layout.panel.wide_px, layout.panel.high_px)
    for name, scene in SCENES.items():
        page.to_list()
        page.enter(standing(night))
        scene(page)
        stage.frames(2)
        path = folder / f"shifts-{name}.png"
        stage.shot(path)
        yield path

"""Report, CSV, GeoJSON and the run file itself say one thing, to the last printed digit.

Besides the two closed-form passes: runs drawn at random with every state, silence, trips, no work,
and areas and shares on the edge of rounding. The figures are worked out again here from each form
by plain arithmetic.
"""

import csv
import io
import json
import math
import random
import re
import sqlite3
from collections import Counter
from html import unescape
from pathlib import Path

import pytest

from cabapp.outcome import Moment, Row, What
from cabapp.review.export import coverage_geojson, figures_csv, passes_geojson, track_csv
from cabapp.review.figures import figures
from cabapp.review.report import FACTS, Options, report_html
from cabapp.review.shift import load_shift
from cabapp.review.summary import Summary, summarize
from cabapp.review.sums import STATES, THINGS
from cabapp.units import UnitSystem
from tests.review.runs import hand_made, row, two_passes

SQUARE_METRES = {UnitSystem.US: 4046.8564224, UnitSystem.METRIC: 10_000.0}  # international acre
UNIT = {UnitSystem.US: "ac", UnitSystem.METRIC: "ha"}


def drawn(seed: int) -> Path:
    """A run at random: stretches of each state, a silence, turns, trips."""
    chance = random.Random(seed)
    rows: list[Row] = []
    moments: list[Moment] = []
    while len(rows) < 60 + 60 * seed:
        state = chance.choice(STATES)
        phase = chance.choices(("working", "turning", "unknown"), (8, 1, 1))[0]
        for _ in range(chance.randint(1, 40)):
            values = {"speed_mps": chance.uniform(1.5, 3.5), "stretch_springs": "in"}
            if phase != "working":
                state, values["stretch_springs"] = "idle", "idle"
            rows.append(row(len(rows), state, phase, **values))
        if chance.random() < 0.3:
            moments.append(
                Moment("", float(len(rows)), What.TRIP, value=float(chance.randint(1, 7)))
            )
    return hand_made(f"drawn-{seed}.gpkg", rows, moments)


def edge(name: str, seconds: int, states: dict[str, int]) -> Path:
    """A pass whose ground by state is as exact as its seconds."""
    rows = []
    for state, count in states.items():
        rows += [row(len(rows) + n, state) for n in range(count)]
    rows += [row(n, "idle", "standing") for n in range(len(rows), seconds)]
    return hand_made(f"edge-{name}.gpkg", rows)


HOSTILE = {
    "two passes": two_passes,
    **{f"drawn {seed}": (lambda seed=seed: drawn(seed)) for seed in range(1, 7)},
    "one second out of 400": lambda: edge("least", 420, {"in": 399, "out": 1, "unknown": 20}),
    "thirds": lambda: edge("thirds", 310, {"in": 101, "out": 101, "hard": 101}),
    "all unknown": lambda: edge("unknown", 130, {"unknown": 120}),
    "no work": lambda: edge("none", 60, {}),
    "just under ten acres": lambda: edge("ten", 3250, {"in": 3237}),
}


@pytest.fixture(scope="module", params=list(HOSTILE))
def summary(request: pytest.FixtureRequest) -> Summary:
    return summarize(load_shift(HOSTILE[request.param]()))


@pytest.fixture(params=list(UnitSystem))
def units(request: pytest.FixtureRequest) -> UnitSystem:
    unit: UnitSystem = request.param
    return unit


def printed(summary: Summary, units: UnitSystem) -> dict[str, str]:
    return {figure.key: figure.text for figure in figures(summary, units)}


def area_words(square_metres: float, units: UnitSystem) -> str:
    """An area as a person rounds it: two decimals below ten, else one."""
    value = square_metres / SQUARE_METRES[units]
    return f"{value:.2f} {UNIT[units]}" if value < 9.995 else f"{value:.1f} {UNIT[units]}"


def percents(areas: dict[str, float]) -> dict[str, str]:
    """Whole percents by largest remainder, as the page promises: they add up to 100."""
    whole = math.fsum(areas.values())
    if whole <= 0:
        return dict.fromkeys(STATES, "–")
    exact = {state: 100 * areas.get(state, 0.0) / whole for state in STATES}
    found = {state: math.floor(value) for state, value in exact.items()}
    order = sorted(STATES, key=lambda state: found[state] - exact[state])
    for state in order[: 100 - sum(found.values())]:
        found[state] += 1
    there = {state for state in STATES if areas.get(state, 0.0) > 0}
    return {s: (str(found[s]) if found[s] else "<1") if s in there else "–" for s in STATES}


def with_unseen(summary: Summary, areas: dict[str, float]) -> dict[str, float]:
    if any(areas.values()) and summary.shift.sums.unseen_m2 > 0:
        areas["unknown"] = areas.get("unknown", 0.0) + summary.shift.sums.unseen_m2
    return areas


def test_the_figures_csv_has_every_figure_as_it_is_printed(
    summary: Summary, units: UnitSystem
) -> None:
    table = list(csv.reader(io.StringIO(figures_csv(summary, units))))
    assert {key: text for key, _, text in table[1:]} == printed(summary, units)


def test_the_report_prints_the_same_digits(summary: Summary, units: UnitSystem) -> None:
    page = unescape(report_html(summary, Options(units)))
    told = printed(summary, units)
    for key in FACTS:
        assert re.search(rf">{re.escape(told[key])}</b>", page), key
    assert f"<b>{told['in_band']}</b><span>{told['unknown']}</span>" in page
    for key in told:
        if key.startswith("time_") and told[key] != "0 s":
            assert f"<b>{told[key]}</b>" in page, key


def test_the_track_csv_gives_the_shares_of_every_thing(summary: Summary, units: UnitSystem) -> None:
    table = list(csv.DictReader(io.StringIO(track_csv(summary.shift, units))))
    ground = next((name for name in table[0] if name.startswith("ground of this second (")), None)
    assert ground, "a column of each second's ground with its unit"
    told = printed(summary, units)
    for thing in THINGS:
        areas: Counter[str] = Counter()
        for line in table:
            if line[f"state_{thing}"] != "idle" and line[ground]:
                areas[line[f"state_{thing}"]] += float(line[ground])
        if sum(areas.values()) == 0:
            areas.clear()
        scale = SQUARE_METRES[units] if ground.endswith(f"({UNIT[units]})") else 1.0
        found = percents(with_unseen(summary, {s: a * scale for s, a in areas.items()}))
        assert {s: told[f"{thing}_{s}"] for s in STATES} == found, thing


def test_the_geojson_pieces_give_the_overall_shares(summary: Summary, units: UnitSystem) -> None:
    areas: Counter[str] = Counter()
    for feature in json.loads(passes_geojson(summary))["features"]:
        facts = feature["properties"]
        if facts["state"] != "not judged":
            areas[facts["state"]] += facts["area_m2"]
    told = printed(summary, units)
    found = percents(with_unseen(summary, dict(areas)))
    assert {state: told[f"all_{state}"] for state in STATES} == found


def test_the_geojson_coverage_adds_up_to_the_printed_area(
    summary: Summary, units: UnitSystem
) -> None:
    features = json.loads(coverage_geojson(summary.shift))["features"]
    gross = math.fsum(feature["properties"]["gross_m2"] for feature in features)
    assert printed(summary, units)["area_gross"].partition(" ±")[0] == area_words(gross, units)
    assert printed(summary, units)["passes"] == str(len(features))


def test_the_run_file_itself_gives_the_same(summary: Summary, units: UnitSystem) -> None:
    """By SQL alone, as anybody with a database would ask it."""
    told = printed(summary, units)
    db = sqlite3.connect(f"file:{summary.shift.brief.path}?mode=ro", uri=True)
    stored = dict(db.execute("SELECT key, value FROM summary WHERE value IS NOT NULL"))
    gross = area_words(float(stored["gross_m2"]), units)
    assert told["area_gross"].partition(" ±")[0] == gross
    trips = dict(db.execute("SELECT value, count(*) FROM moment WHERE what = 'trip' GROUP BY 1"))
    words = told["trips"]
    if summary.shift.page.rig.fitted("spring"):
        assert words == "none" if not trips else words.startswith(f"{sum(trips.values())}: ")
        for shank, count in trips.items():
            assert f"shank {shank:.0f}: {count}" in words
    seconds = dict(db.execute("SELECT phase, count(*) FROM track GROUP BY 1"))
    assert json.loads(stored["seconds_by_phase"]) == {k: v for k, v in seconds.items() if k}
    by_stretch = json.loads(stored["area_by_stretch_m2"])["stretch"]
    by_stretch.pop("idle", None)
    found = percents(with_unseen(summary, {k: float(v) for k, v in by_stretch.items()}))
    assert {state: told[f"all_{state}"] for state in STATES} == found
    db.close()

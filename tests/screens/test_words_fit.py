"""Every word of the words table fits its place on both page kinds, in both unit systems.

Widths are of the shipped font at the size it is drawn in. A look or no-reading headline has to
stand beside a chip; an action has its full room alone and the short form's room beside a chip or
on a small panel.
"""

import pytest

from cabapp.outcome import Quieting, TileState
from cabapp.screens.pictures import layout_of
from cabapp.screens.tiles.band import (
    ACTION_LIMIT,
    CHIP_LIMIT,
    HEADLINE_LIMIT,
    HEADLINE_LIMIT_SMALL,
    SHORT_HEADLINES,
    SHORT_LIMIT,
    SHORT_LIMIT_MORE,
)
from cabapp.screens.tiles.field import NOTE_LIMIT
from cabapp.units import INCH_M, UnitSystem
from cabapp.words import (
    CAUSES,
    NOT_ON_RECORD,
    PEGS,
    REFUSED,
    SAYINGS,
    STOP_REASONS,
    CalmHeadline,
    Level,
    advice_text,
    distance_text,
    next_step,
    say,
    speed_text,
)

UNITS = list(UnitSystem)
KINDS = {"large": "10in-1280x800", "small": "7in-1024x600"}


def steps() -> list[str]:
    """Every next step, with a cable number and a side where they belong."""
    return [next_step(cause, 12, "right") for cause in CAUSES] + [
        next_step(cause) for cause in CAUSES
    ]


def fillings(units: UnitSystem) -> list[dict[str, object]]:
    """Values for every template: the widest that a rule would say."""
    base: dict[str, object] = {
        "shank": 12,
        "percent": 38,
        "speed": speed_text(6.5 * 0.44704, units),
        "half_step": "1/2 in" if units is UnitSystem.US else "1 cm",
        "distance": distance_text(60.0, units),
        "angle": 12,
        "number": 88,
        "sensor": 4,
    }
    found = []
    for change in (0.5, 1.0, 1.5, 2.5, -0.5, -1.5, -2.5):
        advice = advice_text(change * INCH_M, units)
        found.append({**base, "advice": advice, "next_step": "", "kind": "Obstacle"})
    for step in steps():
        found.append({**base, "advice": "", "next_step": step, "kind": "Pipe mark"})
    return found


@pytest.fixture(params=UNITS, ids=[u.value for u in UNITS])
def said(request):
    """Everything the words table can say in one unit system."""
    return {
        say(rule, variant, **values)
        for rule, variant in SAYINGS
        for values in fillings(request.param)
    }


def too_wide(tile, high: float, texts: set[str], limit: float) -> dict[str, float]:
    wide = {text: tile.width_of(text, high) for text in texts}
    return {text: width for text, width in wide.items() if width > limit}


@pytest.mark.parametrize("kind", KINDS)
def test_headlines_fit_beside_a_chip(cabin, said, kind):
    band = cabin.page(KINDS[kind]).band
    limit = HEADLINE_LIMIT if kind == "large" else HEADLINE_LIMIT_SMALL
    headlines = {one.headline for one in said if one.level is not Level.NOTE}
    assert too_wide(band, 62, headlines, limit) == {}


def test_actions_fit_alone_on_a_large_panel(cabin, said):
    band = cabin.page(KINDS["large"]).band
    actions = {one.action for one in said if one.level is not Level.NOTE}
    assert too_wide(band, 37, actions, ACTION_LIMIT) == {}


def test_short_actions_fit_beside_a_chip_on_a_large_panel(cabin, said):
    band = cabin.page(KINDS["large"]).band
    shorts = {one.short for one in said if one.level is not Level.NOTE}
    assert too_wide(band, 37, shorts, SHORT_LIMIT) == {}


def test_short_actions_fit_a_small_panel(cabin, said):
    band = cabin.page(KINDS["small"]).band
    shorts = {one.short for one in said if one.level is not Level.NOTE}
    assert too_wide(band, 37, shorts, SHORT_LIMIT) == {}


def test_short_actions_fit_beside_the_count_of_others_on_a_small_panel(cabin, said):
    band = cabin.page(KINDS["small"]).band
    shorts = {one.short for one in said if one.level is not Level.NOTE}
    assert too_wide(band, 37, shorts, SHORT_LIMIT_MORE) == {}


@pytest.mark.parametrize("kind", KINDS)
def test_chip_words_fit_their_chip(cabin, said, kind):
    band = cabin.page(KINDS[kind]).band
    assert too_wide(band, 31, {one.chip for one in said}, CHIP_LIMIT) == {}


@pytest.mark.parametrize("kind", KINDS)
def test_notes_fit_the_field_tile(cabin, said, kind):
    field = cabin.page(KINDS[kind]).field
    notes = {one.action for one in said if one.level is Level.NOTE} | {
        *REFUSED.values(),
        NOT_ON_RECORD,
    }
    assert too_wide(field, 31, notes, NOTE_LIMIT) == {}


@pytest.mark.parametrize("kind", KINDS)
def test_every_calm_headline_fits(cabin, kind):
    band = cabin.page(KINDS[kind]).band
    small = kind == "small"
    shown = {SHORT_HEADLINES.get(h.value, h.value) if small else h.value for h in CalmHeadline}
    limit = HEADLINE_LIMIT_SMALL if small else ACTION_LIMIT
    assert too_wide(band, 62, shown, limit) == {}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("quieting", list(Quieting))
def test_what_stands_at_the_right_end_fits_whatever_time_is_left(cabin, kind, quieting):
    from dataclasses import replace

    from cabapp.screens.gallery import IN_BAND

    page = cabin.page(KINDS[kind])
    for left in (None, 3.0, 29.0, 590.0, 1200.0, 20_000.0):
        band = replace(IN_BAND.band, quieting=quieting, quiet_left_s=left)
        page.show(replace(IN_BAND, band=band))
        for text in (page.band.quiet_small, page.band.quiet_big):
            assert text.wide <= 178


# The plate words of the tiles; a tile must carry every word that an alert about it can have.
TILE_WORDS = {
    "speed": ("FAST", "HARD"),
    "depth": ("SHALLOW", "DEEP", "IN SOIL"),
    "pair": ("REAR LOW", "REAR HIGH", "LEFT LOW", "RIGHT LOW"),
    "springs": ("LOAD", "SLACK", "UP", "TRIPS", "HOOK"),
}


@pytest.mark.parametrize("kind", KINDS)
def test_plate_words_fit_beside_what_stands_left_of_them(cabin, kind):
    page = cabin.page(KINDS[kind])
    free_of_unit = 394 - 26 - page.speed.width_of("km/h", 31, bold=False) - 8
    room = {
        "speed": (page.speed, free_of_unit),
        "depth": (page.depth, page.depth.cut.x - 26 - 4),
        "pair": (page.depth, page.depth.cut.x - 26 - 4),
        "springs": (page.springs, 234 - 24),
    }
    for name, words in TILE_WORDS.items():
        tile, limit = room[name]
        for word in words:
            plate = tile.pair if name == "pair" else tile.plate
            assert plate.width(word) <= limit, (kind, name, word)


def test_every_state_of_a_tile_has_a_mark_or_says_why_not():
    from cabapp.screens.tiles.plate import MARKS

    assert set(TileState) - set(MARKS) == {TileState.FREE}  # nothing is judged, nothing marked


def test_layouts_exist_for_the_pictures():
    assert all(layout_of(panel).slots for panel in KINDS.values())


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("sheet", ["kind", "reason"])
def test_answers_of_a_fixed_question_stand_whole_on_their_keys(cabin, kind, sheet):
    answers = {"kind": tuple(PEGS.values()), "reason": tuple(r.capitalize() for r in STOP_REASONS)}
    asked = getattr(cabin.page(KINDS[kind]).fronts, sheet)
    asked.ask("Which?", answers[sheet])
    keys = [key for key in asked.keys if key.name.isdigit()]
    assert [key.words[0].text for key in keys[: len(answers[sheet])]] == list(answers[sheet])

"""Every state of a tile is another picture, without colour, out of focus, shaken or in one ink.

The same number is shown in all states, so that only what the state itself changes can tell them
apart. Three per cent of the tile is this project's own floor.
"""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest

from cabapp.outcome import ShankState, TileState
from cabapp.screens import gallery as g
from cabapp.screens.glyphs import GLYPHS, silhouette
from cabapp.screens.theme import DAY, NIGHT, ONE_INK
from cabapp.screens.tiles.plate import MARKS
from cabapp.units import INCH_M, MPH_MPS
from tests.screens.eyes import EYES, linear, seen_as, share_apart
from tests.screens.ink_on_page import look

LEAST = 0.03
PANELS = ("10in-1280x800", "7in-1024x600")
PALETTES = {"day": DAY, "night": NIGHT, "one ink": ONE_INK}

SPEED_AT = 5.8 * MPH_MPS
DEPTH_AT = {"value_m": 13.9 * INCH_M, "front_m": 14.1 * INCH_M, "rear_m": 13.7 * INCH_M}


def speed_states():
    low, high = 5 * MPH_MPS, 7 * MPH_MPS
    base = replace(g.SPEED, value_mps=SPEED_AT)
    return {
        "in band": base,
        "fast": replace(g.FAST, value_mps=SPEED_AT, low_mps=low - 2, high_mps=high - 2),
        "slow": replace(g.HARD, value_mps=SPEED_AT, low_mps=low + 2, high_mps=high + 2),
        "act": replace(base, state=TileState.ACT, word="IN SOIL", framed=True),
        "free": replace(base, state=TileState.FREE),
        "lifted": replace(base, state=TileState.LIFTED),
        "no reading": g.NO_SPEED,
        "starting": replace(base, state=TileState.STARTING, value_mps=None),
    }


def depth_states():
    base = replace(g.DEPTH, **DEPTH_AT)
    up = {"target_m": 17 * INCH_M, "low_m": 16 * INCH_M, "high_m": 18 * INCH_M}
    down = {"target_m": 11 * INCH_M, "low_m": 10 * INCH_M, "high_m": 12 * INCH_M}
    return {
        "in band": base,
        "level unknown": replace(base, front_m=None, rear_m=None),
        "shallow": replace(g.SHALLOW, **DEPTH_AT, **up),
        "deep": replace(g.DEEP, **DEPTH_AT, **down),
        "act": replace(g.DOWN, **DEPTH_AT),
        "lifted": g.LIFTED_DEPTH,
        "no reading": g.NO_DEPTH,
        "not live": g.NOT_LIVE,
        "starting": g.STARTING_DEPTH,
    }


def springs_states():
    return {
        "in band": g.SPRINGS,
        "high": replace(g.HIGH, worst_share=0.74, shanks=g.shanks({5: ShankState.HIGH})),
        "idle": g.IDLE,
        "act": g.UP,
        "lifted": g.LIFTED_SPRINGS,
        "no reading": g.NO_SPRINGS,
        "starting": replace(g.SPRINGS, state=TileState.STARTING, worst_share=None),
    }


TILES = {"speed": speed_states, "depth": depth_states, "springs": springs_states}


def crops(cabin, panel: str, tile_name: str, palette) -> dict[str, np.ndarray]:
    """The tile's pixels in each of its states."""
    page = cabin.page(panel)
    tile = getattr(page, tile_name)
    found = {}
    for name, view in TILES[tile_name]().items():
        cabin.stage.time += 60
        page.show(replace(g.IN_BAND, **{tile_name: view}))
        page.repaint(palette)
        page.settle()
        cabin.frames(1)
        pixels = cabin.stage.pixels()
        high = pixels.shape[0]
        top, bottom = round(high - tile.top), round(high - tile.y)
        found[name] = linear(pixels[top:bottom, round(tile.x) : round(tile.right)])
    return found


@pytest.mark.parametrize("palette", PALETTES)
@pytest.mark.parametrize("panel_name", PANELS)
@pytest.mark.parametrize("tile", TILES)
def test_each_pair_of_states_differs_to_every_eye(cabin, tile, panel_name, palette):
    found = crops(cabin, panel_name, tile, PALETTES[palette])
    eyes = EYES if palette != "one ink" else {"grey": 0, "blurred": 0, "shaken": 0}
    for eye in eyes:
        seen = {name: seen_as(light, eye) for name, light in found.items()}
        for one, two in combinations(seen, 2):
            apart = share_apart(seen[one], seen[two])
            assert apart >= LEAST, (eye, one, two, round(apart, 4))


# -- signs -----------------------------------------------------------------------------------


def filled(outlines, size: int = 192) -> np.ndarray:
    """Outlines of a unit square as a filled picture, by the even-odd rule."""
    ys, xs = (np.mgrid[0:size, 0:size] + 0.5) / size
    whole = np.zeros((size, size), bool)
    for outline in outlines:
        inside = np.zeros((size, size), bool)
        for (x0, y0), (x1, y1) in zip(outline, outline[1:] + outline[:1], strict=True):
            if y0 != y1:
                crosses = (y0 > ys) != (y1 > ys)
                inside ^= crosses & (xs < (x1 - x0) * (ys - y0) / (y1 - y0) + x0)
        whole |= inside
    return whole


def alike(one: str, two: str) -> float:
    """Intersection over union of two signs' silhouettes."""
    a, b = filled(silhouette(one)), filled(silhouette(two))
    return float((a & b).sum() / (a | b).sum())


LEVEL_SIGNS = ("act", "look", "note", "no_reading")


@pytest.mark.parametrize(("one", "two"), list(combinations(LEVEL_SIGNS, 2)))
def test_the_shapes_of_the_four_levels_cannot_be_taken_for_one_another(one, two):
    assert alike(one, two) <= 0.60


@pytest.mark.parametrize(("one", "two"), list(combinations(sorted(set(MARKS.values())), 2)))
def test_the_marks_of_the_states_cannot_be_taken_for_one_another(one, two):
    assert alike(one, two) <= 0.70


def test_the_look_shape_is_a_triangle_with_an_arrow_and_never_the_sign_for_injury():
    for name in ("look", "look_up", "look_down"):
        assert GLYPHS[name] != GLYPHS["injury"]


# -- one cue at a time -----------------------------------------------------------------------


def masked(cabin, panel: str, tile_name: str, hide: str) -> dict[str, list[np.ndarray]]:
    """Grey pictures of each state with several numbers, its words or its marks painted out."""
    page = cabin.page(panel)
    tile = getattr(page, tile_name)
    found: dict[str, list[np.ndarray]] = {}
    for name, view in TILES[tile_name]().items():
        for shift in (-0.15, 0.0, 0.15):
            cabin.stage.time += 60
            page.show(replace(g.IN_BAND, **{tile_name: nudged(view, shift)}))
            page.settle()
            cabin.frames(1)
            found.setdefault(name, []).append(painted_out(cabin, page, tile, hide))
    return found


def painted_out(cabin, page, tile, hide: str) -> np.ndarray:
    """The tile in grey as it stands now, without its words or without its marks."""
    pixels = cabin.stage.pixels()
    high = pixels.shape[0]
    top, left_edge = round(high - tile.top), round(tile.x)
    grey = seen_as(
        linear(pixels[top : round(high - tile.y), left_edge : round(tile.right)]), "grey"
    )
    view, name = look(page), type(tile).__name__
    things = view.texts if hide == "words" else view.marks
    for left, bottom, right, upper in (thing.box for thing in things if thing.tile == name):
        rows = slice(max(0, round(high - upper) - 2 - top), round(high - bottom) + 2 - top)
        grey[rows, max(0, round(left) - 2 - left_edge) : round(right) + 2 - left_edge] = 50.0
    return grey


def nudged(view, shift: float):
    """The same state with another number."""
    if getattr(view, "value_mps", None) is not None:
        return replace(view, value_mps=view.value_mps + shift)
    if getattr(view, "value_m", None) is not None:
        ends = {end: getattr(view, end) for end in ("value_m", "front_m", "rear_m")}
        known = {end: deep + shift / 20 for end, deep in ends.items() if deep is not None}
        return replace(view, **known)
    if getattr(view, "worst_share", None) is not None:
        return replace(view, worst_share=view.worst_share + shift / 3)
    return view


# The springs are the tightest tile on a small panel; the others only change their scale there.
ONE_CUE = [(PANELS[0], tile) for tile in TILES] + [(PANELS[1], "springs")]


@pytest.mark.parametrize("hide", ["words", "marks"])
@pytest.mark.parametrize(("panel_name", "tile"), ONE_CUE)
def test_with_the_words_or_the_marks_painted_out_the_other_still_decides(
    cabin, panel_name, tile, hide
):
    """Nearest picture: each is compared with one of every state that shows another number."""
    found = masked(cabin, panel_name, tile, hide)
    patterns = {name: shots[1] for name, shots in found.items()}
    for name, shots in found.items():
        for i, shot in enumerate(shots):
            if i != 1:
                apart = {state: np.abs(shot - p).mean() for state, p in patterns.items()}
                assert min(apart, key=apart.get) == name, (hide, name, i, apart)

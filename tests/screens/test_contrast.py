"""Text and shapes stand out from what they lie on: in a lit cab, in glare, at night, in any eye."""

import numpy as np
import pytest

from cabapp.screens.gallery import SCENES
from cabapp.screens.theme import DAY, NIGHT, Role
from tests.screens.eyes import EYES, GLARE, contrast, hex_luminance, linear, luminance
from tests.screens.ink_on_page import look

# What lies on what, and the least contrast: 7 for text, 4.5 for labels, 3 for shapes.
PAIRS = [
    (Role.INK, Role.GROUND, 7.0),
    (Role.SOFT, Role.GROUND, 4.5),
    (Role.WANTED, Role.GROUND, 7.0),
    (Role.WANTED, Role.SOIL, 3.0),
    (Role.ON_LOOK, Role.LOOK, 7.0),
    (Role.ON_ACT, Role.ACT, 7.0),
    (Role.ACT_STRIPE, Role.ACT, 3.0),
    (Role.CORE, Role.GROUND, 3.0),
    (Role.HATCH, Role.GROUND, 3.0),
    (Role.LAYER, Role.SOIL, 3.0),
    (Role.INK, Role.SOIL, 7.0),
    (Role.INK, Role.PRESSED, 7.0),
]


@pytest.mark.parametrize("palette", [DAY, NIGHT], ids=["day", "night"])
@pytest.mark.parametrize(("ink", "ground", "least"), PAIRS)
def test_every_role_stands_out_from_what_it_lies_on(palette, ink, ground, least):
    a, b = hex_luminance(palette.hex(ink)), hex_luminance(palette.hex(ground))
    assert contrast(a, b) >= least


@pytest.mark.parametrize(("ink", "ground", "least"), [p for p in PAIRS if p[0] is not Role.SOFT])
def test_by_day_the_sun_on_the_panel_leaves_enough(ink, ground, least):
    a, b = hex_luminance(DAY.hex(ink)), hex_luminance(DAY.hex(ground))
    assert contrast(a, b, GLARE) >= 3.0


@pytest.mark.parametrize("eye", [eye for eye in EYES if eye in ("protan", "deutan", "tritan")])
@pytest.mark.parametrize("palette", [DAY, NIGHT], ids=["day", "night"])
def test_shapes_stand_out_without_one_kind_of_cone(palette, eye):
    for ink, ground, _ in PAIRS:
        pair = [np.array([[[round(255 * c) for c in palette.rgb(role)]]]) for role in (ink, ground)]
        a, b = (float(luminance(EYES[eye](linear(p)))[0, 0]) for p in pair)
        assert contrast(a, b) >= 3.0, (ink, ground)


def test_amber_never_lies_bare_on_white_its_edge_is_ink():
    amber = hex_luminance(DAY.hex(Role.LOOK))
    assert contrast(amber, hex_luminance(DAY.hex(Role.GROUND))) < 3.0  # so it needs the edge
    assert contrast(amber, hex_luminance(DAY.hex(Role.INK))) >= 7.0


@pytest.mark.parametrize("night", [False, True], ids=["day", "night"])
def test_every_text_in_every_picture_stands_out_where_it_is(cabin, night):
    """Read from the pixels: the commonest colour around a text against the text's own."""
    palette = NIGHT if night else DAY
    known = set()
    for state in SCENES:
        page = cabin.present("10in-1280x800", state, night)
        level = page.snapshot.band.level
        texts = {
            text: (text.tile, text.name, text.words, text.role, level) for text in look(page).texts
        }
        fresh = [text for text, key in texts.items() if key not in known]
        known |= set(texts.values())
        if not fresh:
            continue
        cabin.frames(1)
        pixels = cabin.stage.pixels()
        for text in fresh:
            left, bottom, right, top = (round(edge) for edge in text.box)
            region = pixels[800 - top : 800 - bottom, left:right].reshape(-1, 3)
            packed = region.astype(np.uint32) @ np.array([65536, 256, 1], dtype=np.uint32)
            colours, counts = np.unique(packed, return_counts=True)
            ink = int(palette.hex(text.role)[1:], 16)
            around = colours[counts.argsort()[::-1]]
            paper = next(int(c) for c in around if int(c) != ink)
            assert ink in colours, (state, text.words)
            pair = (hex_luminance(f"#{ink:06X}"), hex_luminance(f"#{paper:06X}"))
            least = 4.5 if text.role is Role.SOFT else 7.0
            assert contrast(*pair) >= least, (state, text.words, f"{paper:06X}")

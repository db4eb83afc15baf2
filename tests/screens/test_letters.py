"""The shipped font is what the layout takes it for, and every letter is large enough to read.

Heights are angles at the eye. 20 minutes of arc is the least for anything that is read while
driving; 24, 40 and 90 are this project's own floors for actions, headlines and live numbers.
"""

import pytest
from fontTools.pens.boundsPen import BoundsPen
from fontTools.ttLib import TTFont
from kivy.core.text import Label

from cabapp.screens.lettering import (
    ASCENT_EM,
    BOLD,
    CAP_EM,
    DESCENT_EM,
    DIGIT_EM,
    SEMI,
    Face,
    picture,
    width_px,
)


@pytest.mark.parametrize("path", [BOLD, SEMI])
def test_the_font_files_carry_the_heights_the_layout_counts_on(path):
    font = TTFont(path)
    em = font["head"].unitsPerEm
    assert font["OS/2"].sCapHeight / em == CAP_EM
    assert font["hhea"].ascent / em == ASCENT_EM
    assert -font["hhea"].descent / em == DESCENT_EM
    bounds = BoundsPen(font.getGlyphSet())
    font.getGlyphSet()[font.getBestCmap()[ord("0")]].draw(bounds)
    assert (bounds.bounds[3] - bounds.bounds[1]) / em == pytest.approx(DIGIT_EM)


@pytest.mark.parametrize("path", [BOLD, SEMI])
def test_digits_are_all_equally_wide_so_numbers_do_not_jump(path):
    font = TTFont(path)
    advances = {font["hmtx"][font.getBestCmap()[ord(digit)]][0] for digit in "0123456789"}
    assert len(advances) == 1


def test_every_shown_speed_is_equally_wide_and_its_point_stays_where_it_is(cabin):
    page = cabin.page("10in-1280x800")
    face = page.speed.large.face
    widths = {width_px(f"{tenths / 10:.1f}", face) for tenths in range(100)}
    assert len(widths) == 1
    after_point = {width_px(f".{digit}", face) for digit in range(10)}
    assert max(after_point) - min(after_point) <= 1


@pytest.mark.parametrize("path", [BOLD, SEMI])
def test_every_letter_shown_is_in_the_font(path, seen):
    known = TTFont(path).getBestCmap()
    shown = {letter for view in seen.values() for text in view.texts for letter in text.words}
    assert {letter for letter in shown if ord(letter) not in known} == set()


def test_a_letter_stands_with_its_foot_on_the_line_it_was_given(cabin):
    for high in (31.0, 37.0, 62.0):
        face = Face(high)
        rows = bytes(picture("H", face).pixels)
        wide, tall = picture("H", face).size
        inked = [
            row for row in range(tall) if any(rows[row * wide * 4 + 3 : (row + 1) * wide * 4 : 4])
        ]
        top, foot = inked[0], inked[-1] + 1
        assert foot == pytest.approx(face.ascent_px, abs=1)
        assert foot - top >= high - 1


def test_the_toolkit_measures_words_as_the_layout_does(cabin):
    label = Label(text="ABOVE LAYER", font_name=BOLD, font_size=89)
    label.refresh()
    assert label.texture.width == width_px("ABOVE LAYER", Face(62))


def test_nothing_on_drive_is_below_twenty_minutes_of_arc(seen):
    for place, view in seen.items():
        small = [text.words for text in view.texts if view.arcmin(text) < 20]
        assert small == [], place


FLOORS = {
    ("SpeedTile", "large"): 90,
    ("DepthTile", "large"): 90,
    ("SpeedTile", "small"): 40,
    ("DepthTile", "small"): 40,
    ("BandTile", "headline"): 40,
    ("BandTile", "action"): 24,
    ("BandTile", "calm"): 24,
    ("SpeedTile", "lost_word"): 24,
    ("DepthTile", "lost_word"): 24,
}


def test_live_numbers_headline_and_action_keep_their_own_floors(seen):
    met = set()
    for place, view in seen.items():
        for text in view.texts:
            key = (text.tile, text.name)
            if key in FLOORS:
                met.add(key)
                assert view.arcmin(text) >= FLOORS[key], (*place, text.words)
    assert met == set(FLOORS)

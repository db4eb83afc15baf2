"""Where things stand: nothing overlaps or is cut, and targets fit a glove on any panel."""

from itertools import combinations

import pytest

from cabapp.screens.gallery import SCENES
from cabapp.screens.ruler import Kind, Layout, Panel, Refused, arrange, unmeasured
from tests.screens.ink_on_page import look, overlap

TEN = Panel(1280, 800, 217.5, 136.0, 900.0)
SEVEN = Panel(1024, 600, 153.4, 89.9, 700.0)

# Panels as they are sold by size of picture; the eye distance is the reader's.
OTHERS = {
    "12in-1280x800-900": (Panel(1280, 800, 261.0, 163.1, 900.0), Kind.LARGE),
    "12in-1920x1200-1050": (Panel(1920, 1200, 261.0, 163.1, 1050.0), Kind.LARGE),
    "10in-1280x800-700": (Panel(1280, 800, 217.5, 136.0, 700.0), Kind.LARGE),
    "9in-1280x800-700": (Panel(1280, 800, 190.0, 118.8, 700.0), Kind.LARGE),
    "8in-1280x800-700": (Panel(1280, 800, 172.0, 107.5, 700.0), Kind.SMALL),
    "10in-1920x1080-800": (Panel(1920, 1080, 223.0, 125.4, 800.0), Kind.LARGE),
    "10in-1024x600-700": (Panel(1024, 600, 222.7, 130.5, 700.0), Kind.LARGE),
    "7in-800x480-600": (Panel(800, 480, 153.6, 92.2, 600.0), Kind.SMALL),
}


def layout_at(panel: Panel) -> Layout:
    found = arrange(panel)
    assert isinstance(found, Layout), found
    return found


def test_the_two_design_panels_are_laid_out_as_drawn():
    ten, seven = layout_at(TEN), layout_at(SEVEN)
    assert (ten.kind, round(ten.scale, 3)) == (Kind.LARGE, 1.0)
    assert (seven.kind, round(seven.scale, 3)) == (Kind.SMALL, 0.882)
    assert layout_at(Panel(1920, 1200, 217.5, 136.0, 900.0)).scale == pytest.approx(1.5)


def test_ten_millimetres_are_ten_millimetres_on_the_design_panel():
    assert 10 * TEN.px_per_mm == pytest.approx(58.8, abs=1)


@pytest.mark.parametrize("name", OTHERS)
def test_other_panels_get_the_arrangement_that_keeps_text_at_its_angle(name):
    panel, kind = OTHERS[name]
    layout = layout_at(panel)
    assert layout.kind is kind
    text_mm = 31 * layout.scale / panel.px_per_mm
    assert text_mm / panel.eye_mm >= 31 / 5.884 / 900 * 0.995


@pytest.mark.parametrize(
    ("panel", "word"),
    [
        (Panel(1024, 600, 153.4, 89.9, 900.0), "nearer"),  # a small panel far away
        (Panel(1280, 800, 217.5, 136.0, 1100.0), "nearer"),
        (Panel(1280, 800, 217.5, 150.0, 900.0), "measure"),  # a ruler laid askew
        (Panel(480, 320, 73.0, 49.0, 600.0), "larger"),
    ],
)
def test_a_panel_that_cannot_be_read_from_there_is_refused_with_the_way_out(panel, word):
    found = arrange(panel)
    assert isinstance(found, Refused)
    assert word in found.reason


def test_the_small_page_beyond_seven_hundred_needs_a_signature():
    panel = Panel(1280, 800, 200.0, 125.0, 860.0)
    assert isinstance(arrange(panel), Refused)
    signed = arrange(panel, signed_beyond=True)
    assert isinstance(signed, Layout)
    assert signed.kind is Kind.SMALL


@pytest.mark.parametrize("size", [(1280, 800), (1024, 600), (1920, 1200), (800, 480), (1366, 768)])
def test_a_panel_nobody_measured_still_gets_a_whole_page(size):
    layout = unmeasured(*size)
    for slot in layout.slots.values():
        assert slot.x >= 0
        assert slot.right <= layout.wide + 0.5
        assert slot.bottom <= layout.high + 0.5


@pytest.mark.parametrize("panel_name", [*OTHERS, "10in", "7in"])
def test_slots_never_overlap_and_keep_their_margin(panel_name):
    named = {**{k: v[0] for k, v in OTHERS.items()}, "10in": TEN, "7in": SEVEN}
    layout = layout_at(named[panel_name])
    names = ["band", "speed", "springs", "depth", "menu", "field"]
    names += [] if layout.small else ["peg"]
    for one, two in combinations(names, 2):
        a, b = layout.slots[one], layout.slots[two]
        apart = a.right <= b.x or b.right <= a.x or a.bottom <= b.y or b.bottom <= a.y
        assert apart, (one, two)
    for name in names:
        slot = layout.slots[name]
        assert min(slot.x, slot.y, layout.wide - slot.right, layout.high - slot.bottom) > 23.9


def test_no_text_lies_on_another(seen):
    for place, view in seen.items():
        for one, two in combinations(view.texts, 2):
            assert not overlap(one.box, two.box), (*place, one.words, two.words)


def test_no_text_leaves_its_tile(seen):
    for place, view in seen.items():
        for text in view.texts:
            left, bottom, right, top = text.box
            x, y, far, high = text.tile_box
            inside = left >= x - 1 and right <= far + 1 and bottom >= y - 1 and top <= high + 1
            assert inside, (*place, text.words)


def test_no_text_is_wider_than_the_room_it_was_given(seen):
    for place, view in seen.items():
        for text in view.texts:
            if text.limit is not None:
                assert text.wide <= text.limit + 0.5, (*place, text.words)


def test_words_keep_clear_of_marks(seen):
    for place, view in seen.items():
        for mark in view.marks:
            for text in view.texts:
                if text.tile == mark.tile:
                    assert not overlap(mark.box, text.box), (*place, mark.name, text.words)


def test_every_target_fits_a_glove(seen):
    for place, view in seen.items():
        panel = view.layout.panel
        side, margin = 20.0 * panel.px_per_mm - 1, 4.0 * panel.px_per_mm - 2
        for name, area in view.targets.items():
            assert min(area.w, area.h) >= side, (*place, name)
            assert area.x >= margin, (*place, name)
            assert area.x + area.w <= panel.wide_px - margin, (*place, name)
            assert area.y >= margin, (*place, name)


def test_no_two_targets_are_within_a_slipped_finger_of_each_other(seen):
    for place, view in seen.items():
        gap = 6.0 * view.layout.panel.px_per_mm - 1
        # A tile that reads nothing is a target only while parked, and beside no other.
        keys = {n: a for n, a in view.targets.items() if not n.startswith("aside_")}
        for (one, a), (two, b) in combinations(keys.items(), 2):
            apart = max(a.x - b.x - b.w, b.x - a.x - a.w, a.y - b.y - b.h, b.y - a.y - a.h)
            assert apart >= gap, (*place, one, two, apart)


def test_quiet_is_the_whole_band_and_no_target_moves_between_states(seen, panel):
    places: dict[str, set] = {}
    for (on, _), view in seen.items():
        if on == panel and not view.fronted:
            for name, area in view.targets.items():
                places.setdefault(name, set()).add(area)
    assert all(len(areas) == 1 for areas in places.values())
    (quiet,) = places["quiet"]
    layout = next(view.layout for (on, _), view in seen.items() if on == panel)
    band = layout.slots["band"]
    assert (quiet.w, quiet.h) == (band.w * layout.scale, band.h * layout.scale)
    assert quiet.w >= 60 * layout.panel.px_per_mm


@pytest.mark.parametrize("name", ["9in-1280x800-700", "10in-1920x1080-800", "12in-1280x800-900"])
def test_pages_on_other_panels_have_no_overlap_either(cabin, name):
    page = cabin.stage.drive(layout_at(OTHERS[name][0]))
    for state in ("in-band", "and-more", "no-position", "out-of-use", "receiver-only"):
        cabin.stage.time += 60
        page.fresh()
        page.show(SCENES[state]())
        page.settle()
        view = look(page)
        for one, two in combinations(view.texts, 2):
            assert not overlap(one.box, two.box), (state, one.words, two.words)
        for area in view.targets.values():
            assert min(area.w, area.h) >= 20.0 * page.layout.panel.px_per_mm - 1

"""The number pad types what a person means, and nothing that can't be read again."""

import pytest

from cabapp.screens.ink import Tile
from cabapp.screens.keypad import DIGITS, HALVES, Keypad, Typed
from cabapp.screens.pictures import layout_of
from cabapp.screens.ruler import Rect
from cabapp.units import parse_number


def typed(*keys: str) -> str:
    pad = Typed()
    for key in keys:
        pad.press(key)
    return pad.text


@pytest.mark.parametrize(
    ("keys", "text"),
    [
        (("1", "3", "1/2"), "13 1/2"),
        (("1/4",), "1/4"),
        (("0", "1/2"), "1/2"),
        (("−", "2", "3/4"), "−2 3/4"),
        (("2", "−"), "−2"),
        (("−", "2", "−"), "2"),
        (("3", "4", ".", "5"), "34.5"),
        ((".", "5"), "0.5"),
        (("0", "7"), "7"),
        (("1", ".", ".", "2"), "1.2"),
        (("1", "1/2", "7"), "1 1/2"),
        (("1", ".", "5", "1/2"), "1.5"),
        (("1", "2", "back"), "1"),
        (("1", "3", "1/2", "back"), "13"),
        (("1", "2", "clear"), ""),
    ],
)
def test_keys_make_the_number_that_is_meant(keys, text):
    assert typed(*keys) == text


def test_whatever_is_typed_can_be_read_or_is_not_a_number_yet():
    import itertools

    keys = ("1", "0", ".", "−", "1/2", "back")
    unfinished = {"", "−", "-"}
    for length in range(1, 5):
        for combination in itertools.product(keys, repeat=length):
            text = typed(*combination)
            if text not in unfinished:
                parse_number(text)


def test_the_pad_on_a_page_fires_each_key_and_keeps_its_millimetres(cabin):
    layout = layout_of("10in-1280x800")
    tile = Tile(layout, Rect(0, 0, 1280, 800))
    seen: list[str] = []
    pad = Keypad(tile, layout, Rect(826, 134, 430, 412), seen.append)
    side = 15 * layout.panel.px_per_mm - 1
    assert len(pad.targets()) == len(DIGITS) + len(HALVES) + 1
    for target in pad.targets():
        assert target.area.w >= side
        assert target.area.h >= side
    next(t for t in pad.targets() if t.name == "pad 7").fire()
    next(t for t in pad.targets() if t.name == "pad 1/2").fire()
    assert seen == ["7", "7 1/2"]

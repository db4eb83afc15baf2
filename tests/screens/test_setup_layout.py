"""Every room and state of Set up on both panels: nothing is cut, small, overlapping or hard to hit.

Standing, a target is 15 mm on a large panel and 14 mm on a small one; letters keep the floor of
their panel.
"""

from collections.abc import Iterator
from itertools import combinations
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest

from cabapp.screens.lettering import CAP_EM, DIGIT_EM
from cabapp.screens.pages import setup_gallery as gallery
from tests.screens.ink_on_page import overlap, say_box
from tests.screens.setup_hands import Hands

PANELS = {"10in-1280x800": (88.0, 19.0), "7in-1024x600": (93.0, 21.0)}  # target px, letters px


@pytest.fixture(scope="module")
def shown(cabin: Any) -> Iterator[dict[tuple[str, str], tuple[Any, Any]]]:
    """Every scene of the gallery on each panel: its texts and its targets."""
    memory = Path("/dev/shm")
    found = {}
    for panel in PANELS:
        for name in gallery.SCENES_OF_SETUP:
            with TemporaryDirectory(dir=memory if memory.is_dir() else None) as folder:
                page = Hands(cabin, panel, Path(folder)).page
                gallery.present(page, name)
                says = [say for say in page.paper.over.says if say.text]
                texts = [(say.text, say_box(say), say.wide, say.limit, _high_px(say))
                         for say in says]  # fmt: skip
                targets = [(target.name, target.area) for target in page.targets()]
                found[panel, name] = texts, targets
    yield found


def _high_px(say: Any) -> float:
    return float(say.face.size_px * (DIGIT_EM if say.face.digits else CAP_EM))


def test_no_words_lie_on_others(shown: Any) -> None:
    for place, (texts, _) in shown.items():
        for one, two in combinations(texts, 2):
            assert not overlap(one[1], two[1]), (*place, one[0], two[0])


def test_no_words_are_cut_or_leave_the_panel(shown: Any) -> None:
    for place, (texts, _) in shown.items():
        wide, high = (1280, 800) if place[0].startswith("10") else (1024, 600)
        for words, box, length, limit, _ in texts:
            assert "…" not in words or words == "…", (*place, words)
            inside = box[0] >= 0 and box[1] >= 0 and box[2] <= wide and box[3] <= high
            assert inside, (*place, words)
            assert limit is None or length <= limit + 0.5, (*place, words)


def test_letters_keep_their_floor(shown: Any) -> None:
    for (panel, name), (texts, _) in shown.items():
        for words, *_, high in texts:
            assert high >= PANELS[panel][1] - 0.05, (panel, name, words, high)


def test_targets_fit_a_glove_and_stand_apart(shown: Any) -> None:
    for (panel, name), (_, targets) in shown.items():
        least = PANELS[panel][0]
        for one, area in targets:
            assert min(area.w, area.h) >= least - 0.5, (panel, name, one, area)
        for (one, a), (two, b) in combinations(targets, 2):
            boxes = ((t.x, t.y, t.x + t.w, t.y + t.h) for t in (a, b))
            assert not overlap(*boxes), (panel, name, one, two)

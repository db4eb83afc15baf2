"""What moves, how fast, and what never does."""

from itertools import pairwise

import numpy as np
import pytest

from cabapp.screens.gallery import SCENES
from cabapp.screens.motion import CHANGE_S, EASE_S, Glide, Numeral
from cabapp.screens.tiles.plate import PULSE_S, PULSES

LARGE = "10in-1280x800"


def test_a_pointer_eases_to_its_goal_in_a_quarter_second_and_never_overshoots():
    glide = Glide()
    glide.aim(0.0, 10.0)
    glide.aim(1.0, 11.0)
    path = [glide.at(11.0 + i * 0.01) for i in range(31)]
    assert path == sorted(path)
    assert path[0] == 0.0
    assert path[12] > 0.8  # most of the way in half of the time: it eases out
    assert glide.at(11.0 + EASE_S) == 1.0
    assert not glide.moving(11.0 + EASE_S)


def test_a_goal_that_changes_on_the_way_is_taken_up_where_the_pointer_is():
    glide = Glide()
    glide.aim(0.0, 0.0)
    glide.aim(1.0, 1.0)
    glide.aim(0.0, 1.1)
    assert glide.at(1.1) == pytest.approx(1 - (1 - 0.1 / EASE_S) ** 3)


def test_after_no_reading_the_pointer_does_not_glide_in_from_an_old_value():
    glide = Glide()
    glide.aim(0.2, 0.0)
    glide.forget()
    glide.aim(0.9, 5.0)
    assert glide.at(5.0) == 0.9


def test_a_number_changes_at_most_twice_a_second_and_the_last_change_is_not_lost():
    numeral = Numeral()
    shown = [numeral.read(5.0 + i * 0.11, 0.1, "key", i * 0.1) for i in range(30)]
    changes = sum(a != b for a, b in pairwise(shown))
    assert changes <= 6
    numeral.read(8.5, 0.1, "key", 4.0)
    numeral.read(9.0, 0.1, "key", 4.1)
    assert numeral.due == pytest.approx(4.5)
    assert numeral.read(9.0, 0.1, "key", numeral.due) == pytest.approx(9.0)


def test_a_number_on_the_border_of_two_digits_stands_still():
    numeral = Numeral()
    noise = [5.849, 5.851, 5.853, 5.848, 5.856]
    shown = {numeral.read(noise[i % 5], 0.1, "key", i * 1.0) for i in range(40)}
    assert len(shown) == 1


def test_a_change_of_state_or_unit_cuts_to_the_new_number_at_once():
    numeral = Numeral()
    numeral.read(5.8, 0.1, "mph", 0.0)
    assert numeral.read(9.3, 0.1, "km/h", 0.01) == pytest.approx(9.3)


def frames_of(cabin, page, seconds: float, step: float = 0.05) -> list[np.ndarray]:
    found = []
    for _ in range(round(seconds / step)):
        cabin.stage.time += step
        page.tick()
        cabin.frames(1)
        found.append(cabin.stage.pixels().astype(int))
    return found


def flips(series: list[float]) -> int:
    """How often a series steps from one level to another."""
    levels = np.array(series) > (max(series) + min(series)) / 2
    return int(np.sum(levels[1:] != levels[:-1]))


def test_the_act_frame_swaps_twice_a_second_and_the_words_stand_still(cabin):
    page = cabin.present(LARGE, "stop-shank")
    shots = frames_of(cabin, page, 2.0)
    margin = [float(shot[2:16, 60:1200].mean()) for shot in shots]
    assert flips(margin) in (7, 8)  # four swaps to solid and back in two seconds: 2 Hz
    band = [shot[30:178, 40:1240] for shot in shots]
    assert all(np.array_equal(band[0], other) for other in band[1:])


def test_a_quieted_act_keeps_its_frame_solid(cabin):
    page = cabin.present(LARGE, "stop-shank-quieted")
    shots = frames_of(cabin, page, 1.0)
    assert len({float(shot[2:16, 60:1200].mean()) for shot in shots}) == 1


def test_nothing_else_on_any_page_changes_by_itself(cabin):
    for state in ("in-band", "no-depth", "lifted", "receiver-only", "starting", "standing"):
        page = cabin.present(LARGE, state)
        shots = frames_of(cabin, page, 0.9, 0.3)
        assert all(np.array_equal(shots[0], other) for other in shots[1:]), state


def test_a_fresh_look_steps_its_frame_three_times_and_then_stands(cabin):
    page = cabin.present(LARGE, "in-band")
    cabin.stage.time += 10
    page.show(SCENES["too-fast"]())
    inks = []
    for _ in range(round(2.5 / 0.05)):
        cabin.stage.time += 0.05
        page.tick()
        inks.append(page.speed.edge.line.shapes[0].inner[0][0])
    assert flips(inks) <= 2 * PULSES
    assert flips(inks) >= 2 * PULSES - 1
    assert len(set(inks[round(PULSES * PULSE_S / 0.05) + 1 :])) == 1


def test_the_page_asks_for_no_frames_once_everything_has_arrived(cabin):
    page = cabin.present(LARGE, "in-band")
    cabin.stage.time += 1
    assert page.tick() is False


def test_a_held_back_number_is_shown_without_another_snapshot(cabin):
    page = cabin.present(LARGE, "in-band")
    first = page.speed.large.text
    cabin.stage.time += 0.1
    from dataclasses import replace

    scene = SCENES["in-band"]()
    page.show(replace(scene, speed=replace(scene.speed, value_mps=scene.speed.value_mps + 0.2)))
    page.show(replace(scene, speed=replace(scene.speed, value_mps=scene.speed.value_mps + 0.4)))
    second = page.speed.large.text
    cabin.stage.time += CHANGE_S
    page.tick()
    assert first != page.speed.large.text
    assert second != page.speed.large.text


def test_the_same_snapshot_again_touches_nothing(cabin):
    """Widgets are made once and only what differs is set: the same again costs no drawing."""
    page = cabin.present(LARGE, "two-alerts")
    tiles = page.tiles()
    before = [list(part.mesh.vertices) for tile in tiles for part in tile.parts]
    textures = [id(say.paper.texture) for tile in tiles for say in tile.says]
    count = len(page.canvas.children)
    for _ in range(3):
        cabin.stage.time += 60
        page.show(SCENES["two-alerts"]())
    page.settle()
    assert [list(part.mesh.vertices) for tile in tiles for part in tile.parts] == before
    assert [id(say.paper.texture) for tile in tiles for say in tile.says] == textures
    assert len(page.canvas.children) == count

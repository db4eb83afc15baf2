"""The pictures of every state can be written without a display."""

import os
import signal
import subprocess
import sys
import time

import numpy as np
from PIL import Image

from cabapp.outcome import Card, ShankState, TileState
from cabapp.screens.gallery import FRONTS, SCENES
from cabapp.screens.pictures import shoot
from cabapp.screens.stage import png
from cabapp.words import Level


def test_a_picture_file_is_read_by_others_as_it_was_drawn(tmp_path):
    dice = np.random.default_rng(7)
    pixels = dice.integers(0, 256, (40, 30, 3)).astype(np.uint8)
    path = tmp_path / "a.png"
    path.write_bytes(png(pixels))
    assert np.array_equal(np.asarray(Image.open(path).convert("RGB")), pixels)


def test_a_scene_is_shot_in_the_size_of_its_panel(cabin, tmp_path):
    page = cabin.page("7in-1024x600")
    path = shoot(cabin.stage, page, "stop-shank", False, tmp_path / "stop.png")
    picture = Image.open(path)
    assert picture.size == (1024, 600)
    assert picture.getpixel((100, 5)) in ((163, 0, 0), (255, 255, 255))
    assert picture.getpixel((500, 40)) == (163, 0, 0)


def test_the_gallery_holds_every_state_a_tile_can_be_in():
    shown = [scene() for scene in SCENES.values()]
    tiles = {state for s in shown for state in (s.speed.state, s.depth.state, s.springs.state)}
    assert tiles == set(TileState)
    assert {s.band.level for s in shown} == {None, Level.ACT, Level.LOOK, Level.NO_READING}
    assert {s.card.card for s in shown} == set(Card)
    assert {shank.state for s in shown for shank in s.springs.shanks} == set(ShankState)
    assert {scene for scene, _ in FRONTS.values()} <= set(SCENES)


def test_twelve_alerts_are_one_headline_two_chips_and_a_count(cabin):
    page = cabin.present("10in-1280x800", "and-more")
    band = page.band
    assert band.headline.text == "STOP"
    assert [row.word.text for row in band.chips] == ["DEPTH", "STONES"]
    assert band.more.text == "and 3 more"
    page = cabin.present("7in-1024x600", "and-more")
    assert page.band.more.text == "+5"


def test_a_plain_kill_ends_the_drawing_at_once_and_leaves_nothing_behind(tmp_path):
    command = [sys.executable, "-m", "cabapp", "demo", "--pictures", str(tmp_path / "drawn")]
    drawing = subprocess.Popen(
        command, env={**os.environ, "TMPDIR": str(tmp_path)},
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        while not list(tmp_path.glob("pictures-*")):
            assert drawing.poll() is None, drawing.communicate()[1]
            time.sleep(0.02)
        drawing.terminate()
        _, complaint = drawing.communicate(timeout=30)
    finally:
        drawing.kill()
    assert drawing.returncode == 128 + signal.SIGTERM
    assert "Traceback" not in complaint
    assert not list(tmp_path.glob("pictures-*"))

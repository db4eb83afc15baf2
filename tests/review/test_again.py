"""Judged again: from the track and from the capture, against the same and another band."""

from pathlib import Path

import pytest

from cabapp.record.reader import RunFileError
from cabapp.review.again import Bands, in_full, judged_again
from cabapp.review.shift import load_shift
from cabapp.review.sums import ALL
from tests.review.runs import capture, hand_made, row, two_passes

SAME = Bands((5 * 0.44704, 7 * 0.44704), (13 * 0.0254, 15 * 0.0254))


def test_the_same_band_from_the_track_gives_the_same_shares() -> None:
    shift = load_shift(two_passes())
    again = judged_again(shift, SAME)
    for thing, share in shift.sums.shares.items():
        assert again.sums.shares[thing].percents() == share.percents(), thing


def test_the_same_band_through_the_capture_gives_the_same_run(tmp_path: Path) -> None:
    full = load_shift(in_full(two_passes(), SAME, tmp_path / "again.gpkg"))
    assert full.sums.shares == load_shift(two_passes()).sums.shares
    assert capture().exists()


def test_a_faster_band_makes_the_same_speed_too_slow_and_leaves_unknown_alone() -> None:
    shift = load_shift(two_passes())
    again = judged_again(shift, Bands(speed_mps=(6.5 * 0.44704, 8 * 0.44704)))
    assert again.sums.shares["speed"].percents() == {
        "in": 0, "out": 100, "raised": 0, "hard": 0, "unknown": 0,
    }  # fmt: skip
    unknown = shift.sums.shares[ALL].areas_m2["unknown"]
    assert again.sums.shares[ALL].areas_m2["unknown"] == pytest.approx(unknown, rel=0.001)


def test_an_empty_band_is_refused() -> None:
    with pytest.raises(ValueError, match="turned round"):
        judged_again(load_shift(two_passes()), Bands(speed_mps=(3.0, 2.0)))


def test_without_a_capture_the_whole_is_refused_with_what_to_do(tmp_path: Path) -> None:
    alone = hand_made("alone.gpkg", [row(n) for n in range(5)])
    with pytest.raises(RunFileError, match="judge it from its track"):
        in_full(alone, SAME, tmp_path / "never.gpkg")

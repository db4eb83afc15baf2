"""Ground goes on after an interruption as if there had been none."""

import json

import pytest

from cabapp.ground.kept import keep, take_up
from cabapp.ground.pack import PackError
from cabapp.ground.worked import Worked
from tests.ground.test_worked import CENTRED, TOOL, Drive


def interrupted() -> tuple[Worked, Worked]:
    """Two passes, as they were and as they are taken up again from plain text."""
    drive = Drive()
    drive.north(0.0)
    drive.far_away()
    drive.north(4.0)
    kept = json.loads(json.dumps(keep(drive.worked)))
    return drive.worked, take_up(TOOL, CENTRED, kept)


def test_every_figure_is_the_same_to_the_digit() -> None:
    before, after = interrupted()
    assert after.gross_m2 == before.gross_m2
    assert after.net_m2 == before.net_m2
    assert after.passes == before.passes
    assert after.pass_ends == before.pass_ends
    assert after.edge_error_m == before.edge_error_m
    assert after.misses_m2() == before.misses_m2()


def test_what_is_worked_next_lies_beside_it_and_overlaps_it() -> None:
    _, after = interrupted()
    drive = Drive()
    drive.worked = after
    drive.now_s = 1000.0
    drive.north(8.0)
    drive.north(8.0)
    assert after.gross_m2 == pytest.approx(2_000.0, abs=1.0)
    assert after.net_m2 == pytest.approx(13.0 * 100.0, rel=0.01)
    assert len(after.passes) == 4


def test_nothing_of_it_can_be_withdrawn_as_a_lane() -> None:
    before, after = interrupted()
    assert not after.provisional
    assert after.withdraw(0.0) == 0.0
    assert after.gross_m2 == before.gross_m2


def test_before_any_work_there_is_nothing_to_keep() -> None:
    assert keep(Drive().worked) == {}
    assert take_up(TOOL, CENTRED, {}).gross_m2 == 0.0


@pytest.mark.parametrize("spoil", ["cells", "passes", "ends", "by_kind_m2"])
def test_spoiled_ground_is_refused_in_words(spoil: str) -> None:
    drive = Drive()
    drive.north(0.0)
    with pytest.raises(PackError, match="worked ground"):
        take_up(TOOL, CENTRED, {**keep(drive.worked), spoil: "torn"})

"""Worked ground as bytes: there and back, and refused when cut."""

import pytest

from cabapp.ground.pack import PackError, pack, unpack
from cabapp.ground.raster import Raster
from cabapp.ground.worked import Worked
from cabapp.readings import FixKind
from cabapp.rig import Receiver, Tool
from cabapp.trade.geodesy import LocalPlane


@pytest.fixture
def packed() -> tuple[Worked, bytes]:
    worked = Worked(Tool(width_m=5.0, hitch_back_m=3.0, lag_m=4.0), Receiver())
    for second in range(60):
        worked.fix(second, 52.0 + second * 2.5 / 111_270.0, 5.0, 0.0, second < 59, FixKind.FIXED)
    assert worked.raster is not None and worked.plane is not None
    return worked, pack(worked.raster, worked.plane)


def test_worked_ground_comes_back_cell_by_cell(packed: tuple[Worked, bytes]) -> None:
    worked, data = packed
    raster, plane = unpack(data)
    assert worked.raster is not None
    assert (plane, raster.area_m2) == (worked.plane, worked.net_m2)
    assert raster.tiles.keys() == worked.raster.tiles.keys()
    for x_m, y_m in ((0.0, 20.0), (2.4, 20.0), (2.8, 20.0), (0.0, 500.0)):
        assert raster.covered(x_m, y_m) == worked.raster.covered(x_m, y_m)


def test_a_pass_of_worked_ground_is_small(packed: tuple[Worked, bytes]) -> None:
    assert len(packed[1]) < 2_000


@pytest.mark.parametrize("spoil", ["cut", "head", "version", "words"])
def test_spoiled_bytes_are_refused_in_words(packed: tuple[Worked, bytes], spoil: str) -> None:
    data = packed[1]
    spoiled = {
        "cut": data[:-20],
        "head": data[10:],
        "version": data.replace(b'"version": 1', b'"version": 9'),
        "words": b"no ground at all",
    }[spoil]
    with pytest.raises(PackError, match="worked ground"):
        unpack(spoiled)


def test_a_head_that_promises_more_than_there_is_does_not_swell() -> None:
    empty = pack(Raster(0.0), LocalPlane.at(52.0, 5.0))
    greedy = empty.replace(b'"tiles": []', b'"tiles": [[0, 0], [0, 1]]')
    with pytest.raises(PackError, match="0 bytes of tiles"):
        unpack(greedy)

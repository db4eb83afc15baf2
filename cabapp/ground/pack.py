"""Worked ground as bytes, for the stored summary and for pictures without judging again.

One line of JSON (plane, turn and place of each tile), then the tiles' bits, row by row, deflated.
"""

import json
import zlib

import numpy as np

from cabapp.ground.raster import CELL_M, TILE, Raster, count
from cabapp.trade.geodesy import LocalPlane

VERSION = 1
_TILE_BYTES = TILE * TILE // 8


class PackError(ValueError):
    """Bytes that are no worked ground; says what was found."""


def pack(raster: Raster, plane: LocalPlane) -> bytes:
    """All tiles of a raster with the plane they lie on."""
    keys = sorted(raster.tiles)
    head = {
        "version": VERSION,
        "cell_m": CELL_M,
        "tile": TILE,
        "lat_deg": plane.lat_deg,
        "lon_deg": plane.lon_deg,
        "turn_rad": raster.turn_rad,
        "tiles": keys,
    }
    bits = b"".join(raster.tiles[key].tobytes() for key in keys)
    return json.dumps(head).encode() + b"\n" + zlib.compress(bits, 6)


def unpack(data: bytes) -> tuple[Raster, LocalPlane]:
    """The raster and its plane again; PackError if the bytes are cut or not ours."""
    head_line, _, packed = data.partition(b"\n")
    try:
        head = json.loads(head_line)
        if (head["version"], head["cell_m"], head["tile"]) != (VERSION, CELL_M, TILE):
            raise PackError(f"worked ground of version {head['version']}, expected {VERSION}")
        keys = [(int(row), int(column)) for row, column in head["tiles"]]
        wanted = len(keys) * _TILE_BYTES
        bits = zlib.decompressobj().decompress(packed, wanted + 1)
        plane = LocalPlane.at(head["lat_deg"], head["lon_deg"])
        raster = Raster(float(head["turn_rad"]))
    except (KeyError, TypeError, zlib.error, json.JSONDecodeError) as error:
        raise PackError(f"not worked ground: {error}") from None
    if len(bits) != wanted:
        raise PackError(f"worked ground holds {len(bits)} bytes of tiles, expected {wanted}")
    for index, key in enumerate(keys):
        part = np.frombuffer(bits, np.uint8, _TILE_BYTES, index * _TILE_BYTES)
        raster.tiles[key] = part.reshape(TILE, TILE // 8).copy()
    raster.cells = sum(count(tile) for tile in raster.tiles.values())
    return raster, plane

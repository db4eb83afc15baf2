"""Worked ground as plain values: after an interruption it goes on without being laid again.

Laying a long shift again takes seconds; this is made beside the driving path, and taken up in an
instant on it.
"""

import base64
import binascii
from collections.abc import Mapping
from typing import Any

from cabapp.ground.pack import PackError, pack, unpack
from cabapp.ground.passes import Pass
from cabapp.ground.worked import Worked
from cabapp.readings import FixKind
from cabapp.rig import Receiver, Tool


def keep(worked: Worked) -> dict[str, object]:
    """All that counts of a shift's ground so far, for JSON; {} before any work."""
    if worked.raster is None or worked.plane is None:
        return {}
    return {
        "cells": base64.b64encode(pack(worked.raster, worked.plane)).decode("ascii"),
        "by_kind_m2": {kind.value: area for kind, area in worked.by_kind.items()},
        "passes": [
            [one.start_s, one.end_s, one.length_m, one.gross_m2, one.new_m2]
            for one in worked.passes
        ],
        "ends": [list(end) for end in worked.pass_ends],
    }


def take_up(tool: Tool, receiver: Receiver, kept: Mapping[str, Any]) -> Worked:
    """The same ground again, none of it provisional; PackError if ``kept`` is none of ours."""
    worked = Worked(tool, receiver)
    worked.keep()
    if not kept:
        return worked
    try:
        raster, plane = unpack(base64.b64decode(kept["cells"], validate=True))
        by_kind = {FixKind(kind): float(area) for kind, area in kept["by_kind_m2"].items()}
        passes = [Pass(0, *map(float, one)) for one in kept["passes"]]
        ends = [(int(number), float(x_m), float(y_m)) for number, x_m, y_m in kept["ends"]]
    except (KeyError, TypeError, ValueError, AttributeError, binascii.Error) as error:
        raise PackError(f"not worked ground: {error}") from None
    worked.take_up(plane, raster, by_kind, passes, ends)
    return worked

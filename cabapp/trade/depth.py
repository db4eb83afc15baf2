"""The depth to set; with it, under one name, how depth is read, adjusted and learned.

Reading it off the frame: ``plane.py``. Adjusting to it: ``adjuster.py`` and ``response.py``.
"""

from cabapp.rig import AdjusterKind
from cabapp.trade.adjuster import (
    Adjuster,
    Advice,
    Direction,
    advice_text,
    advise,
    finish_text,
    steps_text,
)
from cabapp.trade.plane import LYING_M, LYING_SOURCE, PlacedDepth, Plane, ToolDepth, fit_plane
from cabapp.trade.refuse import DEEPEST_M, need_between, need_not_negative, need_positive
from cabapp.trade.response import Dig, Response, WrongWay, learn_response, with_response
from cabapp.trade.sources import COMMON_PRACTICE, NRCS_324, PENN_STATE_COMPACTION
from cabapp.units import INCH_M

__all__ = [
    "DISC_DEPTH_M",
    "DISC_DEPTH_SOURCE",
    "LYING_M",
    "LYING_SOURCE",
    "MARGIN_SOURCES",
    "Adjuster",
    "AdjusterKind",
    "Advice",
    "Dig",
    "Direction",
    "PlacedDepth",
    "Plane",
    "Response",
    "ToolDepth",
    "WrongWay",
    "advice_text",
    "advise",
    "finish_text",
    "fit_plane",
    "learn_response",
    "steps_text",
    "target_depth_m",
    "with_response",
]

MARGIN_SOURCES = (PENN_STATE_COMPACTION, NRCS_324)
DISC_DEPTH_M = (2 * INCH_M, 6 * INCH_M)
DISC_DEPTH_SOURCE = COMMON_PRACTICE


def target_depth_m(layer_bottom_m: float, margin_m: float = INCH_M) -> float:
    """The depth to set the points at: the bottom of the layer and a margin below it.

    ValueError for a bottom not above zero, a negative margin, or a sum no shank reaches. One
    inch under the layer is common practice, also in Penn State Extension and USDA-NRCS practice
    standard 324 (seen).
    """
    need_positive("layer_bottom_m", layer_bottom_m, "dig until the bottom of the layer is seen")
    need_not_negative("margin_m", margin_m, "give how far below the layer the points shall run")
    mend = "give depths in metres, not centimetres or inches"
    return need_between("target depth", layer_bottom_m + margin_m, 0.0, DEEPEST_M, mend)

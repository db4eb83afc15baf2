"""The draft table of ASABE D497 in SI units, row by row, with how each was had.

SI is the master. The standard's US columns are rounded on their own and differ by up to 4 %, so
people's units are made by converting the result, never by a second table. There is no row for a
combination tool: its parts are summed.
"""

from dataclasses import dataclass
from enum import Enum

from cabapp.trade.sources import D497_COPY, D497_MEMORY, Provenance, Source


class Soil(Enum):
    """Texture groups of the table."""

    FINE = "fine"  # clay
    MEDIUM = "medium"  # loam
    COARSE = "coarse"  # sand


class Per(Enum):
    """What the row's draft is counted by."""

    TOOL = "tool"
    METRE = "metre of width"


@dataclass(frozen=True)
class DraftRow:
    """One row: draft = F (A + B S + C S^2) W T, S in km/h, T in cm, W tools or metres.

    ``minor`` rows have no depth in them (T = 1). ``plus_minus`` is the range the table gives, a
    ratio. It is wide: good for planning, never for an alarm.
    """

    name: str
    per: Per
    a: float
    b: float
    c: float
    fine: float
    medium: float
    coarse: float
    plus_minus: float
    source: Source
    minor: bool = False
    note: str = ""

    def soil_factor(self, soil: Soil) -> float:
        """F of the row for a soil group."""
        return {Soil.FINE: self.fine, Soil.MEDIUM: self.medium, Soil.COARSE: self.coarse}[soil]

    @property
    def from_memory(self) -> bool:
        """True when any number of the row still has to be looked up."""
        return self.source.provenance is Provenance.MEMORY


_TOOL, _METRE = Per.TOOL, Per.METRE
_RIP, _DISC, _TINE = (1.0, 0.70, 0.45), (1.0, 0.88, 0.78), (1.0, 0.85, 0.65)
_SAME = (1.0, 1.0, 1.0)
_CHISEL_NOTE = "A, B and C read in a worked example; soil factors and range from memory"

ROWS: dict[str, DraftRow] = {
    "subsoiler_narrow": DraftRow(
        "subsoiler, narrow point", _TOOL, 226, 0, 1.8, *_RIP, 0.50, D497_COPY
    ),
    "subsoiler_winged": DraftRow(
        "subsoiler, 30 cm winged point", _TOOL, 294, 0, 2.4, *_RIP, 0.50, D497_COPY
    ),
    "tandem_primary": DraftRow(
        "tandem disk harrow, primary", _METRE, 309, 16.0, 0, *_DISC, 0.50, D497_COPY
    ),
    "tandem_secondary": DraftRow(
        "tandem disk harrow, secondary", _METRE, 216, 11.2, 0, *_DISC, 0.30, D497_COPY
    ),
    "offset_primary": DraftRow(
        "offset disk harrow, primary", _METRE, 364, 18.8, 0, *_DISC, 0.50, D497_COPY
    ),
    "offset_secondary": DraftRow(
        "offset disk harrow, secondary", _METRE, 254, 13.2, 0, *_DISC, 0.30, D497_COPY
    ),
    "gang_primary": DraftRow(
        "single disk gang, primary", _METRE, 124, 6.4, 0, *_DISC, 0.25, D497_COPY
    ),
    "gang_secondary": DraftRow(
        "single disk gang, secondary", _METRE, 86, 4.5, 0, *_DISC, 0.20, D497_COPY
    ),
    "cultivator_primary": DraftRow(
        "field cultivator, primary", _TOOL, 46, 2.8, 0, *_TINE, 0.30, D497_COPY
    ),
    "cultivator_secondary": DraftRow(
        "field cultivator, secondary", _TOOL, 32, 1.9, 0, *_TINE, 0.25, D497_COPY
    ),
    "moldboard": DraftRow("moldboard plow", _METRE, 652, 0, 5.1, *_RIP, 0.40, D497_COPY),
    "chisel_straight": DraftRow(
        "chisel plow, 5 cm straight point",
        _TOOL, 91, 5.4, 0, *_TINE, 0.50, D497_MEMORY, note=_CHISEL_NOTE,
    ),
    "chisel_shovel": DraftRow(
        "chisel plow, 7.5 cm shovel or 35 cm sweep",
        _TOOL, 107, 6.3, 0, *_TINE, 0.50, D497_MEMORY,
    ),
    "chisel_twisted": DraftRow(
        "chisel plow, 10 cm twisted shovel", _TOOL, 123, 7.3, 0, *_TINE, 0.50, D497_MEMORY
    ),
    "coulter_smooth": DraftRow(
        "coulter, smooth or ripple", _TOOL, 55, 2.7, 0, *_DISC, 0.25, D497_MEMORY
    ),
    "coulter_fluted": DraftRow(
        "coulter, bubble or flute", _TOOL, 66, 3.3, 0, *_DISC, 0.25, D497_MEMORY
    ),
    "harrow_coil": DraftRow(
        "coil-tine harrow", _METRE, 250, 0, 0, *_SAME, 0.20, D497_MEMORY, minor=True
    ),
    "harrow_spike": DraftRow(
        "spike-tooth harrow or rotary hoe",
        _METRE, 600, 0, 0, *_SAME, 0.30, D497_MEMORY, minor=True,
    ),
    "harrow_spring": DraftRow(
        "spring-tooth harrow", _METRE, 2000, 0, 0, *_SAME, 0.35, D497_MEMORY, minor=True
    ),
    "roller_packer": DraftRow(
        "roller-packer", _METRE, 600, 0, 0, *_SAME, 0.50, D497_MEMORY, minor=True,
        note="nearest row to a rolling basket",
    ),
    "roller_harrow": DraftRow(
        "roller-harrow", _METRE, 2600, 0, 0, *_SAME, 0.50, D497_MEMORY, minor=True
    ),
}  # fmt: skip

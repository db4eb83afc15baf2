"""A combination tool as rows of the draft table: none is for the whole, so its parts are summed."""

from cabapp.rig import FinishKind, Tool
from cabapp.trade.draft import Part
from cabapp.trade.draft_rows import ROWS
from cabapp.units import INCH_M

DISC_FRONT_M = 4 * INCH_M  # usual depth of the front gangs, where nobody measured it
DISC_REAR_M = 3 * INCH_M
FINISH_ROW = {FinishKind.BASKET: "roller_packer", FinishKind.HARROW: "harrow_coil"}


def parts_of(tool: Tool, depth_m: float) -> list[Part]:
    """Shanks at ``depth_m``, gangs, levelling discs and finish. Rows: ASABE D497."""
    row = ROWS["subsoiler_winged" if tool.winged else "subsoiler_narrow"]
    parts = [Part(row, max(len(tool.shanks), 1), depth_m)]
    if tool.front_gangs:
        parts.append(Part(ROWS["gang_primary"], tool.front_gangs * tool.width_m, DISC_FRONT_M))
    if tool.rear_gangs:
        parts.append(Part(ROWS["gang_secondary"], tool.rear_gangs * tool.width_m, DISC_REAR_M))
    if tool.finish in FINISH_ROW:
        parts.append(Part(ROWS[FINISH_ROW[tool.finish]], tool.width_m, 0.0))
    return parts

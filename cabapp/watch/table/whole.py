"""The rule table: every rule the cab judges, one row each, with its default figures.

A file here is what one part of the machine is judged by: how a value is taken from the moment,
and the rows over it. All delays, metres and shares are field judgement with no printed source
unless a comment names one. A rig's limits and the day's plan bring the bands.
"""

from cabapp.rig import Rig
from cabapp.watch.rules import Row
from cabapp.watch.table.depth import depth_rows, level_rows
from cabapp.watch.table.ground import ground_rows, slip_rows
from cabapp.watch.table.notes import note_rows
from cabapp.watch.table.readings import reading_rows
from cabapp.watch.table.speed import speed_rows
from cabapp.watch.table.springs import spring_rows


def rule_table(rig: Rig) -> tuple[Row, ...]:
    """Every row that exists on this rig: rows whose sensors are not fitted are left out."""
    rows = (
        *ground_rows(),
        *spring_rows(rig.limits.spring_high),
        *slip_rows(rig),
        *reading_rows(),
        *depth_rows(),
        *level_rows(rig.limits.level_live_m),
        *speed_rows(),
        *note_rows(),
    )
    return tuple(row for row in rows if all(rig.fitted(family) for family in row.needs))

"""What is wrong with the entries themselves, before any curve is laid through them."""

import math
from collections.abc import Iterator
from itertools import pairwise

from cabapp.fitup.findings import Fault, Finding, finding
from cabapp.fitup.mistype import find_mistyped
from cabapp.fitup.points import Place, Row, usable
from cabapp.fitup.task import Task


def entry_findings(rows: tuple[Row, ...], task: Task) -> tuple[Finding, ...]:
    """Wire faults and unbelievable figures first; then, where all is sound, twins and slips."""
    live = usable(rows)
    broken = tuple(_broken_wires(live, task))
    if broken:
        return broken
    found = list(_not_believable(live, task))
    shed = usable(rows, Place.SHED)
    found += [*_twins(shed, task), *_same_signals(shed, task), *_clearance_signs(rows)]
    slips = find_mistyped(shed, task.off, task.measure)
    found += slips
    if not slips:
        found += _turns_back(shed, task)
    return tuple(found)


def believable(known: float, task: Task) -> Finding | None:
    """A typed known value checked at once: None if it can be right."""
    if math.isfinite(known) and task.least <= known <= task.most:
        return None
    text = task.measure.text
    return finding(
        Fault.NOT_BELIEVABLE,
        found=text(known),
        least=text(task.least),
        most=text(task.most),
    )


def _broken_wires(rows: tuple[Row, ...], task: Task) -> Iterator[Finding]:
    for row in rows:
        for take in row.takes:
            if not math.isfinite(take.signal):
                yield finding(Fault.NO_NUMBER, rows=(row.number,))
            elif not task.wire.is_sound(take.signal):
                yield finding(
                    Fault.WIRE,
                    rows=(row.number,),
                    found=task.signal.text(take.signal),
                    least=task.signal.number(task.wire.least),
                    most=task.signal.text(task.wire.most),
                )


def _not_believable(rows: tuple[Row, ...], task: Task) -> Iterator[Finding]:
    for row in rows:
        found = believable(row.known, task)
        if found is not None:
            yield Finding(found.fault, found.what, found.mend, (row.number,))


def _twins(rows: tuple[Row, ...], task: Task) -> Iterator[Finding]:
    """Two rows of one value: only a fault where their signals are not the same too."""
    for first, second in pairwise(sorted(rows, key=lambda row: row.known)):
        same_value = abs(first.known - second.known) < 0.1 * task.off
        if same_value and abs(first.mean_signal - second.mean_signal) > task.wire.still_span:
            yield finding(Fault.TWINS, rows=(first.number, second.number))


def _same_signals(rows: tuple[Row, ...], task: Task) -> Iterator[Finding]:
    """Neighbours whose values differ by more than is allowed and whose signals do not."""
    for first, second in pairwise(sorted(rows, key=lambda row: row.mean_signal)):
        apart = abs(first.mean_signal - second.mean_signal)
        values_apart = abs(first.known - second.known)
        same_signal = apart <= 0.1 * task.wire.still_span and values_apart > task.off
        if same_signal or (apart == 0 and values_apart > 0):
            yield finding(Fault.SAME_SIGNAL, rows=(first.number, second.number))


def _turns_back(rows: tuple[Row, ...], task: Task) -> Iterator[Finding]:
    """Where the signal goes the other way while the value goes on."""
    ordered = sorted(rows, key=lambda row: row.known)
    if len(ordered) < 3:
        return
    way = math.copysign(1.0, ordered[-1].mean_signal - ordered[0].mean_signal)
    for before, after in pairwise(ordered):
        if way * (after.mean_signal - before.mean_signal) < -task.wire.still_span:
            yield finding(Fault.NOT_MONOTONIC, rows=(after.number,))


def _clearance_signs(rows: tuple[Row, ...]) -> Iterator[Finding]:
    """Clearances typed without their minus: the shed then runs the other way than the slots."""
    shed, slots = usable(rows, Place.SHED), usable(rows, Place.SLOT)
    if len(shed) < 3 or not slots or min(row.known for row in shed) < 0:
        return
    lowest, highest = min(shed, key=_known), max(shed, key=_known)
    deepest = max(slots, key=_known)
    shed_way = highest.mean_signal - lowest.mean_signal
    slot_way = deepest.mean_signal - lowest.mean_signal
    if deepest.known > 0 and shed_way * slot_way < 0:
        raised = tuple(row.number for row in shed if row.known > 0)
        yield finding(Fault.SIGN, rows=raised)


def _known(row: Row) -> float:
    return row.known

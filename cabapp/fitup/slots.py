"""Dug slots: the field offset and its spread, since wheels sink where concrete does not give."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from cabapp.curve import Curve
from cabapp.fitup.findings import Fault, Finding, exceeds, finding
from cabapp.fitup.fits import slope_of
from cabapp.fitup.mistype import name_slip
from cabapp.fitup.points import Place, Row, usable
from cabapp.fitup.task import SINK_MOST_M, SLOT_DEPTHS_APART_M, Task

TAPE_MIX = (2.54, 1 / 2.54)  # slope of slots on shed where one was read in cm, one in inches
TAPE_MIX_WITHIN = 0.12


@dataclass(frozen=True)
class SlotProof:
    """``offset`` (SI, added last) is the slots' mean above the shed curve; None without slots.

    ``spread`` is the standard deviation of the slots about it (n - 1), None with fewer than two.
    ``off`` holds what each slot is off after the offset.
    """

    offset: float | None
    spread: float | None
    off: tuple[tuple[int, float], ...]
    findings: tuple[Finding, ...]


def prove_slots(rows: tuple[Row, ...], shed_curve: Curve, task: Task) -> SlotProof:
    """Judge the slots against the shed's curve; a sensor not used in soil needs none."""
    slots = usable(rows, Place.SLOT)
    if not slots:
        missing = (finding(Fault.NO_SLOTS),) if task.in_field else ()
        return SlotProof(None, None, (), missing)
    above = {row.number: row.known - shed_curve.value(row.mean_signal) for row in slots}
    slips = tuple(_slips(slots, above, shed_curve, task))
    kept = tuple(row for row in slots if all(row.number not in slip.rows for slip in slips))
    offset = math.fsum(above[row.number] for row in kept) / len(kept)
    kept_off = tuple((row.number, above[row.number] - offset) for row in kept)
    off = tuple((number, value - offset) for number, value in above.items())
    squares = math.fsum(value**2 for _, value in kept_off)
    spread = math.sqrt(squares / (len(kept) - 1)) if len(kept) > 1 else None
    found = _slot_findings(kept, shed_curve, above, kept_off, task)
    return SlotProof(offset, spread, off, (*slips, *found))


def _slips(
    slots: tuple[Row, ...], above: dict[int, float], curve: Curve, task: Task
) -> Iterator[Finding]:
    """A slot that no sinking explains, while every other agrees with the rest and can be right."""
    for row in slots:
        others = [value for number, value in above.items() if number != row.number]
        if (
            not others
            or max(map(abs, others)) > SINK_MOST_M
            or abs(above[row.number]) <= SINK_MOST_M
        ):
            continue
        offset = math.fsum(others) / len(others)
        rest_off = max(abs(value - offset) for value in others)
        if rest_off <= task.slot_off:
            said = curve.value(row.mean_signal) + offset
            signal = row.mean_signal + (row.known - said) / slope_of(curve)
            yield name_slip(row, said, signal, rest_off, task.slot_off, task.measure)


def _slot_findings(
    slots: tuple[Row, ...],
    curve: Curve,
    above: dict[int, float],
    off: tuple[tuple[int, float], ...],
    task: Task,
) -> list[Finding]:
    known = [row.known for row in slots]
    found = []
    if max(known) - min(known) < SLOT_DEPTHS_APART_M:
        found.append(
            finding(Fault.SLOTS_AT_ONE_DEPTH, needed=task.measure.text(SLOT_DEPTHS_APART_M))
        )
    worst, size = max(off, key=lambda pair: abs(pair[1]))
    slope = _slope_on_shed(slots, curve)
    if abs(size) > task.slot_off and slope is not None and _is_tape_mix(slope):
        # Which of the two it was cannot be told from the slope alone.
        found.append(
            finding(
                Fault.OTHER_UNIT,
                where="slots or shed",
                slip="centimetres and inches mixed",
                expected=f"Slots go {slope:.2f} deep for 1 in the shed",
            )
        )
    elif abs(size) > task.slot_off:
        found += _spread_findings(worst, size, slope, task)
    far = max((row.number for row in slots), key=lambda number: abs(above[number]))
    if not found and abs(above[far]) > SINK_MOST_M:
        text = task.measure.text(abs(above[far]))
        found.append(finding(Fault.SLOT_FAR, rows=(far,), where=str(far), found=text))
    return found


def _spread_findings(worst: int, size: float, slope: float | None, task: Task) -> list[Finding]:
    found = [exceeds(Fault.SLOT_SPREAD, abs(size), task.slot_off, task.measure, worst, str(worst))]
    if slope is not None and abs(slope - 1) > 0.1:
        found.append(finding(Fault.SLOT_SLOPE, found=f"{slope:.2f}"))
    return found


def _slope_on_shed(slots: tuple[Row, ...], curve: Curve) -> float | None:
    """Least-squares slope of dug depth on shed depth: 1 where both tapes agree."""
    x = [curve.value(row.mean_signal) for row in slots]
    y = [row.known for row in slots]
    mean_x, mean_y = math.fsum(x) / len(x), math.fsum(y) / len(y)
    spread = math.fsum((value - mean_x) ** 2 for value in x)
    if spread < (SLOT_DEPTHS_APART_M / 4) ** 2:
        return None
    return math.fsum((a - mean_x) * (b - mean_y) for a, b in zip(x, y, strict=True)) / spread


def _is_tape_mix(slope: float) -> bool:
    return any(abs(slope / mix - 1) < TAPE_MIX_WITHIN for mix in TAPE_MIX)

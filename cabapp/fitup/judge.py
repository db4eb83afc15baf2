"""Judging a calibration: by what it is off in the person's unit, by play, repeats and pattern.

R squared is reported and never judged: a bent load cell reaches 0.99998 with a straight line.
"""

import math
from dataclasses import dataclass, replace
from enum import Enum

from cabapp.curve import Curve, CurveKind
from cabapp.fitup.entries import entry_findings
from cabapp.fitup.findings import Fault, Finding, Weight, exceeds, finding
from cabapp.fitup.fits import LEAST_ROWS, Fit, fit, slope_of, turns_within
from cabapp.fitup.least_squares import fit_polynomial
from cabapp.fitup.play import Play, measure_play
from cabapp.fitup.points import Place, Row, pairs, usable
from cabapp.fitup.slots import SlotProof, prove_slots
from cabapp.fitup.task import BEYOND_SHARE, LEAST_TAKEN, UNPROVEN_IN_SOIL_M, Task

# A bend is called one where the next power is beyond chance (5 standard errors), takes more than
# half of the residual variance away, and what it leaves is a twentieth of what is allowed or more:
# a fine sensor is not refused for a trifle (field judgement).
BEND_STANDARD_ERRORS = 5.0
BEND_SD_RATIO = 1.5
BEND_SHARE_OF_ALLOWED = 0.05


class Verdict(Enum):
    """How far a calibration may be trusted."""

    REFUSED = "refused"
    UNPROVEN = "unproven"  # may be used; what was not proven is named
    PROVEN = "proven"


@dataclass(frozen=True)
class Judgement:
    """A judged calibration; ``curve`` is None where the points could not be fitted at all.

    ``off`` holds (row number, known minus curve in SI) for every take in the fit, for slots after
    their offset and for proof points. ``bend`` is the next power's size in standard errors.
    """

    kind: CurveKind
    verdict: Verdict
    findings: tuple[Finding, ...]
    curve: Curve | None = None
    off: tuple[tuple[int, float], ...] = ()
    play: Play | None = None
    slots: SlotProof | None = None
    residual_sd: float | None = None
    r_squared: float | None = None
    bend: float | None = None

    def off_of(self, row: int) -> float | None:
        """The largest distance of a row's takes from the curve, with its sign; None if unknown."""
        offs = [off for number, off in self.off if number == row]
        return max(offs, key=abs) if offs else None


def judge(rows: tuple[Row, ...], task: Task, kind: CurveKind) -> Judgement:
    """Fit one shape and judge it; every fault that can be told is in ``findings``.

    A row that looks mistyped refuses the calibration, and the curve is laid through the others, so
    that the picture shows how far off it is.
    """
    found = [*entry_findings(rows, task), *_too_few(rows, kind)]
    shed = _without(usable(rows, Place.SHED), _suspects(found))
    if any(f.fault in UNFITTABLE for f in found) or len(shed) < LEAST_ROWS[kind]:
        return Judgement(kind, Verdict.REFUSED, tuple(found))
    fitted = fit(shed, kind)
    play = measure_play(shed, abs(slope_of(fitted.curve)), task)
    bend, bend_findings = _bend(shed, fitted, task)
    slots = prove_slots(rows, fitted.curve, task)
    suspects = _suspects([*found, *slots.findings])
    counted = _without(usable(rows, Place.SHED, Place.SLOT), suspects)
    curve = _proven_range(fitted.curve, counted, slots)
    proof_off, proof_findings = _proof(rows, counted, curve, task)
    found += [*_shape_findings(fitted, task), *bend_findings, *play.findings, *slots.findings]
    found += [*_beyond(counted, task), *proof_findings]
    off = fitted.off + slots.off + proof_off
    return Judgement(
        kind,
        _verdict(found),
        _worst_first(_unexplained(found)),
        replace(curve, proven_error=_proven_error(off, suspects, slots, task)),
        off + _off_of(usable(rows), suspects, curve),
        play,
        slots,
        fitted.squares.residual_sd if fitted.squares else None,
        fitted.squares.r_squared if fitted.squares else None,
        bend,
    )


UNFITTABLE = frozenset({Fault.NO_NUMBER, Fault.WIRE, Fault.TOO_FEW, Fault.SAME_SIGNAL})
# One fact, one finding: what the first explains is not said again.
SLOT_FAULTS = frozenset({Fault.SLOT_SPREAD, Fault.SLOT_SLOPE, Fault.SLOT_FAR, Fault.VERIFY_OFF})
EXPLAINS: dict[Fault, frozenset[Fault]] = {
    Fault.SIGN: SLOT_FAULTS | {Fault.REVERSED, Fault.OTHER_UNIT, Fault.BEYOND},
    Fault.OTHER_UNIT: SLOT_FAULTS | {Fault.NOT_BELIEVABLE},
    Fault.MISTYPED: frozenset({Fault.NOT_BELIEVABLE}),
    Fault.CURVED: frozenset({Fault.SCATTER}),
    Fault.NOT_MONOTONIC: frozenset({Fault.SCATTER, Fault.CURVED}),
}


def _unexplained(found: list[Finding]) -> list[Finding]:
    explained = {fault for f in found for fault in EXPLAINS.get(f.fault, frozenset())}
    return [f for f in found if f.fault not in explained]


def _worst_first(found: list[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(found, key=lambda f: list(Weight).index(f.weight)))


def _suspects(found: list[Finding]) -> set[int]:
    return {row for f in found if f.suggestion is not None for row in f.rows}


def _without(rows: tuple[Row, ...], numbers: set[int]) -> tuple[Row, ...]:
    return tuple(row for row in rows if row.number not in numbers)


def _off_of(
    rows: tuple[Row, ...], numbers: set[int], curve: Curve
) -> tuple[tuple[int, float], ...]:
    """How far suspected shed rows lie off the curve of the others (slots have theirs already)."""
    return tuple(
        (row.number, row.known - curve.value(take.signal) + curve.offset)
        for row in rows
        if row.number in numbers and row.place is Place.SHED
        for take in row.takes
    )


def judge_simplest(rows: tuple[Row, ...], task: Task) -> Judgement:
    """The simplest shape that is not refused; the straight line's judgement where none is."""
    tried = [judge(rows, task, kind) for kind in CurveKind]
    return next((j for j in tried if j.verdict is not Verdict.REFUSED), tried[0])


def _too_few(rows: tuple[Row, ...], kind: CurveKind) -> list[Finding]:
    """Counted by different values and signals: the same point twice is one point."""
    shed, slots = usable(rows, Place.SHED), usable(rows, Place.SLOT)
    different = min(len({row.known for row in shed}), len({row.mean_signal for row in shed}))
    taken = different + len(slots)
    missing = max(LEAST_ROWS[kind] - different, LEAST_TAKEN - taken, 0)
    if not missing:
        return []
    return [
        finding(Fault.TOO_FEW, found=str(taken), needed=str(taken + missing), missing=str(missing))
    ]


def _shape_findings(fitted: Fit, task: Task) -> list[Finding]:
    shape = []
    slope = slope_of(fitted.curve)
    if task.expected_slope and slope * task.expected_slope < 0:
        expected = "more" if task.expected_slope > 0 else "less"
        shape.append(finding(Fault.REVERSED, expected=expected))
    if turns_within(fitted.curve):
        shape.append(finding(Fault.FIT_TURNS))
    row, off = fitted.worst
    if off > task.off:
        fault = Fault.GAP if fitted.curve.kind is CurveKind.MONOTONE else Fault.SCATTER
        shape.append(exceeds(fault, off, task.off, task.measure, row))
    return shape


def _bend(shed: tuple[Row, ...], fitted: Fit, task: Task) -> tuple[float | None, list[Finding]]:
    """Whether the residuals carry a pattern that the next power explains."""
    if fitted.squares is None:
        return None, []
    signals, known, _ = pairs(shed)
    degree = len(fitted.squares.coefficients)
    if len(set(signals)) < degree + 2 or len(shed) < degree + 2:
        return None, []
    bent = fit_polynomial(signals, known, degree)
    error = bent.residual_sd * math.hypot(*bent.scaled_root[degree])
    size = abs(bent.scaled[degree]) / error if error > 0 else math.inf
    beyond_chance = (
        size >= BEND_STANDARD_ERRORS
        and fitted.squares.residual_sd >= BEND_SD_RATIO * bent.residual_sd
    )
    trifle = fitted.worst[1] < BEND_SHARE_OF_ALLOWED * task.off
    if not beyond_chance or trifle or degree > 2:  # a line has its remedy in the curve
        return size, []
    rest = task.measure.text(max(map(abs, bent.residuals)))
    return size, [finding(Fault.CURVED, rest=rest)]


def _proven_range(curve: Curve, counted: tuple[Row, ...], slots: SlotProof) -> Curve:
    """The curve with its field offset, proven from the outermost points, slots included."""
    signals, _, _ = pairs(counted)
    return replace(curve, x_least=min(signals), x_most=max(signals), offset=slots.offset or 0.0)


def _beyond(counted: tuple[Row, ...], task: Task) -> list[Finding]:
    """Work beyond the outermost point by more than a tenth of the proven span."""
    known = [row.known for row in counted]
    reach = BEYOND_SHARE * (max(known) - min(known))
    ends = ((task.used_most, max(known), 1), (task.used_least, min(known), -1))
    return [
        finding(Fault.BEYOND, found=task.measure.text(used), expected=task.measure.text(last))
        for used, last, way in ends
        if way * (used - last) > reach
    ]


def _proof(
    rows: tuple[Row, ...], counted: tuple[Row, ...], curve: Curve, task: Task
) -> tuple[tuple[tuple[int, float], ...], list[Finding]]:
    proofs = usable(rows, Place.PROOF)
    if not proofs:
        return (), [finding(Fault.NOT_VERIFIED)]
    used = [row.known for row in counted]
    allowed = max(task.off, task.slot_off)
    off, found = [], []
    for row in proofs:
        if any(abs(row.known - known) < task.off for known in used):
            where = task.measure.text(row.known)
            found.append(finding(Fault.VERIFY_USED, rows=(row.number,), where=where))
        worst = max((row.known - curve.value(t.signal) for t in row.takes), key=abs)
        off.append((row.number, worst))
        if abs(worst) > allowed:
            where = task.measure.text(row.known)
            found.append(
                exceeds(Fault.VERIFY_OFF, abs(worst), allowed, task.measure, row.number, where)
            )
    return tuple(off), found


def _proven_error(
    off: tuple[tuple[int, float], ...], suspects: set[int], slots: SlotProof, task: Task
) -> float:
    worst = max(abs(value) for number, value in off if number not in suspects)
    if task.in_field and slots.offset is None:
        return max(worst, UNPROVEN_IN_SOIL_M)
    return worst


def _verdict(found: list[Finding]) -> Verdict:
    weights = {f.weight for f in found}
    if Weight.REFUSES in weights:
        return Verdict.REFUSED
    return Verdict.UNPROVEN if Weight.UNPROVEN in weights else Verdict.PROVEN

"""The mistyped point: found by leaving rows out, and named with the slip that explains it."""

import itertools
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from cabapp.fitup.findings import Fault, Finding, Measure, Suggestion, finding
from cabapp.fitup.least_squares import fit_polynomial
from cabapp.fitup.points import Row, pairs

STANDS_OUT = 4.0  # a slip is this many times further off than the worst of the others
# Four rows on a bend put the last one ten times further from the line of the other three than
# those are themselves, so where a curve explains all rows a slip must stand out beyond that.
STANDS_OUT_OF_BEND = 12.0
LEAST_REST = 3  # rows that must agree before they may say what another should have been

# How a number goes wrong between the tape and the keypad. Each turns the typed figure into the
# one that was meant.
SLIPS: tuple[tuple[str, Callable[[float], float]], ...] = (
    ("sign", lambda typed: -typed),
    ("ten times too big", lambda typed: typed / 10),
    ("ten times too small", lambda typed: typed * 10),
    ("ten times too big, and sign", lambda typed: -typed / 10),
    ("a hundred times too big", lambda typed: typed / 100),
    ("centimetres typed as inches", lambda typed: typed / 2.54),
    ("inches typed as centimetres", lambda typed: typed * 2.54),
    ("a thousand times too big", lambda typed: typed / 1000),
    ("digits swapped", lambda typed: _digits_swapped(typed)),
)
UNIT_SLIPS = frozenset({"centimetres typed as inches", "inches typed as centimetres"})


@dataclass(frozen=True)
class _Trial:
    """One set of rows left out: how well the rest agree, and how far off the left-out ones are."""

    out: tuple[int, ...]
    rest_off: float
    least_off: float
    said: dict[int, float]
    signals: dict[int, float]


def find_mistyped(rows: tuple[Row, ...], allowed: float, measure: Measure) -> tuple[Finding, ...]:
    """Findings for one or two rows that the others contradict; empty if there are none.

    ``rows`` are usable rows; ``allowed`` is the residual allowed (SI). A row is named only where
    the rest agree among themselves and the row stands out far beyond them: points on a bend do
    not, so a curve is never called a slip.
    """
    stands_out = STANDS_OUT_OF_BEND if _curve_explains(rows, allowed) else STANDS_OUT
    trials = [
        trial
        for count in (1, 2)
        if len(rows) - count >= LEAST_REST + (count - 1)
        for trial in _trials(rows, count)
        if trial.rest_off <= allowed and trial.least_off > max(allowed, stands_out * trial.rest_off)
    ]
    if not trials:
        return ()
    fewest = min(len(trial.out) for trial in trials)
    best = max(
        (trial for trial in trials if len(trial.out) == fewest),
        key=lambda trial: trial.least_off / max(trial.rest_off, 1e-3 * allowed),
    )
    by_number = {row.number: row for row in rows}
    return tuple(_named(by_number[number], best, allowed, measure) for number in best.out)


def _curve_explains(rows: tuple[Row, ...], allowed: float) -> bool:
    signals, known, _ = pairs(rows)
    if len(set(signals)) < 4:
        return False
    fit = fit_polynomial(signals, known, 2)
    return max(map(abs, fit.residuals)) <= allowed


def _trials(rows: tuple[Row, ...], count: int) -> Iterator[_Trial]:
    for out in itertools.combinations(rows, count):
        rest = tuple(row for row in rows if row not in out)
        signals, known, _ = pairs(rest)
        if len(set(signals)) < 2 or len(set(known)) < 2:
            continue
        # A line is enough to tell a slip of the keypad from a bend of the linkage; with rows to
        # spare a curve is tried too, so that a bent sensor's slip is found as well.
        degrees = (1, 2) if len(rest) >= LEAST_REST + 2 else (1,)
        for degree in degrees:
            if len(set(signals)) <= degree:
                continue
            fit = fit_polynomial(signals, known, degree)
            said = {row.number: fit.value(row.mean_signal) for row in out}
            slope = (max(known) - min(known)) / (max(signals) - min(signals))
            slope = slope if fit.value(max(signals)) > fit.value(min(signals)) else -slope
            yield _Trial(
                tuple(row.number for row in out),
                float(np.max(np.abs(fit.residuals))),
                min(abs(said[row.number] - row.known) for row in out),
                said,
                {r.number: r.mean_signal + (r.known - said[r.number]) / slope for r in out},
            )


def _named(row: Row, trial: _Trial, allowed: float, measure: Measure) -> Finding:
    return name_slip(
        row, trial.said[row.number], trial.signals[row.number], trial.rest_off, allowed, measure
    )


def name_slip(
    row: Row, said: float, signal: float, rest_off: float, allowed: float, measure: Measure
) -> Finding:
    """The finding for a row whose value the others put at ``said`` (all SI but ``signal``)."""
    unit = measure.si_per_unit
    slip, meant = _slip(row.known / unit, said / unit, allowed / unit)
    text = measure.number(meant * unit)
    button = f"Make it {text}" if slip else "Take it again"
    suggestion = Suggestion(row.number, meant * unit, row.known, slip, signal, button)
    rows = (row.number,)
    if slip in UNIT_SLIPS:
        said_text = f"The others say {measure.text(meant * unit)}"
        return finding(
            Fault.OTHER_UNIT, rows=rows, suggestion=suggestion, slip=slip, expected=said_text
        )
    return finding(
        Fault.MISTYPED,
        rows=rows,
        suggestion=suggestion,
        found=measure.text(row.known),
        expected=text,
        rest=measure.text(rest_off),
    )


def _slip(typed: float, said: float, allowed: float) -> tuple[str, float]:
    """The slip whose meaning comes closest to what the others say, with the figure meant.

    Where no slip explains it the figure is what the others say, and no one should type that in:
    a calibration that is told its own answer proves nothing.
    """
    candidates = [(name, meant(typed)) for name, meant in SLIPS]
    name, meant = min(candidates, key=lambda candidate: abs(candidate[1] - said))
    if abs(meant - said) <= allowed and typed != 0:
        return name, meant
    return "", said


def _digits_swapped(typed: float) -> float:
    """12 for 21; a figure without two different digits stays as it is."""
    text = f"{abs(typed):g}"
    if len(text) != 2 or not text.isdigit():
        return typed
    swapped = float(text[::-1])
    return -swapped if typed < 0 else swapped

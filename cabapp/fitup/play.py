"""Play and repeats: what the same value reads when reached from the other side, and again."""

from dataclasses import dataclass

from cabapp.fitup.findings import Fault, Finding, exceeds, finding
from cabapp.fitup.points import Approach, Row
from cabapp.fitup.task import Task


@dataclass(frozen=True)
class Play:
    """Largest up and down difference and repeat spread in wire units; None where not taken.

    ``terminal_line_off`` is the largest distance, as a share of the signal's span, of the mean of
    up and down from the line through both end points (terminal-based linearity; definition as in
    ANSI/ISA-37.1, quoted from secondary texts).
    """

    hysteresis: float | None
    hysteresis_share: float | None
    repeat: float | None
    terminal_line_off: float | None
    findings: tuple[Finding, ...]


def measure_play(rows: tuple[Row, ...], si_per_wire_unit: float, task: Task) -> Play:
    """Measure both on usable rows and name what exceeds ``task.off``."""
    ordered = sorted(rows, key=lambda row: row.known)
    span = abs(ordered[-1].mean_signal - ordered[0].mean_signal)
    gaps = {row.number: gap for row in rows if (gap := _gap(row)) is not None}
    spreads = {row.number: spread for row in rows if (spread := _spread(row)) is not None}
    found = _over(Fault.HYSTERESIS, gaps, si_per_wire_unit, task)
    found += _over(Fault.NOT_REPEATED, spreads, si_per_wire_unit, task)
    if not gaps:
        found.append(finding(Fault.ONE_WAY))
    if not spreads:
        found.append(finding(Fault.NO_REPEAT))
    widest = max(gaps.values(), default=None)
    return Play(
        hysteresis=widest,
        hysteresis_share=widest / span if widest is not None and span else None,
        repeat=max(spreads.values(), default=None),
        terminal_line_off=_terminal_line_off(ordered, span),
        findings=tuple(found),
    )


def _gap(row: Row) -> float | None:
    up, down = row.signal_of(Approach.UP), row.signal_of(Approach.DOWN)
    return None if up is None or down is None else abs(up - down)


def _spread(row: Row) -> float | None:
    """Widest spread among three or more takes the same way: two may agree by luck."""
    spreads = [
        max(signals) - min(signals) for signals in map(row.repeats, Approach) if len(signals) >= 3
    ]
    return max(spreads, default=None)


def _over(
    fault: Fault, widths: dict[int, float], si_per_wire_unit: float, task: Task
) -> list[Finding]:
    if not widths:
        return []
    row = max(widths, key=lambda number: widths[number])
    size = widths[row] * si_per_wire_unit
    return [exceeds(fault, size, task.off, task.measure, row)] if size > task.off else []


def _terminal_line_off(ordered: list[Row], span: float) -> float | None:
    first, last = ordered[0], ordered[-1]
    if len(ordered) < 3 or span == 0 or first.known == last.known:
        return None
    slope = (last.mean_signal - first.mean_signal) / (last.known - first.known)
    offs = (
        abs(row.mean_signal - first.mean_signal - slope * (row.known - first.known))
        for row in ordered
    )
    return max(offs) / span

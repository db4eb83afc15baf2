"""The page Calibrate as data: table, plot, residuals, the signal now, verdict and buttons."""

from dataclasses import dataclass
from enum import Enum

from cabapp.curve import Curve, CurveKind
from cabapp.fitup.findings import Fault, Finding, Weight
from cabapp.fitup.judge import Judgement, Verdict
from cabapp.fitup.points import Approach, Place, Row, usable
from cabapp.fitup.session import CalibrationSession
from cabapp.fitup.stillness import WINDOW_S, Look, Standing
from cabapp.fitup.task import BEYOND_SHARE

CURVE_STEPS = 24  # pieces a bent curve is drawn with


class Stage(Enum):
    """The five steps on top of the page; the value is their word."""

    SAFE = "Safe"
    POINTS = "Points"
    FIT = "Fit"
    VERIFY = "Verify"
    ACCEPT = "Accept"


class Drawn(Enum):
    """How a row of the table is drawn."""

    PLAIN = "plain"
    ODD = "odd"  # amber: it looks mistyped, or is the one off
    NOW = "now"  # blue: the next to take
    LEFT_OUT = "left_out"


class Act(Enum):
    """What a button of the verdict does; ``row`` and ``value`` of Button say to what."""

    CORRECT = "correct"
    TAKE_AGAIN = "take_again"
    LEAVE_OUT = "leave_out"
    USE_SHAPE = "use_shape"
    ACCEPT = "accept"


@dataclass(frozen=True)
class Button:
    """A button beside the verdict."""

    text: str
    act: Act
    row: int = 0
    value: float = 0.0
    kind: CurveKind | None = None


@dataclass(frozen=True)
class TableRow:
    """One row of the table, in the person's unit; "" where nothing was taken."""

    number: int
    known: str
    up: str
    down: str
    off: str
    drawn: Drawn
    note: str = ""


@dataclass(frozen=True)
class Plot:
    """Points and curve in wire units across and the person's unit up.

    ``beyond`` is the tenth past the last point, drawn dotted; ``odd`` are points left out of it.
    """

    points: tuple[tuple[float, float], ...]
    odd: tuple[tuple[float, float], ...]
    line: tuple[tuple[float, float], ...]
    beyond: tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Now:
    """The signal now, and whether it may be taken. ``filled`` is the bar of stillness, 0 to 1."""

    value: str
    unit: str
    by_fit: str
    word: str
    may_take: bool
    filled: float
    bounds: str
    take: str


@dataclass(frozen=True)
class CalibrateView:
    """Everything the page shows."""

    serial: str
    unit: str
    done: tuple[Stage, ...]
    stage: Stage
    rows: tuple[TableRow, ...]
    plot: Plot
    off: tuple[tuple[int, float], ...]  # row number and share of what is allowed, for the bars
    allowed: str
    now: Now
    headline: str
    line: str
    refused: bool
    buttons: tuple[Button, ...]
    taken: str


def calibrate_view(
    session: CalibrationSession, look: Look, row: int | None, approach: Approach
) -> CalibrateView:
    """The page for a session, the signal's look now, and the row that would be taken next."""
    rows, judgement = session.rows, session.judged()
    stage = _stage(session, rows, judgement)
    task = session.task
    allowed = max(task.off, task.slot_off)
    headline, line, buttons = _verdict(judgement, stage)
    return CalibrateView(
        serial=session.serial,
        unit=task.measure.unit,
        done=tuple(s for s in Stage if list(Stage).index(s) < list(Stage).index(stage)),
        stage=stage,
        rows=tuple(_table_row(r, session, judgement, row) for r in rows),
        plot=_plot(rows, judgement, task.measure.si_per_unit),
        off=tuple(sorted((n, off / allowed) for n, off in judgement.off)),
        allowed=f"off by ({task.measure.text(allowed)} allowed)",
        now=_now(session, look, judgement.curve, row, approach),
        headline=headline,
        line=line,
        refused=judgement.verdict is Verdict.REFUSED,
        buttons=buttons,
        taken=counted(rows),
    )


def counted(rows: tuple[Row, ...]) -> str:
    """How many points are taken, how many wait, and how many are left out: never one as another."""
    left = sum(row.left_out for row in rows)
    taken = sum(row.usable for row in rows)
    waiting = len(rows) - left - taken
    parts = ((taken, "taken"), (waiting, "to take"), (left, "left out"))
    return ", ".join(f"{n} {word}" for n, word in parts if n or word == "taken")


def _stage(session: CalibrationSession, rows: tuple[Row, ...], judgement: Judgement) -> Stage:
    if not session.safe:
        return Stage.SAFE
    if not rows or any(not r.takes and not r.left_out for r in rows) or judgement.curve is None:
        return Stage.POINTS
    if judgement.verdict is Verdict.REFUSED:
        return Stage.FIT
    return Stage.ACCEPT if usable(rows, Place.PROOF) else Stage.VERIFY


def _table_row(
    row: Row, session: CalibrationSession, judgement: Judgement, current: int | None
) -> TableRow:
    measure = session.task.measure
    off = judgement.off_of(row.number)
    odd = any(row.number in f.rows for f in judgement.findings if f.weight is Weight.REFUSES)
    drawn = Drawn.ODD if odd else Drawn.PLAIN
    if row.number == current:
        drawn = Drawn.NOW
    if row.left_out:
        drawn = Drawn.LEFT_OUT
    note = "" if row.takes else f"{PLACE_WORDS[row.place]}, take now"
    return TableRow(
        row.number,
        measure.number(row.known),
        _signal(session, row.signal_of(Approach.UP)),
        _signal(session, row.signal_of(Approach.DOWN)),
        "" if off is None else measure.number(abs(off)),
        drawn,
        note,
    )


PLACE_WORDS = {Place.SHED: "shed", Place.SLOT: "dug slot", Place.PROOF: "proof"}


def _signal(session: CalibrationSession, signal: float | None) -> str:
    return "" if signal is None else session.task.signal.number(signal)


def _plot(rows: tuple[Row, ...], judgement: Judgement, si_per_unit: float) -> Plot:
    suspects = {n for f in judgement.findings if f.suggestion is not None for n in f.rows}
    taken = usable(rows)
    curve = judgement.curve
    at = {row.number: (row.mean_signal, row.known / si_per_unit) for row in taken}
    points = tuple(point for number, point in at.items() if number not in suspects)
    odd = tuple(point for number, point in at.items() if number in suspects)
    if curve is None:
        return Plot(points, odd, (), ())
    reach = BEYOND_SHARE * (curve.x_most - curve.x_least)
    # The curve is drawn with its field offset, so the slots lie on it and shed points beside it.
    rising = curve.value(curve.x_most) >= curve.value(curve.x_least)
    deep, further = (
        (curve.x_most, curve.x_most + reach) if rising else (curve.x_least, curve.x_least - reach)
    )
    return Plot(
        points,
        odd,
        _drawn(curve, curve.x_least, curve.x_most, si_per_unit),
        _drawn(curve, deep, further, si_per_unit),
    )


def _drawn(
    curve: Curve, start: float, end: float, si_per_unit: float
) -> tuple[tuple[float, float], ...]:
    pieces = 1 if curve.kind is CurveKind.LINEAR else CURVE_STEPS
    xs = [start + (end - start) * n / pieces for n in range(pieces + 1)]
    return tuple((x, curve.value(x) / si_per_unit) for x in xs)


STANDING_WORDS = {
    Standing.STEADY: "Steady",
    Standing.MOVING: "Moving",
    Standing.LISTENING: "Wait",
    Standing.NEVER_STILL: "Never still",
    Standing.SILENT: "Silent",
}


def _now(
    session: CalibrationSession,
    look: Look,
    curve: Curve | None,
    row: int | None,
    approach: Approach,
) -> Now:
    measure, signal = session.task.measure, session.task.signal
    rows = session.rows
    known = rows[row - 1].known if row is not None else None
    fit = ""
    if look.mean is not None and curve is not None:
        where = "by the fit" if curve.within_proof(look.mean) else "past points"
        fit = f"{measure.text(curve.value(look.mean))} {where}"
    bounds = ""
    if look.least is not None and look.most is not None:
        bounds = f"{signal.number(look.least)} to {signal.number(look.most)}"
    return Now(
        value="" if look.mean is None else signal.number(look.mean),
        unit=signal.unit,
        by_fit=fit,
        word=STANDING_WORDS[look.standing],
        may_take=look.may_take and session.safe and known is not None,
        filled=min(1.0, look.still_s / WINDOW_S) if not look.may_take else 1.0,
        bounds=bounds,
        take="" if known is None else f"Take {measure.text(known)}, {approach.value}",
    )


def _verdict(judgement: Judgement, stage: Stage) -> tuple[str, str, tuple[Button, ...]]:
    """The plate at the foot: the first finding and what to do, or that it holds."""
    if stage is Stage.SAFE:
        return "Locks in, engine off, people clear?", "Say so before the first point.", ()
    first = next(iter(judgement.findings), None)
    holds = judgement.verdict is not Verdict.REFUSED
    if first is None or (first.weight is Weight.READ and holds):
        read = first.what if first else "Every point agrees"
        return "It holds", f"{read}.", (Button("Accept", Act.ACCEPT),)
    return first.what, first.mend, _buttons(first, holds)


def _buttons(first: Finding, holds: bool) -> tuple[Button, ...]:
    if holds:
        return (Button("Accept unproven", Act.ACCEPT),)
    suggestion = first.suggestion
    if suggestion is not None:
        row = suggestion.row
        act = Act.CORRECT if suggestion.slip else Act.TAKE_AGAIN
        return (
            Button(suggestion.text, act, row, suggestion.value),
            Button("Leave out", Act.LEAVE_OUT, row),
        )
    if first.fault is Fault.CURVED:
        return (Button("Use the curve", Act.USE_SHAPE, kind=CurveKind.QUADRATIC),)
    if len(first.rows) == 1:
        row = first.rows[0]
        return (
            Button("Take it again", Act.TAKE_AGAIN, row),
            Button("Leave out", Act.LEAVE_OUT, row),
        )
    return ()

"""A calibration under way, as a frozen value that a power cut cannot tear.

A session is its list of steps; rows are what the steps add up to. Undo drops the last step, and
``to_plain`` / ``from_plain`` carry the whole of it through a file between capture and accept.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

from cabapp import codec
from cabapp.curve import Curve, CurveKind
from cabapp.fitup.entries import believable
from cabapp.fitup.findings import Finding
from cabapp.fitup.judge import Judgement, Verdict, judge, judge_simplest
from cabapp.fitup.points import Approach, Place, Row, Take
from cabapp.fitup.stillness import Look
from cabapp.fitup.task import Task
from cabapp.units import UNITS

SESSION_VERSION = 1


class SessionError(ValueError):
    """A kept session that cannot be read, or a step that cannot be taken; says the mend."""


@dataclass(frozen=True)
class SafetyConfirmed:
    """Locks in, engine off, people clear: asked before the first point."""


@dataclass(frozen=True)
class RowOpened:
    """A known value (SI) typed for the next points."""

    known: float
    place: Place


@dataclass(frozen=True)
class PointTaken:
    """A still signal taken at a row."""

    row: int
    signal: float
    approach: Approach
    least: float
    most: float


@dataclass(frozen=True)
class RowCorrected:
    """A row's known value typed again."""

    row: int
    known: float


@dataclass(frozen=True)
class RowEmptied:
    """A row's signals dropped, to take them again."""

    row: int


@dataclass(frozen=True)
class RowLeftOut:
    """A row left out of the fit; it stays in the record."""

    row: int


@dataclass(frozen=True)
class ShapeChosen:
    """A shape chosen by hand; without this step the simplest that holds is taken."""

    kind: CurveKind


Step = (
    SafetyConfirmed | RowOpened | PointTaken | RowCorrected | RowEmptied | RowLeftOut | ShapeChosen
)
STEPS: dict[str, type[Any]] = {
    "safety_confirmed": SafetyConfirmed,
    "row_opened": RowOpened,
    "point_taken": PointTaken,
    "row_corrected": RowCorrected,
    "row_emptied": RowEmptied,
    "row_left_out": RowLeftOut,
    "shape_chosen": ShapeChosen,
}
WORDS_OF = {kind: word for word, kind in STEPS.items()}


@dataclass(frozen=True)
class CalibrationSession:
    """One sensor's calibration: what it is about, and every step taken so far."""

    channel: str
    serial: str
    task: Task
    steps: tuple[Step, ...] = ()

    @property
    def safe(self) -> bool:
        return any(isinstance(step, SafetyConfirmed) for step in self.steps)

    @property
    def rows(self) -> tuple[Row, ...]:
        """The table, numbered from 1 in the order the values were typed."""
        rows: list[Row] = []
        for step in self.steps:
            match step:
                case RowOpened(known, place):
                    rows.append(Row(len(rows) + 1, known, place))
                case PointTaken(row, signal, approach, least, most):
                    taken = (*rows[row - 1].takes, Take(signal, approach, least, most))
                    rows[row - 1] = replace(rows[row - 1], takes=taken)
                case RowCorrected(row, known):
                    rows[row - 1] = replace(rows[row - 1], known=known)
                case RowEmptied(row):
                    rows[row - 1] = replace(rows[row - 1], takes=(), left_out=False)
                case RowLeftOut(row):
                    rows[row - 1] = replace(rows[row - 1], left_out=True)
                case _:
                    pass
        return tuple(rows)

    @property
    def chosen(self) -> CurveKind | None:
        kinds = [step.kind for step in self.steps if isinstance(step, ShapeChosen)]
        return kinds[-1] if kinds else None

    def judged(self) -> Judgement:
        """The calibration as it stands, in the shape chosen or the simplest that holds."""
        return _judged(self.rows, self.task, self.chosen)

    def confirm_safety(self) -> "CalibrationSession":
        """Said for this visit; it stands before all points, so that undo takes points first."""
        return replace(self, steps=(SafetyConfirmed(), *self.unconfirmed().steps))

    def unconfirmed(self) -> "CalibrationSession":
        """As it is found again later: whether it is safe now has to be asked anew."""
        steps = tuple(step for step in self.steps if not isinstance(step, SafetyConfirmed))
        return replace(self, steps=steps)

    def open_row(self, known: float, place: Place) -> "CalibrationSession | Finding":
        """A new row, or the finding that says why this value cannot be right."""
        return believable(known, self.task) or self._with(RowOpened(known, place))

    def take(self, row: int, look: Look, approach: Approach) -> "CalibrationSession":
        """Take what stands still now; raises SessionError if it does not, or before "safe"."""
        if not self.safe:
            raise SessionError("nothing taken: confirm locks in and people clear first")
        if not look.may_take or look.mean is None or look.least is None or look.most is None:
            raise SessionError(f"nothing taken: the signal is {look.standing.value}; wait")
        self._check_row(row)
        return self._with(PointTaken(row, look.mean, approach, look.least, look.most))

    def correct(self, row: int, known: float) -> "CalibrationSession | Finding":
        """Type a row's value again, or the finding that says why it cannot be right."""
        self._check_row(row)
        return believable(known, self.task) or self._with(RowCorrected(row, known))

    def empty_row(self, row: int) -> "CalibrationSession":
        """Drop what was taken at a row, to take it again, left out or not; undo brings it back."""
        self._check_row(row)
        return self._with(RowEmptied(row))

    def leave_out(self, row: int) -> "CalibrationSession":
        self._check_row(row)
        return self._with(RowLeftOut(row))

    def choose(self, kind: CurveKind) -> "CalibrationSession":
        return self._with(ShapeChosen(kind))

    def undo(self) -> "CalibrationSession":
        """Without the last step; the empty session stays as it is."""
        return replace(self, steps=self.steps[:-1])

    def accept(self, made: str, by: str) -> Curve:
        """The curve for the rig file; raises SessionError naming the first thing that refuses it.

        An unproven calibration (no slots or no proof point yet) may be taken; its judgement says
        what was not proven, and the sign-off sheet must.
        """
        judgement = self.judged()
        if judgement.verdict is Verdict.REFUSED or judgement.curve is None:
            first = judgement.findings[0]
            raise SessionError(f"not accepted: {first.what}. {first.mend}")
        return replace(judgement.curve, made=made, by=by)

    def _with(self, step: Step) -> "CalibrationSession":
        return replace(self, steps=(*self.steps, step))

    def _check_row(self, row: int) -> None:
        count = len(self.rows)
        if not 1 <= row <= count:
            raise SessionError(f"row {row} does not exist; there are {count}")


@lru_cache(maxsize=4)  # a page asks ten times a second while nothing but the signal changes
def _judged(rows: tuple[Row, ...], task: Task, chosen: CurveKind | None) -> Judgement:
    return judge_simplest(rows, task) if chosen is None else judge(rows, task, chosen)


def to_plain(session: CalibrationSession) -> dict[str, Any]:
    """The session as plain dicts, lists, texts and numbers, for a JSON file."""
    return {
        "version": SESSION_VERSION,
        "channel": session.channel,
        "serial": session.serial,
        "task": codec.to_plain(session.task),
        "steps": [{"step": WORDS_OF[type(s)], **codec.to_plain(s)} for s in session.steps],
    }


def from_plain(plain: dict[str, Any]) -> CalibrationSession:
    """The session again; raises SessionError naming the key that is missing or wrong."""
    if plain.get("version") != SESSION_VERSION:
        found = plain.get("version")
        raise SessionError(f"version: found {found!r}, expected {SESSION_VERSION}; begin anew")
    task: Task = _built("task", Task, plain.get("task"))
    if task.measure.unit not in UNITS:
        found = task.measure.unit
        raise SessionError(f"task.measure.unit: found {found!r}, expected a unit; begin anew")
    session = CalibrationSession(
        channel=_text(plain, "channel"),
        serial=_text(plain, "serial"),
        task=task,
        steps=_steps(plain.get("steps")),
    )
    _check_rows(session)
    return session


def _text(plain: dict[str, Any], key: str) -> str:
    value = plain.get(key)
    if not isinstance(value, str):
        raise SessionError(f"{key}: found {value!r}, expected a text; begin anew")
    return value


def _steps(plain: Any) -> tuple[Step, ...]:
    if not isinstance(plain, list):
        raise SessionError(f"steps: found {plain!r}, expected a list; begin anew")
    steps = []
    for number, raw in enumerate(plain, start=1):
        fields = dict(raw) if isinstance(raw, dict) else {}
        word = fields.pop("step", None)
        if word not in STEPS:
            expected = ", ".join(STEPS)
            raise SessionError(f"steps[{number}].step: found {word!r}, expected one of {expected}")
        steps.append(_built(f"steps[{number}]", STEPS[word], fields))
    return tuple(steps)


def _check_rows(session: CalibrationSession) -> None:
    """Every row a step speaks of was opened before it."""
    opened = 0
    for number, step in enumerate(session.steps, 1):
        if isinstance(step, RowOpened):
            opened += 1
        elif isinstance(step, SafetyConfirmed | ShapeChosen):
            continue
        elif step.row not in range(1, opened + 1):
            found = f"found {step.row!r}, expected 1 to {opened}"
            raise SessionError(f"steps[{number}].row: {found}; begin anew")


def _built(path: str, kind: type[Any], plain: Any) -> Any:
    try:
        return codec.from_plain(kind, plain)
    except (TypeError, ValueError, KeyError, AttributeError) as error:
        raise SessionError(f"{path}: {error}; begin anew") from None

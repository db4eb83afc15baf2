"""A calibration under way, as a frozen value that a power cut cannot tear.

A session is its list of steps; rows are what the steps add up to. Undo drops the last step, and
``to_plain`` / ``from_plain`` carry the whole of it through a file between capture and accept.
"""

import dataclasses
import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from cabapp.curve import Curve, CurveKind
from cabapp.fitup.entries import believable
from cabapp.fitup.findings import Finding, Measure
from cabapp.fitup.judge import Judgement, Verdict, judge, judge_simplest
from cabapp.fitup.points import Approach, Place, Row, Take
from cabapp.fitup.scaling import Wire
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
class RowLeftOut:
    """A row left out of the fit; it stays in the record."""

    row: int


@dataclass(frozen=True)
class ShapeChosen:
    """A shape chosen by hand; without this step the simplest that holds is taken."""

    kind: CurveKind


Step = SafetyConfirmed | RowOpened | PointTaken | RowCorrected | RowLeftOut | ShapeChosen
STEPS: dict[str, type[Any]] = {
    "safety_confirmed": SafetyConfirmed,
    "row_opened": RowOpened,
    "point_taken": PointTaken,
    "row_corrected": RowCorrected,
    "row_left_out": RowLeftOut,
    "shape_chosen": ShapeChosen,
}
ENUMS: dict[str, type[Place] | type[Approach] | type[CurveKind]] = {
    "place": Place,
    "approach": Approach,
    "kind": CurveKind,
}


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
        if self.chosen is not None:
            return judge(self.rows, self.task, self.chosen)
        return judge_simplest(self.rows, self.task)

    def confirm_safety(self) -> "CalibrationSession":
        return self._with(SafetyConfirmed())

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


def to_plain(session: CalibrationSession) -> dict[str, Any]:
    """The session as plain dicts, lists, texts and numbers, for a JSON file."""
    return {
        "version": SESSION_VERSION,
        "channel": session.channel,
        "serial": session.serial,
        "task": dataclasses.asdict(session.task),
        "steps": [_plain_step(step) for step in session.steps],
    }


def _plain_step(step: Step) -> dict[str, Any]:
    name = next(name for name, kind in STEPS.items() if isinstance(step, kind))
    fields = dataclasses.asdict(step)
    return {"step": name, **{k: v.value if k in ENUMS else v for k, v in fields.items()}}


def from_plain(plain: dict[str, Any]) -> CalibrationSession:
    """The session again; raises SessionError naming the key that is missing or wrong."""
    if plain.get("version") != SESSION_VERSION:
        found = plain.get("version")
        raise SessionError(f"version: found {found!r}, expected {SESSION_VERSION}; begin anew")
    task = dict(_taken(plain, "task", dict))
    measure = _built("task.measure", Measure, _taken(task, "measure", dict))
    if measure.unit not in UNITS:
        raise SessionError(
            f"task.measure.unit: found {measure.unit!r}, expected a unit; begin anew"
        )
    wire = _built("task.wire", Wire, _taken(task, "wire", dict))
    _check_numbers("task", {k: v for k, v in task.items() if k not in ("measure", "wire")})
    _check_numbers("task.wire", {k: v for k, v in task["wire"].items() if k != "unit"})
    session = CalibrationSession(
        channel=_taken(plain, "channel", str),
        serial=_taken(plain, "serial", str),
        task=_built("task", Task, {**task, "measure": measure, "wire": wire}),
        steps=tuple(_step(n, raw) for n, raw in enumerate(_taken(plain, "steps", list), 1)),
    )
    _check_steps(session)
    return session


def _step(number: int, raw: dict[str, Any]) -> Step:
    fields = dict(raw)
    name = fields.pop("step", None)
    if name not in STEPS:
        raise SessionError(f"steps[{number}].step: found {name!r}, expected one of {list(STEPS)}")
    _check_numbers(f"steps[{number}]", {k: v for k, v in fields.items() if k not in ENUMS})
    try:
        values = {k: ENUMS[k](v) if k in ENUMS else v for k, v in fields.items()}
    except ValueError as error:
        raise SessionError(f"steps[{number}]: {error}; begin anew") from None
    step: Step = _built(f"steps[{number}]", STEPS[name], values)
    return step


def _check_steps(session: CalibrationSession) -> None:
    opened = 0
    for number, step in enumerate(session.steps, 1):
        if isinstance(step, RowOpened):
            opened += 1
        elif (
            isinstance(step, PointTaken | RowCorrected | RowLeftOut) and not 1 <= step.row <= opened
        ):
            found = f"found {step.row}, expected 1 to {opened}"
            raise SessionError(f"steps[{number}].row: {found}; begin anew")


def _check_numbers(path: str, fields: dict[str, Any]) -> None:
    for key, value in fields.items():
        if not isinstance(value, int | float) or not math.isfinite(value):
            raise SessionError(f"{path}.{key}: found {value!r}, expected a number; begin anew")


def _taken(plain: dict[str, Any], key: str, kind: type[Any]) -> Any:
    value = plain.get(key)
    if not isinstance(value, kind):
        raise SessionError(f"{key}: found {value!r}, expected {kind.__name__}; begin anew")
    return value


def _built(path: str, kind: Callable[..., Any], fields: dict[str, Any]) -> Any:
    try:
        return kind(**fields)
    except TypeError as error:
        raise SessionError(f"{path}: {error}; begin anew") from None

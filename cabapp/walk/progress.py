"""The whole walk: which answers count, how each step stands, and what makes one due again."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from enum import Enum

from cabapp.rig import Rig
from cabapp.units import UnitSystem
from cabapp.walk.asked import Question, ask_of, questions
from cabapp.walk.buried import Hold, hold_for
from cabapp.walk.checks import blocking, check
from cabapp.walk.entries import Answers, Entry
from cabapp.walk.findings import About, Finding, Verdict
from cabapp.walk.front_discs import front_discs
from cabapp.walk.hard_layer import hard_layer
from cabapp.walk.judge import FRAMES, judge
from cabapp.walk.level import CORNERS, level
from cabapp.walk.pull import will_it_pull
from cabapp.walk.rear_finish import rear_finish
from cabapp.walk.shank_depth import moved_round, shank_depth
from cabapp.walk.steps import Step, Walk, step_in


class State(Enum):
    """How a step stands; the value is its word."""

    TO_DO = "to do"
    DONE = "done"
    CHECK_AGAIN = "check again"
    HELD = "wait"  # something blocks: too wet, or an exception that holds


class Scope(Enum):
    """Which answers of the past count for a step."""

    DAY = "day"  # of today, whatever the field
    FIELD_DAY = "field_day"
    FIELD = "field"
    TOOL = "tool"  # until the tool changes


@dataclass(frozen=True)
class Cause:
    """A reason to look again: something newer than the step's own last answer."""

    what: str  # a step id, or a happening
    words: str


# Happenings other than answers, as the record keeps them under step "happening".
RAIN, LONG_STOP, NEW_POINTS = "rain", "long_stop", "new_points"
HAPPENING = "happening"

SCOPES: dict[str, Scope] = {
    "checks": Scope.DAY,
    "will_it_pull": Scope.FIELD_DAY,
    "hard_layer": Scope.FIELD,
    "level": Scope.TOOL,
    "shank_depth": Scope.FIELD_DAY,
    "front_discs": Scope.FIELD_DAY,
    "rear_finish": Scope.FIELD_DAY,
    "judge": Scope.FIELD_DAY,
    "road": Scope.DAY,
}

# What makes a finished step due again. The finishing tools carry weight: they change the depth.
DUE_AGAIN: dict[str, tuple[Cause, ...]] = {
    "will_it_pull": (Cause(RAIN, "Rain since then"),),
    "hard_layer": (),
    "level": (Cause(NEW_POINTS, "New points since"),),
    "shank_depth": (
        Cause("level", "Level changed"),
        Cause("hard_layer", "Layer changed"),
        Cause(RAIN, "Rain since dig"),
        Cause(NEW_POINTS, "New points since"),
        Cause(LONG_STOP, "Long stop since"),
        Cause("rear_finish", "Rear finish changed"),
    ),
    "front_discs": (Cause("shank_depth", "Shank depth changed"),),
    "rear_finish": (Cause("front_discs", "Front discs changed"), Cause(RAIN, "Rain since")),
    "judge": (
        Cause("shank_depth", "Shank depth changed"),
        Cause("front_discs", "Front discs changed"),
        Cause("rear_finish", "Rear finish changed"),
        Cause(RAIN, "Rain since"),
    ),
}

# What has to be looked at anew when a step falls due again; a dig is a whole round of its own.
RENEWED_BY: dict[str, tuple[str, ...]] = {
    "will_it_pull": ("feel1", "feel2", "feel3"),
    "level": CORNERS,
    "front_discs": ("depth_left", "depth_right"),
    "rear_finish": ("paths", "ridge"),
    "judge": tuple(f"frame{n}_largest" for n in range(1, FRAMES + 1)),
}

FINDERS: dict[str, Callable[[Answers, About], Finding]] = {
    "will_it_pull": will_it_pull,
    "hard_layer": hard_layer,
    "level": level,
    "shank_depth": shank_depth,
    "front_discs": front_discs,
    "rear_finish": rear_finish,
    "judge": judge,
}
# Steps in the order in which one knows of the other.
ORDER = ("checks", "hard_layer", "will_it_pull", "level", "shank_depth", "front_discs",
         "rear_finish", "judge", "road")  # fmt: skip


@dataclass(frozen=True)
class Standing:
    """One step now: its state, why, and what it found."""

    step: Step
    state: State
    why: str
    finding: Finding
    answers: Answers
    asked: tuple[Question, ...] = ()
    hold: Hold | None = None  # buried lines not answered yet
    short: str = ""  # the reason in a few words, for its card
    stale: tuple[str, ...] = ()  # answers to be given anew while it is due again


@dataclass(frozen=True)
class Progress:
    """The whole walk now, in the order of the steps file."""

    standings: tuple[Standing, ...]
    checks_open: tuple[str, ...]
    about: About

    def of(self, step_id: str) -> Standing:
        """The standing of one step; KeyError if there is none."""
        for standing in self.standings:
            if standing.step.id == step_id:
                return standing
        raise KeyError(step_id)

    @property
    def done(self) -> int:
        """How many steps of the walk (the road list apart) are done."""
        return sum(s.state is State.DONE and s.step.id != "road" for s in self.standings)

    @property
    def next(self) -> Standing | None:
        """The first step that is not done, None at the end of the walk."""
        waiting = (s for s in self.standings if s.state is not State.DONE and s.step.id != "road")
        return next(waiting, None)


def counts(entry: Entry, step: Step, field: str, day: str) -> bool:
    """Whether an entry of the book counts for a step in this field on this day."""
    if entry.step != step.id:
        return False
    ask = ask_of(step, entry.key)
    scope = Scope(ask.scope) if ask is not None and ask.scope else SCOPES[step.id]
    same_field = entry.field == field or scope in (Scope.DAY, Scope.TOOL)
    same_day = entry.day == day or scope in (Scope.FIELD, Scope.TOOL)
    return same_field and same_day


def progress(
    walk: Walk, entries: Iterable[Entry], rig: Rig, system: UnitSystem, field: str, day: str
) -> Progress:
    """Every step from the entries on record. Nothing is kept elsewhere, so nothing gets lost."""
    book = tuple(entries)
    walk = replace(walk, steps=tuple(step_in(step, system) for step in walk.steps))
    answers = {
        step.id: Answers(entry for entry in book if counts(entry, step, field, day))
        for step in walk.steps
    }
    findings: dict[str, Finding] = {}
    for step_id in ORDER:
        about = About(rig, system, findings)
        finder = FINDERS.get(step_id)
        findings[step_id] = (
            check(walk.step(step_id), answers[step_id], about)
            if finder is None
            else finder(answers[step_id], about)
        )
    about = About(rig, system, findings)
    newest = {step.id: _changed(step, book, answers, about, field, day) for step in walk.steps}
    newest |= _happenings(book, field, day)
    standings = []
    for step in walk.steps:
        found, own = findings[step.id], answers[step.id]
        depth = found.values.get("target") if step.id == "shank_depth" else None
        hold = hold_for(step.id, answers["checks"], depth, rig, day, system)
        state, why = _standing(step, found, own, hold, newest)
        asked = questions(step, own, about, found)
        short = _short(step, state, why, found, own, hold)
        since = max(
            (newest.get(cause.what, -1) for cause in DUE_AGAIN.get(step.id, ())), default=-1
        )
        stale = _stale(step, own, since) if state is State.CHECK_AGAIN else ()
        standings.append(Standing(step, state, why, found, own, asked, hold, short, stale))
    held = blocking(walk.step("checks"), answers["checks"])
    return Progress(tuple(standings), held, about)


def _happenings(book: tuple[Entry, ...], field: str, day: str) -> dict[str, int]:
    found: dict[str, int] = {}
    for entry in book:
        if entry.step != HAPPENING:
            continue
        here = entry.day == day and entry.field in ("", field)
        if here or entry.key == NEW_POINTS:  # new points stay new until it is measured again
            found[entry.key] = max(found.get(entry.key, -1), entry.order)
    return found


def _standing(
    step: Step, finding: Finding, answers: Answers, hold: Hold | None, newest: dict[str, int]
) -> tuple[State, str]:
    if hold is not None and not (step.id == "will_it_pull" and finding.verdict is Verdict.WAIT):
        return State.HELD, hold.headline
    if finding.verdict is Verdict.WAIT:
        return State.HELD, finding.headline
    if not finding.done:
        return State.TO_DO, finding.headline
    for cause in DUE_AGAIN.get(step.id, ()):
        if _stale(step, answers, newest.get(cause.what, -1)):
            return State.CHECK_AGAIN, cause.words
    return State.DONE, finding.summary


def _stale(step: Step, answers: Answers, since: int) -> tuple[str, ...]:
    """The answers that are older than what happened since, in the order to be given anew."""
    return tuple(key for key, order in _renewed(step, answers).items() if order < since)


def _short(
    step: Step, state: State, why: str, finding: Finding, answers: Answers, hold: Hold | None
) -> str:
    """The reason of a state in the few words a card has room for."""
    if state is State.HELD and hold is not None:
        return hold.short
    if state is State.TO_DO and not answers.answered:
        return step.hint or step.line
    adjusting = state is State.TO_DO and finding.verdict is Verdict.ADJUST
    return finding.summary if adjusting and finding.summary else why


def _changed(
    step: Step, book: tuple[Entry, ...], answers: dict[str, Answers], about: About, field: str,
    day: str,
) -> int:  # fmt: skip
    """When a step's setting last changed: the same answer given anew changes nothing.

    So a dig that confirms the depth does not make every later step due again, and the walk ends.
    """
    if step.id == "shank_depth":
        return moved_round(answers[step.id], about)
    said: dict[str, tuple[str, str]] = {}
    last = -1
    for entry in book:
        if not counts(entry, step, field, day):
            continue
        if said.get(entry.key) != (entry.text, entry.unit):
            said[entry.key] = (entry.text, entry.unit)
            last = max(last, entry.order)
    return last


def _renewed(step: Step, answers: Answers) -> dict[str, int]:
    """When each answer that renews a step was last given; all of them have to be newer.

    One clod counted anew does not judge the ground anew, nor the soil's name its moisture.
    """
    keys = RENEWED_BY.get(step.id)
    if keys is None:
        return {"": answers.last_order}
    entries = {key: answers.entry(key) for key in keys}
    return {key: entry.order for key, entry in entries.items() if entry is not None}

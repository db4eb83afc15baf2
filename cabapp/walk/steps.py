"""The steps of the walk as data: read from a file that an owner can edit for another tool.

The file says what to look at, what to measure and which answers there are; the arithmetic of each
step is code, found by the step's id. All faults of a file are reported at once.
"""

import re
import tomllib
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache

from cabapp.units import UNITS, UnitError, UnitSystem, parse_quantity

STEP_IDS = (
    "checks",
    "will_it_pull",
    "hard_layer",
    "level",
    "shank_depth",
    "front_discs",
    "rear_finish",
    "judge",
    "road",
)


SCOPES = ("day", "field_day", "field", "tool")


class AskKind(Enum):
    """How a question is answered."""

    QUANTITY = "quantity"
    COUNT = "count"
    STEPS = "steps"  # of an adjuster: signed, halves and quarters allowed
    CHOICE = "choice"
    TEXT = "text"


class Then(Enum):
    """What an answer does to the step, as the owner set it."""

    GOOD = "good"
    NOTE = "note"  # on the record, nothing more
    WARN = "warn"
    BLOCK = "block"  # held on Drive and on the record until answered otherwise


@dataclass(frozen=True)
class Choice:
    """One answer of a choice, what it does, and how to mend what it says."""

    key: str
    words: str
    then: Then = Then.GOOD
    mend: str = ""


@dataclass(frozen=True)
class Ask:
    """One thing to look at or measure. Bounds are SI; ``usual`` ones only raise a question.

    ``each`` repeats it: "shank" once a shank dug, "pit" once a pit, "frame" once a frame, "mark"
    once a rod mark of a probe. ``caution`` names cautions that stand beside it. ``scope`` says
    how long an answer counts where that differs from its step: "day", "field_day", "field", "tool".
    """

    key: str
    words: str
    kind: AskKind
    look: str = ""
    group: str = ""
    quantity: str = ""
    unit_us: str = ""
    unit_metric: str = ""
    least: float = 0.0
    most: float = 0.0
    usual_least: float = 0.0
    usual_most: float = 0.0
    choices: tuple[Choice, ...] = ()
    optional: bool = False
    each: str = ""
    caution: str = ""
    scope: str = ""

    def unit(self, system: UnitSystem) -> str:
        """The unit a person starts typing in."""
        return self.unit_us if system is UnitSystem.US else self.unit_metric

    def choice(self, key: str) -> Choice | None:
        """The choice with this key, or None."""
        return next((choice for choice in self.choices if choice.key == key), None)


@dataclass(frozen=True)
class Step:
    """One step: its place in the walk, what it is for, and its questions."""

    id: str
    number: int
    title: str
    line: str
    help: str
    cautions: tuple[str, ...]
    asks: tuple[Ask, ...]
    hint: str = ""  # a few words on its card while nothing is answered

    def ask(self, key: str) -> Ask:
        """The ask with this key, without its repeat number; KeyError if there is none."""
        for ask in self.asks:
            if ask.key == key:
                return ask
        raise KeyError(key)


@dataclass(frozen=True)
class Walk:
    """All steps and the words of the cautions by their key, in full and in a few words."""

    name: str
    steps: tuple[Step, ...]
    cautions: dict[str, str]
    short: dict[str, str]

    def step(self, step_id: str) -> Step:
        """The step with this id; KeyError if the file has none."""
        for step in self.steps:
            if step.id == step_id:
                return step
        raise KeyError(step_id)


class WalkError(ValueError):
    """A steps file that cannot be used, with every fault in it."""

    def __init__(self, source: str, faults: list[str]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(f"{source}: {fault}" for fault in faults))


_EITHER = re.compile(r"\[([^|\]]*)\|([^|\]]*)\]")


def in_units(text: str, units: UnitSystem) -> str:
    """A text of the walk for people of these units: ``[200 ft|60 m]`` says one of the two."""
    return _EITHER.sub(lambda either: either[1 if units is UnitSystem.US else 2], text)


@lru_cache(maxsize=32)
def step_in(step: Step, units: UnitSystem) -> Step:
    """A step with all that is read of it, and of its questions, in one system of units."""
    asks = tuple(
        replace(ask, words=in_units(ask.words, units), look=in_units(ask.look, units))
        for ask in step.asks
    )
    return replace(
        step,
        line=in_units(step.line, units),
        help=in_units(step.help, units),
        hint=in_units(step.hint, units),
        asks=asks,
    )


@lru_cache(maxsize=2)  # the owner's and the shipped one, read again at each turn to the page
def read_walk(text: str, source: str = "steps.toml") -> Walk:
    """Parse and check a steps file; raises WalkError with every fault, key path and mend."""
    try:
        raw = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise WalkError(source, [f"{error}; mend that line"]) from None
    faults: list[str] = []
    cautions = {str(key): str(words) for key, words in raw.get("cautions", {}).items()}
    tables = raw.get("step", [])
    if not isinstance(tables, list):
        raise WalkError(source, ["step: found one table, expected a list; write [[step]]"])
    steps = tuple(_step(table, n, cautions, faults) for n, table in enumerate(tables, start=1))
    missing = [step_id for step_id in STEP_IDS if step_id not in {step.id for step in steps}]
    if missing:
        faults.append(f"step: {', '.join(missing)} missing; add them or restore the shipped file")
    if faults:
        raise WalkError(source, faults)
    brief = {key: str(raw.get("short", {}).get(key, words)) for key, words in cautions.items()}
    return Walk(str(raw.get("name", "")), steps, cautions, brief)


def _step(raw: dict[str, object], n: int, cautions: dict[str, str], faults: list[str]) -> Step:
    step_id = str(raw.get("id", ""))
    path = f"step[{n}]"
    if step_id not in STEP_IDS:
        faults.append(f"{path}.id: found {step_id!r}, expected one of {', '.join(STEP_IDS)}")
    named = raw.get("cautions", [])
    named = [str(key) for key in named] if isinstance(named, list) else []
    for key in named:
        if key not in cautions:
            faults.append(f"{path}.cautions: {key!r} has no words; add it under [cautions]")
    tables = raw.get("ask", [])
    tables = tables if isinstance(tables, list) else []
    asks = tuple(
        _ask(table, f"{path}.ask[{m}]", cautions, faults) for m, table in enumerate(tables, 1)
    )
    keys = [ask.key for ask in asks]
    faults += [
        f"{path}: ask {key!r} twice; rename one" for key in sorted(keys) if keys.count(key) > 1
    ]
    return Step(
        id=step_id,
        number=n,
        title=str(raw.get("title", "")),
        line=str(raw.get("line", "")),
        help=str(raw.get("help", "")),
        cautions=tuple(named),
        asks=asks,
        hint=str(raw.get("hint", "")),
    )


def _ask(raw: dict[str, object], path: str, cautions: dict[str, str], faults: list[str]) -> Ask:
    kinds = {kind.value: kind for kind in AskKind}
    kind = kinds.get(str(raw.get("kind", "")))
    if kind is None:
        faults.append(f"{path}.kind: found {raw.get('kind')!r}, expected {', '.join(kinds)}")
        kind = AskKind.TEXT
    caution = str(raw.get("caution", ""))
    if caution and caution not in cautions:
        faults.append(f"{path}.caution: {caution!r} has no words; add it under [cautions]")
    quantity = str(raw.get("quantity", ""))
    bounds = {
        name: _bound(raw, name, kind, quantity, path, faults)
        for name in ("least", "most", "usual_least", "usual_most")
    }
    ask = Ask(
        key=str(raw.get("key", "")),
        words=str(raw.get("words", "")),
        kind=kind,
        look=str(raw.get("look", "")),
        group=str(raw.get("group", "")),
        quantity=quantity,
        unit_us=str(raw.get("unit_us", "")),
        unit_metric=str(raw.get("unit_metric", "")),
        choices=_choices(raw, kind, path, faults),
        optional=bool(raw.get("optional", False)),
        each=str(raw.get("each", "")),
        caution=caution,
        scope=_scope(raw, path, faults),
        **bounds,
    )
    if not ask.key or not ask.words:
        faults.append(f"{path}: key and words must both be there")
    if kind is AskKind.QUANTITY:
        _check_units(ask, path, faults)
    return ask


def _scope(raw: dict[str, object], path: str, faults: list[str]) -> str:
    scope = str(raw.get("scope", ""))
    if scope and scope not in SCOPES:
        faults.append(f"{path}.scope: found {scope!r}, expected one of {', '.join(SCOPES)}")
    return scope


def _check_units(ask: Ask, path: str, faults: list[str]) -> None:
    for unit in (ask.unit_us, ask.unit_metric):
        if unit not in UNITS or UNITS[unit].quantity != ask.quantity:
            faults.append(f"{path}: unit {unit!r} does not measure a {ask.quantity or 'quantity'}")
    if not ask.least < ask.most:
        faults.append(f"{path}: least must lie below most")


def _bound(
    raw: dict[str, object], name: str, kind: AskKind, quantity: str, path: str, faults: list[str]
) -> float:
    value = raw.get(name)
    if value is None:
        return 0.0
    if kind in (AskKind.COUNT, AskKind.STEPS) and isinstance(value, int):
        return float(value)
    try:
        return parse_quantity(str(value), quantity)
    except UnitError as error:
        faults.append(f"{path}.{name}: {error}")
        return 0.0


def _choices(
    raw: dict[str, object], kind: AskKind, path: str, faults: list[str]
) -> tuple[Choice, ...]:
    rows = raw.get("choices", [])
    if kind is not AskKind.CHOICE:
        return ()
    if not isinstance(rows, list) or len(rows) < 2:
        faults.append(f"{path}.choices: found fewer than two, expected a list of tables")
        return ()
    thens = {then.value: then for then in Then}
    choices = []
    for row in rows:
        then = thens.get(str(row.get("then", "good")))
        if then is None:
            faults.append(
                f"{path}.choices: then = {row.get('then')!r}, expected {', '.join(thens)}"
            )
        mend = str(row.get("mend", ""))
        if then in (Then.WARN, Then.BLOCK) and not mend:
            faults.append(f"{path}.choices: {row.get('key')!r} warns or blocks without a mend")
        choices.append(
            Choice(str(row.get("key", "")), str(row.get("words", "")), then or Then.GOOD, mend)
        )
    return tuple(choices)

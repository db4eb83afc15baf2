"""What a step asks now: its questions one by one, with the repeats that the answers call for.

A pit asks what a pit shows and a probe what a gauge reads; a round of digging asks once a shank. A
question carries the key under which the book keeps its answer.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from cabapp.trade.layer import LEAST_PITS
from cabapp.units import UnitSystem
from cabapp.walk.entries import Answers
from cabapp.walk.findings import About, Finding, Verdict, length_words
from cabapp.walk.hard_layer import MARKS, lone_stones, mark_m
from cabapp.walk.judge import CLODS, FRAMES
from cabapp.walk.shank_depth import begun_rounds, shank_numbers
from cabapp.walk.steps import Ask, Step

A_PAGE = 5  # questions that stand together
REPEATED = re.compile(r"^(?:pit|dig|frame)\d+_([a-z_]+?)\d*$|^(clod)\d+$")
KEPT_AS = {"shank": "dug"}  # the key's own word where it is not the ask's


@dataclass(frozen=True)
class Question:
    """One thing to answer: the book's key, the ask behind it, a short label and its group."""

    key: str
    ask: Ask
    label: str
    group: str


def ask_of(step: Step, key: str) -> Ask | None:
    """The ask behind a key of the book, its repeat numbers taken off; None if there is none."""
    match = REPEATED.match(key)
    stem = (match[1] or match[2]) if match else key
    stem = KEPT_AS.get(stem, stem)
    return next((ask for ask in step.asks if ask.key == stem), None)


def questions(step: Step, answers: Answers, about: About, finding: Finding) -> tuple[Question, ...]:
    """Every question of a step now, in the order to be asked."""
    found = {
        "hard_layer": _pits,
        "shank_depth": _digs,
        "judge": _frames,
    }.get(step.id, _plain)(step, answers, about, finding)
    return tuple(found)


def _plain(step: Step, answers: Answers, about: About, finding: Finding) -> Iterator[Question]:
    for ask in step.asks:
        yield Question(ask.key, ask, ask.words, ask.group or step.title)


def _pits(step: Step, answers: Answers, about: About, finding: Finding) -> Iterator[Question]:
    begun = answers.numbers("pit", "_way")
    last = max((*begun, LEAST_PITS))
    for n in range(1, last + 1):
        yield from _pit(step, answers, about.system, n)
    use = step.ask("use")
    yield Question("use", use, use.words, use.group)
    if len(begun) == last:
        yield from _pit(step, answers, about.system, last + 1)


def _pit(step: Step, answers: Answers, system: UnitSystem, n: int) -> Iterator[Question]:
    way = answers.choice(f"pit{n}_way")
    found = answers.choice(f"pit{n}_found")
    keys = ["way"]
    if way == "pit":
        keys += ["found"]
        keys += ["top"] if found in ("layer", "not_reached") else []
        keys += ["bottom"] if found == "layer" else []
        keys += ["zone"] if found else []
    elif way == "probe":
        keys += ["cone", "scale", "moist", "cone_now", "zone"]
    group = f"{'Probe' if way == 'probe' else 'Pit'} {n}"
    for key in keys:
        ask = step.ask(key)
        yield Question(f"pit{n}_{key}", ask, ask.words, group)
    if way == "probe":
        yield from _marks(step, answers, system, n)


def _marks(step: Step, answers: Answers, system: UnitSystem, n: int) -> Iterator[Question]:
    reading, second = step.ask("reading"), step.ask("second")
    read = answers.numbers(f"pit{n}_reading", "")
    last = MARKS if read and max(read) >= A_PAGE else A_PAGE
    for mark in range(1, last + 1):
        part = 1 if mark <= A_PAGE else 2
        label = length_words(mark_m(mark, system), system)
        yield Question(f"pit{n}_reading{mark}", reading, label, f"Rod {n}, part {part}")
    pushed = answers.numbers(f"pit{n}_second", "")
    if not pushed and not lone_stones(n, answers, system):
        return
    for mark in range(1, max((*read, A_PAGE)) + 1):
        part = 1 if mark <= A_PAGE else 2
        label = length_words(mark_m(mark, system), system)
        yield Question(f"pit{n}_second{mark}", second, label, f"Rod {n}, again {part}")


def _digs(step: Step, answers: Answers, about: About, finding: Finding) -> Iterator[Question]:
    wanted = ("margin",) if about.value("hard_layer", "bottom") is not None else ("target",)
    for key in (*wanted, "point_width"):
        ask = step.ask(key)
        yield Question(key, ask, ask.words, ask.group)
    begun = begun_rounds(answers)
    again = finding.verdict is not Verdict.OPEN or not begun
    last = max(begun, default=0) + (1 if again else 0)
    moved, dug = step.ask("moved"), step.ask("dug")
    for n in range(1, last + 1):
        if n > 1:
            yield Question(f"dig{n}_moved", moved, moved.words, f"Before dig {n}")
        for shank in shank_numbers(about):
            yield Question(f"dig{n}_shank{shank}", dug, str(shank), f"Dig {n}")


def _frames(step: Step, answers: Answers, about: About, finding: Finding) -> Iterator[Question]:
    for n in range(1, FRAMES + 1):
        for ask in (ask for ask in step.asks if ask.each == "frame"):
            yield Question(f"frame{n}_{ask.key}", ask, ask.words, f"Frame {n}")
    for ask in step.asks:
        if not ask.each:
            yield Question(ask.key, ask, ask.words, ask.group or step.title)
    clod = step.ask("clod")
    measured = answers.numbers("clod", "")
    for n in range(1, (CLODS if measured and max(measured) >= A_PAGE else A_PAGE) + 1):
        yield Question(f"clod{n}", clod, f"Clod {n}", f"More: clods {1 if n <= A_PAGE else 2}")


def optional_now(question: Question) -> bool:
    """Whether a step gets done without this answer."""
    return question.ask.optional or question.ask.each == "mark"

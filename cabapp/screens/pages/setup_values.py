"""The values of a step: five beside the keypad on a large panel, one at a time on a small one."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, round_frame
from cabapp.screens.theme import Role
from cabapp.walk.asked import A_PAGE, Question, optional_now
from cabapp.walk.steps import AskKind

if TYPE_CHECKING:
    from cabapp.screens.pages.setup import SetupPage


def _page_of(page: "SetupPage", question: Question | None) -> list[Question]:
    """The questions that stand together with the one in hand: its group, five at most."""
    asked = page.standing.asked
    if not asked:
        return []
    answers = page.standing.answers
    told = [q for q in asked if answers.entry(q.key) is not None]
    one = question or (told or list(asked))[-1]
    group = [q for q in asked if q.group == one.group]
    at = group.index(one)
    return group[at - at % A_PAGE : at - at % A_PAGE + A_PAGE]


def rows(page: "SetupPage", r: Rect, question: Question | None) -> None:
    high = min(88.0, (r.h - 4 * 18) / 5)
    gap = (r.h - 5 * high) / 4
    for i, one in enumerate(_page_of(page, question)):
        rect = Rect(r.x, r.y + i * (high + gap), r.w, high)
        _row(page, rect, one, question is not None and one.key == question.key)


def _row(page: "SetupPage", r: Rect, one: Question, now: bool) -> None:
    paper = page.paper
    role = Role.WANTED if now else Role.SOFT
    paper.touch(f"row_{one.key}", r, partial(page.choose, one.key))
    paper.fill(Role.WANTED if now else Role.SOFT, round_frame(r.x, r.y, r.w, r.h, 14,
                                                              7 if now else 3))  # fmt: skip
    figure, unit = _shown(page, one, now)
    if len(one.label) <= 5 and one.ask.kind is not AskKind.CHOICE:
        wide = paper.say(one.label, r.x + 24, r.y + r.h / 2 + 15, 28, role, False, limit=110)
        _figure(page, r, figure, unit, r.y + r.h / 2 + 18, 36, now, one, r.w - wide - 62)
    else:
        paper.say(one.label, r.x + 20, r.y + 32, 19, role, limit=r.w - 40)
        _figure(page, r, figure, unit, r.y + r.h - 15, 28, now, one, r.w - 40)


def _figure(page: "SetupPage", r: Rect, figure: str, unit: str, foot: float, high: float,
            now: bool, one: Question, room: float) -> None:  # fmt: skip
    """The value and its unit at the right end, with a bar after it while it is typed."""
    paper = page.paper
    right = r.right - 18
    measured = one.ask.kind in (AskKind.QUANTITY, AskKind.COUNT, AskKind.STEPS)
    if unit:
        right -= paper.say(unit, right, foot, 24, Role.SOFT, False, align="right") + 14
    if now and measured:
        paper.fill(Role.WANTED, box(right - 2, foot - high - 4, 5, high + 10))
        right -= 12
    empty = not figure
    unsaid = "as advised" if one.ask.kind is AskKind.STEPS else "optional"
    text = figure or (unsaid if optional_now(one) and not (now and unit) else "")
    room -= r.right - 18 - right
    sizes = (22.0,) if empty else (high, 28.0, 24.0, 21.0) if measured else (24.0, 21.0)
    size = next((s for s in sizes if paper.over.width_of(text, s) <= room), page.paper.floor)
    paper.say(text, right, foot, size, Role.SOFT if empty else Role.INK, not empty, align="right",
              limit=room)  # fmt: skip


def _shown(page: "SetupPage", one: Question, now: bool) -> tuple[str, str]:
    """What stands in a value's place: what is typed, else what is on record."""
    entry = page.standing.answers.entry(one.key)
    if now and not page.asking.typed.empty:
        return page.asking.typed.text, page.asking.typed.unit
    if entry is None:
        unit = page.asking.typed.unit if now else one.ask.unit(page.units)
        return "", unit if one.ask.kind is AskKind.QUANTITY else ""
    choice = one.ask.choice(entry.text) if one.ask.kind is AskKind.CHOICE else None
    return (choice.words if choice else entry.text), entry.unit


def one_value(page: "SetupPage", r: Rect, question: Question | None) -> None:
    """A small panel: the one value in hand; a tap shows all of them."""
    paper = page.paper
    paper.touch("values", r, lambda: page.go(Room.VALUES))
    paper.fill(Role.WANTED, round_frame(r.x, r.y, r.w, r.h, 16, 8))
    if question is None:
        paper.say("All values", r.x + 28, r.y + r.h / 2 + 16, 32, Role.WANTED, limit=r.w - 56)
        return
    group = question.group if len(question.label) <= 7 else ""
    label = f"Shank {question.label}" if group.startswith("Dig") else question.label
    figure, unit = _shown(page, question, True)
    paper.say(label, r.x + 28, r.y + 42, 24, Role.WANTED, limit=r.w - 56)
    _figure(page, r, figure, unit, r.bottom - 20, 40, True, question, r.w - 60)


def write(page: "SetupPage") -> None:
    """A small panel: every value of the group in hand, to choose one; and the other groups."""
    standing, paper = page.standing, page.paper
    page.head(f"{standing.step.number} {standing.step.title}", "Tap what to change", "Back",
              lambda: page.choose(page.asking.key))  # fmt: skip
    asked = list(standing.asked)
    key = page.asking.key or (asked[0].key if asked else "")
    at = next((i for i, q in enumerate(asked) if q.key == key), 0)
    first = at - at % 6
    wide, high = (page.right - 24 - 18) / 2, 106.0
    for i, one in enumerate(asked[first : first + 6]):
        rect = Rect(24 + (i // 3) * (wide + 18), 156 + (i % 3) * (high + 18), wide, high)
        _row(page, rect, one, False)
    if first:
        paper.key("earlier", Rect(24, page.bottom - 114, 200, 114),
                  partial(_turn, page, asked[first - 6].key), "Earlier", sign="back")  # fmt: skip
    if first + 6 < len(asked):
        paper.key("later", Rect(page.right - 200, page.bottom - 114, 200, 114),
                  partial(_turn, page, asked[first + 6].key), "Later", sign="next")  # fmt: skip


def _turn(page: "SetupPage", key: str) -> None:
    page.asking.key = key
    page.go(Room.VALUES)

"""One step: its picture, its values, the keypad or the answers as keys, the sum and the advice.

A large panel shows five values beside the keypad; a small one shows one value at a time.
"""

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from cabapp.screens.pages import setup_look, setup_pictures
from cabapp.screens.pages.keypad import keypad
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN, WARN
from cabapp.screens.pages.setup_list import boxed, state_mark
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.pages.setup_tool import adjuster
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import box, round_frame
from cabapp.screens.theme import Role
from cabapp.walk.asked import A_PAGE, Question, optional_now
from cabapp.walk.findings import Finding
from cabapp.walk.shank_depth import advice_now
from cabapp.walk.steps import AskKind, Then

if TYPE_CHECKING:
    from cabapp.screens.pages.setup import SetupPage

# Steps with one sum to be seen beside the picture; the others list theirs when they rest.
SUMMED = ("hard_layer", "level", "shank_depth", "front_discs", "rear_finish", "judge")


@dataclass(frozen=True)
class Places:
    """Where the parts of a step stand on this panel."""

    picture: Rect
    rows: Rect  # the values, or the one value
    side: Rect
    advice: Rect


def places(page: "SetupPage") -> Places:
    """The parts' places, from the panel's own width and height."""
    right, bottom = page.right, page.bottom
    if page.layout.small:
        left = right - 546
        return Places(Rect(24, 156, left - 48, 264), Rect(24, 434, left - 48, 114),
                      Rect(left, 24, 546, bottom - 24),
                      Rect(24, 554, left - 48, bottom - 554))  # fmt: skip
    low = bottom - 130
    return Places(Rect(24, 130, 446, low - 270), Rect(488, 134, 318, low - 134),
                  Rect(826, 134, right - 826, low - 134),
                  Rect(24, bottom - 104, right - 24 - 364, 104))  # fmt: skip


def write(page: "SetupPage") -> None:
    """The step in hand."""
    at, question = places(page), page.question
    _head(page, question)
    setup_pictures.draw(page, at.picture, question)
    if page.layout.small:
        _one_value(page, at.rows, question)
    else:
        _sums_and_caution(page, at)
        _rows(page, at.rows, question)
        _steps_on(page)
    _side(page, at.side, question)
    _advice(page, at.advice, question)


def _head(page: "SetupPage", question: Question | None) -> None:
    standing, paper = page.standing, page.paper
    number = "" if standing.step.id == "road" else f"{standing.step.number}  "
    title = f"{number}{standing.step.title}"
    if not page.layout.small:
        left = state_mark(page, standing)
        look = question.ask.look if question is not None and question.ask.look else ""
        paper.key("back", Rect(24, 24, 190, 88), lambda: page.go(Room.LIST), "Steps", sign="back")
        paper.say(title, 242, 72, 38, limit=left - 260)
        paper.say(look or standing.step.line, 242, 112, 24, Role.SOFT, False,
                  limit=page.right - 242)  # fmt: skip
        return
    side = page.right - 546
    paper.key("back", Rect(24, 24, 190, 114), lambda: page.go(Room.LIST), "Steps", sign="back")
    title, room = title.replace("  ", " "), side - 18 - 230
    size = next((s for s in (30, 27) if paper.over.width_of(title, s) <= room), 24)
    paper.say(title, 230, 56, size, limit=room)
    paper.sign("injury", 230, 86, 40)
    keys = _caution_keys(page, question)
    brief = page.opened.walk.short[keys[0]] if keys else "Manuals come first"
    paper.lines(brief, 280, 116, 24, side - 18 - 280, 1)
    paper.touch("cautions", Rect(224, 24, side - 24 - 224, 114), lambda: page.go(Room.LOOK))


def _caution_keys(page: "SetupPage", question: Question | None) -> list[str]:
    """The cautions that belong here, the one that does so most in front."""
    standing = page.standing
    keys = [question.ask.caution] if question is not None and question.ask.caution else []
    return [*keys, *standing.finding.cautions, *standing.step.cautions]


def _caution_words(page: "SetupPage", question: Question | None) -> str:
    keys = _caution_keys(page, question)
    return page.opened.walk.cautions[keys[0]] if keys else setup_look.DEFER


def _sums_and_caution(page: "SetupPage", at: Places) -> None:
    paper, finding = page.paper, page.standing.finding
    y, wide = at.picture.bottom + 26, at.picture.w
    sums = finding.sums if page.step_id in SUMMED else ()
    if page.step_id == "level" and len(sums) == 2:
        for i, text in enumerate(sums):
            paper.say(text, 24, y - 2 + i * 29, 20, limit=wide)
    elif sums:
        text = sums[-1] if page.step_id == "judge" else sums[0]
        if paper.over.width_of(text, 26) <= wide:
            paper.say(text, 24, y + 10, 26, limit=wide)
        else:
            paper.lines(text, 24, y, 20, wide, 2, pitch=1.42)
    sign_y = at.side.bottom - 74
    paper.sign("injury", 24, sign_y + 4, 44)
    paper.lines(_caution_words(page, page.question), 82, sign_y + 22, 19, wide - 58, 3, pitch=1.32)
    paper.touch("cautions", Rect(24, sign_y - 24, wide, 98), lambda: page.go(Room.LOOK))


# -- values ----------


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


def _rows(page: "SetupPage", r: Rect, question: Question | None) -> None:
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


def _one_value(page: "SetupPage", r: Rect, question: Question | None) -> None:
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


def write_values(page: "SetupPage") -> None:
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


# -- what is pressed ----------


def _side(page: "SetupPage", r: Rect, question: Question | None) -> None:
    asking = page.asking
    if question is None:
        _found(page, r)
    elif asking.doubt is not None:
        _doubt(page, r)
    elif question.ask.kind is AskKind.CHOICE:
        _choices(page, r, question)
    elif question.ask.kind is AskKind.TEXT:
        setup_look.offer_fields(page, r)
    else:
        ask = question.ask
        again = "Still so" if question.key in page.standing.stale else "Next"
        word = again if asking.typed.empty else "Enter"
        keypad(page.paper, asking.typed, page.press, page.enter_value, r,
               (ask.unit_us, ask.unit_metric), ask.kind is AskKind.STEPS, word)  # fmt: skip


def _choices(page: "SetupPage", r: Rect, question: Question) -> None:
    count = len(question.ask.choices)
    high = min(126.0, (r.h - 18 * (count - 1)) / count)
    high = max(high, (r.h - 18 * 4) / 5) if count <= 5 else high
    now = page.standing.answers.choice(question.key)
    for i, choice in enumerate(question.ask.choices):
        rect = Rect(r.x, r.y + i * (high + 18), r.w, high)
        look = PLAIN
        if choice.key == now:
            look = WARN if choice.then in (Then.WARN, Then.BLOCK) else CHOSEN
        over = page.paper.over
        size = next((s for s in (28, 25) if over.width_of(choice.words, s) <= r.w - 28), 22)
        page.paper.key(f"choice_{choice.key}", rect, partial(page.take, choice.key), choice.words,
                       look=look, high=size)  # fmt: skip


def _doubt(page: "SetupPage", r: Rect) -> None:
    """An odd figure is asked about: both readings stand on a key each."""
    doubt = page.asking.doubt
    assert doubt is not None
    paper = page.paper
    y = paper.lines(doubt.words, r.x, r.y + 40, 30, r.w, 4, pitch=1.4)
    for i, (name, words) in enumerate((("instead", doubt.instead), ("keep", doubt.keep))):
        rect = Rect(r.x, y + 8 + i * 124, r.w, 106)
        paper.key(name, rect, partial(page.settle_doubt, name == "keep"), words, high=30)


def _found(page: "SetupPage", r: Rect) -> None:
    """Nothing left to ask: what was found, every sum and note, and where it leads."""
    paper, finding = page.paper, page.standing.finding
    y = r.y + 28
    for text in (*finding.notes, *finding.sums)[:8]:
        if y > r.bottom - 150:
            break
        words = f"{text[0].upper()}{text[1:]}"
        y = paper.lines(words, r.x, y, 22, r.w, 3, bold=text in finding.notes, pitch=1.42) + 8
    if page.layout.small:
        rect = Rect(r.x, r.bottom - 108, r.w, 108)
        paper.key("act", rect, page.act_on, *_act_words(page, finding), look=GO, high=32)


def _act_words(page: "SetupPage", finding: Finding) -> tuple[str, ...]:
    """What the finding leads to, as a key's words."""
    if finding.leads_to and finding.leads_to != page.step_id:
        step = page.opened.walk.step(finding.leads_to)
        return f"Go to {step.number}", step.title
    if page.step_id == "shank_depth" and not finding.done:
        return ("Dig again",)
    if finding.leads_to == page.step_id:
        return "Measure", "again"
    following = page.following()
    if following is not None:
        return f"Go to {following.step.number}", following.step.title
    return ("Plan",) if page.now is not None and page.now.next is None else ("All steps",)


def _steps_on(page: "SetupPage") -> None:
    """The keys at the lower right: one group back, and on."""
    asked, question = page.standing.asked, page.question
    paper, y = page.paper, page.bottom - 98
    rect = Rect(page.right - 216, y, 216, 88)
    finding = page.standing.finding
    groups = list(dict.fromkeys(q.group for q in asked))
    at = groups.index(question.group) if question is not None else len(groups)
    firsts = {group: next(q.key for q in asked if q.group == group) for group in groups}
    resting = question is None or (at == len(groups) - 1 and not page.first_open())
    resting = resting or finding.missing == ("another dig",)
    if resting:
        paper.key("act", rect, page.act_on, *_act_words(page, finding), look=GO)
    elif at + 1 < len(groups):
        paper.key("next", rect, partial(page.choose, firsts[groups[at + 1]]), "Next",
                  groups[at + 1], high=26)  # fmt: skip
    else:
        paper.key("next", rect, partial(page.choose, page.first_open()), "Still open")
    if at > 0:
        before = Rect(rect.x - 18 - 92, y, 92, 88)
        paper.key("before", before, partial(page.choose, firsts[groups[at - 1]]), sign="back")


# -- advice ----------


def _advice(page: "SetupPage", r: Rect, question: Question | None) -> None:
    paper, asking, finding = page.paper, page.asking, page.standing.finding
    small = page.layout.small
    inner = r.w - (0 if small else 48)
    x = r.x + (0 if small else 24)
    if asking.refused:
        boxed(page, r, True)
        first, pitch = (30, 1.36) if small else (32, 1.42)
        paper.lines(asking.refused, r.x + 20, r.y + first, 21, r.w - 40, 3, Role.ON_LOOK,
                    pitch=pitch)  # fmt: skip
        return
    if not small:
        boxed(page, r)
    if small and question is not None and page.standing.answers.entry(question.key) is None:
        paper.lines(question.ask.look or finding.headline, x, r.y + 30, 24, inner, 3, Role.SOFT,
                    bold=False, pitch=1.42)  # fmt: skip
        return
    advice = advice_now(page.standing.answers, page.now.about) if (
        page.step_id == "shank_depth" and page.now is not None) else None  # fmt: skip
    if advice is not None and not small:
        adjuster(paper, Rect(r.right - 214, r.y + 14, 196, 84), advice)
        inner -= 214
    _two_lines(page, finding, x, r, inner)


def _two_lines(page: "SetupPage", finding: Finding, x: float, r: Rect, room: float) -> None:
    """Headline and detail as large as they fit: one line each, or the headline in two."""
    paper, small = page.paper, page.layout.small
    head, floor = finding.headline, 24.0 if small else 19.0
    size = next((s for s in (32 if small else 28, 26, 24, 21) if s >= floor
                 and paper.over.width_of(head, s) <= room), None)  # fmt: skip
    if size is None:
        y = paper.lines(head, x, r.y + 30, 21, room, 2, pitch=1.42)
        if not small:
            paper.say(finding.detail, x, min(y, r.bottom - 16), 19, Role.SOFT, False, limit=room)
        return
    detail = finding.detail
    whole = paper.over.width_of(detail, max(22, floor), False) <= room
    paper.say(head, x, r.y + (32 if small else 44 if whole else 37), size, limit=room)
    if whole:
        paper.say(detail, x, r.y + (68 if small else 82), 22, Role.SOFT, False, limit=room)
    elif small:
        paper.lines(detail, x, r.y + 69, 24, room, 2, Role.SOFT, False, pitch=1.42)
    else:
        paper.lines(detail, x, r.y + 68, 19, room, 2, Role.SOFT, False, pitch=1.42)

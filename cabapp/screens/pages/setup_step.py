"""One step: its picture, its values, the keypad or the answers as keys, the sum and the advice.

A large panel shows five values beside the keypad; a small one shows one value at a time.
"""

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from cabapp.screens.pages import setup_look, setup_pictures, setup_values
from cabapp.screens.pages.keypad import keypad
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN, WARN
from cabapp.screens.pages.setup_list import boxed, state_mark
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.pages.setup_tool import adjuster
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role
from cabapp.walk.asked import Question
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
        setup_values.one_value(page, at.rows, question)
    else:
        _sums_and_caution(page, at)
        setup_values.rows(page, at.rows, question)
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


# -- what is pressed ----------


def _driven(page: "SetupPage", key: str) -> str:
    """The bearing of the last straight stretch driven, where that is what is asked."""
    along = page.snapshot.along_deg if page.snapshot is not None else None
    return f"{along:.0f}" if key == "row_bearing" and along is not None else ""


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
               (ask.unit_us, ask.unit_metric), ask.kind is AskKind.STEPS, word,
               _driven(page, ask.key))  # fmt: skip


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
    under = next((s for s in (22, 19) if paper.over.width_of(detail, max(s, floor), False) <= room),
                 None)  # fmt: skip
    paper.say(head, x, r.y + (32 if small else 44 if under else 37), size, limit=room)
    if under:
        paper.say(detail, x, r.y + (68 if small else 82), under, Role.SOFT, False, limit=room)
    elif small:
        paper.lines(detail, x, r.y + 69, 24, room, 2, Role.SOFT, False, pitch=1.42)
    else:
        paper.lines(detail, x, r.y + 68, 19, room, 2, Role.SOFT, False, pitch=1.42)

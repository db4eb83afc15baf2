"""Before a step: what to look at and the cautions in full; the hold for buried lines; names."""

from functools import partial
from typing import TYPE_CHECKING

from cabapp.screens.pages.keypad import letters, spelled
from cabapp.screens.pages.paper import CHOSEN, GO, PLAIN
from cabapp.screens.pages.setup_list import where_and_when
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.ruler import Rect
from cabapp.screens.theme import Role
from cabapp.walk.buried import KEY

if TYPE_CHECKING:
    from cabapp.screens.pages.setup import SetupPage

DEFER = "The operator's manuals, local law and licensed trades come before all of this."
NAMES = 6  # offered as keys


def cautions_of(page: "SetupPage") -> list[str]:
    """The step's cautions in words, those of its questions and its finding among them."""
    standing, words = page.standing, page.opened.walk.cautions
    keys = [*standing.step.cautions, *standing.finding.cautions]
    keys += [ask.caution for ask in standing.step.asks if ask.caution]
    return [words[key] for key in dict.fromkeys(keys) if key in words]


def write(page: "SetupPage") -> None:
    """What the step is for, and every caution of it in full."""
    standing, paper = page.standing, page.paper
    step, small = standing.step, page.layout.small
    page.head(f"{step.number}  {step.title}", step.line, "Steps", lambda: page.go(Room.LIST))
    y = paper.lines(step.help, 24, 176 if small else 172, 26, page.right - 24, 3, bold=False)
    foot = page.bottom - 112
    found = cautions_of(page)
    at_once = 3 if small else 8
    part = found[page.look_part * at_once :][:at_once]
    columns = 2 if len(part) > 4 else 1
    wide = (page.right - 24 - 28 * (columns - 1)) / columns
    rows = -(-len(part) // columns)
    pitch = min(112.0, (foot - y - 8) / max(rows, 1))
    for i, words in enumerate(part):
        page.caution(words, 24 + (i // rows) * (wide + 28), y + (i % rows) * pitch, wide, 3)
    paper.lines(DEFER, 24, page.bottom - 62, 22, page.right - 360, 3, Role.SOFT, bold=False)
    rect = Rect(page.right - 300, page.bottom - 106, 300, 106)
    more = len(found) > (page.look_part + 1) * at_once
    word = "Read, more" if more else "Read, go on"
    paper.key("go_on", rect, page.look_on if more else page.begin_step, word, look=GO, high=32)


def write_hold(page: "SetupPage") -> None:
    """Buried lines have to be asked about: the answer is given here, and it may be "not yet"."""
    standing, paper = page.standing, page.paper
    hold = standing.hold
    if hold is None:  # it was answered: on with the step
        page.open_step(page.step_id)
        return
    page.head("", f"{standing.step.title} waits for this", "Steps", lambda: page.go(Room.LIST))
    room = page.right - 242
    size = next((s for s in (38, 32) if paper.over.width_of(hold.headline, s) <= room), 27)
    paper.say(hold.headline, 242, 72, size, limit=room)
    narrow = page.right - 24 - 430 - 24
    y = 150.0 if not page.layout.small else 166.0
    paper.sign("injury", 24, y, 56)
    for i, words in enumerate(hold.lines):
        x = 98.0 if i < 2 else 24.0
        y = paper.lines(words, x, y + 26, 24 if i < 2 else 22, narrow - x + 24, 3,
                        bold=i < 2, pitch=1.4) - 8  # fmt: skip
    ask = page.opened.walk.step("checks").ask(KEY)
    now = page.now.of("checks").answers.choice(KEY) if page.now else ""
    high = (page.bottom - 150 - 18 * 3) / 4
    for i, choice in enumerate(ask.choices):
        rect = Rect(page.right - 430, 150 + i * (high + 18), 430, min(high, 126))
        look = CHOSEN if choice.key == now else PLAIN
        paper.key(f"choice_{choice.key}", rect, partial(_lines_said, page, choice.key),
                  choice.words, look=look)  # fmt: skip


def _lines_said(page: "SetupPage", key: str) -> None:
    step_id = page.step_id
    page.keep(lambda: page.book.answer("checks", KEY, key, "", None))
    page.reckon()
    held = page.now is not None and page.now.of(step_id).hold is not None
    if held:
        page.go(Room.HOLD)
    else:
        page.open_step(step_id)


def write_who(page: "SetupPage") -> None:
    """Who drives: names known, or a new one."""
    page.head("Driver", where_and_when(page), "Steps", lambda: page.go(Room.LIST))
    page.name_of = "driver"
    _offer(page, page.book.drivers()[::-1], Rect(24, 168, page.right - 24, page.bottom - 190))


def _offer(page: "SetupPage", names: list[str], r: Rect) -> None:
    shown = names[: NAMES - 1]
    wide, high = (r.w - 18) / 2, min(118.0, (r.h - 36) / 3)
    for i in range(len(shown) + 1):
        rect = Rect(r.x + (i % 2) * (wide + 18), r.y + (i // 2) * (high + 18), wide, high)
        if i < len(shown):
            page.paper.key(f"name_{i}", rect, partial(page.named, shown[i]), shown[i])
        else:
            page.paper.key("new_name", rect, partial(page.spell, page.name_of), "A new name",
                           sign="plus")  # fmt: skip


def offer_fields(page: "SetupPage", r: Rect) -> None:
    """Fields named before as keys, and one for a new name: beside the question after the field."""
    page.name_of = "field"
    names = page.book.fields()[:3]
    high = (r.h - 18 * 3) / 4
    for i, name in enumerate(names):
        rect = Rect(r.x, r.y + i * (high + 18), r.w, high)
        look = CHOSEN if name == page.book.field else PLAIN
        page.paper.key(f"name_{i}", rect, partial(page.named, name), name, look=look)
    rect = Rect(r.x, r.y + len(names) * (high + 18), r.w, high)
    page.paper.key("new_name", rect, partial(page.spell, "field"), "A new name", sign="plus")


def write_name(page: "SetupPage") -> None:
    """Letters, in the order of the alphabet."""
    paper, asking, small = page.paper, page.asking, page.layout.small
    back = Room.WHO if page.name_of == "driver" else Room.STEP
    what = "Name of the driver" if page.name_of == "driver" else "Name of the field"
    page.head(what, "", "Back", lambda: page.go(back))
    top = 158.0 if small else 222.0
    place = (242.0, 128.0, 34) if small else (24.0, 196.0, 44)
    paper.say(asking.letters or "…", *place, limit=page.right - place[0])

    def press(key: str) -> None:
        asking.part += key == "part"
        asking.letters = spelled(asking.letters, key)
        page.again()

    rect = Rect(24, top, page.right - 24, page.bottom - top)
    letters(paper, asking.letters, press, lambda: page.named(asking.letters), rect,
            part=asking.part)  # fmt: skip


def write_faults(page: "SetupPage") -> None:
    """What is wrong with the owner's steps file; the shipped one is in force until it is mended."""
    page.head("Steps file", "The shipped steps are used until it is mended", "Steps",
              lambda: page.go(Room.LIST))  # fmt: skip
    y = 180.0
    for fault in page.opened.faults[:6]:
        y = page.paper.lines(fault, 24, y, 24, page.right - 24, 3, pitch=1.4) + 10
    more = len(page.opened.faults) - 6
    if more > 0:
        page.paper.say(f"and {more} more", 24, y, 24, Role.SOFT)

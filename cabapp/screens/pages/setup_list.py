"""The list of steps: eight cards with how each stands and why, and the keys for the day's work."""

from typing import TYPE_CHECKING

from cabapp.screens.pages.paper import GO, PLAIN, WARN
from cabapp.screens.pages.setup_rooms import Room
from cabapp.screens.ruler import Rect
from cabapp.screens.shapes import round_box, round_frame
from cabapp.screens.theme import Role
from cabapp.walk.buried import day_of
from cabapp.walk.progress import LONG_STOP, RAIN, Standing, State

if TYPE_CHECKING:
    from cabapp.screens.pages.setup import SetupPage

MARKS = {
    State.TO_DO: "to_do",
    State.DONE: "done",
    State.CHECK_AGAIN: "again",
    State.HELD: "look",
}
CARDS = 8


def trouble(page: "SetupPage") -> None:
    """The book cannot be opened: what the storage said, and the way back."""
    page.head("Set up", "Nothing can be kept now")
    page.paper.lines(page.trouble, 24, 220, 28, page.right - 24, 6)


def where_and_when(page: "SetupPage") -> str:
    """Field, day and driver in one line, for the head."""
    book = page.book
    date = day_of(book.day)
    day = f"{date.day} {date:%b}" if date is not None else f"{book.day}, no date yet"
    parts = [f"{book.field} field" if book.field else "No field named", day, book.driver]
    return ", ".join(part for part in parts if part)


def write(page: "SetupPage") -> None:
    """The cards, two columns, down then across."""
    small = page.layout.small
    assert page.now is not None
    keys = 2
    page.head("Set up", where_and_when(page), right=page.right - keys * 208)
    done = page.now.done
    look = GO if done >= CARDS - 1 and page.now.next is None else PLAIN
    page.side_key(0, "plan", lambda: page.go(Room.PLAN), "Plan", f"{done} of {CARDS} done",
                  look=look)  # fmt: skip
    if small:
        page.side_key(1, "more", lambda: page.go(Room.MORE), "More")
    else:
        who = page.book.driver or "not named"
        page.side_key(1, "who", lambda: page.go(Room.WHO), "Driver", who)
    top = 158.0 if small else 134.0
    gap = 14.0 if small else 16.0
    foot = 0.0 if small else 106.0
    high = (page.bottom - top - foot - 3 * gap) / 4
    wide = (page.right - 24 - 18) / 2
    following = page.now.next
    for i, standing in enumerate(s for s in page.now.standings if s.step.id != "road"):
        rect = Rect(24 + (i // 4) * (wide + 18), top + (i % 4) * (high + gap), wide, high)
        _card(page, rect, standing, standing is following)
    if not small:
        keys_row(page, Rect(24, page.bottom - 92, page.right - 24, 92), 5)


def _card(page: "SetupPage", r: Rect, standing: Standing, following: bool) -> None:
    paper, small = page.paper, page.layout.small
    edge, thick = (Role.WANTED, 8.0) if following else (Role.HAIRLINE, 3.0)
    if not following and standing.state is not State.DONE:
        edge = Role.SOFT
    step, soft = standing.step, standing.state is State.DONE
    ink = Role.SOFT if soft else Role.INK
    upper, lower = (r.y + r.h * 0.45, r.y + r.h - 20) if small else (r.y + 54, r.y + r.h - 22)
    size = 30 if small else 34
    mark = 34.0 if small else 40.0
    paper.touch(f"step_{step.id}", r, lambda: page.open_step(step.id))
    paper.fill(edge, round_frame(r.x, r.y, r.w, r.h, 16, thick))
    left = 74.0 if small else 92.0
    paper.say(str(step.number), r.x + left - 52, upper, size, ink)
    paper.say(step.title, r.x + left, upper, size, Role.INK, limit=r.w - left - mark - 40)
    main = Role.LOOK if standing.state is State.HELD else ink if soft else Role.INK
    x, y = r.right - 26 - mark, upper - mark + 4
    if standing.state is State.HELD:
        paper.sign("look", x - 5, y - 5, mark + 10, Role.INK)
        paper.sign("look", x, y, mark, main, hole=Role.ON_LOOK)
    else:
        paper.sign(MARKS[standing.state], x, y, mark, main)
    word = standing.state.value
    wide = paper.say(word, r.right - 26, lower, 24, Role.INK, align="right", limit=200)
    bold = standing.state in (State.CHECK_AGAIN, State.HELD)
    why = standing.short or standing.why
    paper.say(why, r.x + left, lower, 24, Role.INK if bold else Role.SOFT, bold,
              limit=r.w - left - 26 - wide - 20)  # fmt: skip


def keys_row(page: "SetupPage", r: Rect, across: int) -> None:
    """The day's work: dug, rain, a long stop, wear, the road list, and what is wrong here."""
    keys = [
        ("dug", ("Dug", "a check"), lambda: page.go(Room.DUG), PLAIN),
        ("rain", ("Rain", "since"), lambda: page.happened(RAIN), PLAIN),
        ("stop", ("Long stop", "since the dig"), lambda: page.happened(LONG_STOP), PLAIN),
        ("wear", ("Wear", "points, discs"), lambda: page.go(Room.WEAR), PLAIN),
        ("road", ("Road list", _road_word(page)), lambda: page.open_step("road"), PLAIN),
    ]
    if page.layout.small:
        keys.append(("who", ("Driver", page.book.driver or "not named"),
                     lambda: page.go(Room.WHO), PLAIN))  # fmt: skip
    if page.book.day.startswith("day "):
        keys[2] = ("new_day", ("New day", "no date yet"), page.next_day, PLAIN)
    if page.opened.faults:
        keys[2] = ("faults", ("Steps file", "has faults"), lambda: page.go(Room.FAULTS), WARN)
    rows = -(-len(keys) // across)
    wide, high = (r.w - (across - 1) * 18) / across, (r.h - (rows - 1) * 18) / rows
    for i, (name, words, fire, look) in enumerate(keys):
        rect = Rect(r.x + (i % across) * (wide + 18), r.y + (i // across) * (high + 18), wide, high)
        page.paper.key(name, rect, fire, *words, look=look)


def _road_word(page: "SetupPage") -> str:
    assert page.now is not None
    return page.now.of("road").state.value


def write_more(page: "SetupPage") -> None:
    """The same keys on a page of their own, where the panel is small."""
    page.head("Set up", where_and_when(page), "Steps", lambda: page.go(Room.LIST))
    keys_row(page, Rect(24, 168, page.right - 24, 420), 2)


def state_mark(page: "SetupPage", standing: Standing) -> float:
    """The mark and word of a step's state at the right end of the head; its left edge."""
    paper = page.paper
    word = standing.state.value
    wide = paper.say(word, page.right, 66, 26, align="right")
    x = page.right - wide - 56
    if standing.state is State.HELD:
        paper.sign("look", x - 5, 29, 50, Role.INK)
        paper.sign("look", x, 34, 40, Role.LOOK, hole=Role.ON_LOOK)
    else:
        paper.sign(MARKS[standing.state], x, 34, 42)
    return x


def boxed(page: "SetupPage", r: Rect, warn: bool = False) -> None:
    """The frame of an advice box, amber where something was refused."""
    if warn:
        page.paper.fill(Role.LOOK, round_box(r.x, r.y, r.w, r.h, 16))
    edge = Role.INK if warn else Role.WANTED
    page.paper.fill(edge, round_frame(r.x, r.y, r.w, r.h, 16, 5))

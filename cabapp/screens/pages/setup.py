"""Set up: the walk from hitching to a verified first pass, one step after another.

The page keeps only where a person is; every answer is in the book at once, so leaving, a reboot or
another driver loses nothing. Writing is in the setup_ modules beside this one, by room.
"""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

from cabapp.engine.home import Home
from cabapp.engine.wire import PlanMade
from cabapp.events import TapKind
from cabapp.outcome import Snapshot
from cabapp.record.book import BookError
from cabapp.record.rigfile import RigFile
from cabapp.rig import Rig
from cabapp.screens.fronts import Way
from cabapp.screens.pages import (
    setup_list,
    setup_look,
    setup_plan,
    setup_step,
    setup_values,
    setup_work,
)
from cabapp.screens.pages.page import ParkedPage
from cabapp.screens.pages.paper import Paper
from cabapp.screens.pages.setup_ledger import Ledger
from cabapp.screens.pages.setup_rooms import Asking, Room
from cabapp.screens.pages.setup_walk import open_walk
from cabapp.screens.ruler import Layout
from cabapp.screens.typing import Typed
from cabapp.units import UnitError, parse_number
from cabapp.walk.asked import Question, optional_now
from cabapp.walk.entries import EntryFault, doubt_of, read_value
from cabapp.walk.findings import Verdict
from cabapp.walk.judge import TRIED
from cabapp.walk.progress import Progress, Standing, State, progress


class SetupPage(ParkedPage):
    """The page. ``home`` is the state folder with book, rig and the owner's steps file."""

    def __init__(
        self, layout: Layout, way: Way, back: Callable[[], None], home: Home, **kwargs: Any
    ) -> None:
        super().__init__(layout, way, back, **kwargs)
        self.home = home
        self.room = Room.LIST
        self.step_id = "checks"
        self.asking = Asking()
        self.name_of = ""  # whose name the letters spell: "field" or "driver"
        self.look_part = 0  # which part of its cautions is shown, where they do not fit at once
        self.looked: set[tuple[str, str]] = set()  # (day, step) whose cautions were shown
        self.draft = setup_plan.Draft()
        self.bench = setup_work.Bench()
        self.trouble = ""  # what the storage said
        self.rig = Rig()
        self.opened = open_walk(Path(home.root))
        self.ledger: Ledger | None = None
        self.now: Progress | None = None

    # -- what the house calls ----------

    def enter(self, snapshot: Snapshot) -> None:
        """The page comes to the front: rig, steps and book may have changed meanwhile."""
        self.rig = RigFile(self.home.rig).open().rig
        self.opened = open_walk(Path(self.home.root))
        self.units = snapshot.units
        try:
            if self.ledger is None:
                self.ledger = Ledger(self.home.book, self.rig)
            else:
                self.ledger.rig = self.rig
                self.ledger.read()
            self.trouble = ""
        except BookError as error:
            self.trouble = str(error)
        super().enter(snapshot)

    def show(self, snapshot: Snapshot) -> None:
        """A new snapshot: look, units, date and place; live depth while a dig is entered."""
        before = self.ledger.day if self.ledger else ""
        shown = self.snapshot.depth.value_m if self.snapshot else None
        super().show(snapshot)
        if self.ledger is not None:
            ledger = self.ledger
            self.keep(lambda: ledger.moment(snapshot))
            if ledger.day != before:
                self.again()
        if self.room is Room.DUG and snapshot.depth.value_m != shown:
            self.again()

    def again(self) -> None:
        """Reckon the walk anew, then write."""
        if self.ledger is not None:
            self.reckon()
        super().again()

    def reckon(self) -> None:
        """The walk as the book has it now."""
        ledger = self.book
        self.now = progress(self.opened.walk, ledger.entries, self.rig, self.units,
                            ledger.field, ledger.day)  # fmt: skip

    def write(self, paper: Paper) -> None:
        """Put the room in front on the paper."""
        if self.ledger is None or self.now is None:
            setup_list.trouble(self)
            return
        try:
            ROOMS[self.room](self)
        except BookError as error:  # the storage went while it was read
            self.trouble = str(error)
            paper.start()
            setup_list.trouble(self)

    def keep(self, put: Callable[[], Any]) -> bool:
        """Do something with the book; False with its trouble in words where it refuses."""
        try:
            put()
        except BookError as error:
            self.trouble = str(error)
            return False
        self.trouble = ""
        return True

    # -- where one is ----------

    @property
    def standing(self) -> Standing:
        """The step in hand."""
        assert self.now is not None
        return self.now.of(self.step_id)

    @property
    def question(self) -> Question | None:
        """The question in hand, None while the step rests."""
        return next((q for q in self.standing.asked if q.key == self.asking.key), None)

    @property
    def book(self) -> Ledger:
        """The ledger, once it is open."""
        assert self.ledger is not None
        return self.ledger

    def go(self, room: Room) -> None:
        """Another room."""
        if room is not self.room:
            self.look_part = 0
        self.room = room
        self.asking = replace(self.asking, doubt=None, refused="")
        self.again()

    def open_step(self, step_id: str) -> None:
        """A step from the list: by its hold and its cautions, to what is still open."""
        self.step_id, self.asking = step_id, Asking()
        if self.standing.hold is not None:
            self.go(Room.HOLD)
        elif (self.book.day, step_id) not in self.looked:
            self.go(Room.LOOK)
        else:
            self.begin_step()

    def look_on(self) -> None:
        """The next part of a step's cautions."""
        self.look_part += 1
        self.again()

    def begin_step(self) -> None:
        """From the cautions to the first open question."""
        self.looked.add((self.book.day, self.step_id))
        self.room = Room.STEP
        self.choose(self.first_open())

    def choose(self, key: str) -> None:
        """Ask one question; "" rests and shows what was found."""
        self.room = Room.STEP
        self.asking = Asking(key)
        question = self.question
        if question is not None:
            entry = self.standing.answers.entry(key)
            unit = entry.unit if entry and entry.unit else question.ask.unit(self.units)
            self.asking.typed = Typed(unit=unit)
        self.again()

    def first_open(self, after: str = "") -> str:
        """The next question without an answer, from one on and then from the start; "" if none."""
        asked, stale = self.standing.asked, self.standing.stale
        if stale and stale[0]:
            return stale[0]
        start = next((i + 1 for i, q in enumerate(asked) if q.key == after), 0)
        answers = self.standing.answers
        for question in (*asked[start:], *asked[:start]):
            if answers.entry(question.key) is None and not optional_now(question):
                return question.key if self._due(question) else ""
        return ""

    def _due(self, question: Question) -> bool:
        """Whether an open question is asked by itself, or waits for its key (one more pit, dig)."""
        standing = self.standing
        if standing.step.id == "shank_depth":  # a round is seen through before the next one
            return standing.finding.verdict is Verdict.OPEN or standing.state is State.CHECK_AGAIN
        return standing.step.id != "hard_layer" or not standing.finding.done

    def next_question(self) -> None:
        """On by one question; past the last one the step rests."""
        asked = self.standing.asked
        at = next((i for i, q in enumerate(asked) if q.key == self.asking.key), len(asked))
        self.choose(asked[at + 1].key if at + 1 < len(asked) else "")

    # -- answering ----------

    def press(self, key: str) -> None:
        """A key of the keypad."""
        typed = self.asking.typed
        if key.startswith("unit:"):
            self.asking.typed = replace(typed, unit=key.removeprefix("unit:"), fraction="")
        elif key.startswith("offer:"):
            self.asking.typed = replace(typed, digits=key.removeprefix("offer:"), fraction="")
        else:
            self.asking.typed = typed.press(key)
        self.asking.refused, self.asking.doubt = "", None
        self.again()

    def enter_value(self) -> None:
        """Enter: take what is typed, or go on where nothing is."""
        typed, key = self.asking.typed, self.asking.key
        entry = self.standing.answers.entry(key)
        if typed.empty and key in self.standing.stale and entry is not None:
            self.take(entry.text, entry.unit, sure=True)  # looked at anew, and still the same
        elif typed.empty:
            self.next_question()
        else:
            self.take(typed.text, typed.unit)

    def take(self, text: str, unit: str = "", sure: bool = False) -> None:
        """An answer: refused with its mend, doubted, or put into the book and the next asked."""
        question = self.question
        if question is None:
            return
        ask = question.ask
        try:
            value = read_value(ask, text, unit)
        except EntryFault as error:
            self.refuse(str(error))
            return
        doubt = None if sure else doubt_of(ask, text, unit)
        if doubt is not None:
            self.asking.doubt = doubt
            self.again()
            return
        number = value if isinstance(value, float) else None
        if self.keep(lambda: self.book.answer(self.step_id, question.key, text, unit, number)):
            self._told(question.key, text)
            self._after(question.key)
        else:
            self.refuse(self.trouble)

    def refuse(self, words: str) -> None:
        """Nothing is taken: why, and the mend; what was there before stays."""
        self.asking.refused = words
        self.asking.typed = Typed(unit=self.asking.typed.unit)
        self.again()

    def settle_doubt(self, keep: bool) -> None:
        """The doubt is answered: the unit typed was meant, or the other one."""
        doubt, typed = self.asking.doubt, self.asking.typed
        if doubt is not None:
            self.take(typed.text, typed.unit if keep else doubt.instead_unit, sure=True)

    def _told(self, key: str, text: str) -> None:
        """What the engine wants to know at once."""
        if self.step_id == "checks" and key == "field":
            self.way.send(TapKind.FIELD, text)

    def _after(self, key: str) -> None:
        """After an answer: the walk is reckoned anew, then what is open comes next."""
        self.again()
        asked = [q.key for q in self.standing.asked]
        following = asked[asked.index(key) + 1 :] if key in asked else []
        marks = key.startswith("pit") and following and _is_mark(following[0])
        # A rod is read on mark after mark; everything else goes on with what is open.
        self.choose(following[0] if marks and _is_mark(key) else self.first_open(key))

    def act_on(self) -> None:
        """What the finding leads to: another step, one more dig, or back to the list."""
        finding = self.standing.finding
        if self.step_id == "judge" and finding.leads_to and finding.notes:
            text = finding.notes[0]
            count = sum(key.startswith(TRIED) for key in self.standing.answers.answered)
            self.keep(lambda: self.book.answer("judge", f"{TRIED}{count + 1}", text, "", None))
            self.again()
        if finding.leads_to and finding.leads_to != self.step_id:
            self.open_step(finding.leads_to)
            return
        digs = [q.key for q in self.standing.asked if "_shank" in q.key
                and self.standing.answers.entry(q.key) is None]  # fmt: skip
        if self.step_id == "shank_depth" and digs:
            self.choose(digs[0])
        elif finding.leads_to == self.step_id and self.standing.asked:
            self.choose(self.standing.asked[0].key)
        else:
            self._on_from_here()

    def following(self) -> Standing | None:
        """The step to go on with once this one is done; None where there is none."""
        assert self.now is not None
        if self.standing.state is not State.DONE or self.step_id == "road":
            return None
        return self.now.next

    def _on_from_here(self) -> None:
        following = self.following()
        if following is not None:
            self.open_step(following.step.id)
        else:
            done = self.now is not None and self.now.next is None
            self.go(Room.PLAN if done else Room.LIST)

    # -- names, happenings, plan ----------

    def spell(self, whose: str) -> None:
        """Letters for the field's or the driver's name."""
        self.name_of, self.asking.letters = whose, ""
        self.go(Room.NAME)

    def named(self, name: str) -> None:
        """A name was spelled or picked."""
        name = name.strip()
        if not name:
            return
        if self.name_of == "driver":
            if self.keep(lambda: self.book.name_driver(name)):
                self.way.send(TapKind.DRIVER, name)
            self.go(Room.LIST)
            return
        self.step_id, self.asking = "checks", Asking("field")
        self.room = Room.STEP
        self.take(name)

    def happened(self, what: str) -> None:
        """Rain or a long stop: steps fall due again at once."""
        if self.keep(lambda: self.book.happen(what)) and what == "rain":
            self.way.send(TapKind.RAIN, None)
        self.go(Room.LIST)

    def next_day(self) -> None:
        """A new day while no date is known."""
        self.book.next_day()
        self.go(Room.LIST)

    def send_plan(self) -> None:
        """The plan goes to Drive and into the book."""
        plan = setup_plan.plan_of(self)
        if plan is not None and self.keep(lambda: self.book.keep_plan(setup_plan.plain(plan))):
            self.way.tell(PlanMade(plan))
            self.draft.sent = True
        self.again()

    def typed_number(self) -> float | None:
        """The figure typed, in its unit; None with a refusal in words."""
        try:
            return parse_number(self.asking.typed.text)
        except UnitError as error:
            self.refuse(str(error))
            return None


def _is_mark(key: str) -> bool:
    return "_reading" in key or "_second" in key


ROOMS: dict[Room, Callable[[SetupPage], None]] = {
    Room.LIST: setup_list.write,
    Room.MORE: setup_list.write_more,
    Room.LOOK: setup_look.write,
    Room.HOLD: setup_look.write_hold,
    Room.STEP: setup_step.write,
    Room.VALUES: setup_values.write,
    Room.PLAN: setup_plan.write,
    Room.DUG: setup_work.write_dug,
    Room.WEAR: setup_work.write_wear,
    Room.WHO: setup_look.write_who,
    Room.NAME: setup_look.write_name,
    Room.FAULTS: setup_look.write_faults,
}

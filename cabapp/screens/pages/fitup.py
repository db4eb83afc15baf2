"""Fit-up, the installer's pages: the list of them, the child lock, and what stands over a page."""

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from time import monotonic
from typing import Any

from cabapp.engine.home import Home
from cabapp.engine.wire import Receiving
from cabapp.events import TapKind
from cabapp.fitup.pages import PAGES, Page
from cabapp.fitup.pin import WAY_BACK
from cabapp.fitup.plugs import Mark
from cabapp.outcome import Snapshot
from cabapp.screens.fronts import Way
from cabapp.screens.pages.fitup_asks import AskChoice, AskPin, Notice, Over
from cabapp.screens.pages.fitup_calibrate import CalibrateLeaf
from cabapp.screens.pages.fitup_files import FilesLeaf
from cabapp.screens.pages.fitup_find import FindLeaf
from cabapp.screens.pages.fitup_leaf import Leaf
from cabapp.screens.pages.fitup_limits import LimitsLeaf
from cabapp.screens.pages.fitup_plugs import PlugsLeaf
from cabapp.screens.pages.fitup_receiver import ReceiverLeaf
from cabapp.screens.pages.fitup_screen import ScreenLeaf
from cabapp.screens.pages.fitup_sensors import SensorsLeaf
from cabapp.screens.pages.fitup_sign import SignLeaf
from cabapp.screens.pages.fitup_sounds import AlertsLeaf, Fired, SoundsLeaf
from cabapp.screens.pages.fitup_springs import SpringsLeaf
from cabapp.screens.pages.fitup_switch import SwitchLeaf
from cabapp.screens.pages.fitup_tool import ToolLeaf
from cabapp.screens.pages.fitup_work import Work
from cabapp.screens.pages.page import HEAD_BOTTOM, ParkedPage
from cabapp.screens.pages.paper import Paper
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.shapes import round_frame
from cabapp.screens.theme import Role
from cabapp.units import UnitSystem

LEAVES: tuple[type[Leaf], ...] = (
    PlugsLeaf,
    ReceiverLeaf,
    SensorsLeaf,
    FindLeaf,
    CalibrateLeaf,
    SpringsLeaf,
    SwitchLeaf,
    ToolLeaf,
    LimitsLeaf,
    ScreenLeaf,
    SoundsLeaf,
    AlertsLeaf,
    FilesLeaf,
    SignLeaf,
)
COLUMNS, ROWS, GAP = 3, 5, 14.0


class FitupPage(ParkedPage):
    """All pages of the installer on one paper; where it is stays when the machine sets off."""

    def __init__(
        self,
        layout: Layout,
        way: Way,
        back: Callable[[], None],
        home: Home,
        clock: Callable[[], float] = monotonic,
        **kwargs: Any,
    ) -> None:
        super().__init__(layout, way, back, clock, **kwargs)
        self.work = Work(home, way.tell, clock)
        self.leaves: dict[Page, Leaf] = {kind.page: kind(self) for kind in LEAVES}
        self.leaf: Leaf | None = None
        self.over: Over | None = None
        self.work.listeners.append(self._sample)

    # -- what the house calls ----------

    def enter(self, snapshot: Snapshot) -> None:
        """The pages come to the front: read again what is on disk, ask for samples."""
        self.work.look_again()
        self.work.want_samples()
        super().enter(snapshot)
        if self.leaf is not None and self.leaf.words.locked and self.work.pin:
            self.to_list()

    def show(self, snapshot: Snapshot) -> None:
        """A new snapshot: the engine may be a new one that knows nothing of this page."""
        self.work.want_samples()
        super().show(snapshot)
        if isinstance(self.over, Fired):
            self.again()

    def heard(self, message: object) -> None:
        """What the wires say, and how the ports are."""
        receiver = self.leaves[Page.RECEIVER]
        if isinstance(message, Receiving) and isinstance(receiver, ReceiverLeaf):
            receiver.receiving(message)
        if self.work.hear(message) and self.over is None:
            self.again()

    def leave(self) -> None:
        """The pages go: lock, and hand the rig over to the engine."""
        super().leave()
        if self.leaf is not None:
            self.leaf.close()
        self.work.leave()

    # -- where to ----------

    def to_list(self) -> None:
        """Back to the list of pages."""
        if self.leaf is not None:
            self.leaf.close()
        self.leaf, self.over = None, None
        self.again()

    def go(self, page: Page) -> None:
        """Open one page; the PIN stands before some."""
        if PAGES[page].locked and self.work.pin and not self.work.unlocked:
            self.put(AskPin("PIN", WAY_BACK, partial(self._unlock, page)))
            return
        if self.leaf is not None:
            self.leaf.close()
        self.leaf, self.over = self.leaves[page], None
        self.leaf.open()
        self.again()

    def _unlock(self, page: Page, digits: str) -> str:
        if not self.work.unlock(digits):
            return "That is not the PIN."
        self.go(page)
        return ""

    # -- what stands over a page ----------

    def put(self, over: Over) -> None:
        """Ask or tell something in place of the page."""
        self.over = over
        self.again()

    def close_over(self) -> None:
        """Back to the page below."""
        self.over = None
        self.again()

    def tell_fault(self, fault: str, title: str = "Not done") -> bool:
        """Show a refusal line by line; False where there is none."""
        if not fault:
            return False
        self.put(Notice(title, tuple(fault.split("\n"))))
        return True

    def save(self, rig: Any, title: str = "Not written") -> bool:
        """Write the rig; True if it is on disk, else the faults are shown."""
        return not self.tell_fault(self.work.save(rig), title)

    def send_tap(self, kind: TapKind, value: str | float | None = None) -> None:
        """Tell the engine something."""
        self.way.send(kind, value)

    # -- writing ----------

    def write(self, paper: Paper) -> None:
        """What stands over the page, the page, or the list."""
        if self.over is not None:
            over = self.over
            over.write(self, paper, partial(self._close, over))
        elif self.leaf is not None:
            self.leaf.write(paper)
        else:
            self._write_list(paper)

    def _close(self, over: Over) -> None:
        """Close this one; a later one that an answer has put up stays."""
        if self.over is over:
            self.close_over()

    def _write_list(self, paper: Paper) -> None:
        rig = self.work.rig
        line = (self.work.refused and "The rig file has faults: see Rig file") or rig.name
        self.head("Fit-up", line, right=self.right - 416)
        self.side_key(1, "units", self._units, "in" if self._us else "cm", "units")
        self.side_key(0, "pin", self._pin, "PIN", "set" if self.work.pin else "none")
        high = (self.bottom - HEAD_BOTTOM - (ROWS - 1) * GAP) / ROWS
        wide = (self.right - 24 - (COLUMNS - 1) * GAP) / COLUMNS
        for n, (page, leaf) in enumerate(self.leaves.items()):
            column, row = divmod(n, ROWS)
            x, y = 24 + column * (wide + GAP), HEAD_BOTTOM + row * (high + GAP)
            self._card(paper, n + 1, leaf, Rect(x, y, wide, high), page)

    def _card(self, paper: Paper, number: int, leaf: Leaf, r: Rect, page: Page) -> None:
        mark, words = leaf.state()
        paper.fill(Role.SOFT, round_frame(r.x, r.y, r.w, r.h, 14, 3))
        middle = r.y + r.h / 2
        paper.say(str(number), r.x + 58, middle - 4, 28, Role.SOFT, digits=True, align="right")
        paper.say(
            leaf.words.card or leaf.words.title, r.x + 72, middle - 4, 28, limit=r.w - 72 - 60
        )
        soft = mark is Mark.DONE
        x = r.x + (28 if paper.layout.small else 72)
        paper.say(
            words,
            x,
            middle + 33,
            20,
            Role.SOFT if soft else Role.INK,
            not soft,
            limit=r.right - 16 - x,
        )
        leaf.mark(paper, mark, r.right - 52, middle - 35, 34)
        paper.touch(page.value, r, partial(self.go, page))

    @property
    def _us(self) -> bool:
        return self.units is UnitSystem.US

    def _units(self) -> None:
        """At once for who looks, and in the rig file for the next start."""
        units = UnitSystem.METRIC if self._us else UnitSystem.US
        self.send_tap(TapKind.UNITS, units.value)
        if not self.work.refused:
            self.save(replace(self.work.rig, units=units))

    def _pin(self) -> None:
        if self.work.pin and not self.work.unlocked:
            self.put(AskPin("PIN", WAY_BACK, self._unlock_pin))
            return
        if self.work.pin:
            choices = (("New PIN", ""), ("No PIN", "calibration and limits stand open"))
            self.put(AskChoice("PIN", "A child lock, not a safe", choices, self._pin_choice))
            return
        self._new_pin()

    def _unlock_pin(self, digits: str) -> str:
        if not self.work.unlock(digits):
            return "That is not the PIN."
        self._pin()
        return ""

    def _pin_choice(self, n: int) -> None:
        if n:
            self.tell_fault(self.work.set_pin(""))
            self.again()
        else:
            self._new_pin()

    def _new_pin(self) -> None:
        line = "4 to 8 digits before calibration and limits: a child lock, not a safe. " + WAY_BACK
        self.put(AskPin("New PIN", line, self._pin_typed))

    def _pin_typed(self, digits: str) -> str:
        if len(digits) < 4:
            return self.work.set_pin(digits or "0")
        self.put(
            AskPin(
                "The same PIN again",
                "So that it is what you meant.",
                partial(self._pin_again, digits),
            )
        )
        return ""

    def _pin_again(self, first: str, digits: str) -> str:
        return self.work.set_pin(digits) if digits == first else "Not the same digits."

    def _sample(self, sample: Any) -> None:
        if self.leaf is not None:
            self.leaf.hear(sample)

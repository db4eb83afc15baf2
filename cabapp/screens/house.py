"""All pages of the screen, and the lock between them: only Drive is in reach while moving."""

from collections.abc import Callable
from time import monotonic
from typing import Any, Protocol

from kivy.uix.widget import Widget

from cabapp.outcome import Snapshot
from cabapp.screens.drive import DrivePage
from cabapp.screens.fronts import Way
from cabapp.screens.ruler import Layout


class Page(Protocol):
    """What another page is: a widget as large as the panel that is told what happens.

    It is made once by its factory, with the way back to Drive.
    """

    def enter(self, snapshot: Snapshot) -> None:
        """It comes to the front."""

    def show(self, snapshot: Snapshot) -> None:
        """A new snapshot, while it is in front."""

    def heard(self, message: object) -> None:
        """Another message of the engine, while it is in front."""

    def leave(self) -> None:
        """It goes: by its own back key, or because the machine set off."""


Factory = Callable[[Layout, Way, Callable[[], None]], Any]


class House(Widget):
    """Drive and the other pages, one of them in front. ``pages`` are made when first opened."""

    def __init__(
        self,
        layout: Layout,
        way: Way,
        pages: dict[str, Factory] | None = None,
        clock: Callable[[], float] = monotonic,
        **kwargs: Any,
    ) -> None:
        super().__init__(size_hint=(None, None), **kwargs)
        self.size = (layout.panel.wide_px, layout.panel.high_px)
        self.layout, self.factories = layout, pages or {}
        self.made: dict[str, Any] = {}
        self.page_name = ""
        self.snapshot: Snapshot | None = None
        self.way = Way(way.send, self.open, tuple(self.factories), way.tell)
        self.drive = DrivePage(layout, self.way, clock)
        self.add_widget(self.drive)

    def show(self, snapshot: Snapshot) -> None:
        """Hand a snapshot to the page in front; moving brings Drive back first."""
        self.snapshot = snapshot
        if snapshot.moving:
            self.back()
        self.drive.show(snapshot)
        if self.page_name:
            self.made[self.page_name].show(snapshot)

    def show_starting(self) -> None:
        """The engine has not spoken yet."""
        self.drive.show_starting()

    def show_silent(self) -> None:
        """The engine says nothing: Drive says so."""
        self.back()
        self.drive.show_silent()

    def heard(self, message: object) -> None:
        """Hand any other message to the page in front."""
        if self.page_name:
            self.made[self.page_name].heard(message)

    def open(self, name: str) -> None:
        """Bring a page to the front, unless the machine moves or may be moving."""
        snapshot = self.snapshot
        if snapshot is None or snapshot.moving or name not in self.factories:
            return
        self.back()
        if name not in self.made:
            self.made[name] = self.factories[name](self.layout, self.way, self.back)
        self.page_name = name
        self.remove_widget(self.drive)
        self.add_widget(self.made[name])
        self.made[name].enter(snapshot)

    def back(self) -> None:
        """Bring Drive to the front."""
        if not self.page_name:
            return
        page = self.made[self.page_name]
        self.page_name = ""
        self.remove_widget(page)
        page.leave()
        self.add_widget(self.drive)
        self.drive.fingers.anew(self.drive.clock())

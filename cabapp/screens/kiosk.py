"""The toolkit's side of the screen process: one window, one house, woken by the engine."""

import logging
import threading
from typing import Any

from kivy.app import App
from kivy.base import ExceptionHandler, ExceptionManager
from kivy.clock import Clock
from kivy.graphics.opengl import GL_RENDERER, glGetString

from cabapp.engine.pipes import Links, Wires
from cabapp.engine.wire import (
    BEAT_S,
    ENGINE_GONE_SCREEN_S,
    Leaving,
    Message,
    Part,
    Received,
    TapMade,
)
from cabapp.events import TapKind
from cabapp.outcome import Snapshot
from cabapp.screens.fronts import Way
from cabapp.screens.house import Factory, House
from cabapp.screens.ruler import Layout

log = logging.getLogger(__name__)
MOST_FAULTS = 50  # a screen that faults at every frame is better started again
WAITING_MOST = 64  # messages for a page that does not take them: the oldest goes


class Faults(ExceptionHandler):
    """A fault in one frame is logged and counted; the next frame comes. Too many end the screen."""

    def __init__(self) -> None:
        self.count = 0

    def handle_exception(self, inst: BaseException) -> int:
        """Answer the toolkit's question what to do about an exception."""
        if isinstance(inst, KeyboardInterrupt | SystemExit):
            return int(ExceptionManager.RAISE)
        self.count += 1
        if self.count & (self.count - 1) == 0:
            log.error("fault %d in a frame", self.count, exc_info=inst)
        return int(ExceptionManager.RAISE if self.count >= MOST_FAULTS else ExceptionManager.PASS)


class Inbox:
    """What the reading thread leaves for the window: the newest snapshot, and the rest in order."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._snapshot: Snapshot | None = None
        self._others: list[Message] = []

    def put(self, message: Message) -> None:
        """From the reading thread."""
        with self._lock:
            if isinstance(message, Snapshot):
                self._snapshot = message
            else:
                self._others = [*self._others[-WAITING_MOST + 1 :], message]

    def take(self) -> tuple[Snapshot | None, list[Message]]:
        """All that has come since the last time."""
        with self._lock:
            found = self._snapshot, self._others
            self._snapshot, self._others = None, []
        return found


class Kiosk(App):
    """The application: no settings page, no way out by a key."""

    def __init__(
        self, wires: Wires, layout: Layout, pages: dict[str, Factory] | None = None, **kwargs: Any
    ) -> None:
        super().__init__(**kwargs)
        self.wires, self.layout = wires, layout
        self.inbox = Inbox()
        self.silent = False
        self.drawn = 0
        self.house = House(layout, Way(self._tap, lambda name: None, tell=self._tell), pages)
        self.faults = Faults()

    def build(self) -> House:
        """Open the pipes once the window is there; the house is the root of it."""
        ExceptionManager.add_handler(self.faults)
        renderer = glGetString(GL_RENDERER)
        log.info("drawing by %s", renderer)
        if b"llvmpipe" in (renderer or b""):
            log.warning("the graphics driver is missing: drawing in software")
        self.house.show_starting()
        self._wake = Clock.create_trigger(self._take, 0)
        self.links = Links(self.wires, Part.SCREEN, self._received)
        Clock.schedule_interval(self._beat, BEAT_S)
        return self.house

    def open_settings(self, *_: Any) -> bool:
        """The toolkit's own settings page stays away."""
        return False

    def _received(self, received: Received) -> None:
        """In the reading thread: keep the message, wake the window."""
        self.inbox.put(received.message)
        self._wake()

    def _take(self, _: float) -> None:
        snapshot, others = self.inbox.take()
        if snapshot is not None:
            self.silent = False
            self.house.show(snapshot)
            self.drawn = snapshot.number
        for message in others:
            if isinstance(message, Leaving):
                self.house.show_starting()
            else:
                self.house.heard(message)

    def _tap(self, kind: TapKind, value: str | float | None) -> None:
        self.links.send(TapMade(kind, value))

    def _tell(self, message: Message) -> None:
        self.links.send(message)

    def _beat(self, _: float) -> None:
        if not self.links.beat(self.drawn):
            self.stop()
            return
        gone = self.links.engine_silent_s() > ENGINE_GONE_SCREEN_S
        if gone and not self.silent:
            log.warning("the engine says nothing")
            self.silent = True
            self.house.show_silent()

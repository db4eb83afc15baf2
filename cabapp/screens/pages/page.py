"""What all parked pages share: the head with the way back, fingers, day and night, cautions."""

from collections.abc import Callable
from time import monotonic
from typing import Any

from kivy.clock import Clock
from kivy.uix.widget import Widget

from cabapp.outcome import Snapshot
from cabapp.screens.fronts import Way
from cabapp.screens.pages.paper import PLAIN, Look, Paper
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.theme import DAY, NIGHT, Palette, Role
from cabapp.screens.touch import SLOP_MM, Fingers, Target
from cabapp.units import UnitSystem

HEAD_BOTTOM = 134.0  # where a page's own things begin
HOLD_STEP_S = 0.05


class ParkedPage(Widget):
    """A page that writes itself on one paper. Subclasses write; keys call ``again`` when done.

    ``back`` leads to Drive. A page with pages of its own keeps where it is in its own state, so
    that setting off and parking again comes back to the same place.
    """

    def __init__(
        self,
        layout: Layout,
        way: Way,
        back: Callable[[], None],
        clock: Callable[[], float] = monotonic,
        **kwargs: Any,
    ) -> None:
        super().__init__(size_hint=(None, None), **kwargs)
        self.size = (layout.panel.wide_px, layout.panel.high_px)
        self.layout, self.way, self.back, self.clock = layout, way, back, clock
        self.paper = Paper(layout)
        self.add_widget(self.paper)
        self.palette: Palette = DAY
        self.units = UnitSystem.US
        self.snapshot: Snapshot | None = None
        self.fingers = Fingers(lambda: self.paper.targets, SLOP_MM * layout.panel.px_per_mm)
        self._ticking: Any = None

    # -- what a subclass gives ----------

    def write(self, paper: Paper) -> None:
        """Put everything on the paper, from the page's state."""

    # -- what the house calls ----------

    def enter(self, snapshot: Snapshot) -> None:
        """The page comes to the front."""
        self.show(snapshot)
        self.again()
        self.fingers.anew(self.clock())

    def show(self, snapshot: Snapshot) -> None:
        """A new snapshot: only look and units matter to most pages."""
        self.snapshot = snapshot
        palette = NIGHT if snapshot.night else DAY
        if palette is not self.palette:
            self.palette = palette
            self.paper.recolour(palette)
        if snapshot.units is not self.units:
            self.units = snapshot.units
            self.again()

    def heard(self, message: object) -> None:
        """Another message of the engine."""

    def leave(self) -> None:
        """The page goes."""
        self.fingers.forget()

    def again(self) -> None:
        """Write the page anew; only what differs is drawn."""
        self.paper.start()
        self.write(self.paper)
        self.paper.done()
        self.fingers.look(self.clock())

    # -- parts of a page ----------

    @property
    def right(self) -> float:
        """The right edge of a page's things."""
        return self.paper.wide - 24

    @property
    def head_high(self) -> float:
        """How high the keys of the head are: 15 mm on a large panel, 14 mm on a small one."""
        return 106.0 if self.layout.small else 88.0

    @property
    def bottom(self) -> float:
        """The lower edge of a page's things."""
        return self.paper.high - 24

    def head(
        self,
        title: str,
        line: str = "",
        back_word: str = "Drive",
        go_back: Callable[[], None] | None = None,
        right: float | None = None,
    ) -> None:
        """Back key, title, one line of help; ``right``: where other things of the head begin."""
        paper = self.paper
        end = self.right if right is None else right
        paper.key("back", Rect(24, 24, 190, self.head_high), go_back or self.back, back_word,
                  sign="back")  # fmt: skip
        paper.say(title, 242, 72, 38, limit=end - 242)
        paper.say(line, 242, 110, 24, Role.SOFT, bold=False, limit=end - 242)

    def side_key(
        self, place: int, name: str, fire: Callable[[], None], *words: str, look: Look = PLAIN
    ) -> None:
        """A key at the right end of the head: place 0 is the outermost."""
        x = self.right - 190 - place * 208
        self.paper.key(name, Rect(x, 24, 190, self.head_high), fire, *words, look=look)

    def caution(self, words: str, x: float, y: float, limit: float, most: int = 2) -> float:
        """The sign for injury and a caution beside it; returns the foot below it."""
        self.paper.sign("injury", x, y, 44, main=Role.INK, hole=Role.GROUND)
        return self.paper.lines(words, x + 58, y + 24, 22, limit - 58, most)

    # -- touching ----------

    def targets(self) -> list[Target]:
        """Everything that can be touched now."""
        return self.paper.targets

    def on_touch_down(self, touch: Any) -> bool:
        """A finger comes down."""
        if not getattr(touch, "is_mouse_scrolling", False):
            self.fingers.touch(touch.uid, touch.x, touch.y, self.clock())
            self._keep_ticking()
        return True

    def on_touch_move(self, touch: Any) -> bool:
        """A finger slides."""
        self.fingers.move(touch.uid, touch.x, touch.y)
        return True

    def on_touch_up(self, touch: Any) -> bool:
        """A finger leaves."""
        self.fingers.release(touch.uid, touch.x, touch.y, self.clock())
        return True

    def tick(self) -> bool:
        """Fill a key that is held; True while one is."""
        return self.fingers.tick(self.clock())

    def _keep_ticking(self) -> None:
        if self._ticking is None:
            self._ticking = Clock.schedule_once(self._next, HOLD_STEP_S)

    def _next(self, _: float) -> None:
        self._ticking = None
        if self.tick():
            self._keep_ticking()

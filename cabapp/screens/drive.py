"""The Drive page: one glance. Takes snapshots, sends taps, and knows no rule.

Every widget is made once for a layout. What can be touched depends on what is in front: nothing
that opens another page is in reach while the snapshot says that the machine moves.
"""

from collections.abc import Callable
from functools import partial
from time import monotonic
from typing import Any

from kivy.clock import Clock
from kivy.core.window import Window
from kivy.uix.widget import Widget

from cabapp.events import TapKind
from cabapp.outcome import Quieting, Snapshot, TileState
from cabapp.screens.fronts import Front, Fronts, Way, front_after
from cabapp.screens.ink import Tile
from cabapp.screens.ruler import Layout
from cabapp.screens.silent import silent_after, starting
from cabapp.screens.theme import DAY, NIGHT, Palette, Role
from cabapp.screens.tiles.band import BandTile
from cabapp.screens.tiles.bottom import FrameTile, KeyTile, ToolTile
from cabapp.screens.tiles.depth import DepthTile
from cabapp.screens.tiles.field import FieldTile
from cabapp.screens.tiles.parked import ParkedTile
from cabapp.screens.tiles.plate import LOST
from cabapp.screens.tiles.sheets import Sheet
from cabapp.screens.tiles.speed import SpeedTile
from cabapp.screens.tiles.springs import SpringsTile
from cabapp.screens.touch import SLOP_MM, Area, Fingers, Target
from cabapp.words import Level

SHEET_S = 8.0  # a sheet closes by itself while moving
STEP_S = 0.1  # what glides is drawn this often
HOLD_STEP_S = 0.05


class DrivePage(Widget):
    """All tiles, sheets and cards of Drive for one layout."""

    def __init__(
        self, layout: Layout, way: Way, clock: Callable[[], float] = monotonic, **kwargs: Any
    ) -> None:
        super().__init__(size_hint=(None, None), **kwargs)
        self.size = (layout.panel.wide_px, layout.panel.high_px)
        self.layout, self.way, self.clock = layout, way, clock
        self.snapshot: Snapshot | None = None
        self.palette: Palette = DAY
        self.frame = FrameTile(layout)
        self.band = BandTile(layout)
        self.speed = SpeedTile(layout)
        self.springs = SpringsTile(layout)
        self.depth = DepthTile(layout)
        self.field = FieldTile(layout)
        self.menu_key = KeyTile(layout, "menu", self._menu)
        self.peg_key = None if layout.small else KeyTile(layout, "peg", self._peg)
        self.tool = ToolTile(layout, lambda said: way.send(TapKind.TOOL, said))
        self.fronts = Fronts(layout, way, self.bring)
        self.front_since = 0.0
        self.in_front: Tile | None = None
        self._quiet_target = Target(
            "quiet",
            _area(self.band),
            lambda: way.send(TapKind.QUIET, None),
            pressed=self.band.press_down,
        )
        for tile in self._standing():
            self.add_widget(tile)
        self.repaint(DAY)
        self.fingers = Fingers(self.targets, SLOP_MM * layout.panel.px_per_mm)
        self._ticking: Any = None

    def _standing(self) -> tuple[Tile, ...]:
        """The tiles that are always there; the springs give their place to the tool button."""
        keys = (self.menu_key, self.peg_key) if self.peg_key else (self.menu_key,)
        return (
            self.frame, self.band, self.speed, self.depth, self.field, *keys, self.springs
        )  # fmt: skip

    def tiles(self) -> tuple[Tile, ...]:
        """Every tile, sheet and card, shown or not."""
        return (*self._standing(), self.tool, *self.fronts.all())

    def shown(self) -> tuple[Tile, ...]:
        """The tiles on the page now, the front last."""
        return tuple(tile for tile in self.tiles() if tile.parent is self)

    # -- showing -----------------------------------------------------------------------------------

    def show(self, snapshot: Snapshot) -> None:
        """Take a new snapshot; only what differs is drawn again."""
        now = self.clock()
        before, self.snapshot = self.snapshot, snapshot
        palette = NIGHT if snapshot.night else DAY
        if palette is not self.palette:
            self.repaint(palette)
        self.fronts.front = front_after(self.fronts.front, before, snapshot)
        alert = snapshot.band.level is Level.ACT
        self.frame.show(alert, snapshot.band.quieting is not Quieting.QUIETED, now)
        self.band.show(snapshot.band, now)
        self.speed.show(snapshot.speed, snapshot.units, now, alert)
        self.depth.show(snapshot.depth, snapshot.units, now, alert)
        self._springs_or_tool(snapshot, now)
        self.field.show(snapshot.field, snapshot.units, now)
        if self.peg_key:
            self.peg_key.key.show(f"Peg {snapshot.peg_next}", sign="peg")
        self._show_front()
        self._keep_ticking()

    def show_starting(self) -> None:
        """Nothing has come from the engine yet."""
        self.show(starting())
        self.field.blank()

    def show_silent(self) -> None:
        """Nothing comes from the engine any more: no number may be left standing."""
        self.show(silent_after(self.snapshot))
        self.field.blank()

    def fresh(self) -> None:
        """Forget what was shown, as after a start."""
        self.snapshot, self.fronts.front = None, Front.NONE

    def settle(self) -> None:
        """Be where everything is going: for pictures."""
        for tile in (self.speed, self.springs, self.depth):
            tile.settle()

    def _springs_or_tool(self, snapshot: Snapshot, now: float) -> None:
        button = snapshot.tool_button
        wanted: Tile = self.springs if button is None else self.tool
        other: Tile = self.tool if button is None else self.springs
        if wanted.parent is None:
            self.remove_widget(other)
            self.add_widget(wanted, index=len(self.children) - 1)
        if button is None:
            self.springs.show(snapshot.springs, now)
        else:
            self.tool.show(button)

    def repaint(self, palette: Palette) -> None:
        """Show everything in a palette; the ground is what the window is cleared to."""
        self.palette = palette
        Window.clearcolor = (*palette.rgb(Role.GROUND), 1)
        for tile in self.tiles():
            tile.recolour(palette)

    def bring(self, front: Front) -> None:
        """Put something in front of the tiles, or take it away."""
        self.fronts.front, self.front_since = front, self.clock()
        self._show_front()
        self._keep_ticking()

    def _show_front(self) -> None:
        snapshot = self.snapshot
        if snapshot is None:
            return
        tile = self.fronts.tile(snapshot)
        if tile is not self.in_front:
            if self.in_front is not None:
                self.remove_widget(self.in_front)
            if tile is not None:
                self.add_widget(tile)
                self.front_since = self.clock()
            self.in_front = tile
            self.fingers.forget()
        self.fronts.fill(tile, snapshot)
        self.fingers.look(self.clock())
        close = self.layout.small and tile is not None
        self.menu_key.key.show("Close" if close else "Menu", sign="" if close else "menu")

    # -- touching ----------------------------------------------------------------------------------

    def targets(self) -> list[Target]:
        """Everything that can be touched now, the front last."""
        snapshot, tile = self.snapshot, self.in_front
        if snapshot is None:
            return []
        menu = self.menu_key.key.target
        if isinstance(tile, Sheet | ParkedTile):
            above = [self._quiet_target, menu] if self.layout.small else [self._quiet_target]
            return above + tile.targets()
        found = [self._quiet_target, menu]
        if self.peg_key:
            found.append(self.peg_key.key.target)
        if snapshot.tool_button is not None:
            found.append(self.tool.target)
        return found + self._aside_targets(snapshot)

    def _aside_targets(self, snapshot: Snapshot) -> list[Target]:
        """Parked, a tap on a tile that reads nothing offers to set it aside."""
        if snapshot.moving:
            return []
        pairs: list[tuple[str, Tile, TileState]] = [
            ("speed", self.speed, snapshot.speed.state),
            ("depth", self.depth, snapshot.depth.state),
        ]
        if snapshot.tool_button is None:
            pairs.append(("springs", self.springs, snapshot.springs.state))
        return [
            Target(f"aside_{name}", _area(tile), partial(self.fronts.set_aside, name))
            for name, tile, state in pairs
            if state in LOST
        ]

    def on_touch_down(self, touch: Any) -> bool:
        """A finger comes down."""
        if not getattr(touch, "is_mouse_scrolling", False):
            self.fingers.touch(touch.uid, touch.x, touch.y, self.clock())
            self.front_since = self.clock()
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

    def _peg(self) -> None:
        self.way.send(TapKind.PEG, None)

    def _menu(self) -> None:
        if self.in_front is None:
            self.bring(Front.MENU)
        else:
            self.fronts.dismiss()

    # -- motion ------------------------------------------------------------------------------------

    def tick(self) -> bool:
        """Draw what moves; True while anything does, or a sheet waits to close."""
        now = self.clock()
        moving = [tile.tick(now) for tile in (self.frame, self.speed, self.springs, self.depth)]
        holding = self.fingers.tick(now)
        return any(moving) or holding or self._sheet_waits(now)

    def _sheet_waits(self, now: float) -> bool:
        snapshot = self.snapshot
        if snapshot is None or not snapshot.moving or self.fronts.front is not Front.MENU:
            return False
        if now - self.front_since < SHEET_S:
            return True
        self.bring(Front.NONE)
        return False

    def _keep_ticking(self) -> None:
        if self._ticking is None:
            step = HOLD_STEP_S if self.fingers.down else STEP_S
            self._ticking = Clock.schedule_once(self._next, step)

    def _next(self, _: float) -> None:
        self._ticking = None
        if self.tick():
            self._keep_ticking()


def _area(tile: Tile) -> Area:
    return Area(tile.x, tile.y, tile.width, tile.height)

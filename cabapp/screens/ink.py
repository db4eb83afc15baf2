"""What a tile is drawn with: parts made once, of which only what changes is set.

A Part is one colour role and any number of shapes; a Say is one line of text standing on its
foot; a Sign is a glyph. Each knows what it shows, so that a test can walk a page and read it.
"""

from typing import Any

from kivy.graphics import Color, Mesh, Rectangle
from kivy.graphics.texture import Texture
from kivy.uix.widget import Widget

from cabapp.screens.glyphs import GLYPHS, Coat
from cabapp.screens.lettering import Face, picture, width_px
from cabapp.screens.ruler import Layout, Rect
from cabapp.screens.shapes import Shape, moved, triangles
from cabapp.screens.theme import DAY, Palette, Role

_ramp: list[Any] = []


def ramp() -> Any:
    """The texture of every edge: clear at its left end, solid at its right."""
    if not _ramp:
        texture = Texture.create(size=(64, 1), colorfmt="rgba")
        texture.blit_buffer(
            bytes(byte for i in range(64) for byte in (255, 255, 255, round(i * 255 / 63))),
            colorfmt="rgba",
            bufferfmt="ubyte",
        )
        texture.wrap = "clamp_to_edge"
        texture.mag_filter = texture.min_filter = "linear"
        _ramp.append(texture)
    return _ramp[0]


class Tile(Widget):
    """A place on a page and what stands in it. Coordinates are design units from its top left."""

    def __init__(self, layout: Layout, slot: str | Rect, **kwargs: Any) -> None:
        super().__init__(size_hint=(None, None), **kwargs)
        self.layout = layout
        self.rect = layout.slots[slot] if isinstance(slot, str) else slot
        self.palette: Palette = DAY
        self.parts: list[Part] = []
        self.says: list[Say] = []
        self.signs: list[Sign] = []
        self.scale_px = layout.scale
        self.left_px = self.rect.x * layout.scale
        self.top_px = layout.panel.high_px - self.rect.y * layout.scale
        self.pos = (self.left_px, self.top_px - self.rect.h * layout.scale)
        self.size = (self.rect.w * layout.scale, self.rect.h * layout.scale)

    def recolour(self, palette: Palette) -> None:
        """Show everything in another palette."""
        self.palette = palette
        for part in self.parts:
            part.recolour()
        for say in self.says:
            say.recolour()

    def tick(self, now: float) -> bool:
        """Move what is on its way; True while there is more to move."""
        return False

    def settle(self) -> None:
        """Stand where it is going, at once."""

    def face(self, high: float, bold: bool = True, digits: bool = False) -> Face:
        """The face whose letters are ``high`` design units high."""
        return Face(high * self.scale_px, bold, digits)

    def width_of(self, text: str, high: float, bold: bool = True, digits: bool = False) -> float:
        """A text's width in design units."""
        return width_px(text, self.face(high, bold, digits)) / self.scale_px


class Part:
    """Shapes of one colour role on a tile."""

    def __init__(self, tile: Tile, role: Role) -> None:
        self.tile = tile
        self.role = role
        self.shapes: tuple[Shape, ...] = ()
        with tile.canvas:
            self.colour = Color(*tile.palette.rgb(role))
            self.mesh = Mesh(mode="triangles", texture=ramp())
        tile.parts.append(self)

    def put(self, *shapes: Shape, role: Role | None = None) -> None:
        """Show these shapes; nothing given, nothing shown."""
        if role is not None and role is not self.role:
            self.role = role
            self.recolour()
        if shapes == self.shapes:
            return
        self.shapes = shapes
        tile = self.tile
        mesh = triangles(shapes, tile.scale_px, tile.left_px, tile.top_px)
        self.mesh.indices = []
        self.mesh.vertices = mesh.vertices
        self.mesh.indices = mesh.indices

    def light(self, on: bool) -> None:
        """Show or hide what is drawn, without drawing it anew."""
        self.colour.a = 1.0 if on else 0.0

    def recolour(self) -> None:
        """Take the role's colour from the tile's palette."""
        self.colour.rgb = self.tile.palette.rgb(self.role)


class Say:
    """One line of text: its foot on ``y``, its left end, middle or right end on ``x``.

    ``limit`` is the width it must stay inside, in design units; tests hold every word to it.
    """

    def __init__(
        self,
        tile: Tile,
        x: float,
        y: float,
        high: float,
        role: Role = Role.INK,
        bold: bool = True,
        digits: bool = False,
        align: str = "left",
        limit: float | None = None,
    ) -> None:
        self.tile, self.x, self.y, self.high = tile, x, y, high
        self.role, self.align, self.limit = role, align, limit
        self.face = tile.face(high, bold, digits)
        self.text = ""
        with tile.canvas:
            self.colour = Color(*tile.palette.rgb(role))
            self.paper = Rectangle(size=(0, 0))
        tile.says.append(self)

    def put(
        self,
        text: str,
        x: float | None = None,
        y: float | None = None,
        role: Role | None = None,
    ) -> None:
        """Show a text, elsewhere or in another role where given; "" shows nothing."""
        if role is not None and role is not self.role:
            self.role = role
            self.recolour()
        same_place = (x is None or x == self.x) and (y is None or y == self.y)
        if text == self.text and same_place:
            return
        self.x = self.x if x is None else x
        self.y = self.y if y is None else y
        if text != self.text:
            self.text = text
            if not text:
                self.paper.size = (0, 0)
                return
            self.paper.texture = texture = picture(text, self.face)
            self.paper.size = texture.size
        self._place()

    def _place(self) -> None:
        tile = self.tile
        wide, high = self.paper.size
        shift = {"left": 0.0, "middle": wide / 2, "right": wide}[self.align]
        foot = round(tile.top_px - self.y * tile.scale_px)
        left = round(tile.left_px + self.x * tile.scale_px - shift)
        self.paper.pos = (left, foot - (high - self.face.ascent_px))

    @property
    def wide(self) -> float:
        """The width of what is shown, in design units."""
        return float(self.paper.size[0]) / self.tile.scale_px

    @property
    def left(self) -> float:
        """The left end of what is shown, in the tile's units."""
        share = {"left": 0.0, "middle": 0.5, "right": 1.0}[self.align]
        return self.x - share * self.wide

    def recolour(self) -> None:
        """Take the role's colour from the tile's palette."""
        self.colour.rgb = self.tile.palette.rgb(self.role)


class Sign:
    """A glyph of the table in a square. Its coats take roles, so that it sits on any ground."""

    def __init__(self, tile: Tile) -> None:
        self.name = ""
        self.place: tuple[float, float, float] = (0.0, 0.0, 0.0)
        self.shown: tuple[object, ...] = ()
        self.coats = {coat: Part(tile, Role.INK) for coat in Coat}
        tile.signs.append(self)

    def put(
        self,
        name: str,
        x: float = 0.0,
        y: float = 0.0,
        size: float = 0.0,
        main: Role = Role.INK,
        second: Role = Role.WANTED,
        hole: Role = Role.GROUND,
    ) -> None:
        """Show a glyph with its square's top left at (x, y); "" shows nothing."""
        wanted = (name, x, y, size, main, second, hole)
        if wanted == self.shown:
            return
        self.shown = wanted
        self.name, self.place = name, (x, y, size)
        roles = {Coat.MAIN: main, Coat.SECOND: second, Coat.HOLE: hole}
        glyph = GLYPHS[name] if name else {}
        for coat, part in self.coats.items():
            shapes = (moved(shape, x, y, size) for shape in glyph.get(coat, ()))
            part.put(*shapes, role=roles[coat])

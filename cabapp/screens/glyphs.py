"""Every sign on the screens, drawn: shapes in a unit square, y down. None comes from a font.

A sign has up to three coats: its main body, a second one (the bracket of a mark, which is what is
wanted), and what is cut out of the body in the colour of the ground it lies on.
"""

from enum import Enum

from cabapp.screens.shapes import (
    Band,
    Hoop,
    Shape,
    arc,
    disc,
    line,
    poly,
    ring,
)


class Coat(Enum):
    """The layers of a sign, in the order they are drawn."""

    SECOND = "second"
    MAIN = "main"
    HOLE = "hole"


Glyph = dict[Coat, tuple[Shape, ...]]


def _box(x0: float, y0: float, x1: float, y1: float) -> Shape:
    return poly((x0, y0), (x1, y0), (x1, y1), (x0, y1))


def _bracket(top: float, bottom: float) -> tuple[Shape, ...]:
    """The band of a mark: open to the right."""
    left, right, arm = 0.10, 0.78, 0.13
    return (
        poly(
            (left, top),
            (right, top),
            (right, top + arm),
            (left + arm, top + arm),
            (left + arm, bottom - arm),
            (right, bottom - arm),
            (right, bottom),
            (left, bottom),
        ),
    )


_DIAMOND = poly((0.5, 0), (1, 0.5), (0.5, 1), (0, 0.5))
_TRIANGLE = poly((0.5, 0.05), (1, 0.95), (0, 0.95))
_UP = (
    (0.5, 0.36),
    (0.70, 0.62),
    (0.575, 0.62),
    (0.575, 0.86),
    (0.425, 0.86),
    (0.425, 0.62),
    (0.30, 0.62),
)
_DOWN = tuple((x, 1.22 - y) for x, y in reversed(_UP))


def _leg(x: float, top: float, knee: float, foot: float) -> Shape:
    """A shank seen from the side: straight down, then bent forward to the left."""
    return poly(
        (x, top),
        (x + 0.14, top),
        (x + 0.14, knee),
        (x - 0.04, foot),
        (x - 0.22, foot),
        (x, knee - 0.04),
    )


def _corners() -> tuple[Shape, ...]:
    t, arm = 0.13, 0.33
    return tuple(
        poly(
            *(
                (x if right == 0 else 1 - x, y if low == 0 else 1 - y)
                for x, y in ((0, 0), (arm, 0), (arm, t), (t, t), (t, arm), (0, arm))
            )
        )
        for right in (0, 1)
        for low in (0, 1)
    )


_SPEAKER = poly((0.0, 0.34), (0.20, 0.34), (0.46, 0.10), (0.46, 0.90), (0.20, 0.66), (0.0, 0.66))

GLYPHS: dict[str, Glyph] = {
    # levels
    "act": {Coat.MAIN: (_DIAMOND,), Coat.HOLE: (_box(0.19, 0.40, 0.81, 0.60),)},
    "look": {Coat.MAIN: (_TRIANGLE,), Coat.HOLE: (disc(0.5, 0.66, 0.165),)},
    "look_up": {Coat.MAIN: (_TRIANGLE,), Coat.HOLE: (poly(*_UP),)},
    "look_down": {Coat.MAIN: (_TRIANGLE,), Coat.HOLE: (poly(*_DOWN),)},
    "note": {
        Coat.MAIN: (_box(0, 0.27, 1, 0.73),),
        Coat.HOLE: (disc(0.5, 0.38, 0.05), _box(0.455, 0.46, 0.545, 0.64)),
    },
    "no_reading": {
        Coat.MAIN: (
            poly(
                (0, 0.17),
                (0.17, 0),
                (0.5, 0.33),
                (0.83, 0),
                (1, 0.17),
                (0.67, 0.5),
                (1, 0.83),
                (0.83, 1),
                (0.5, 0.67),
                (0.17, 1),
                (0, 0.83),
                (0.33, 0.5),
            ),
        )
    },
    # The safety sign for injury: beside cautions, never for a level.
    "injury": {
        Coat.MAIN: (_TRIANGLE,),
        Coat.HOLE: (
            poly((0.44, 0.36), (0.56, 0.36), (0.535, 0.68), (0.465, 0.68)),
            disc(0.5, 0.79, 0.055),
        ),
    },
    # marks: the bracket is the band, the disc is the reading
    "in_band": {Coat.SECOND: _bracket(0.14, 0.86), Coat.MAIN: (disc(0.60, 0.50, 0.165),)},
    "above": {Coat.SECOND: _bracket(0.42, 1.0), Coat.MAIN: (disc(0.60, 0.18, 0.18),)},
    "below": {Coat.SECOND: _bracket(0.0, 0.58), Coat.MAIN: (disc(0.60, 0.82, 0.18),)},
    "lifted": {
        Coat.MAIN: (
            _box(0, 0, 1, 0.13),
            _leg(0.28, 0.10, 0.46, 0.66),
            _leg(0.74, 0.10, 0.46, 0.66),
            _box(0, 0.86, 1, 0.99),
        )
    },
    "lowered": {
        Coat.MAIN: (
            _box(0.05, 0.18, 0.95, 0.30),
            _leg(0.30, 0.27, 0.62, 0.84),
            _leg(0.72, 0.27, 0.62, 0.84),
            _box(-0.05, 0.50, 1.05, 0.57),
        )
    },
    "unsure": {
        Coat.MAIN: (
            _box(0.05, 0.10, 0.95, 0.22),
            _leg(0.30, 0.20, 0.46, 0.64),
            _leg(0.72, 0.20, 0.46, 0.64),
            _box(-0.05, 0.78, 0.15, 0.86),
            _box(0.28, 0.78, 0.48, 0.86),
            _box(0.60, 0.78, 0.80, 0.86),
            _box(0.92, 0.78, 1.05, 0.86),
        )
    },
    "not_live": {Coat.MAIN: _corners()},
    "starting": {Coat.MAIN: tuple(disc(x, 0.5, 0.13) for x in (0.13, 0.5, 0.87))},
    # steps of a walk
    "to_do": {Coat.MAIN: (_box(0, 0, 1, 1),), Coat.HOLE: (_box(0.10, 0.10, 0.90, 0.90),)},
    "done": {
        Coat.MAIN: (_box(0, 0, 1, 1),),
        Coat.HOLE: (
            poly(
                (0.17, 0.52),
                (0.27, 0.42),
                (0.43, 0.58),
                (0.74, 0.24),
                (0.84, 0.34),
                (0.43, 0.78),
            ),
        ),
    },
    "again": {
        Coat.MAIN: (_box(0, 0, 1, 1),),
        Coat.HOLE: (poly((0.16, 0.10), (0.90, 0.10), (0.90, 0.84)),),
    },
    # things
    "peg": {
        Coat.MAIN: (
            poly(
                (0.20, 0),
                (0.80, 0),
                (0.80, 0.12),
                (0.72, 0.12),
                (0.72, 0.60),
                (0.5, 1),
                (0.28, 0.60),
                (0.28, 0.12),
                (0.20, 0.12),
            ),
            _box(-0.05, 0.665, 0.18, 0.735),
            _box(0.82, 0.665, 1.05, 0.735),
        )
    },
    "dig": {Coat.MAIN: (_box(0.40, 0, 0.60, 0.86), _box(0.0, 0.84, 1, 1.0))},
    "menu": {Coat.MAIN: tuple(_box(0, y, 1, y + 0.13) for y in (0.12, 0.435, 0.75))},
    "sound": {
        Coat.MAIN: (
            _SPEAKER,
            arc(0.46, 0.5, 0.24, 0.075, -52, 52),
            arc(0.46, 0.5, 0.43, 0.075, -52, 52),
        )
    },
    "quiet": {
        Coat.MAIN: (
            _SPEAKER,
            line(0.60, 0.32, 0.96, 0.68, 0.11),
            line(0.60, 0.68, 0.96, 0.32, 0.11),
        )
    },
    "minus": {Coat.MAIN: (_box(0, 0.40, 1, 0.60),)},
    "plus": {Coat.MAIN: (_box(0, 0.40, 1, 0.60), _box(0.40, 0, 0.60, 1))},
    "back": {
        Coat.MAIN: (
            poly((0.62, 0.06), (0.86, 0.22), (0.50, 0.5), (0.86, 0.78), (0.62, 0.94), (0.06, 0.5)),
        )
    },
    "next": {
        Coat.MAIN: (
            poly((0.38, 0.06), (0.94, 0.5), (0.38, 0.94), (0.14, 0.78), (0.50, 0.5), (0.14, 0.22)),
        )
    },
    "driver": {
        Coat.MAIN: (
            disc(0.5, 0.25, 0.23),
            poly((0.08, 1), (0.10, 0.78), (0.25, 0.58), (0.75, 0.58), (0.90, 0.78), (0.92, 1)),
        )
    },
    "field": {
        Coat.MAIN: (poly((0.20, 0.10), (0.80, 0.10), (1, 0.90), (0, 0.90)),),
        Coat.HOLE: (
            poly((0.335, 0.22), (0.435, 0.22), (0.395, 0.78), (0.225, 0.78)),
            poly((0.565, 0.22), (0.665, 0.22), (0.775, 0.78), (0.605, 0.78)),
        ),
    },
    # A wheel between two chocks.
    "parked": {
        Coat.MAIN: (
            ring(0.5, 0.36, 0.36, 0.10),
            disc(0.5, 0.36, 0.08),
            _box(0, 0.74, 1, 0.79),
            poly((0, 0.55), (0.185, 0.72), (0.185, 0.76), (0, 0.76)),
            poly((1, 0.55), (1, 0.76), (0.815, 0.76), (0.815, 0.72)),
        )
    },
    "bullet": {Coat.MAIN: (_box(0.1, 0.1, 0.9, 0.9),)},
    "stone": {
        Coat.MAIN: (poly((0.02, 0.90), (0.14, 0.45), (0.42, 0.20), (0.74, 0.28), (0.98, 0.90)),)
    },
    "clock": {
        Coat.MAIN: (
            ring(0.5, 0.5, 0.5, 0.11),
            _box(0.45, 0.20, 0.55, 0.55),
            line(0.47, 0.52, 0.74, 0.66, 0.10),
        ),
    },
}


def silhouette(name: str) -> list[tuple[tuple[float, float], ...]]:
    """The outlines of a sign's body and second coat, for comparing shapes."""
    glyph = GLYPHS[name]
    shapes = glyph.get(Coat.SECOND, ()) + glyph.get(Coat.MAIN, ())
    return [shape.outer if isinstance(shape, Band | Hoop) else shape.contour for shape in shapes]

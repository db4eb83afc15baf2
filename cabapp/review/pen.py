"""What the report's pictures are drawn with: SVG by hand, every pattern the one on the screen.

Each picture has a title and a description that say in words what it shows. Patterns carry the
states and colour only helps: the page is read the same in grey. Written to SVG 1.1.
"""

from collections.abc import Iterable
from html import escape

INK, SOFT, WANTED, LOOK, SOIL, LAYER, HAIR = (
    "#000000", "#3F3F3F", "#005A9C", "#FFC400", "#F1E7D6", "#5E4C36", "#B8B8B8",
)  # fmt: skip
OWN = "own-"  # stands for the picture's own name until it is put together
FILLS = {"in": WANTED, "idle": "#D5D5D5"} | {
    state: f"url(#{OWN}{state})" for state in ("out", "raised", "hard", "unknown")
}

PATTERNS = {
    "out": f'width="7" height="7" patternTransform="rotate(45)"><rect width="7" height="7" '
    f'fill="{LOOK}"/><rect width="3.5" height="7" fill="{INK}"/>',
    "raised": f'width="6" height="5"><rect width="6" height="5" fill="#FFFFFF"/>'
    f'<rect width="6" height="2" fill="{INK}"/>',
    "hard": f'width="10" height="8"><rect width="10" height="8" fill="{SOIL}"/>'
    f'<path d="M1 1h5.5v2h-5.5zM6 5h4v2h-4zM0 5h1.5v2h-1.5z" fill="{LAYER}"/>',
    "unknown": 'width="6" height="6"><rect width="6" height="6" fill="#FFFFFF"/>'
    '<path d="M0 0L6 6M6 0L0 6" stroke="#5A5A5A" stroke-width="1"/>',
}


def _patterns(name: str) -> str:
    """The patterns of one picture, under names of its own: each stands by itself."""
    return "".join(
        f'<pattern id="{name}-{state}" patternUnits="userSpaceOnUse" {body}</pattern>'
        for state, body in PATTERNS.items()
    )


def svg(wide: float, high: float, title: str, words: str, body: Iterable[str]) -> str:
    """One picture with its title and its description."""
    name = title.split(",")[0].lower().replace(" ", "-")
    drawn = "".join(body).replace(f"#{OWN}", f"#{name}-")
    return (
        f'<svg viewBox="0 0 {wide:g} {high:g}" role="img" aria-label="{escape(title)}. '
        f'{escape(words)}"><title>{escape(title)}</title><desc>{escape(words)}</desc>'
        f"<defs>{_patterns(name)}</defs>{drawn}</svg>"
    )


def rect(x: float, y: float, w: float, h: float, fill: str, edge: bool = True) -> str:
    """A rectangle, with an edge in ink."""
    line = f' stroke="{INK}" stroke-width="0.8"' if edge else ""
    return f'<rect x="{x:.1f}" y="{y:.1f}" width="{w:.1f}" height="{h:.1f}" fill="{fill}"{line}/>'


def text(x: float, y: float, words: str, size: float = 11, anchor: str = "start",
          bold: bool = False) -> str:  # fmt: skip
    """Words on their foot line."""
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" text-anchor="{anchor}"{weight}>'
        f"{escape(words)}</text>"
    )


def line(x0: float, y0: float, x1: float, y1: float, colour: str = INK, wide: float = 1) -> str:
    """A straight line."""
    return (
        f'<path d="M{x0:.1f} {y0:.1f}L{x1:.1f} {y1:.1f}" stroke="{colour}" '
        f'stroke-width="{wide:g}" fill="none"/>'
    )


def letter(x: float, y: float, which: str) -> str:
    """A letter in a ring, as it stands on map and strips."""
    return (
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="8.5" fill="#FFFFFF" stroke="{INK}" '
        f'stroke-width="1.6"/>' + text(x, y + 4.2, which, 12, "middle", True)
    )

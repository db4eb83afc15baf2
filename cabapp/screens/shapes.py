"""Flat shapes with smooth edges, as triangles: pure geometry, no window.

A window without multisampling draws ragged slopes, and cab tablets differ in that. So every edge
carries its own half pixel of ramp: the inner side of a feather is opaque (u = 1), the outer side
clear (u = 0). On an edge that lies on a pixel border the ramp falls between two pixel centres and
the edge stays sharp.

Shapes are in the units of their maker, y down; ``triangles`` moves them to pixels, y up.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import ceil, cos, hypot, pi, sin

Point = tuple[float, float]
Contour = tuple[Point, ...]
HALF = 0.5


@dataclass(frozen=True)
class Solid:
    """A filled simple polygon; ``snap`` rounds its corners to whole pixels.

    A ``ladder`` is a ribbon: its first half runs along one side and its second half back along
    the other, so that it is cut into triangles rung by rung.
    """

    contour: Contour
    snap: bool = False
    ladder: bool = False


@dataclass(frozen=True)
class Band:
    """The area between two loops of equally many points, inner and outer."""

    outer: Contour
    inner: Contour
    snap: bool = False


@dataclass(frozen=True)
class Disc:
    """A filled circle, kept as its three numbers until it is drawn."""

    cx: float
    cy: float
    r: float

    @property
    def contour(self) -> Contour:
        """Its points."""
        return circle(self.cx, self.cy, self.r)


@dataclass(frozen=True)
class Hoop:
    """A circle's outline of outer radius ``r``, ``t`` wide to the inside."""

    cx: float
    cy: float
    r: float
    t: float

    @property
    def outer(self) -> Contour:
        """The points of its outer edge."""
        return circle(self.cx, self.cy, self.r)

    @property
    def inner(self) -> Contour:
        """The points of its inner edge."""
        return circle(self.cx, self.cy, self.r - self.t)


Shape = Solid | Band | Disc | Hoop


def box(x: float, y: float, w: float, h: float) -> Solid:
    """An upright rectangle on whole pixels."""
    return Solid(((x, y), (x + w, y), (x + w, y + h), (x, y + h)), True)


def poly(*points: Point) -> Solid:
    """A polygon through the points."""
    return Solid(tuple(points))


def frame(x: float, y: float, w: float, h: float, t: float) -> Band:
    """A rectangle's outline, ``t`` wide, drawn inside the rectangle."""
    return Band(box(x, y, w, h).contour, box(x + t, y + t, w - 2 * t, h - 2 * t).contour, True)


PARTS = 40
_ROUND = tuple((cos(i * 2 * pi / PARTS), sin(i * 2 * pi / PARTS)) for i in range(PARTS))


def circle(cx: float, cy: float, r: float) -> Contour:
    """The points of a circle."""
    return tuple((cx + r * x, cy + r * y) for x, y in _ROUND)


def disc(cx: float, cy: float, r: float) -> Disc:
    """A filled circle."""
    return Disc(cx, cy, r)


def ring(cx: float, cy: float, r: float, t: float) -> Hoop:
    """A circle's outline of outer radius ``r``, ``t`` wide to the inside."""
    return Hoop(cx, cy, r, t)


def _rounded(x: float, y: float, w: float, h: float, r: float) -> Contour:
    corners = (
        (x + w - r, y + h - r, 0),
        (x + r, y + h - r, 1),
        (x + r, y + r, 2),
        (x + w - r, y + r, 3),
    )
    steps = 8
    return tuple(
        (
            cx + r * cos((quarter + i / steps) * pi / 2),
            cy + r * sin((quarter + i / steps) * pi / 2),
        )
        for cx, cy, quarter in corners
        for i in range(steps + 1)
    )


def round_box(x: float, y: float, w: float, h: float, r: float) -> Solid:
    """A filled rectangle with round corners."""
    return Solid(_rounded(x, y, w, h, r))


def round_frame(x: float, y: float, w: float, h: float, r: float, t: float) -> Band:
    """The outline of a rectangle with round corners, ``t`` wide to the inside."""
    inner = _rounded(x + t, y + t, w - 2 * t, h - 2 * t, max(r - t, 0.1))
    return Band(_rounded(x, y, w, h, r), inner)


def line(x0: float, y0: float, x1: float, y1: float, t: float) -> Solid:
    """A straight stroke ``t`` wide with square ends at the two points."""
    length = hypot(x1 - x0, y1 - y0) or 1.0
    nx, ny = (y1 - y0) / length * t / 2, -(x1 - x0) / length * t / 2
    return poly((x0 + nx, y0 + ny), (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x0 - nx, y0 - ny))


def arc(cx: float, cy: float, r: float, t: float, start: float, end: float) -> Solid:
    """A curved stroke from angle ``start`` to ``end`` (degrees, clockwise from the right)."""
    count = max(4, ceil(abs(end - start) / 8))
    angles = [(start + (end - start) * i / count) * pi / 180 for i in range(count + 1)]
    outer = [(cx + (r + t / 2) * cos(a), cy + (r + t / 2) * sin(a)) for a in angles]
    inner = [(cx + (r - t / 2) * cos(a), cy + (r - t / 2) * sin(a)) for a in reversed(angles)]
    return Solid(tuple(outer + inner), ladder=True)


def clip(shape: Solid, x: float, y: float, w: float, h: float) -> Solid | None:
    """A convex polygon cut to a rectangle (Sutherland and Hodgman 1974), or None if outside."""
    points = list(shape.contour)
    for axis, limit, keep_above in ((0, x, 1), (0, x + w, 0), (1, y, 1), (1, y + h, 0)):
        points = _cut(points, axis, limit, bool(keep_above))
        if len(points) < 3:
            return None
    return Solid(tuple(points))


def _cut(points: list[Point], axis: int, limit: float, keep_above: bool) -> list[Point]:
    kept: list[Point] = []
    for i, here in enumerate(points):
        before = points[i - 1]
        inside = (here[axis] >= limit) == keep_above or here[axis] == limit
        was_inside = (before[axis] >= limit) == keep_above or before[axis] == limit
        if inside != was_inside:
            part = (limit - before[axis]) / (here[axis] - before[axis])
            other = before[1 - axis] + part * (here[1 - axis] - before[1 - axis])
            kept.append((limit, other) if axis == 0 else (other, limit))
        if inside:
            kept.append(here)
    return kept


def slanted(
    x: float, y: float, w: float, h: float, pitch: float, t: float, falling: bool = False
) -> tuple[Solid, ...]:
    """45 degree stripes over a rectangle, ``pitch`` apart along x, ``t`` wide across."""
    reach = t / 2 * 2**0.5
    found = []
    first = int((x - h - reach) // pitch) if not falling else int((x - reach) // pitch)
    for i in range(first, int((x + w + h + reach) // pitch) + 2):
        foot = i * pitch
        lean = -h if falling else h
        bar = poly(
            (foot - reach, y + h),
            (foot + reach, y + h),
            (foot + lean + reach, y),
            (foot + lean - reach, y),
        )
        cut = clip(bar, x, y, w, h)
        if cut:
            found.append(cut)
    return tuple(found)


def cross_hatch(
    x: float, y: float, w: float, h: float, pitch: float, t: float
) -> tuple[Solid, ...]:
    """Stripes both ways: what is not known."""
    return slanted(x, y, w, h, pitch, t) + slanted(x, y, w, h, pitch, t, falling=True)


def moved(shape: Shape, dx: float, dy: float, scale: float = 1.0) -> Shape:
    """The shape scaled about the origin, then moved."""
    if isinstance(shape, Disc):
        return Disc(dx + shape.cx * scale, dy + shape.cy * scale, shape.r * scale)
    if isinstance(shape, Hoop):
        return Hoop(dx + shape.cx * scale, dy + shape.cy * scale, shape.r * scale, shape.t * scale)
    if isinstance(shape, Solid):
        points = ((dx + px * scale, dy + py * scale) for px, py in shape.contour)
        return Solid(tuple(points), ladder=shape.ladder)
    outer = tuple((dx + px * scale, dy + py * scale) for px, py in shape.outer)
    return Band(outer, tuple((dx + px * scale, dy + py * scale) for px, py in shape.inner))


def outset(contour: Contour, by: float) -> Contour:
    """The contour moved outwards by ``by`` along its corners' normals (miter capped at 2)."""
    ordered = contour if _signed_area(contour) > 0 else tuple(reversed(contour))
    return tuple(_push(ordered, i, by) for i in range(len(ordered)))


def _signed_area(contour: Contour) -> float:
    return sum(
        contour[i - 1][0] * contour[i][1] - contour[i][0] * contour[i - 1][1]
        for i in range(len(contour))
    )


def _push(contour: Contour, i: int, by: float) -> Point:
    (ax, ay), (bx, by_), (cx, cy) = contour[i - 1], contour[i], contour[(i + 1) % len(contour)]
    ux, uy, vx, vy = bx - ax, by_ - ay, cx - bx, cy - by_
    u, v = hypot(ux, uy) or 1.0, hypot(vx, vy) or 1.0
    nx, ny = uy / u + vy / v, -ux / u - vx / v
    square = nx * nx + ny * ny
    if square < 0.5:  # a spike: capped, or it would shoot away
        return bx + by * nx, by_ + by * ny
    return bx + by * 2 * nx / square, by_ + by * 2 * ny / square


@dataclass
class Triangles:
    """Vertices as x, y, u, v runs and indices in threes, ready for a mesh."""

    vertices: list[float]
    indices: list[int]

    def loop(self, points: Contour, u: float) -> int:
        """Add a loop of points with one ramp value; returns the index of the first."""
        first = len(self.vertices) // 4
        for x, y in points:
            self.vertices += (x, y, u, 0.5)
        return first

    def join(self, a: int, b: int, count: int) -> None:
        """Fill between two loops of ``count`` points."""
        for i in range(count):
            j = (i + 1) % count
            self.indices += (a + i, a + j, b + i, a + j, b + j, b + i)


def triangles(shapes: tuple[Shape, ...], scale: float, left: float, top: float) -> Triangles:
    """All shapes as one set of triangles in pixels: x = left + scale x, y = top - scale y."""
    mesh = Triangles([], [])

    def to_px(contour: Contour, snap: bool) -> Contour:
        points = ((left + scale * x, top - scale * y) for x, y in contour)
        return (
            tuple((float(round(x)), float(round(y))) for x, y in points) if snap else tuple(points)
        )

    for shape in shapes:
        if isinstance(shape, Disc | Hoop):
            x, y = left + scale * shape.cx, top - scale * shape.cy
            thick = scale * shape.t if isinstance(shape, Hoop) else None
            _add_round(mesh, x, y, scale * shape.r, thick)
        elif isinstance(shape, Solid):
            _add_solid(mesh, to_px(shape.contour, shape.snap), shape.ladder)
        else:
            _add_band(mesh, to_px(shape.outer, shape.snap), to_px(shape.inner, shape.snap))
    return mesh


def _add_round(mesh: Triangles, x: float, y: float, r: float, thick: float | None) -> None:
    """A disc, or a ring ``thick`` wide: circles are pushed outwards by their radius alone."""
    far = mesh.loop(circle(x, y, r + HALF), 0.0)
    edge = mesh.loop(circle(x, y, max(0.0, r - HALF)), 1.0)
    mesh.join(far, edge, PARTS)
    if thick is None:
        mesh.indices += [edge + j for i in range(1, PARTS - 1) for j in (0, i, i + 1)]
        return
    near = mesh.loop(circle(x, y, max(0.0, r - thick + HALF)), 1.0)
    mesh.join(edge, near, PARTS)
    mesh.join(near, mesh.loop(circle(x, y, max(0.0, r - thick - HALF)), 0.0), PARTS)


def _add_solid(mesh: Triangles, contour: Contour, ladder: bool) -> None:
    inner, outer = outset(contour, -HALF), outset(contour, HALF)
    first = mesh.loop(inner, 1.0)
    for a, b, c in rungs(len(inner)) if ladder else ears(inner):
        mesh.indices += (first + a, first + b, first + c)
    mesh.join(first, mesh.loop(outer, 0.0), len(inner))


def _add_band(mesh: Triangles, outer: Contour, inner: Contour) -> None:
    if _signed_area(outer) < 0:
        outer, inner = tuple(reversed(outer)), tuple(reversed(inner))
    count = len(outer)
    far = mesh.loop(outset(outer, HALF), 0.0)
    edge = mesh.loop(outset(outer, -HALF), 1.0)
    near = mesh.loop(outset(inner, HALF), 1.0)
    hole = mesh.loop(outset(inner, -HALF), 0.0)
    mesh.join(far, edge, count)
    mesh.join(edge, near, count)
    mesh.join(near, hole, count)


def rungs(count: int) -> list[tuple[int, int, int]]:
    """A ribbon of ``count`` points cut rung by rung; its two sides are equally long."""
    pairs = [(i, count - 1 - i) for i in range(count // 2)]
    found: list[tuple[int, int, int]] = []
    for (a, b), (c, d) in pairwise(pairs):
        found += ((a, b, c), (b, d, c))
    return found


def ears(contour: Contour) -> list[tuple[int, int, int]]:
    """A simple polygon, positively turned, cut into triangles: a fan, or by clipping ears."""
    if _convex(contour):
        return [(0, i, i + 1) for i in range(1, len(contour) - 1)]
    left = list(range(len(contour)))
    found: list[tuple[int, int, int]] = []
    tries = 0
    while len(left) > 3 and tries < len(left):
        i = tries % len(left)
        trio = (left[i - 1], left[i], left[(i + 1) % len(left)])
        if _is_ear(contour, trio, left):
            found.append(trio)
            left.pop(i)
            tries = 0
        else:
            tries += 1
    if len(left) == 3:
        found.append((left[0], left[1], left[2]))
    return found


def _convex(contour: Contour) -> bool:
    count = len(contour)
    return all(_turn(contour[i - 2], contour[i - 1], contour[i]) >= -1e-9 for i in range(count))


def _is_ear(contour: Contour, trio: tuple[int, int, int], left: list[int]) -> bool:
    a, b, c = (contour[i] for i in trio)
    if _turn(a, b, c) <= 0:
        return False
    return not any(
        _turn(a, b, contour[i]) >= 0
        and _turn(b, c, contour[i]) >= 0
        and _turn(c, a, contour[i]) >= 0
        for i in left
        if i not in trio and contour[i] not in (a, b, c)
    )


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])

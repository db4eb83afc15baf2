"""How large things are: from the panel a person measured and the distance of the eye.

Design units are pixels of the panel the page was drawn for: 5.884 to the millimetre, read at
900 mm. Text keeps its angle, so a unit is larger on a panel that is read from farther away; a
finger does not change, so targets are never under their millimetres. Everything is laid out in
these units and rounded once, where it is drawn.
"""

from dataclasses import dataclass
from enum import Enum

UNITS_PER_MM = 5.884  # at the design distance
DESIGN_EYE_MM = 900.0
SMALL_EYE_MM = 700.0
TARGET_MM = 20.0
GAP_MM = 6.0
QUIET_HIGH_MM = 25.0
SLACK = 0.005  # a ruler is read to half a per cent at best

LARGE_WIDE, LARGE_HIGH = 1280.0, 800.0
SMALL_WIDE, SMALL_HIGH = 1160.0, 680.0


class Kind(Enum):
    """The two arrangements: for panels of about 10 inches and more, and of about 7."""

    LARGE = "large"
    SMALL = "small"


@dataclass(frozen=True)
class Panel:
    """A panel: its pixels, its picture's size by ruler, and the distance it is read from."""

    wide_px: int
    high_px: int
    wide_mm: float
    high_mm: float
    eye_mm: float

    @property
    def px_per_mm(self) -> float:
        """Pixels a millimetre, along the width."""
        return self.wide_px / self.wide_mm


@dataclass(frozen=True)
class Rect:
    """A rectangle in design units from the panel's top left corner."""

    x: float
    y: float
    w: float
    h: float

    @property
    def right(self) -> float:
        """The x of the right edge."""
        return self.x + self.w

    @property
    def bottom(self) -> float:
        """The y of the lower edge."""
        return self.y + self.h


@dataclass(frozen=True)
class Refused:
    """Why a panel can't be read from where the eye is, and what to do."""

    reason: str


@dataclass(frozen=True)
class Layout:
    """Where everything goes. ``scale`` is pixels a design unit; slots are in design units."""

    kind: Kind
    panel: Panel
    scale: float
    target: float  # least side of a touch target
    gap: float  # least distance between two
    slots: dict[str, Rect]

    @property
    def small(self) -> bool:
        """True for the arrangement of small panels."""
        return self.kind is Kind.SMALL

    @property
    def wide(self) -> float:
        """The panel's width in design units."""
        return self.panel.wide_px / self.scale

    @property
    def high(self) -> float:
        """The panel's height in design units."""
        return self.panel.high_px / self.scale


def arrange(panel: Panel, signed_beyond: bool = False) -> Layout | Refused:
    """The largest arrangement that keeps text at its angle and targets at their millimetres.

    ``signed_beyond`` says that the installer signed for the small arrangement being read from
    more than 700 mm. Returns Refused with the reason where neither fits.
    """
    tall = panel.high_px / panel.high_mm / panel.px_per_mm
    if not 0.97 <= tall <= 1.03:
        return Refused(
            f"A square {panel.wide_px} x {panel.high_px} pixel picture can't be "
            f"{panel.wide_mm:.0f} x {panel.high_mm:.0f} mm: measure the lit area again."
        )
    floor = panel.px_per_mm * panel.eye_mm / DESIGN_EYE_MM / UNITS_PER_MM * (1 - SLACK)
    large = _large_scale(panel)
    if large >= floor:
        return _large(panel, large)
    small = min(panel.wide_px / SMALL_WIDE, panel.high_px / SMALL_HIGH)
    if small >= floor and (panel.eye_mm <= SMALL_EYE_MM or signed_beyond):
        return _small(panel, small)
    reach_small = small / floor * panel.eye_mm
    if not signed_beyond:
        reach_small = min(reach_small, SMALL_EYE_MM)
    reach = max(reach_small, large / floor * panel.eye_mm)
    return Refused(
        f"This panel can be read from {reach:.0f} mm at most, and the eye is at "
        f"{panel.eye_mm:.0f} mm: mount it nearer or fit a larger one."
    )


def unmeasured(wide_px: int, high_px: int) -> Layout:
    """A guess for a panel nobody held a ruler to: it fills the panel by the page's own shape.

    Small pictures (under 1200 pixels wide) are taken for small panels.
    """
    small = wide_px < 1200
    wide, high = (SMALL_WIDE, SMALL_HIGH) if small else (LARGE_WIDE, LARGE_HIGH)
    scale = min(wide_px / wide, high_px / high)
    eye = SMALL_EYE_MM if small else DESIGN_EYE_MM
    px_per_mm = scale * UNITS_PER_MM * DESIGN_EYE_MM / eye
    panel = Panel(wide_px, high_px, wide_px / px_per_mm, high_px / px_per_mm, eye)
    return _small(panel, scale) if small else _large(panel, scale)


def _large_scale(panel: Panel) -> float:
    """The scale at which the large page fills the panel and its targets keep their size."""
    target, quiet = TARGET_MM * panel.px_per_mm, QUIET_HIGH_MM * panel.px_per_mm
    high = float(panel.high_px)
    scale = high / LARGE_HIGH
    if 118 * scale < target:
        scale = (high - target) / (LARGE_HIGH - 118)
    if 158 * scale < quiet:
        scale = (high - target - quiet) / (LARGE_HIGH - 118 - 158)
    return min(panel.wide_px / LARGE_WIDE, scale)


def _large(panel: Panel, scale: float) -> Layout:
    wide, high = panel.wide_px / scale, panel.high_px / scale
    mm = panel.px_per_mm / scale
    target, gap = max(118.0, TARGET_MM * mm), max(35.0, GAP_MM * mm)
    button = max(150.0, target)
    band = Rect(24, 24, wide - 48, max(158.0, QUIET_HIGH_MM * mm))
    top, bottom = band.bottom + 14, high - 24 - target
    spare = bottom - 14 - top - 448
    speed = Rect(24, top, 560, 244 + 0.56 * spare)
    springs = Rect(24, speed.bottom + 14, 560, bottom - 14 - speed.bottom - 14)
    peg_x = 24 + button + gap
    field_x = peg_x + button + gap
    return Layout(
        Kind.LARGE,
        panel,
        scale,
        target,
        gap,
        {
            "page": Rect(0, 0, wide, high),
            "band": band,
            "speed": speed,
            "springs": springs,
            "tool": Rect(24, springs.y, 560, bottom - gap - springs.y),
            "depth": Rect(598, top, wide - 24 - 598, bottom - 14 - top),
            "menu": Rect(24, bottom, button, target),
            "peg": Rect(peg_x, bottom, button, target),
            "field": Rect(field_x, bottom, wide - 24 - field_x, target),
            "sheet": Rect(0, speed.bottom + 2, wide, high - speed.bottom - 2),
        },
    )


def _small(panel: Panel, scale: float) -> Layout:
    wide, high = panel.wide_px / scale, panel.high_px / scale
    mm = panel.px_per_mm / scale
    target, gap = TARGET_MM * mm, max(40.0, GAP_MM * mm)
    button = max(151.0, target)
    band = Rect(30, 30, wide - 30 - button - gap - 30, button)
    top, bottom = band.bottom + 10, high - 30 - 68
    springs_high = 140.0
    speed = Rect(30, top, 560, bottom - 8 - top - springs_high - 8)
    springs = Rect(30, speed.bottom + 8, 560, springs_high)
    return Layout(
        Kind.SMALL,
        panel,
        scale,
        target,
        gap,
        {
            "page": Rect(0, 0, wide, high),
            "band": band,
            "speed": speed,
            "springs": springs,
            "tool": Rect(30, springs.y - 4, 560, bottom - springs.y + 4),
            "depth": Rect(604, top, wide - 30 - 604, bottom - 8 - top),
            "menu": Rect(band.right + gap, 30, button, button),
            "field": Rect(42, bottom, wide - 84, 74),
            "sheet": Rect(0, band.bottom + 4, wide, high - band.bottom - 4),
        },
    )

"""How a picture looks to different eyes: grey, blurred, shaken, three losses of colour, glare.

Colour-vision matrices: Machado, Oliveira and Fernandes (2009), "A physiologically-based model for
simulation of color vision deficiency", severity 1.0, applied to linear sRGB. Luminance and
contrast: WCAG 2.2 (relative luminance), IEC 61966-2-1 (the sRGB curve). Lightness: CIE 1976 L*.
"""

from collections.abc import Callable
from typing import Any

import numpy as np

Picture = np.ndarray[Any, np.dtype[np.float32]]

MACHADO = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
}
WEIGHTS = np.array([0.2126, 0.7152, 0.0722], np.float32)
GLARE = 0.19  # of white: 30 klx on a 500 cd/m2 panel that scatters one per cent


def linear(pixels: Any) -> Picture:
    """Screen bytes to linear light, 0..1."""
    return _CURVE[np.asarray(pixels)]


def _curve() -> Picture:
    share = np.arange(256) / 255
    curve = np.where(share <= 0.04045, share / 12.92, ((share + 0.055) / 1.055) ** 2.4)
    return curve.astype(np.float32)


_CURVE = _curve()


def luminance(light: Picture) -> Picture:
    """Relative luminance of linear light."""
    return light @ WEIGHTS


def lightness(y: Picture) -> Picture:
    """L* of a relative luminance."""
    return np.where(y > 216 / 24389, 116 * np.cbrt(y) - 16, y * 24389 / 27)


def _box(light: Picture, axis: int, size: int) -> Picture:
    half = size // 2
    return sum(np.roll(light, shift, axis) for shift in range(-half, half + 1)) / (2 * half + 1)


def _without(rows: list[list[float]]) -> Callable[[Picture], Picture]:
    matrix = np.array(rows, np.float32).T
    return lambda light: np.clip(light @ matrix, 0, 1)


EYES: dict[str, Callable[[Picture], Picture]] = {
    "grey": lambda light: light,
    "blurred": lambda light: _box(_box(light, 0, 3), 1, 3),  # two minutes of arc at 900 mm
    "shaken": lambda light: _box(light, 0, 5),  # two pixels up and down, as a cab shakes
    **{name: _without(rows) for name, rows in MACHADO.items()},
}


def seen_as(light: Picture, eye: str) -> Picture:
    """L* of a picture as one of EYES sees it."""
    return lightness(luminance(EYES[eye](light)))


def share_apart(a: Picture, b: Picture, steps: float = 20.0) -> float:
    """The share of two L* pictures that differs by ``steps`` or more."""
    return float(np.mean(np.abs(a - b) >= steps))


def contrast(a: float, b: float, reflected: float = 0.05) -> float:
    """The contrast of two luminances with so much light reflected from the panel."""
    bright, dark = max(a, b), min(a, b)
    return (bright + reflected) / (dark + reflected)


def hex_luminance(colour: str) -> float:
    """The luminance of ``#RRGGBB``."""
    rgb = [int(colour[i : i + 2], 16) for i in (1, 3, 5)]
    return float(luminance(linear(rgb)))

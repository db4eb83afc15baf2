"""One off-screen window, pumped frame by frame: for pictures and tests."""

import struct
import zlib
from pathlib import Path
from typing import Any

import numpy as np
from kivy.base import EventLoop
from kivy.core.window import Window
from kivy.graphics.opengl import GL_RGBA, GL_UNSIGNED_BYTE, glReadPixels
from kivy.uix.widget import Widget

from cabapp.screens.drive import DrivePage
from cabapp.screens.fronts import PAGES, Way
from cabapp.screens.ruler import Layout

Pixels = np.ndarray[Any, np.dtype[np.uint8]]


class Stage:
    """The window and what stands in it. ``time`` is what a page on it takes for the time."""

    def __init__(self) -> None:
        self.time = 1000.0
        self.taps: list[tuple[Any, Any]] = []
        self.opened: list[str] = []
        EventLoop.start()

    def show(self, widget: Widget, wide: int, high: int) -> None:
        """Make the window as large as the widget and show only that."""
        for child in list(Window.children):
            Window.remove_widget(child)
        if tuple(Window.size) != (wide, high):
            Window.size = (wide, high)
        Window.add_widget(widget)
        self.frames(2)

    def drive(self, layout: Layout) -> DrivePage:
        """A new Drive page for a layout, shown; its taps are kept in ``taps``."""
        way = Way(lambda kind, value: self.taps.append((kind, value)), self.opened.append, PAGES)
        page = DrivePage(layout, way, lambda: self.time)
        self.show(page, layout.panel.wide_px, layout.panel.high_px)
        return page

    def frames(self, count: int = 1) -> None:
        """Turn the loop a few times."""
        for _ in range(count):
            EventLoop.idle()

    def pixels(self) -> Pixels:
        """The window's picture as rows of red, green, blue, top row first."""
        wide, high = Window.size
        data = glReadPixels(0, 0, wide, high, GL_RGBA, GL_UNSIGNED_BYTE)
        return np.frombuffer(data, np.uint8).reshape(high, wide, 4)[::-1, :, :3]

    def shot(self, path: Path) -> None:
        """Write the window's picture as a PNG."""
        path.write_bytes(png(self.pixels()))


def png(pixels: Pixels) -> bytes:
    """Rows of red, green, blue as a PNG file (ISO/IEC 15948: one IDAT, no row filter)."""
    high, wide, _ = pixels.shape
    rows = np.zeros((high, 1 + 3 * wide), np.uint8)
    rows[:, 1:] = pixels.reshape(high, 3 * wide)

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", wide, high, 8, 2, 0, 0, 0)
    body = zlib.compress(rows.tobytes(), 6)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", body) + chunk(b"IEND", b"")

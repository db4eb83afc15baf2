"""The window, set up before anything of the toolkit is imported.

``prepare`` writes what the toolkit reads from the environment at import; call it first. With no
display it takes the off-screen driver.
"""

import ctypes
import logging
import os
import sys

MAX_FPS = 22  # the toolkit's clock overshoots by a third: this gives about 30 a second


def prepare(offscreen: bool = False) -> None:
    """Set the environment; call before the first import of kivy.

    One of the toolkit's touch readers, not used here, reports its missing library as an error
    with a traceback: that one message stays away.
    """
    os.environ.setdefault("KIVY_NO_ARGS", "1")
    os.environ.setdefault("KIVY_NO_CONFIG", "1")
    os.environ.setdefault("KIVY_NO_FILELOG", "1")
    os.environ.setdefault("KIVY_LOG_MODE", "PYTHON")
    os.environ.setdefault("KIVY_METRICS_DENSITY", "1")
    os.environ.setdefault("KIVY_WINDOW", "sdl2")
    if offscreen or not display_there():
        os.environ["SDL_VIDEODRIVER"] = "offscreen"
    elif sys.platform.startswith("linux"):
        os.environ.setdefault("SDL_VIDEODRIVER", "x11")
    logging.getLogger("kivy").addFilter(lambda record: "MTDev" not in record.getMessage())


def display_there() -> bool:
    """Is there a display to open a window on?"""
    if not sys.platform.startswith("linux"):
        return True
    return bool(os.environ.get("DISPLAY"))


def screen_size() -> tuple[int, int] | None:
    """The screen's size in pixels from the X server, or None where there is none to ask.

    On a bare server without a window manager a full-screen window keeps its configured size in
    the middle of the screen and touches land beside what they meant, so the size is asked first.
    """
    if os.environ.get("SDL_VIDEODRIVER") != "x11":
        return None
    try:
        x11 = ctypes.CDLL("libX11.so.6")
    except OSError:
        return None
    x11.XOpenDisplay.restype = ctypes.c_void_p
    x11.XDisplayWidth.argtypes = x11.XDisplayHeight.argtypes = [ctypes.c_void_p, ctypes.c_int]
    display = x11.XOpenDisplay(None)
    if not display:
        return None
    return int(x11.XDisplayWidth(display, 0)), int(x11.XDisplayHeight(display, 0))


def configure(wide: int, high: int, full: bool, fps: int = MAX_FPS, turned_deg: int = 0) -> None:
    """Set the toolkit's own settings; call before the window is imported.

    ``wide`` and ``high`` are the panel's own, ``turned_deg`` how far it is turned in its mount.
    """
    from kivy.config import Config

    Config.remove_section("input")
    Config.add_section("input")
    Config.set("input", "mouse", "mouse,disable_multitouch")
    for key, value in {
        "width": wide,
        "height": high,
        "rotation": turned_deg,
        "fullscreen": "auto" if full else 0,
        "borderless": int(full),
        "show_cursor": int(not full),
        "resizable": int(not full),
        "maxfps": fps,
        "multisamples": 0,  # edges carry their own smoothing
        "allow_screensaver": 0,
    }.items():
        Config.set("graphics", key, str(value))
    Config.set("kivy", "exit_on_escape", "0")
    Config.set("kivy", "keyboard_mode", "")

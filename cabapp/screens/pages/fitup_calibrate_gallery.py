"""Moments of calibrating the invented fitting: points taken well, mistyped, never still, unproven.

Nothing here is measured.
"""

from collections.abc import Callable

from cabapp.fitup.pages import Page
from cabapp.screens.pages.fitup_invented import Bench, depth_volts
from cabapp.units import POUND_FORCE_N

# What was typed, and where: the third was meant to be 2 in clearance.
POINTS = (
    (-6.0, "shed"),
    (-4.0, "shed"),
    (-20.0, "shed"),
    (0.0, "shed"),
    (8.0, "slot"),
    (11.0, "slot"),
)


def _cautions(bench: Bench) -> None:
    bench.begin(Page.CALIBRATE)
    bench.tap("calibrate_depth1")


def take_points(bench: Bench, points: tuple[tuple[float, str], ...] = POINTS) -> None:
    """Type and take each point up and down, the third as if two inches had been meant."""
    places = {"shed": 0, "slot": 1, "proof": 2}
    for known, place in points:
        bench.tap("add")
        bench.tap(f"choice_{places[place]}")
        if known < 0:
            bench.tap("key_-")
        whole = int(abs(known))
        bench.type(f"{whole}")
        truth = -2.0 if known == -20.0 else known
        for way, off in (("up", 0.0), ("down", 0.008)):
            bench.depths["DEPTH1"] = depth_volts(truth) + off
            bench.run(4.0)
            bench.tap(f"take_{way}")


def _safe(bench: Bench) -> None:
    _cautions(bench)
    bench.tap("go")


def _mistyped(bench: Bench) -> None:
    _safe(bench)
    take_points(bench)
    bench.tap("add")
    bench.tap("choice_1")
    bench.type("14")
    bench.depths["DEPTH1"] = depth_volts(14.0)
    bench.run(4.0)


def _holds(bench: Bench) -> None:
    _safe(bench)
    good = tuple((-2.0 if known == -20.0 else known, place) for known, place in POINTS)
    take_points(bench, (*good, (14.0, "slot"), (5.0, "proof")))


def _unproven(bench: Bench) -> None:
    """Points in the shed alone: it may be accepted, as unproven."""
    _safe(bench)
    take_points(bench, tuple((known, "shed") for known in (-6.0, -4.0, -2.0, 0.0, 4.0, 8.0, 14.0)))


def _one_off(bench: Bench) -> None:
    """A point whose sensor was not where it was said to be: no slip of typing explains it."""
    _safe(bench)
    for known, true in ((0.0, 0.0), (4.0, 4.0), (8.0, 10.5), (12.0, 12.0), (-4.0, -4.0)):
        _take_at(bench, known, depth_volts(true))


def _take_at(bench: Bench, known: float, volts: float) -> None:
    bench.tap("add")
    bench.tap("choice_0")
    if known < 0:
        bench.tap("key_-")
    bench.type(f"{abs(known):g}")
    bench.depths["DEPTH1"] = volts
    bench.run(4.0)
    bench.tap("take_up")
    bench.tap("take_down")


def _left_out(bench: Bench) -> None:
    _one_off(bench)
    bench.tap("verdict_1")


def _after_left_out(bench: Bench) -> None:
    _left_out(bench)
    bench.tap("read")


def _row_menu(bench: Bench) -> None:
    _unproven(bench)
    bench.tap("row_5")
    bench.tap("row_5")


def _spring_loads(bench: Bench) -> None:
    """A spring by loads, in pounds, from a node that sends newtons."""
    bench.begin(Page.CALIBRATE)
    bench.tap("calibrate_spring1")
    bench.type("4400")
    bench.tap("go")
    for pounds in (0, 1000, 2000, 3000, 4000):
        bench.tap("add")
        bench.tap("choice_0")
        bench.type(f"{pounds}")
        bench.springs["SPRING1"] = pounds * POUND_FORCE_N - 3.0
        bench.run(4.0)
        bench.tap("take_up")
        if pounds < 4000:
            bench.tap("take_down")


def _never_still(bench: Bench) -> None:
    _safe(bench)
    bench.tap("add")
    bench.tap("choice_0")
    bench.type("0")
    for n in range(80):
        bench.depths["DEPTH1"] = 1.7 + 0.2 * (n % 2)
        bench.run(0.4)


def _pulled(bench: Bench) -> None:
    _safe(bench)
    take_points(bench, POINTS[:2])
    bench.silent = {"DEPTH1"}
    bench.run(6.0)


def _keypad(bench: Bench) -> None:
    _safe(bench)
    bench.tap("add")
    bench.tap("choice_0")
    for key in ("key_-", "key_6", "key_1/2"):
        bench.tap(key)


def _refused_figure(bench: Bench) -> None:
    _safe(bench)
    bench.tap("add")
    bench.tap("choice_0")
    bench.type("140")


CALIBRATING: dict[str, Callable[[Bench], None]] = {
    "calibrate-which": lambda bench: bench.begin(Page.CALIBRATE),
    "calibrate-cautions": _cautions,
    "calibrate-keypad": _keypad,
    "calibrate-refused": _refused_figure,
    "calibrate": _mistyped,
    "calibrate-holds": _holds,
    "calibrate-never-still": _never_still,
    "calibrate-pulled": _pulled,
    "calibrate-unproven": _unproven,
    "calibrate-off": _one_off,
    "calibrate-left-out": _left_out,
    "calibrate-after-left-out": _after_left_out,
    "calibrate-menu": _row_menu,
    "calibrate-spring": _spring_loads,
}

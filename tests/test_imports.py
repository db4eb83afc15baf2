"""The rooms and their arrows: who may import whom, and what a pure room never touches."""

import ast
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "cabapp"

# The words everybody may use: modules beside the rooms, standard library only.
VOCABULARY = {
    "units", "readings", "channels", "words", "rig", "rigbounds", "rigcheck", "rigcross",
    "rigfault", "rigtable", "firing", "curve", "plan", "events",
    "outcome", "codec", "paths",
}  # fmt: skip

# room -> (rooms it may import, libraries it may import)
ALLOWED: dict[str, tuple[set[str], set[str]]] = {
    **{name: (set(), set()) for name in VOCABULARY},
    "trade": (set(), {"numpy"}),
    "hear": (set(), set()),
    "watch": ({"trade"}, set()),
    "walk": ({"trade"}, set()),
    "fitup": (set(), {"numpy"}),
    "ground": ({"trade"}, {"numpy"}),
    "cab": ({"trade", "hear", "watch", "ground"}, set()),
    "replay": ({"cab", "hear"}, set()),
    "sources": ({"hear", "record", "replay"}, set()),
    "record": ({"cab", "ground", "trade"}, {"tomlkit", "numpy"}),
    "review": ({"record", "cab", "trade", "ground"}, {"numpy", "jinja2"}),
    "world": (set(), {"numpy"}),
    "engine": ({"cab", "record", "world", "hear"}, {"serial", "platformdirs"}),
    # Pages read the record and wake the engine through its wire; they know no rule.
    "screens": (
        {
            "walk",
            "fitup",
            "review",
            "trade",
            "record",
            "engine.wire",
            "engine.pipes",
            "engine.service",
            "engine.home",
        },
        {"kivy", "numpy"},
    ),
    "sound": ({"engine.wire", "engine.pipes", "engine.service", "engine.home"}, {"numpy", "kivy"}),
}

PURE = VOCABULARY - {"paths"} | {
    "trade",
    "hear",
    "watch",
    "walk",
    "fitup",
    "ground",
    "cab",
    "replay",
}
NEVER_IN_PURE = {
    "kivy", "serial", "sqlite3", "threading", "multiprocessing", "time", "random", "socket",
    "subprocess", "os", "pathlib", "asyncio", "select", "queue", "tempfile", "shutil",
}  # fmt: skip
# Edges that start everything may import everything; they hold no decisions.
FREE = {"cli", "commands", "__main__", "__init__"}


def room_of(path: Path) -> str:
    relative = path.relative_to(ROOT)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


def imports_of(path: Path) -> set[str]:
    """Every module imported anywhere in a file, dotted, functions' inner imports included."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
    return found


def faults_of(path: Path, modules: set[str]) -> list[str]:
    room = room_of(path)
    rooms, libraries = ALLOWED[room]
    faults = []
    for module in sorted(modules):
        top, *rest = module.split(".")
        if top == "cabapp":
            target = rest[0] if rest else ""
            exact = ".".join(rest[:2])
            known = target in VOCABULARY | rooms | {room, "__version__"} or exact in rooms
            if not known:
                faults.append(f"{room} may not import {module}")
        elif top not in sys.stdlib_module_names and top not in libraries:
            faults.append(f"{room} may not import the library {top}")
        elif room in PURE and top in NEVER_IN_PURE:
            faults.append(f"{room} is pure and may not import {top}")
    return faults


FILES = [path for path in sorted(ROOT.rglob("*.py")) if room_of(path) not in FREE]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(ROOT)))
def test_each_file_imports_only_what_its_room_may(path: Path) -> None:
    assert room_of(path) in ALLOWED, f"{path}: a room that the table does not know"
    assert faults_of(path, imports_of(path)) == []


def test_a_forbidden_arrow_is_seen() -> None:
    trade = ROOT / "trade" / "depth.py"
    assert faults_of(trade, {"cabapp.watch.rules"}) == ["trade may not import cabapp.watch.rules"]
    assert faults_of(trade, {"time"}) == ["trade is pure and may not import time"]
    assert faults_of(trade, {"kivy.app"}) == ["trade may not import the library kivy"]
    assert faults_of(trade, {"cabapp.units.INCH_M", "numpy", "math"}) == []

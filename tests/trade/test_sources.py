"""Every number can say where it is from, and what is from memory says so."""

import ast
from pathlib import Path

import pytest

from cabapp.trade import sources
from cabapp.trade.clods import MEAN_WEIGHT_SOURCE
from cabapp.trade.draft import ROWS
from cabapp.trade.sources import COMMON_PRACTICE, Provenance, Source
from cabapp.trade.spacing import CRITICAL_DEPTH_SOURCE

ROOM = Path(sources.__file__).parent
FILES = sorted(ROOM.glob("*.py"))


def test_what_is_from_memory_says_so_in_words() -> None:
    for source in (
        MEAN_WEIGHT_SOURCE,
        CRITICAL_DEPTH_SOURCE,
        ROWS["roller_packer"].source,
    ):
        assert source.provenance is Provenance.MEMORY
        assert source.text().endswith("from memory, not yet looked up")


def test_common_practice_names_no_publication() -> None:
    assert COMMON_PRACTICE.text() == "common practice, no published source"


def test_a_source_is_shown_with_its_publication() -> None:
    shown = Source("Some handbook, 1990", Provenance.SEEN).text()
    assert shown == "Some handbook, 1990; read in the source named"


def test_every_source_is_used() -> None:
    text = "".join(path.read_text() for path in FILES if path.name != "sources.py")
    names = [name for name, value in vars(sources).items() if isinstance(value, Source)]
    assert [name for name in names if name not in text] == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_everything_public_says_what_it_is(path: Path) -> None:
    tree = ast.parse(path.read_text())
    bare = [
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.ClassDef)
        and not node.name.startswith("_")
        and not ast.get_docstring(node)
    ]
    inner = {
        child.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        or (isinstance(node, ast.ClassDef) and node.name.startswith("_"))
        for child in ast.walk(node)
        if isinstance(child, ast.FunctionDef) and child is not node
    }
    assert [name for name in bare if name not in inner] == []

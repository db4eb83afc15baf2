"""The fit-up page on a bench with good ports, and what an eye reads on it and on the disk."""

from pathlib import Path

from cabapp.rig import Rig
from cabapp.rigcheck import read_rig
from cabapp.screens.pages.fitup_invented import GOOD_PORTS, Bench
from cabapp.screens.pictures import layout_of

TEN = "10in-1280x800"


def plugged_in(folder: Path) -> Bench:
    """A bench with the invented fitting, two seconds after its plugs were heard."""
    made = Bench(layout_of(TEN), folder)
    made.enter()
    made.ports(*GOOD_PORTS)
    made.run(2.0)
    return made


def words(bench: Bench) -> list[str]:
    """Everything that can be read."""
    return [say.text for say in bench.page.paper.over.says if say.text]


def reads(bench: Bench, part: str) -> bool:
    """Whether a text stands there, over its breaks."""
    return part in " ".join(words(bench))


def on_disk(bench: Bench) -> Rig:
    """The rig as the file has it."""
    return read_rig(bench.home.rig.read_text())

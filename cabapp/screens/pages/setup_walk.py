"""Which steps file is in force: the owner's in the state folder if it is good, else the shipped."""

from dataclasses import dataclass
from pathlib import Path

from cabapp.paths import shipped
from cabapp.walk.steps import Walk, WalkError, read_walk

OWN_NAME = "steps.toml"


@dataclass(frozen=True)
class Opened:
    """The walk in force, and what is wrong with the owner's file where it is not used."""

    walk: Walk
    faults: tuple[str, ...] = ()


def open_walk(home: Path) -> Opened:
    """The owner's ``steps.toml`` if it lies in the state folder and is good, else the shipped one.

    A file that cannot be used is left as it lies; every fault of it is told in words.
    """
    own = home / OWN_NAME
    path = shipped("assets", "walk", "combination.toml")
    walk = read_walk(path.read_text(encoding="utf-8"), str(path))
    try:
        return Opened(read_walk(own.read_text(encoding="utf-8"), OWN_NAME))
    except FileNotFoundError:
        return Opened(walk)
    except WalkError as error:
        return Opened(walk, error.faults)
    except (OSError, UnicodeDecodeError) as error:
        return Opened(walk, (f"{OWN_NAME}: cannot be read ({error}); save it as plain text",))

"""What was learned about the wires, kept over a restart: which device, at which speed."""

import contextlib
import json
import os
import threading
from dataclasses import asdict, dataclass
from pathlib import Path

_WRITING = threading.Lock()  # each port remembers in a thread of its own


@dataclass(frozen=True)
class Known:
    """Where a port was last found and the speed it spoke at."""

    device: str
    baud: int


def read_known(file: Path) -> dict[str, Known]:
    """Ports by name; nothing if the file is missing or not as written (it is only a shortcut)."""
    try:
        plain = json.loads(file.read_text(encoding="utf-8"))
        return {name: Known(str(p["device"]), int(p["baud"])) for name, p in plain.items()}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}


def write_known(file: Path, known: dict[str, Known]) -> None:
    """Replace the file in one step; a full or failing disk loses only the shortcut."""
    plain = {name: asdict(port) for name, port in sorted(known.items())}
    beside = file.with_suffix(".new")
    with _WRITING, contextlib.suppress(OSError):
        file.parent.mkdir(parents=True, exist_ok=True)
        beside.write_text(json.dumps(plain, indent=1) + "\n", encoding="utf-8")
        os.replace(beside, file)

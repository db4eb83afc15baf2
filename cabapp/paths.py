"""Where the files that are not code lie, in a checkout and after an ordinary install.

A checkout keeps ``assets/`` and ``config/`` beside the package. An install has no such place, so
the build copies both to ``share/cabapp`` under the environment's prefix (see data-files in
pyproject.toml) and they are looked for there second.
"""

import sys
import sysconfig
from pathlib import Path

_HERE = Path(__file__).resolve().parent


def roots() -> tuple[Path, ...]:
    """The places looked at, in order: the checkout, then the environment, then the base prefix."""
    shared = Path("share") / "cabapp"
    return (
        _HERE.parent,
        Path(sysconfig.get_path("data")) / shared,
        Path(sys.prefix) / shared,
        Path(sys.base_prefix) / shared,
    )


def shipped(*parts: str) -> Path:
    """The path of a shipped file or folder, as ``shipped("assets", "fonts", "x.ttf")``.

    Raises FileNotFoundError naming every place looked at.
    """
    tried = [root.joinpath(*parts) for root in roots()]
    for path in tried:
        if path.exists():
            return path
    places = ", ".join(str(path) for path in dict.fromkeys(tried))
    raise FileNotFoundError(f"{'/'.join(parts)} is missing; looked at {places}; install it again")

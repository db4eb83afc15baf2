"""Do the tests bite: ``python -m tests.mutants`` puts each mistake of the table into a copy.

Each runs against its own test folder first; what survives runs against all tests. Words pick the
mutants whose names hold one of them. Prints a row each; exit 1 if fewer than LEAST of all are
caught. The checkout itself is never changed.
"""

import os
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.mutants.table import MUTANTS, Mutant

ROOT = Path(__file__).parent.parent.parent
COPIED = ("cabapp", "tests", "assets", "config", "pyproject.toml", "README.md", "DEVELOPERS.md")
LEAST = 18


def main(words: list[str]) -> int:
    """Try the mutants; 1 if too many survive."""
    chosen = [m for m in MUTANTS if not words or any(word in m.name for word in words)]
    with tempfile.TemporaryDirectory(prefix="mutants-") as name:
        copy = Path(name)
        for part in COPIED:
            source = ROOT / part
            if source.is_dir():
                shutil.copytree(source, copy / part, ignore=shutil.ignore_patterns("__pycache__"))
            else:
                shutil.copy(source, copy / part)
        left = [mutant for mutant in chosen if not tried(copy, mutant, mutant.tests)]
        survivors = [mutant for mutant in left if not tried(copy, mutant, "tests")]
    caught = len(chosen) - len(survivors)
    print(f"{caught} of {len(chosen)} caught")
    return 0 if caught >= min(LEAST, len(chosen)) else 1


def tried(copy: Path, mutant: Mutant, tests: str) -> bool:
    """Whether some of the tests fail with the mistake in; printed as a row."""
    file = copy / mutant.file
    text = file.read_text(encoding="utf-8")
    assert text.count(mutant.old) == 1, f"{mutant.file}: {mutant.old!r} must stand there once"
    file.write_text(text.replace(mutant.old, mutant.new), encoding="utf-8")
    begun = time.monotonic()
    try:
        found = fails(copy, tests)
    finally:
        file.write_text(text, encoding="utf-8")
    word = "caught by" if found else "not by"
    took = time.monotonic() - begun
    print(f"{mutant.name:58} {word:9} {tests:32} {took:4.0f} s", flush=True)
    return found


def fails(copy: Path, tests: str) -> bool:
    """Whether some test fails there, in the copy's own code."""
    environment = {**os.environ, "PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1",
                   "SDL_VIDEODRIVER": "offscreen", "SDL_AUDIODRIVER": "dummy"}  # fmt: skip
    words = ["-x", "-q", "-p", "no:cacheprovider", tests]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", *words],
        cwd=copy, env=environment, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if done.returncode not in (0, 1):
        raise SystemExit(f"{tests}: pytest ended with {done.returncode}:\n{done.stdout[-2000:]}")
    return done.returncode == 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

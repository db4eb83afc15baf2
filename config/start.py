#!/usr/bin/env python3
"""Set up and start: ``python3 config/start.py demo``, ``test`` or ``bench``.

Standard library only. Makes .venv, installs the project and what its tests need, sees to the few
system packages (as root installs them, otherwise prints the one apt line), then hands over.
"""

import glob
import hashlib
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NoReturn

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
PYTHON = VENV / "bin" / "python"
STAMP = VENV / "installed-for"
MOST_WORKERS = 4  # there are no more folders of tests that take long
PICTURES = ROOT / "build" / "pictures"

USE = """use: python3 config/start.py demo | test | bench   (further words are handed on)
     test --long and bench --long take hours"""

# Debian package -> files of which one must be there; "{multi}" is any multiarch folder.
SYSTEM_FILES = {
    "libgl1": ["/usr/lib/*/libGL.so.1", "/usr/lib/libGL.so.1"],
    "libegl1": ["/usr/lib/*/libEGL.so.1", "/usr/lib/libEGL.so.1"],
    "libgl1-mesa-dri": ["/usr/lib/*/dri/swrast_dri.so", "/usr/lib/*/libgallium*.so"],
    "xvfb": ["/usr/bin/Xvfb"],
}
# Windows are measured under the window manager of the kiosk.
BENCH_FILES = {"matchbox-window-manager": ["/usr/bin/matchbox-window-manager"]}


def main(words: list[str]) -> int:
    """Set up, then run the command asked for; returns its exit code."""
    if words[:1] in (["--help"], ["-h"]):
        print(USE)
        return 0
    if not words or words[0] not in COMMANDS:
        print(USE, file=sys.stderr)
        return 2
    if not (3, 11) <= sys.version_info[:2] <= (3, 13):
        print(f"Python 3.11 to 3.13 is needed; this is {sys.version.split()[0]}", file=sys.stderr)
        return 1
    missing = missing_packages(SYSTEM_FILES | (BENCH_FILES if words[0] == "bench" else {}))
    if missing and not install_packages(missing):
        return 1
    if not make_venv() or not install_project():
        return 1
    return COMMANDS[words[0]](words[1:])


def missing_packages(files: dict[str, list[str]]) -> list[str]:
    """Debian packages whose files are not on this machine."""
    missing = [
        package
        for package, patterns in files.items()
        if not any(glob.glob(pattern) for pattern in patterns)
    ]
    if not PYTHON.exists() and not venv_works():
        missing.append(f"python3.{sys.version_info[1]}-venv")
    return missing


def venv_works() -> bool:
    """A bare Debian has the module venv but not the ensurepip that it needs."""
    probe = [sys.executable, "-c", "import venv, ensurepip"]
    return subprocess.run(probe, capture_output=True).returncode == 0


def install_packages(missing: list[str]) -> bool:
    """As root install them; otherwise print the one line that does, and return False."""
    install = ["apt-get", "install", "-y", "--no-install-recommends", *missing]
    line = f"sudo sh -c 'apt-get update && {' '.join(install)}'"
    if os.geteuid() != 0:
        print(f"Some system packages are missing. Run this once, then start again:\n{line}")
        return False
    print(f"Installing system packages: {' '.join(missing)}", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    try:
        for step in (["apt-get", "update", "-q"], install):
            subprocess.run(step, check=True, env=quiet, stdout=subprocess.DEVNULL)
    except (OSError, subprocess.CalledProcessError) as error:
        print(f"That failed ({error}). Run this by hand, then start again:\n{line}")
        return False
    return True


def make_venv() -> bool:
    """Make .venv where there is none that runs."""
    if PYTHON.exists() and subprocess.run([PYTHON, "-c", ""]).returncode == 0:
        return True
    print("Making .venv", flush=True)
    made = subprocess.run([sys.executable, "-m", "venv", "--clear", str(VENV)])
    if made.returncode:
        print("No virtual environment could be made; the lines above say why.", file=sys.stderr)
    return made.returncode == 0


def install_project() -> bool:
    """Install the project and its test tools; a second start with the same pyproject skips it."""
    wanted = hashlib.sha256((ROOT / "pyproject.toml").read_bytes() + str(ROOT).encode()).hexdigest()
    if STAMP.exists() and STAMP.read_text() == wanted:
        return True
    print("Installing the project into .venv (a minute or so)", flush=True)
    pip = [str(PYTHON), "-m", "pip", "install", "--quiet", "--disable-pip-version-check"]
    if subprocess.run([*pip, "--editable", f"{ROOT}[test]"]).returncode:
        print("The install failed; the lines above say why. Is there a network?", file=sys.stderr)
        return False
    STAMP.write_text(wanted)
    return True


def has_display() -> bool:
    """Whether a window can be shown to a person."""
    return bool(os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"))


def hand_over(command: list[str], environment: dict[str, str]) -> NoReturn:
    """Become a module of the project, so that a signal meant for it reaches it and nothing else."""
    sys.stdout.flush()
    os.chdir(ROOT)
    os.execve(PYTHON, [str(PYTHON), "-m", *command], environment)


def demo(words: list[str]) -> NoReturn:
    """The invented tractor: in a window, or as pictures where there is no display."""
    environment = dict(os.environ)
    if not has_display() and "--pictures" not in words and "--help" not in words:
        environment["SDL_VIDEODRIVER"] = "offscreen"
        words = ["--pictures", str(PICTURES), *words]
        print(f"No display: drawing off-screen, pictures go to {PICTURES}", flush=True)
    hand_over(["cabapp", "demo", *words], environment)


def test(words: list[str]) -> int:
    """ruff, mypy, then pytest; with further words pytest alone, with those words.

    ``--long`` does everything at full count (hours), and runs the tests against mutants.
    """
    environment = {**os.environ, "SDL_AUDIODRIVER": "dummy", "SDL_VIDEODRIVER": "offscreen"}
    long = "--long" in words
    words = [word for word in words if word != "--long"]
    if long:
        environment["CABAPP_LONG"] = "1"

    def run(*command: str) -> int:
        return subprocess.run([str(PYTHON), "-m", *command], cwd=ROOT, env=environment).returncode

    if words:
        return run("pytest", *words)
    with faults_beside(environment) as faults:
        # A folder goes to one worker (tests/conftest.py).
        workers = min(os.cpu_count() or 1, MOST_WORKERS)
        checks = [
            run("ruff", "check", "."),
            run("mypy", "cabapp"),
            run("pytest", "-q", "-n", str(workers), "--ignore", "tests/faults"),
            faults.wait(),
        ]
    if long:
        checks.append(run("tests.mutants"))
    return max(abs(code) for code in checks)


@contextmanager
def faults_beside(environment: dict[str, str]) -> Iterator[subprocess.Popen[bytes]]:
    """The fault tests, while everything else runs: most of the time they wait for whole processes.

    A session of their own is a scheduling group of its own, which gets its share of a busy machine.
    What they say is printed at the end.
    """
    command = [str(PYTHON), "-m", "pytest", "-q", "tests/faults"]
    with tempfile.TemporaryFile() as said:
        faults = subprocess.Popen(command, cwd=ROOT, env=environment, stdout=said,
                                  stderr=subprocess.STDOUT, start_new_session=True)  # fmt: skip
        try:
            yield faults
        finally:
            if faults.poll() is None:
                faults.send_signal(signal.SIGINT)  # what they started is ended with them
                faults.wait()
            said.seek(0)
            print("The fault tests:\n" + said.read().decode("utf-8", "replace"), flush=True)


def bench(words: list[str]) -> NoReturn:
    """The budgets, measured; see DEVELOPERS.md."""
    hand_over(["tests.bench", *words], dict(os.environ))


COMMANDS = {"demo": demo, "test": test, "bench": bench}

if __name__ == "__main__":
    signal.signal(signal.SIGTERM, lambda number, frame: sys.exit(128 + number))
    try:
        sys.exit(main(sys.argv[1:]))
    except KeyboardInterrupt:
        sys.exit(130)

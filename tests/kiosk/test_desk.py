"""What an owner does at a desk needs no kiosk, no window and no Linux."""

import subprocess
import sys

LINUX_ONLY = ("fcntl", "termios", "tty", "pty", "pwd", "grp", "resource", "kivy", "serial")
DESK = ("cabapp.cli", "cabapp.commands", "cabapp.replay", "cabapp.sources", "cabapp.record.makerun",
        "cabapp.review.commands", "cabapp.review.season")  # fmt: skip


def test_the_commands_of_a_desk_load_without_linux_window_or_ports():
    lines = [
        "import importlib, sys",
        f"sys.modules.update(dict.fromkeys({LINUX_ONLY!r}))",
        f"[importlib.import_module(name) for name in {DESK!r}]",
    ]
    done = subprocess.run([sys.executable, "-c", "\n".join(lines)], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-500:]

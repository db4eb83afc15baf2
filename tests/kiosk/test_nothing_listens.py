"""The real processes at work, looked at from outside: no socket of a network, no shell."""

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

from tests.faults.cabin import processes, until

ROOT = Path(__file__).parent.parent.parent
PARTS = ("cabapp.engine.main", "cabapp.screens.app", "cabapp.sound.speaker")
NETWORK = ("tcp", "tcp6", "udp", "udp6", "raw", "raw6", "udplite", "sctp/eps")


def network_inodes(pid: int) -> set[str]:
    """The sockets of every network protocol that the process's network has."""
    found: set[str] = set()
    for name in NETWORK:
        table = Path(f"/proc/{pid}/net/{name}")
        if table.exists():
            rows = (line.split() for line in table.read_text().splitlines()[1:])
            found |= {row[9] for row in rows if len(row) > 9}
    return found


def sockets_of(pid: int) -> set[str]:
    found = set()
    for entry in Path(f"/proc/{pid}/fd").iterdir():
        try:
            match = re.fullmatch(r"socket:\[(\d+)\]", os.readlink(entry))
        except OSError:
            continue
        if match:
            found.add(match[1])
    return found


def test_no_process_holds_a_network_socket(tmp_path: Path):
    environment = {**os.environ, "SDL_VIDEODRIVER": "offscreen", "SDL_AUDIODRIVER": "dummy",
                   "CABAPP_STATE": str(tmp_path)}  # fmt: skip
    rig = ROOT / "config" / "rig-us-full.toml"
    kiosk = subprocess.Popen(
        [sys.executable, "-m", "cabapp", "drive", "--windowed", "--rig", str(rig)],
        cwd=ROOT, env=environment, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        until(lambda: all(processes(part, tmp_path) for part in PARTS), 30.0, "the three")
        until(lambda: (tmp_path / "log" / "screen.log").exists(), 30.0, "the screen's log")
        pids = [kiosk.pid, *(processes(part, tmp_path)[0] for part in PARTS)]
        for pid in pids:
            assert not sockets_of(pid) & network_inodes(pid)
    finally:
        kiosk.send_signal(signal.SIGTERM)
        assert kiosk.wait(15.0) == 0


def test_the_check_would_see_a_listening_socket():
    import socket

    with socket.create_server(("127.0.0.1", 0)):
        assert sockets_of(os.getpid()) & network_inodes(os.getpid())


def test_no_line_of_the_app_hands_words_to_a_shell_or_opens_a_server():
    words = re.compile(
        r"shell\s*=\s*True|os\.system|os\.popen|pickle\.load|\beval\(|\bexec\(|AF_INET"
        r"|create_server|http\.server|urlopen"
    )
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in sorted((ROOT / "cabapp").rglob("*.py"))
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if words.search(line)
    ]
    assert found == []

"""What keeps a process a good citizen: its log, its last resort, and the service manager's socket.

Logging goes through a queue to a thread of its own, so a frozen disk delays no judgement; files
are bounded. ``Guarded`` is the one place that catches whatever nobody foresaw.
"""

import contextlib
import logging
import logging.handlers
import os
import queue
import signal
import socket
from collections.abc import Callable
from pathlib import Path

LOG_BYTES = 512 * 1024
LOG_FILES = 4
LOG_WAITING = 1000


def begin(home: Path, name: str) -> logging.handlers.QueueListener:
    """What every process does first: its log, and Ctrl-C left to the keeper."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    return start_log(home / "log", name)


class BoundedQueueHandler(logging.handlers.QueueHandler):
    """Drops a record when LOG_WAITING are waiting: a log never holds up what it logs."""

    def enqueue(self, record: logging.LogRecord) -> None:
        """Hand the record to the writing thread, or let it go."""
        try:
            self.queue.put_nowait(record)
        except queue.Full:
            return


def start_log(folder: Path, name: str) -> logging.handlers.QueueListener:
    """Send the root logger to ``folder/NAME.log`` and stderr by way of a bounded queue.

    The listener's ``stop`` writes what still waits; a process that is killed loses that much.
    """
    if not folder.is_dir():  # a frozen disk holds up even the making of a folder that is there
        folder.mkdir(parents=True, exist_ok=True)
    form = logging.Formatter("%(asctime)s %(levelname)s %(name)s: %(message)s")
    file = logging.handlers.RotatingFileHandler(
        folder / f"{name}.log", maxBytes=LOG_BYTES, backupCount=LOG_FILES, delay=True
    )
    console = logging.StreamHandler()
    console.setLevel(logging.WARNING)
    for handler in (file, console):
        handler.setFormatter(form)
    waiting: queue.Queue[logging.LogRecord] = queue.Queue(LOG_WAITING)
    root = logging.getLogger()
    root.handlers = [BoundedQueueHandler(waiting)]
    root.setLevel(logging.INFO)
    listener = logging.handlers.QueueListener(waiting, file, console, respect_handler_level=True)
    listener.start()
    return listener


class Guarded:
    """The last resort around one step of a loop that must go on: logs, counts, goes on.

    A fault that comes back each step is logged at its 1st, 2nd, 4th, 8th ... time only.
    """

    def __init__(self, name: str) -> None:
        self._log = logging.getLogger(name)
        self.faults = 0

    def run(self, step: Callable[[], None]) -> bool:
        """Do the step; False if it raised."""
        try:
            step()
        except Exception:
            self.faults += 1
            if self.faults & (self.faults - 1) == 0:
                self._log.exception("unforeseen fault, %d so far; going on", self.faults)
            return False
        return True


def notify(state: str) -> None:
    """Tell the service manager, if one started us: ``READY=1``, ``WATCHDOG=1``, ``STOPPING=1``.

    The protocol is one datagram to the socket that NOTIFY_SOCKET names; "@" marks an abstract one
    (sd_notify(3)).
    """
    address = os.environ.get("NOTIFY_SOCKET", "")
    if address:
        with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as sock:
            sock.setblocking(False)
            with contextlib.suppress(OSError):  # a manager that does not listen is its own affair
                sock.sendto(state.encode(), address.replace("@", "\0", 1))

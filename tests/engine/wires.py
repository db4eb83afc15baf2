"""Pseudo-terminals as cables: a pair of ends, a name that outlives the device, an unplug."""

import contextlib
import os
import time
import tty
from collections.abc import Callable
from pathlib import Path

from tests.sentences import sentence


def rmc(second: int, knots: float = 5.4) -> bytes:
    minutes, seconds = divmod(second, 60)
    return sentence(
        f"GNRMC,10{minutes:02d}{seconds:02d}.00,A,4403.1000,N,09312.5000,W,{knots:.3f},90.0,120626,,,A"
    )


class Cable:
    """A pty pair; ``link`` is the stable name that leads to it, as by-id links do."""

    def __init__(self, link: Path | None = None) -> None:
        self.master, self._slave = os.openpty()
        tty.setraw(self._slave)
        os.set_blocking(self.master, False)
        self.path = os.ttyname(self._slave)
        self.link = link
        if link is not None:
            link.unlink(missing_ok=True)
            link.symlink_to(self.path)

    def say(self, data: bytes) -> None:
        with contextlib.suppress(BlockingIOError):
            os.write(self.master, data)

    def unplug(self) -> None:
        if self.link is not None:
            self.link.unlink(missing_ok=True)
        os.close(self.master)
        os.close(self._slave)


def wait_for(true: Callable[[], object], within_s: float = 5.0) -> bool:
    """Poll until ``true()``; its last answer."""
    until = time.monotonic() + within_s
    while not true():
        if time.monotonic() > until:
            return False
        time.sleep(0.01)
    return True

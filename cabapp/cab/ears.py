"""Bytes of all ports to what is known: the receiver's epochs and every sensor's reading."""

from datetime import date

from cabapp.hear.gnss import Gnss
from cabapp.hear.lines import LineCounts, Lines
from cabapp.hear.sentences import WANTED_KINDS
from cabapp.hear.transducers import Transducers
from cabapp.readings import Fix, Quality, Reading
from cabapp.rig import Rig

MOST_PORTS = 16  # a rig has a handful; a broken sender of events must not fill the memory


class Ears:
    """One ear a port. Fixes and fresh sensor readings are handed out as they are heard."""

    def __init__(self, rig: Rig, near: date | None) -> None:
        self._lines: dict[str, Lines] = {}
        self.gnss = Gnss(near)
        self.transducers = Transducers(rig.sensors)
        known = {port.name for port in rig.ports}
        self._other_ports = known - {rig.receiver.port}

    def feed(self, port: str, data: bytes, at: float) -> tuple[list[Fix], list[Reading]]:
        """Take bytes: the epochs and the sensor readings that they complete, in order."""
        lines = self._lines.get(port)
        if lines is None:
            if len(self._lines) >= MOST_PORTS:
                return [], []
            lines = self._lines[port] = Lines(WANTED_KINDS)
        fixes: list[Fix] = []
        fresh: list[Reading] = []
        for line in lines.feed(data, at):
            if line.kind == "XDR":
                fresh.extend(self.transducers.hear(port, line))
            elif port not in self._other_ports:
                fixes.extend(self.gnss.hear(line))
        return fixes, fresh

    def lost(self) -> list[Fix]:
        """The receiver's wire is gone: an epoch still open is given out."""
        return list(self.gnss.finish())

    def counts(self, port: str) -> LineCounts:
        """What the wire of a port has brought so far; all zero for one that was never heard."""
        lines = self._lines.get(port)
        return lines.counts if lines else LineCounts()

    def readings(self, now: float) -> dict[str, Reading]:
        """Every channel as known at ``now``, the receiver's three first."""
        speed, course, position = self.gnss.readings(now)
        three = {"speed": speed, "course": course, "position": position}
        return three | self.transducers.readings(now)


def without_value(reading: Reading, quality: Quality, cause: str) -> Reading:
    """The same channel, not to be used, and why not."""
    return Reading(reading.channel, None, reading.at, quality, cause)

"""A thread a port: finds the device and its speed, reads it, and opens it again for ever.

Nothing here is fatal. A port that is missing, held by another program, locked, silent or speaking
gibberish is a condition with a name, and the thread looks again every RESCAN_S.
"""

import contextlib
import errno
import os
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from cabapp.engine.baud import PROBE_S, SpeedSearch
from cabapp.engine.devices import Device, find_devices, group_of, holder_of
from cabapp.engine.known import Known
from cabapp.engine.serial_io import LOST, condition_of, open_serial, read_wire
from cabapp.engine.service import Guarded
from cabapp.events import Bytes, PortCondition, PortState
from cabapp.rig import Port

RESCAN_S = 0.5
SILENT_S = 3.0
LOOK_AGAIN_S = 30.0  # at a device that spoke for another role
HELD_BYTES = 16_384  # what was read before it was known whose wire it is

# Of several places that were looked at, the one to tell about.
_SAYS_MORE = (
    PortCondition.MISSING,
    PortCondition.SILENT,
    PortCondition.GARBAGE,
    PortCondition.IN_USE,
    PortCondition.DENIED,
)

Take = Callable[[Bytes | PortState], None]
Clock = Callable[[], float]


class Claims:
    """Which devices are taken or spoken for by ports of this program, so that none is tried twice.

    Shared by the port threads.
    """

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._by_path: dict[str, str] = {}
        self._spoken_for: dict[str, str] = {}  # configured device -> port name

    def reserve(self, spoken_for: dict[str, str]) -> None:
        """Devices that the rig names, by the port that they are for."""
        self._spoken_for = spoken_for

    def claim(self, path: str, port: str) -> bool:
        """True if ``port`` may open this device now."""
        target = os.path.realpath(path)
        with self._lock:
            reserved = {os.path.realpath(device): name for device, name in self._spoken_for.items()}
            if reserved.get(target, port) != port or self._by_path.get(target, port) != port:
                return False
            self._by_path[target] = port
            return True

    def give_up(self, port: str) -> None:
        """The device that the rig names for ``port`` turned out to be another's: names swap."""
        with self._lock:
            self._spoken_for = {
                device: name for device, name in self._spoken_for.items() if name != port
            }

    def release(self, port: str) -> None:
        """Give up whatever ``port`` holds."""
        with self._lock:
            self._by_path = {path: name for path, name in self._by_path.items() if name != port}


@dataclass
class Tools:
    """The outside world as a port thread sees it; tests put their own in."""

    clock: Clock
    take: Take
    remember: Callable[[str, Known], None] = lambda port, known: None
    find: Callable[[], list[Device]] = find_devices
    open: Callable[[str, int], Any] = open_serial
    claims: Claims = field(default_factory=Claims)


class PortThread(threading.Thread):
    """Reads one port of the rig for as long as the program runs."""

    def __init__(self, port: Port, tools: Tools, known: Known | None = None) -> None:
        super().__init__(name=f"port-{port.name}", daemon=True)
        self._port = port
        self._tools = tools
        self._known = known
        self._stop_asked = threading.Event()
        self._told: tuple[PortCondition, str] | None = None
        self._not_ours: dict[str, float] = {}  # devices of another role, and when that was seen

    def stop(self) -> None:
        """Ask the thread to close its port and end; it does within a read's wait."""
        self._stop_asked.set()

    def run(self) -> None:
        """Look for the device, read it until it is lost, look again."""
        guard = Guarded(f"port.{self._port.name}")
        while not self._stop_asked.is_set():
            guard.run(self._once)
            self._tools.claims.release(self._port.name)
            self._stop_asked.wait(RESCAN_S)

    def _once(self) -> None:
        """One look at every place where the wire may be; stays with it while it is there."""
        worst, detail = PortCondition.MISSING, self._gone or self._port.device
        if self._gone:
            self._tell(worst, detail)
        for path in self._candidates():
            if self._stop_asked.is_set():
                return
            if not self._tools.claims.claim(path, self._port.name):
                continue
            condition, said = self._try(path)
            if condition is PortCondition.OK:  # it was ours until now: look again
                return
            self._tools.claims.release(self._port.name)
            if not self._gone and _SAYS_MORE.index(condition) > _SAYS_MORE.index(worst):
                worst, detail = condition, said
        self._tell(worst, detail)

    @property
    def _gone(self) -> str:
        """The device that the rig names or that was heard last, if it is not there; else "".

        Other devices are tried then without a word: that of a stranger would only mislead.
        """
        known = self._known.device if self._known else ""
        named = self._port.device if self._port.device != "auto" else known
        return named if named and not _may_exist(named) else ""

    def _candidates(self) -> list[str]:
        """Where to look, best guess first: as configured, as remembered, then everything else.

        A configured or remembered name that leads to another role's wire is passed over for
        LOOK_AGAIN_S: names swap when a machine starts.
        """
        configured = [] if self._port.device == "auto" else [self._port.device]
        remembered = [self._known.device] if self._known else []
        named = [path for path in configured + remembered if _may_exist(path) and self._new(path)]
        others = [device.stable for device in self._tools.find() if self._new(device.path)]
        paths = named if named and configured else named + others
        return list({os.path.realpath(path): path for path in reversed(paths)}.values())[::-1]

    def _new(self, path: str) -> bool:
        seen = self._not_ours.get(os.path.realpath(path))
        return seen is None or self._tools.clock() - seen > LOOK_AGAIN_S

    def _try(self, path: str) -> tuple[PortCondition, str]:
        """Open one device and read it until it is lost or found to be another's."""
        search = SpeedSearch(self._port.baud or (self._known.baud if self._known else None))
        try:
            wire = self._tools.open(path, search.baud)
        except (*LOST, ValueError) as error:
            condition = condition_of(error)
            return condition, _detail(condition, path)
        listening = _Listening(path, search, quiet=bool(self._gone))
        try:
            return self._listen(wire, listening), path
        except LOST:
            self._tell(PortCondition.MISSING, path)
            return (PortCondition.OK if listening.ours else PortCondition.MISSING), path
        finally:
            with contextlib.suppress(*LOST):  # closed before it is opened again: the old handle
                wire.close()  # would keep the old name, and the device would come back as another

    def _listen(self, wire: Any, listening: "_Listening") -> PortCondition:
        if self._told is None or self._told[0] not in (PortCondition.SILENT, PortCondition.GARBAGE):
            self._say(listening, PortCondition.SEARCHING)
        listening.opened_at = listening.heard_at = self._tools.clock()
        while not self._stop_asked.is_set():
            data = read_wire(wire)
            now = self._tools.clock()
            self._look_around(listening, now)
            gone = self._hear(wire, listening, data, now) if data else self._wait(listening, now)
            if gone is not None:
                return gone
        return PortCondition.OK

    def _hear(
        self, wire: Any, listening: "_Listening", data: bytes, now: float
    ) -> PortCondition | None:
        search, before = listening.search, listening.search.baud
        listening.heard_at = now
        search.take(data, now)
        if search.baud != before:
            wire.baudrate = search.baud
        listening.hold(data, search.baud != before)
        if not search.locked:
            if search.rounds or listening.ours:
                self._say(listening, PortCondition.GARBAGE)
            return PortCondition.GARBAGE if search.rounds and not listening.may_stay else None
        if not listening.ours and not search.speaks(self._port.role):
            # A node may share the receiver's wire: give the other time to speak.
            anothers = search.speaks_for_another(self._port.role)
            if now - listening.opened_at < PROBE_S or (listening.may_stay and not anothers):
                return None
            self._not_ours[os.path.realpath(listening.path)] = now
            self._tools.claims.give_up(self._port.name)
            return PortCondition.MISSING
        listening.ours = True
        self._keep(listening.path, search.baud)
        self._tell(PortCondition.OK, listening.path, now)
        self._tools.take(Bytes(now, self._port.name, listening.given()))
        return None

    def _wait(self, listening: "_Listening", now: float) -> PortCondition | None:
        if now - listening.heard_at < SILENT_S:
            return None
        if not _may_exist(listening.path):
            raise OSError(errno.ENODEV, "the device file is gone", listening.path)
        self._say(listening, PortCondition.SILENT)
        return None if listening.may_stay else PortCondition.SILENT

    def _look_around(self, listening: "_Listening", now: float) -> None:
        """Whether there is anywhere else to look: the plug that was pulled may be back."""
        if not listening.ours and now - listening.looked_at >= RESCAN_S:
            listening.looked_at = now
            listening.alone = set(self._candidates()) <= {listening.path}

    def _say(self, listening: "_Listening", condition: PortCondition) -> None:
        if listening.ours or not listening.quiet:
            self._tell(condition, listening.path)

    def _keep(self, path: str, baud: int) -> None:
        """Remember a new place or speed, in a thread: a frozen disk must not hold up the wire."""
        if self._known is not None and self._known.baud == baud and self._told_ok(path):
            return
        target = os.path.realpath(path)
        stable = next((d.stable for d in self._tools.find() if d.path == target), path)
        found = Known(stable, baud)
        if found != self._known:
            self._known = found
            threading.Thread(
                target=self._tools.remember, args=(self._port.name, found), daemon=True
            ).start()

    def _told_ok(self, path: str) -> bool:
        return self._told == (PortCondition.OK, path)

    def _tell(self, condition: PortCondition, detail: str, now: float | None = None) -> None:
        if self._told != (condition, detail):
            self._told = condition, detail
            at = self._tools.clock() if now is None else now
            self._tools.take(PortState(at, self._port.name, condition, detail))


class _Listening:
    """One opening of one device: what is known of it so far."""

    def __init__(self, path: str, search: SpeedSearch, quiet: bool) -> None:
        self.path = path
        self.search = search
        self.quiet = quiet
        self.ours = self.alone = False
        self.opened_at = self.heard_at = 0.0
        self.looked_at = float("-inf")
        self._held = bytearray()

    @property
    def may_stay(self) -> bool:
        """Whether to wait here: it is ours, or there is nowhere else to look."""
        return self.ours or self.alone

    def hold(self, data: bytes, restarted: bool) -> None:
        """Keep what may be ours until that is known; bytes of a wrong speed are of no use."""
        if restarted:
            self._held.clear()
            return
        self._held += data
        del self._held[:-HELD_BYTES]

    def given(self) -> bytes:
        """Everything held; from now on it is handed on as it comes."""
        held = bytes(self._held)
        self._held.clear()
        return held


class Ports:
    """All ports of a rig, each read by its own thread."""

    def __init__(
        self, ports: tuple[Port, ...], tools: Tools, known: dict[str, Known] | None = None
    ) -> None:
        tools.claims.reserve({p.device: p.name for p in ports if p.device != "auto"})
        remembered = known or {}
        self._threads = [PortThread(port, tools, remembered.get(port.name)) for port in ports]

    def start(self) -> None:
        """Begin to read."""
        for thread in self._threads:
            thread.start()

    def stop(self, within_s: float = 2.0) -> None:
        """Close every port and wait for the threads to end."""
        for thread in self._threads:
            thread.stop()
        for thread in self._threads:
            thread.join(within_s)


def _may_exist(path: str) -> bool:
    return "://" in path or os.path.exists(path)


def _detail(condition: PortCondition, path: str) -> str:
    if condition is PortCondition.DENIED:
        return group_of(path)
    if condition is PortCondition.IN_USE:
        return holder_of(path)
    return path

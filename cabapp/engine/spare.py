"""A look at what is plugged in and no port of the rig reads, for the installer's page.

The devices are claimed while they are looked at, so that no port's search meets the look, and
nobody who reads a wire is disturbed. One look at a time, in a thread of its own.
"""

import threading
from collections.abc import Callable

from cabapp.engine.devices import Device, find_devices
from cabapp.engine.ports import Claims
from cabapp.engine.survey import Found, survey
from cabapp.engine.wire import Message, SpareLine, Spares

Survey = Callable[[Callable[[], float], list[Device]], list[Found]]


class SpareLook:
    """``look`` returns at once; what is found is said when it is known, after 4 to 25 seconds."""

    def __init__(
        self,
        claims: Claims,
        clock: Callable[[], float],
        find: Callable[[], list[Device]] = find_devices,
        listen: Survey = survey,
    ) -> None:
        self._claims, self._clock, self._find, self._listen = claims, clock, find, listen
        self._one = threading.Lock()

    def look(self, say: Callable[[Message], None]) -> None:
        """Begin a look, unless one is under way."""
        if self._one.acquire(blocking=False):
            threading.Thread(target=self._run, args=(say,), name="spare-look", daemon=True).start()

    def _run(self, say: Callable[[Message], None]) -> None:
        try:
            devices = [d for d in self._find() if self._claims.claim(d.path, _name(d))]
            say(Spares((), looking=bool(devices)))
            if not devices:
                return
            try:
                found = self._listen(self._clock, devices)
            finally:
                for device in devices:
                    self._claims.release(_name(device))
            say(Spares(tuple(_line(one) for one in found)))
        finally:
            self._one.release()


def _name(device: Device) -> str:
    return f"look at {device.path}"


def _line(found: Found) -> SpareLine:
    return SpareLine(
        found.device.stable,
        found.condition,
        found.role,
        tuple(kind for kind, _ in found.kinds),
        found.rate_hz or 0.0,
        found.held_by or found.group,
    )

"""A look at every serial device: what is plugged in, what each wire sends, who holds it."""

import contextlib
import threading
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from cabapp.engine.baud import SpeedSearch
from cabapp.engine.devices import OURS, Device, find_devices, group_of, holder_of, ours_runs
from cabapp.engine.ports import SILENT_S
from cabapp.engine.serial_io import LOST, condition_of, open_serial, read_wire
from cabapp.events import PortCondition

LISTEN_S = 3.0  # after the speed is found: enough for a rate of once a second
# One of these comes with each epoch of its sender; the first that is heard is the one to count.
PACE_KINDS = ("RMC", "VTG", "GGA", "GNS", "GLL", "XDR")


@dataclass(frozen=True)
class Found:
    """One device. ``kinds`` counts its sentences while it was listened to, "" for makers' own.

    ``held_by`` names the program that has it where IN_USE (OURS: this app, running), ``group``
    whose members may open it where DENIED, "" for none; ``baud`` and ``rate_hz`` are None where
    nothing was understood.
    """

    device: Device
    condition: PortCondition
    baud: int | None = None
    rate_hz: float | None = None
    kinds: tuple[tuple[str, int], ...] = ()
    held_by: str = ""
    group: str = ""

    @property
    def role(self) -> str:
        """ "receiver", "node", or "" for anything else."""
        names = {kind for kind, _ in self.kinds}
        if names & set(PACE_KINDS[:-1]):
            return "receiver"
        return "node" if "XDR" in names else ""


def survey(
    clock: Callable[[], float],
    devices: list[Device] | None = None,
    open_wire: Callable[[str, int], Any] = open_serial,
    listen_s: float = LISTEN_S,
) -> list[Found]:
    """Listen to all devices at once; takes from SILENT_S to one round of speeds (about 20 s)."""
    devices = find_devices() if devices is None else devices
    found: dict[str, Found] = {}

    def look(device: Device) -> None:
        found[device.path] = _look(device, clock, open_wire, listen_s)

    threads = [threading.Thread(target=look, args=(device,), daemon=True) for device in devices]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return [found[device.path] for device in devices]


def _look(
    device: Device,
    clock: Callable[[], float],
    open_wire: Callable[[str, int], Any],
    listen_s: float,
) -> Found:
    search = SpeedSearch()
    try:
        wire = open_wire(device.path, search.baud)
    except (*LOST, ValueError) as error:
        return _refused(device, condition_of(error))
    try:
        return _listen(device, wire, search, clock, listen_s)
    except LOST:
        return Found(device, PortCondition.MISSING)
    finally:
        with contextlib.suppress(*LOST):
            wire.close()


def _refused(device: Device, condition: PortCondition) -> Found:
    in_use, denied = condition is PortCondition.IN_USE, condition is PortCondition.DENIED
    return Found(
        device,
        condition,
        held_by=_holder(device.path) if in_use else "",
        group=group_of(device.path) if denied else "",
    )


def _holder(path: str) -> str:
    return holder_of(path) or ("another program, most likely cabapp itself" if ours_runs() else "")


def _listen(
    device: Device, wire: Any, search: SpeedSearch, clock: Callable[[], float], listen_s: float
) -> Found:
    heard_at = clock()
    locked_at: float | None = None
    times: dict[str, list[float]] = {}
    while locked_at is None or clock() - locked_at < listen_s:
        data = read_wire(wire)
        now = clock()
        if not data:
            if now - heard_at >= SILENT_S:
                break
            continue
        heard_at, before = now, search.baud
        for line in search.take(data, now):
            times.setdefault(line.kind, []).append(now)
        if search.baud != before:
            wire.baudrate = search.baud
            times.clear()
        if search.locked and locked_at is None:
            locked_at = now
        if search.rounds:
            return Found(device, PortCondition.GARBAGE)
    if locked_at is None:
        return Found(device, PortCondition.SILENT)
    counts = Counter({kind: len(at) for kind, at in times.items()})
    rate = _rate(times)
    return Found(device, PortCondition.OK, search.baud, rate, tuple(sorted(counts.items())))


def _rate(times: dict[str, list[float]]) -> float | None:
    at = next((times[kind] for kind in PACE_KINDS if kind in times), [])
    return (len(at) - 1) / (at[-1] - at[0]) if len(at) > 2 and at[-1] > at[0] else None


# What each condition means for the person at the plugs, and the next step.
CONDITION_WORDS = {
    PortCondition.OK: "",
    PortCondition.SEARCHING: "its speed was not found; wait and look again",
    PortCondition.SILENT: "nothing comes: is it switched on, is the plug home?",
    PortCondition.MISSING: "gone: plug it in again",
    PortCondition.IN_USE: "in use by {held_by}: end that program to look at it here",
    PortCondition.DENIED: "not allowed: add this user to the group {group}, then sign in again",
    PortCondition.GARBAGE: "bytes come, but no sentence: wrong sender or a bad cable",
}


NO_GROUP = (
    'not allowed, and no group is: give it to dialout by a udev rule (SUBSYSTEM=="tty", '
    'KERNEL=="{kernel}", GROUP="dialout", MODE="0660") and add this user to that group, then sign '
    "in again"
)
HELD_BY_US = (
    "read by the running cabapp itself, as it should be: what comes stands on its page Fit-up, "
    "Plugs; end cabapp to look at it here"
)


def words_of(found: Found) -> str:
    """One line for a person: device, whose it is, what it sends, its speed and rate, trouble."""
    parts = [found.device.path]
    if found.device.names:
        parts.append(f"({found.device.stable})")
    if found.role:
        counts = ", ".join(f"{kind or 'own'} {count}" for kind, count in found.kinds)
        rate = "" if found.rate_hz is None else f", {found.rate_hz:.1f} a second"
        parts.append(f"{found.role}: {counts} at {found.baud} baud{rate}")
    trouble = HELD_BY_US if found.held_by == OURS else CONDITION_WORDS[found.condition]
    if found.condition is PortCondition.DENIED and not found.group:
        trouble = NO_GROUP
    held, kernel = found.held_by or "another program", found.device.path.rpartition("/")[2]
    words = trouble.format(held_by=held, group=found.group, kernel=kernel)
    return " ".join([*parts, words]).strip()

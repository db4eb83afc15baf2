"""Port threads over pseudo-terminals: found, told apart, read in order, stopped."""

import os
import threading
import time
from pathlib import Path

import pytest

from cabapp.engine.devices import Device
from cabapp.engine.known import Known, read_known, write_known
from cabapp.engine.ports import Ports, Tools
from cabapp.events import Bytes, PortCondition, PortState
from cabapp.rig import Port
from tests.engine.wires import Cable, rmc, sentence, wait_for

XDR = sentence("YXXDR,D,0.145,M,DEPTH1,N,18250,N,SPRING1")


class Heard:
    """What the engine's loop would get."""

    def __init__(self) -> None:
        self.events: list[Bytes | PortState] = []
        self.kept: dict[str, Known] = {}
        self._lock = threading.Lock()

    def take(self, event: Bytes | PortState) -> None:
        with self._lock:
            self.events.append(event)

    def data(self, port: str) -> bytes:
        return b"".join(
            e.data for e in list(self.events) if isinstance(e, Bytes) and e.port == port
        )

    def conditions(self, port: str) -> list[PortCondition]:
        return [
            e.condition for e in list(self.events) if isinstance(e, PortState) and e.port == port
        ]


def tools(heard: Heard, devices: list[Device] | None = None) -> Tools:
    return Tools(
        clock=time.monotonic,
        take=heard.take,
        remember=lambda port, known: heard.kept.__setitem__(port, known),
        find=lambda: devices or [],
    )


@pytest.fixture
def heard() -> Heard:
    return Heard()


def test_every_byte_arrives_once_in_order_after_the_lock(heard: Heard):
    cable = Cable()
    ports = Ports((Port("gnss", cable.path, baud=9600),), tools(heard))
    ports.start()
    try:
        assert wait_for(lambda: PortCondition.SEARCHING in heard.conditions("gnss"))
        sent = b"".join(rmc(second) for second in range(40))
        for start in range(0, len(sent), 37):
            cable.say(sent[start : start + 37])
            time.sleep(0.001)
        assert wait_for(lambda: len(heard.data("gnss")) >= len(sent))
        assert heard.data("gnss") == sent
        assert heard.conditions("gnss")[-1] is PortCondition.OK
    finally:
        ports.stop()
        cable.unplug()


def test_times_of_bytes_never_run_backwards(heard: Heard):
    cable = Cable()
    ports = Ports((Port("gnss", cable.path),), tools(heard))
    ports.start()
    try:
        wait_for(lambda: PortCondition.SEARCHING in heard.conditions("gnss"))
        for second in range(20):
            cable.say(rmc(second))
            time.sleep(0.01)
        assert wait_for(lambda: heard.data("gnss").endswith(rmc(19)))
        times = [event.now for event in heard.events]
        assert times == sorted(times)
    finally:
        ports.stop()
        cable.unplug()


def test_receiver_and_node_are_told_apart_by_what_they_say(heard: Heard):
    one, two = Cable(), Cable()
    devices = [Device(one.path), Device(two.path)]
    rig = (Port("gnss", "auto", "receiver"), Port("node", "auto", "node"))
    ports = Ports(rig, tools(heard, devices))
    ports.start()
    done = threading.Event()

    def speak() -> None:
        second = 0
        while not done.wait(0.1):
            one.say(XDR)
            two.say(rmc(second := second + 1))

    talker = threading.Thread(target=speak)
    talker.start()
    try:
        assert wait_for(lambda: b"RMC" in heard.data("gnss") and b"XDR" in heard.data("node"), 12)
        assert b"XDR" not in heard.data("gnss")
        assert b"RMC" not in heard.data("node")
    finally:
        done.set()
        talker.join()
        ports.stop()
        one.unplug()
        two.unplug()


def test_what_was_found_is_remembered_under_its_stable_name(heard: Heard, tmp_path: Path):
    cable = Cable()
    stable = "/dev/serial/by-id/one"
    ports = Ports((Port("gnss", cable.path),), tools(heard, [Device(cable.path, (stable,))]))
    ports.start()
    try:
        wait_for(lambda: PortCondition.SEARCHING in heard.conditions("gnss"))
        cable.say(rmc(0) + rmc(1))
        assert wait_for(lambda: heard.kept)
        assert heard.kept["gnss"] == Known(stable, 9600)
    finally:
        ports.stop()
        cable.unplug()
    file = tmp_path / "state" / "ports.json"
    write_known(file, heard.kept)
    assert read_known(file) == heard.kept


@pytest.mark.parametrize("text", ["", "[]", "{", '{"gnss": 3}', '{"gnss": {"device": "x"}}'])
def test_a_torn_memory_of_ports_is_no_memory(text: str, tmp_path: Path):
    file = tmp_path / "ports.json"
    file.write_text(text)
    assert read_known(file) == {}


def test_stopping_closes_the_device_and_ends_the_thread(heard: Heard):
    cable = Cable()
    ports = Ports((Port("gnss", cable.path),), tools(heard))
    before = set(os.listdir("/proc/self/fd"))
    ports.start()
    wait_for(lambda: PortCondition.SEARCHING in heard.conditions("gnss"))
    ports.stop()
    assert not any(thread.name == "port-gnss" for thread in threading.enumerate())
    assert set(os.listdir("/proc/self/fd")) == before
    cable.unplug()


def test_a_wire_where_nothing_comes_is_silent_and_not_missing(
    heard: Heard, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("cabapp.engine.ports.SILENT_S", 0.3)
    cable = Cable()
    ports = Ports((Port("gnss", cable.path),), tools(heard))
    ports.start()
    try:
        assert wait_for(lambda: PortCondition.SILENT in heard.conditions("gnss"))
        cable.say(rmc(0) + rmc(1))
        assert wait_for(lambda: heard.conditions("gnss")[-1] is PortCondition.OK)
    finally:
        ports.stop()
        cable.unplug()


def test_a_cable_that_comes_back_is_found_though_another_port_stays_silent(
    heard: Heard, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr("cabapp.engine.ports.SILENT_S", 0.3)
    board = Cable()  # a port of the tablet itself, where nothing is plugged in
    cable = Cable(tmp_path / "node")
    rig = (Port("node", "auto", "node"),)
    known = {"node": Known(str(cable.link), 9600)}
    ports = Ports(rig, tools(heard, [Device(board.path)]), known)
    ports.start()
    try:
        wait_for(lambda: PortCondition.SEARCHING in heard.conditions("node"))
        cable.say(XDR * 3)
        assert wait_for(lambda: heard.conditions("node")[-1] is PortCondition.OK)
        cable.unplug()
        assert wait_for(lambda: heard.conditions("node")[-1] is PortCondition.MISSING)
        time.sleep(1.5)  # it looks at the other port meanwhile, and does not blame it
        assert heard.conditions("node")[-1] is PortCondition.MISSING
        cable = Cable(tmp_path / "node")
        before = len(heard.events)
        assert wait_for(lambda: says(cable, heard, before), 4)
    finally:
        ports.stop()
        cable.unplug()
        board.unplug()


def says(cable: Cable, heard: Heard, before: int) -> bool:
    """Speak once more; whether it has been heard."""
    cable.say(XDR)
    return any(isinstance(event, Bytes) for event in heard.events[before:])

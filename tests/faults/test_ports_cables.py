"""Cables pulled, put back elsewhere, held by another program, locked, and speaking gibberish."""

import errno
import grp
import os
import random
import subprocess
import sys
import termios
import threading
import time
from pathlib import Path

import pytest
import serial

from cabapp.engine.devices import Device
from cabapp.engine.known import Known
from cabapp.engine.ports import Ports, Tools
from cabapp.engine.serial_io import open_serial
from cabapp.events import Bytes, PortCondition, PortState
from cabapp.rig import Port
from tests.engine.wires import Cable, rmc, sentence, wait_for


class Bench:
    """One port of a rig, its events, and a receiver that speaks ten times a second."""

    def __init__(self, device: str, find=list, known: str = "", **more) -> None:
        self.events: list[Bytes | PortState] = []
        self.speaker: Cable | None = None
        self._done = threading.Event()
        tools = Tools(clock=time.monotonic, take=self.events.append, find=find, **more)
        self.ports = Ports((Port("gnss", device),), tools, {"gnss": Known(known or device, 9600)})
        self._talker = threading.Thread(target=self._speak)

    def __enter__(self) -> "Bench":
        self.ports.start()
        self._talker.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._done.set()
        self._talker.join()
        self.ports.stop()

    def _speak(self) -> None:
        second = 0
        while not self._done.wait(0.1):
            if self.speaker is not None:
                self.speaker.say(rmc(second := second + 1))

    def states(self) -> list[PortState]:
        return [event for event in list(self.events) if isinstance(event, PortState)]

    def last(self) -> PortCondition | None:
        return self.states()[-1].condition if self.states() else None

    def is_ok(self) -> bool:
        return self.last() is PortCondition.OK


@pytest.mark.parametrize("turn", range(3))
def test_a_receiver_pulled_and_put_back_under_another_name_is_read_within_two_seconds(
    tmp_path: Path, turn: int
):
    link = tmp_path / "receiver"
    old = Cable(link)
    with Bench(str(link)) as bench:
        bench.speaker = old
        assert wait_for(bench.is_ok)
        bench.speaker = None
        old.unplug()
        assert wait_for(lambda: bench.last() is PortCondition.MISSING, 1.0)
        time.sleep(0.2 * turn)
        new = Cable(link)
        bench.speaker = new
        back = time.monotonic()
        assert wait_for(bench.is_ok, 4.0)
        assert time.monotonic() - back < 2.0
        count = len(bench.events)
        assert wait_for(lambda: len(bench.events) > count, 1.0), "a reading one period later"
        bench.speaker = None
        new.unplug()


def test_a_configured_device_that_comes_back_as_another_is_found_by_what_it_says():
    old = Cable()
    plugged: list[Device] = []
    with Bench(old.path, find=lambda: list(plugged)) as bench:
        bench.speaker = old
        assert wait_for(bench.is_ok)
        bench.speaker = None
        new = Cable()  # opened before the old goes, so that it surely has another name
        old.unplug()
        assert wait_for(lambda: bench.last() is PortCondition.MISSING, 1.0)
        plugged.append(Device(new.path))
        bench.speaker = new
        assert wait_for(bench.is_ok, 4.0)
        assert bench.states()[-1].detail == new.path
        bench.speaker = None
        new.unplug()


@pytest.mark.parametrize(
    "lost",
    [
        serial.SerialException("device reports readiness to read but returned no data"),
        OSError(errno.EIO, "Input/output error"),
        termios.error(errno.EIO, "Input/output error"),
        TypeError("'NoneType' object cannot be interpreted as an integer"),
    ],
    ids=["read", "in_waiting", "termios", "closed handle"],
)
def test_whatever_a_pulled_cable_raises_is_one_state_and_the_port_opens_again(lost: BaseException):
    class Wire:
        def __init__(self, cable: "Cable") -> None:
            self._inner = open_serial(cable.path, 9600)
            self._reads = 0

        def read(self, size: int) -> bytes:
            self._reads += 1
            if self._reads == 8:
                raise lost
            return self._inner.read(size)

        @property
        def in_waiting(self) -> int:
            return self._inner.in_waiting

        def close(self) -> None:
            self._inner.close()

    cable = Cable()
    opened: list[Wire] = []

    def open_wire(path: str, baud: int) -> Wire:
        opened.append(Wire(cable))
        return opened[-1]

    with Bench(cable.path, open=open_wire) as bench:
        bench.speaker = cable
        assert wait_for(lambda: len(opened) >= 2 and bench.is_ok(), 6.0)
        told = [state.condition for state in bench.states()]
        assert told[:4] == [
            PortCondition.SEARCHING,
            PortCondition.OK,
            PortCondition.MISSING,
            PortCondition.SEARCHING,
        ]
        bench.speaker = None
    cable.unplug()


def test_a_port_that_another_program_holds_is_in_use_and_free_when_it_ends(tmp_path: Path):
    cable = Cable()
    script = (
        "import serial, sys; s = serial.Serial(sys.argv[1], exclusive=True);"
        "print('open', flush=True); sys.stdin.read()"
    )
    holder = subprocess.Popen(
        [sys.executable, "-c", script, cable.path],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
    )
    assert holder.stdout is not None and holder.stdout.readline() == b"open\n"
    with Bench(cable.path) as bench:
        assert wait_for(lambda: bench.last() is PortCondition.IN_USE)
        assert bench.states()[-1].detail.startswith("python")
        holder.communicate()
        bench.speaker = cable
        assert wait_for(bench.is_ok, 3.0)
        bench.speaker = None
    cable.unplug()


def test_a_locked_port_says_which_group_may_open_it(monkeypatch: pytest.MonkeyPatch):
    cable = Cable()
    real_open = os.open

    def refuse(path, *rest, **more):
        if path == cable.path:
            raise PermissionError(errno.EACCES, "Permission denied", path)
        return real_open(path, *rest, **more)

    monkeypatch.setattr("serial.serialposix.os.open", refuse)
    os.chmod(cable.path, 0o660)  # as udev makes a serial adapter's file
    gid = os.stat(cable.path).st_gid
    group = grp.getgrgid(gid).gr_name if gid else ""  # nobody is told to join root's
    with Bench(cable.path) as bench:
        assert wait_for(lambda: bench.last() is PortCondition.DENIED)
        assert bench.states()[-1].detail == group
        monkeypatch.undo()
        bench.speaker = cable
        assert wait_for(bench.is_ok, 3.0), "rights given while it runs are noticed"
        bench.speaker = None
    cable.unplug()


def test_names_that_swapped_at_the_start_are_sorted_out_by_what_the_wires_say():
    receiver, node = Cable(), Cable()
    rig = (Port("gnss", node.path, "receiver"), Port("node", receiver.path, "node"))
    events: list[Bytes | PortState] = []
    devices = [Device(receiver.path), Device(node.path)]
    tools = Tools(clock=time.monotonic, take=events.append, find=lambda: devices)
    ports = Ports(rig, tools)
    done = threading.Event()

    def speak() -> None:
        second = 0
        while not done.wait(0.1):
            receiver.say(rmc(second := second + 1))
            node.say(sentence("YXXDR,D,0.145,M,DEPTH1"))

    talker = threading.Thread(target=speak)
    talker.start()
    ports.start()

    def heard(port: str) -> bytes:
        return b"".join(e.data for e in list(events) if isinstance(e, Bytes) and e.port == port)

    try:
        assert wait_for(lambda: heard("gnss") and heard("node"), 12.0)
        assert b"XDR" not in heard("gnss") and b"RMC" not in heard("node")
    finally:
        done.set()
        talker.join()
        ports.stop()
        receiver.unplug()
        node.unplug()


def test_eight_receivers_replugged_side_by_side_all_come_back(tmp_path: Path):
    links = [tmp_path / f"receiver{n}" for n in range(8)]
    cables = [Cable(link) for link in links]
    events: list[Bytes | PortState] = []
    tools = Tools(clock=time.monotonic, take=events.append, find=list)
    rig = tuple(Port(f"p{n}", str(link)) for n, link in enumerate(links))
    ports = Ports(rig, tools, {p.name: Known(p.device, 9600) for p in rig})
    done = threading.Event()

    def speak() -> None:
        second = 0
        while not done.wait(0.1):
            second += 1
            for cable in list(cables):
                cable.say(rmc(second))

    def condition(port: str) -> PortCondition | None:
        told = [e for e in list(events) if isinstance(e, PortState) and e.port == port]
        return told[-1].condition if told else None

    def all_are(wanted: PortCondition) -> bool:
        return all(condition(port.name) is wanted for port in rig)

    talker = threading.Thread(target=speak)
    talker.start()
    ports.start()
    try:
        assert wait_for(lambda: all_are(PortCondition.OK))
        old, cables[:] = list(cables), []
        time.sleep(0.15)  # the talker lets go of them
        for cable in old:
            cable.unplug()
        assert wait_for(lambda: all_are(PortCondition.MISSING), 1.5)
        cables.extend(Cable(link) for link in reversed(links))
        back = time.monotonic()
        assert wait_for(lambda: all_are(PortCondition.OK), 5.0)
        assert time.monotonic() - back < 3.0, (
            "2 s, and a second for eight at once on a busy machine"
        )
    finally:
        done.set()
        talker.join()
        ports.stop()
        for cable in cables:
            cable.unplug()


def test_a_disk_that_freezes_while_a_port_is_remembered_does_not_hold_up_the_wire():
    cable, thawed, asked = Cable(), threading.Event(), threading.Event()

    def freeze(port: str, known: Known) -> None:
        asked.set()
        thawed.wait(30.0)

    with Bench(cable.path, known="/dev/before", remember=freeze) as bench:
        bench.speaker = cable
        assert wait_for(lambda: sum(isinstance(e, Bytes) for e in bench.events) > 3, 3.0)
        assert asked.is_set()
        thawed.set()
        bench.speaker = None
    cable.unplug()


def test_gibberish_is_garbage_and_never_reaches_the_cab():
    cable = Cable()
    dice = random.Random(11)
    with Bench(cable.path) as bench:
        wait_for(lambda: bench.last() is PortCondition.SEARCHING)
        for _ in range(12):  # a whole round of speeds
            cable.say(dice.randbytes(400))
            time.sleep(0.03)
        assert wait_for(lambda: bench.last() is PortCondition.GARBAGE)
        assert not any(isinstance(event, Bytes) for event in bench.events)
        bench.speaker = cable
        assert wait_for(bench.is_ok, 4.0)
        bench.speaker = None
    cable.unplug()


def test_a_device_that_is_not_there_is_missing_and_found_when_it_is_plugged_in(tmp_path: Path):
    link = tmp_path / "receiver"
    with Bench(str(link)) as bench:
        assert wait_for(lambda: bench.last() is PortCondition.MISSING)
        cable = Cable(link)
        bench.speaker = cable
        assert wait_for(bench.is_ok, 3.0)
        bench.speaker = None
    cable.unplug()

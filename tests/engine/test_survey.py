"""The look at every device that the ``ports`` command prints."""

import grp
import stat
import subprocess
import sys
import threading
import time
from types import SimpleNamespace

import pytest
import serial

from cabapp.engine.devices import OURS, Device, group_of, holder_of
from cabapp.engine.survey import Found, survey, words_of
from cabapp.events import PortCondition
from tests.engine.wires import Cable, rmc, sentence

GGA = sentence("GNGGA,101500.00,4403.1000,N,09312.5000,W,4,12,0.7,250.0,M,-30.0,M,1.0,0001")


def test_each_wire_is_told_for_what_it_is(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("cabapp.engine.survey.SILENT_S", 1.0)
    receiver, node, quiet, held = Cable(), Cable(), Cable(), Cable()
    holder = serial.Serial(held.path, exclusive=True)
    done = threading.Event()

    def speak() -> None:
        second = 0
        while not done.wait(0.1):
            second += 1
            receiver.say(rmc(second) + GGA)
            node.say(sentence("YXXDR,D,0.145,M,DEPTH1"))

    talker = threading.Thread(target=speak)
    talker.start()
    gone = Device("/dev/not-there")
    devices = [Device(cable.path) for cable in (receiver, node, quiet, held)] + [gone]
    try:
        told = survey(time.monotonic, devices, listen_s=1.0)
    finally:
        done.set()
        talker.join()
        holder.close()
        for cable in (receiver, node, quiet, held):
            cable.unplug()
    assert [one.condition for one in told] == [
        PortCondition.OK,
        PortCondition.OK,
        PortCondition.SILENT,
        PortCondition.IN_USE,
        PortCondition.MISSING,
    ]
    assert [one.role for one in told[:3]] == ["receiver", "node", ""]
    assert told[0].baud == 9600
    assert told[0].rate_hz == pytest.approx(10.0, rel=0.25)
    assert dict(told[0].kinds).keys() == {"RMC", "GGA"}


def test_a_port_that_the_running_app_reads_is_told_as_its_own(tmp_path):
    """A process started as the engine is, and one of another name, each with a wire open."""
    cables = Cable(), Cable()
    package = tmp_path / "cabapp" / "engine"
    package.mkdir(parents=True)
    hold = "import sys, time; wire = open(sys.argv[1]); print(flush=True); time.sleep(60)"
    (package / "main.py").write_text(hold)
    starts = (["-m", "cabapp.engine.main", cables[0].path], ["-c", hold, cables[1].path])
    holders = [
        subprocess.Popen([sys.executable, *words], cwd=tmp_path, stdout=subprocess.PIPE)
        for words in starts
    ]
    try:
        for holder in holders:
            assert holder.stdout.readline()
        assert holder_of(cables[0].path) == OURS
        assert holder_of(cables[1].path).startswith("python")
    finally:
        for holder, cable in zip(holders, cables, strict=True):
            holder.kill()
            holder.communicate()
            cable.unplug()


def test_a_person_reads_what_comes_or_what_to_do():
    receiver = Device("/dev/ttyUSB0", ("/dev/serial/by-id/one",))
    good = Found(receiver, PortCondition.OK, 38400, 9.98, (("GGA", 30), ("RMC", 30)))
    line = words_of(good)
    assert line.startswith("/dev/ttyUSB0 (/dev/serial/by-id/one) receiver")
    assert all(part in line for part in ("GGA 30", "RMC 30", "38400 baud", "10.0 a second"))
    for condition in set(PortCondition) - {PortCondition.SEARCHING}:
        assert words_of(Found(receiver, condition)).startswith("/dev/ttyUSB0")
    assert "tracker" in words_of(Found(receiver, PortCondition.IN_USE, held_by="tracker"))
    ours = words_of(Found(receiver, PortCondition.IN_USE, held_by=OURS))
    assert "running cabapp itself" in ours and "end that program" not in ours
    assert "plugdev" in words_of(Found(receiver, PortCondition.DENIED, group="plugdev"))


def test_nobody_is_sent_into_the_group_of_root(monkeypatch: pytest.MonkeyPatch):
    dialout = next(one for one in grp.getgrall() if one.gr_gid > 0)
    for gid, mode, group in ((0, 0o660, ""), (dialout.gr_gid, 0o600, ""),
                             (dialout.gr_gid, 0o660, dialout.gr_name)):  # fmt: skip
        status = SimpleNamespace(st_gid=gid, st_mode=stat.S_IFCHR | mode)
        monkeypatch.setattr("cabapp.engine.devices.os.stat", lambda path, found=status: found)
        assert group_of("/dev/ttyS0") == group
    words = words_of(Found(Device("/dev/ttyS0"), PortCondition.DENIED))
    assert "root" not in words
    assert 'KERNEL=="ttyS0", GROUP="dialout", MODE="0660"' in words

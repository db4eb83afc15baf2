"""The demo's wires against real serial ports: bytes come through, a pulled cable is felt."""

import os
import time
from pathlib import Path

import pytest
import serial

from cabapp.engine.demo_wires import QUEUE_BYTES, DemoWires, Wire
from cabapp.world.world import Chunk, PortEvent


def read_for(port: serial.Serial, want: int, seconds: float = 2.0) -> bytes:
    """Bytes from a real port until enough came or the time is up."""
    got, end = b"", time.monotonic() + seconds
    while len(got) < want and time.monotonic() < end:
        got += port.read(port.in_waiting or 1)
    return got


def test_bytes_of_a_scenario_arrive_at_a_real_serial_port(tmp_path: Path) -> None:
    chunks = [Chunk(0.1 * n, "gnss", PortEvent.BYTES, b"line %d\r\n" % n) for n in range(5)]
    wires = DemoWires(chunks, ["gnss"], tmp_path, pace=20.0)
    with serial.Serial(wires.devices["gnss"], 115200, timeout=0.05) as port:
        wires.start()
        assert read_for(port, 40) == b"".join(chunk.data for chunk in chunks)
    wires.stop()


def test_a_pulled_cable_breaks_the_reader_and_comes_back_behind_the_same_name(
    tmp_path: Path,
) -> None:
    wire = Wire(tmp_path / "node")
    first = os.readlink(wire.link)
    with serial.Serial(str(wire.link), 9600, timeout=0.1) as port:
        wire.pull()
        with pytest.raises((OSError, serial.SerialException)):
            port.read(1)
        assert not wire.link.exists()
        # The dead handle still holds its name, so the new plug must take another.
        wire.plug()
        assert os.readlink(wire.link) != first
    with serial.Serial(str(wire.link), 9600, timeout=0.1) as port:
        wire.send(b"here again\r\n")
        assert read_for(port, 12) == b"here again\r\n"
    wire.pull()


def test_a_reader_that_never_reads_costs_old_bytes_and_no_waiting(tmp_path: Path) -> None:
    wire = Wire(tmp_path / "gnss")
    for _ in range(400):
        wire.send(b"x" * 1000)
    assert wire.lost > 400_000 - 2 * QUEUE_BYTES
    wire.pull()

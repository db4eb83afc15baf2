"""What else is plugged in: a look that disturbs nobody who reads a wire, one at a time."""

import threading

from cabapp.engine.devices import Device
from cabapp.engine.ports import Claims
from cabapp.engine.spare import SpareLook
from cabapp.engine.survey import Found
from cabapp.engine.wire import Received, SpareLine, Spares, SparesWanted, decode, encode
from cabapp.events import PortCondition

TAKEN, FREE = Device("/dev/ttyUSB0"), Device("/dev/ttyUSB1", ("/dev/serial/by-id/one",))


def found_of(device: Device) -> Found:
    return Found(device, PortCondition.OK, 9600, 9.9, (("XDR", 30),))


def test_only_what_no_port_reads_is_listened_to_and_given_back_after():
    claims, told, done = Claims(), [], threading.Event()
    claims.claim(TAKEN.path, "gnss")

    def listen(clock, devices):
        assert devices == [FREE]
        assert not claims.claim(FREE.path, "node")  # no port's search meets the look
        return [found_of(device) for device in devices]

    def say(message):
        told.append(message)
        if not message.looking:
            done.set()

    SpareLook(claims, lambda: 0.0, lambda: [TAKEN, FREE], listen).look(say)
    assert done.wait(5.0)
    line = SpareLine("/dev/serial/by-id/one", PortCondition.OK, "node", ("XDR",), 9.9)
    assert told == [Spares((), looking=True), Spares((line,))]
    assert claims.claim(FREE.path, "node")


def test_a_second_wish_during_a_look_begins_no_second_look():
    hold, looks, told = threading.Event(), [], threading.Event()

    def listen(clock, devices):
        looks.append(devices)
        hold.wait(5.0)
        return []

    look = SpareLook(Claims(), lambda: 0.0, lambda: [FREE], listen)
    look.look(lambda message: None)
    look.look(lambda message: None)
    hold.set()
    while look._one.locked():
        told.wait(0.01)
    assert len(looks) == 1


def test_with_nothing_free_the_answer_is_there_at_once():
    told, done = [], threading.Event()
    look = SpareLook(Claims(), lambda: 0.0, list, lambda clock, devices: [])
    look.look(lambda message: (told.append(message), done.set()))
    assert done.wait(5.0) and told == [Spares()]


def test_wish_and_answer_pass_the_wire_whole():
    for message in (SparesWanted(), Spares((SpareLine("/dev/x", PortCondition.DENIED),), True)):
        assert decode(encode(message, 1.5)) == Received(message, 1.5)

"""One serial device: opening it for this program alone, reading it, and what its errors mean."""

import errno
import termios
import time
from typing import Any

import serial

from cabapp.events import PortCondition

READ_WAIT_S = 0.2
# Collecting a few milliseconds of bytes before handing them on costs no glance and saves a wake-up
# a byte at high speeds.
GATHER_S = 0.004
LARGEST_READ = 4096
# A cable pulled shows as any of these: SerialException and OSError (read, in_waiting),
# termios.error, which is no OSError (flush, speed), TypeError (a handle closed under a read).
LOST = (OSError, termios.error, TypeError)


def open_serial(path: str, baud: int) -> Any:
    """Open a device path or a pyserial URL for this program alone."""
    return serial.serial_for_url(path, baudrate=baud, timeout=READ_WAIT_S, exclusive=True)


def condition_of(error: BaseException) -> PortCondition:
    """What a failed opening means to the driver."""
    number = getattr(error, "errno", None)
    if number in (errno.EACCES, errno.EPERM):
        return PortCondition.DENIED
    if number in (errno.EBUSY, errno.EAGAIN, errno.EWOULDBLOCK):
        return PortCondition.IN_USE
    return PortCondition.MISSING


def read_wire(wire: Any) -> bytes:
    """What is there, or b"" after READ_WAIT_S; never readline(), which costs a call a byte."""
    first: bytes = wire.read(1)
    if not first:
        return b""
    time.sleep(GATHER_S)
    rest: bytes = wire.read(min(wire.in_waiting, LARGEST_READ))
    return first + rest

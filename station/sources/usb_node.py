"""The USB file system's node of a device (Linux): who may open it, and the keeper that gives an interface back to the
kernel's driver.

hidapi gives it back when it closes the device. A reader that is killed closes nothing: the kernel then takes the
interface from the dead process and leaves it without any driver, and the pad is no pad of the system any more. So a
reader of such an interface has a keeper: a process that does nothing but wait for the reader's end, whatever ends it,
and then asks the kernel to find a driver, which does nothing where there is one already. It holds the node of the
device that was opened, never of one that was plugged into the same socket later.
"""

from __future__ import annotations

import errno
import os
import signal
import struct
import sys
import time

if sys.platform == "linux":
    import fcntl

PATIENCE_S = 5.0
PROGRAM = "usbfs"
"""what the kernel calls the driver of an interface that a program has claimed"""
# linux/usbdevice_fs.h
_GETDRIVER = 0x41045508
"""_IOW('U', 8, struct usbdevfs_getdriver)"""
_IOCTL = 0xC0105512
"""_IOWR('U', 18, struct usbdevfs_ioctl) where a pointer has 8 bytes"""
_CONNECT = 0x5517
"""_IO('U', 23)"""


def may_open(node: str) -> bool:
    """Whether this user may read and write the node."""
    return os.access(node, os.R_OK | os.W_OK)


def keep(node: str, number: int) -> None:
    """Start the keeper of interface `number`. To be called before this process has threads, and before it claims it."""
    if sys.platform == "linux":
        try:
            handle = os.open(node, os.O_RDWR)
        except OSError:  # opening the device tells why
            return
        waits, lives = os.pipe()
        if os.fork():
            os.close(waits)
            os.close(handle)
            return  # `lives` stays open as long as this process lives
        try:
            os.close(lives)
            _step_aside()
            while os.read(waits, 1):
                pass
            give_back(handle, number)
        finally:
            os._exit(0)


def _step_aside() -> None:
    """Away from the pipes and the terminal of the reader, so that what ends that one does not end the keeper too."""
    if sys.platform == "linux":
        os.setsid()
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGHUP):
            signal.signal(number, signal.SIG_IGN)
    nowhere = os.open(os.devnull, os.O_RDWR)
    for pipe in (0, 1, 2):
        os.dup2(nowhere, pipe)


def give_back(handle: int, number: int, patience_s: float = PATIENCE_S) -> bool:
    """Have the kernel find a driver for the interface as soon as no program holds it; whether it has one then."""
    end = time.monotonic() + patience_s
    while time.monotonic() < end:
        try:
            driver = driver_of(handle, number)
            if driver and driver != PROGRAM:
                return True
            if not driver:
                _ioctl(handle, _IOCTL, struct.pack("iiP", number, _CONNECT, 0))
                return bool(driver_of(handle, number))
        except OSError as error:
            if error.errno not in (errno.EBUSY, errno.EINTR):
                return False  # unplugged
        time.sleep(0.01)
    return False


def driver_of(handle: int, number: int) -> str:
    """The driver that holds an interface of the open node; empty for none. OSError when it is unplugged."""
    try:
        answer = _ioctl(handle, _GETDRIVER, struct.pack("I256x", number))
    except OSError as error:
        if error.errno == errno.ENODATA:
            return ""
        raise
    return answer[4:].split(b"\0", 1)[0].decode("ascii", "replace")


def _ioctl(handle: int, request: int, argument: bytes) -> bytes:
    if sys.platform == "linux":
        return fcntl.ioctl(handle, request, argument)
    else:  # noqa: RET505 - the type checker follows the branches of one `if` only
        raise OSError(errno.ENOTSUP, os.strerror(errno.ENOTSUP))

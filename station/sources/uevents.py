"""Wakes on the kernel's word that a HID node or a USB interface came or went, so that a poll need not wait (Linux).

Two groups speak on the same netlink family (`NETLINK_KOBJECT_UEVENT`, linux/netlink.h): the kernel itself (1), at once,
and udev (2), when it has set a node's access rights. A message only says that it is worth looking; who can send
one is not trusted with more. Elsewhere, or where no such socket is to be had, the poll alone has to do.
"""

from __future__ import annotations

import errno
import socket
import sys
import threading
import time
from collections.abc import Callable

NETLINK_KOBJECT_UEVENT = 15
KERNEL_AND_UDEV = 1 | 2
NODES = (b"SUBSYSTEM=hidraw", b"DEVTYPE=usb_interface")
PAUSE_S = 0.02
"""a unit with several interfaces makes several messages: they are answered by one look"""


def on_change(wake: Callable[[], None]) -> bool:
    """Call `wake` from a thread whenever a HID node came or went; False where nobody tells."""
    if sys.platform == "linux":
        try:
            messages = socket.socket(socket.AF_NETLINK, socket.SOCK_DGRAM, NETLINK_KOBJECT_UEVENT)
            messages.bind((0, KERNEL_AND_UDEV))
        except OSError:
            return False
        threading.Thread(target=_listen, args=(messages, wake), name="uevents", daemon=True).start()
        return True
    else:  # noqa: RET505 - the type checker follows the branches of one `if` only
        return False


def _listen(messages: socket.socket, wake: Callable[[], None]) -> None:
    with messages:
        while (about := _received(messages)) is not None:
            if any(node in about for node in NODES):
                time.sleep(PAUSE_S)
                messages.setblocking(False)
                while _received(messages):
                    pass
                messages.setblocking(True)
                wake()


def _received(messages: socket.socket) -> bytes | None:
    """The next message; None when there is none, or never will be again. Messages that were too many to be kept
    (ENOBUFS) may have told of a node."""
    try:
        return messages.recv(8192)
    except OSError as error:
        return NODES[0] if error.errno == errno.ENOBUFS else None

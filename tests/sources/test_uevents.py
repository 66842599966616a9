"""The kernel's word that a node came wakes the watcher at once. The messages are sent as the kernel and udev send them
(NETLINK_KOBJECT_UEVENT: a header line, then KEY=value strings, each ended by a zero byte; linux/kobject.c)."""

from __future__ import annotations

import contextlib
import socket
import sys
import threading
import time
from collections.abc import Callable, Iterator

import pytest

from station.sources.devices import Appeared, DeviceWatcher
from station.sources.uevents import NETLINK_KOBJECT_UEVENT, on_change
from tests.rig import pad
from tests.rig.fakehid import Rig

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="the kernel's messages are Linux's")
NODE = b"add@/devices/virtual/misc/uhid/hidraw/hidraw9\0ACTION=add\0SUBSYSTEM=hidraw\0DEVNAME=hidraw9\0"
OTHER = b"add@/devices/virtual/tty/tty9\0ACTION=add\0SUBSYSTEM=tty\0DEVNAME=tty9\0"
UDEV = 2


@pytest.fixture
def send() -> Iterator[Callable[[bytes], None]]:
    """Send a message to those who listen to udev."""
    with contextlib.ExitStack() as stack:
        try:
            sender = stack.enter_context(socket.socket(socket.AF_NETLINK, socket.SOCK_DGRAM, NETLINK_KOBJECT_UEVENT))
            sender.bind((0, 0))
            sender.sendto(OTHER, (0, UDEV))
        except OSError as error:
            pytest.skip(f"messages of the kernel cannot be sent here ({error.strerror})")
        yield lambda message: (sender.sendto(message, (0, UDEV)), None)[1]


def test_only_nodes_wake_and_many_messages_wake_once(send: Callable[[bytes], None]) -> None:
    woken: list[float] = []
    first = threading.Event()
    assert on_change(lambda: (woken.append(time.perf_counter()), first.set())[1])
    send(OTHER)
    for _ in range(5):
        send(NODE)
    assert first.wait(2.0)
    time.sleep(0.2)
    assert len(woken) == 1


def test_a_watcher_that_polls_seldom_sees_a_pad_at_once(
    rig: Rig, send: Callable[[bytes], None], until: Callable[[Callable[[], object]], None]
) -> None:
    watcher = DeviceWatcher(interval_s=60.0)
    try:
        assert watcher.wait_first(20)
        rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
        send(NODE)
        seen: list[object] = []
        until(lambda: seen.extend(watcher.take_events()) or seen)
        assert isinstance(seen[0], Appeared)
    finally:
        watcher.close()

"""The test's side of the shim: a made-up sysfs tree, and sockets that behave like hidraw nodes.

    with Rig() as rig:
        device = rig.plug(pad.DESCRIPTOR, pad.VENDOR, pad.PRODUCT, pad.NAME, pad.SERIAL)
        subprocess.Popen([...], env=rig.env())     # hidapi in there finds and opens the device
        device.feed(report)                        # False when the reader's queue is full, as the kernel drops
        device.opens, device.written, device.features, device.refuse(errno), device.unplug()
        device.hang(), device.go_on()              # requests wait in the driver; written reports do not
        device.on_written, device.on_feature, device.on_get        # a test's own device behind the node

Linux with gcc only; `unavailable()` says in a word why not.
"""

from __future__ import annotations

import contextlib
import errno
import fcntl
import functools
import os
import shutil
import socket
import struct
import subprocess
import sys
import tempfile
import termios
import threading
import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

QUEUE = 63
"""unread reports that the kernel keeps for each opener (64 slots, one stays empty); then it drops the newest"""
USB, BLUETOOTH = 3, 5
"""bus numbers of the kernel's input layer"""
_SOURCES = [str(Path(__file__).with_name(name)) for name in ("hidshim.c", "usbshim.c")]
_NAMES = {4: "name", 5: "phys", 8: "serial"}


def unavailable() -> str:
    """Why the rig cannot run here; empty when it can."""
    if not sys.platform.startswith("linux"):
        return "the rig shows devices to Linux programs only"
    return "" if shutil.which("gcc") else "the rig needs gcc to build its shim"


@functools.cache
def shim() -> str:
    """The built shim; once for a test session, in a temporary folder."""
    folder = tempfile.mkdtemp(prefix="hidshim")
    out = f"{folder}/hidshim.so"
    command = ["gcc", "-O2", "-Wall", "-Wextra", "-Werror", "-shared", "-fPIC", "-o", out, *_SOURCES, "-ldl"]
    subprocess.run(command, check=True)
    return out


def serve(path: str, on_connect: Callable[[socket.socket], None]) -> socket.socket:
    """A socket at `path` that hands on whoever connects, until it is closed."""
    server = socket.socket(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    server.bind(path)
    server.listen(8)

    def loop() -> None:
        while True:
            try:
                connection, _ = server.accept()
            except OSError:
                return
            on_connect(connection)

    threading.Thread(target=loop, daemon=True).start()
    return server


def hang_up(server: socket.socket) -> None:
    """End `serve`: closing alone would not wake its thread."""
    with contextlib.suppress(OSError):
        server.shutdown(socket.SHUT_RDWR)
    server.close()


class Device:
    """One made-up device with one hidraw node."""

    def __init__(
        self,
        rig: Rig,
        n: int,
        descriptor: bytes,
        ids: tuple[int, int],
        name: str,
        serial: str,
        bus: int,
        interface: int,
    ) -> None:
        self.rig, self.n, self.descriptor, self.ids = rig, n, descriptor, ids
        self.name, self.serial, self.bus, self.phys = name, serial, bus, f"rig-{n}/input0"
        self.opens = 0
        self.dropped = 0
        self.written: list[bytes] = []
        self.features: dict[int, bytes] = {}
        self.set_features: list[bytes] = []
        self.on_written: Callable[[bytes], None] = self.written.append
        self.on_feature: Callable[[bytes], None] = self._keep_feature
        self.on_get: Callable[[int], bytes | None] = self.features.get
        """gives a feature report with its id in the first byte, 0 where ids are not used; None: an I/O error"""
        self._answering = threading.Event()
        self._answering.set()
        self.node = f"{rig.root}/dev/hidraw{n}"
        self._readers: list[socket.socket] = []
        self._requesters: list[socket.socket] = []
        self._lock = threading.Condition()
        self._requesters_ever = 0
        self._one_packet = 0
        self._tree(interface)
        self._servers = [serve(self.node, self._reader), serve(self.node + ".ctl", self._requester)]

    # --- what a test does --------------------------------------------------------------------------

    def feed(self, report: bytes) -> bool:
        """One input report to every opener; False when it was dropped because a queue was full."""
        kept = True
        with self._lock:
            for reader in self._readers:
                if self._queued(reader) >= QUEUE:
                    kept = False
                    self.dropped += 1
                    continue
                with contextlib.suppress(OSError):
                    reader.send(report, socket.MSG_DONTWAIT | socket.MSG_NOSIGNAL)
                    self._one_packet = self._one_packet or _packet_cost(report)
        return kept

    def feed_patiently(self, reports: Iterable[bytes], rate_hz: float = 5000.0) -> int:
        """Feed at most at this rate and wait while a queue is nearly full, so that none is dropped; the number fed."""

        def patiently() -> Iterator[bytes]:
            for report in reports:
                while self._fullest() > QUEUE - 8:
                    time.sleep(0.0002)
                yield report

        return self.feed_at(patiently(), rate_hz)

    def feed_at(self, reports: Iterable[bytes], rate_hz: float, stamps: list[int] | None = None) -> int:
        """Feed at a rate; the number fed. `stamps` gets each perf_counter_ns."""
        n = 0
        for report in paced(reports, rate_hz):
            if stamps is not None:
                stamps.append(time.perf_counter_ns())
            self.feed(report)
            n += 1
        return n

    def refuse(self, number: int) -> None:
        """Make opening fail with this errno; 0 allows it again."""
        path = Path(self.node + ".errno")
        if number:
            path.write_text(str(number))
        else:
            path.unlink(missing_ok=True)

    def hang(self) -> None:
        """Let requests of features wait from now on, as a driver that gets no answer does."""
        self._answering.clear()

    def go_on(self) -> None:
        """Answer what waits, and what comes."""
        self._answering.set()

    def battery(self, **said: object) -> str:
        """Let the kernel show a battery of this device, with these attributes; its folder in the made-up sysfs."""
        name = f"hid-rig-{self.n}-battery"
        supply = f"{self._hid}/power_supply/{name}"
        self.rig.folder(supply, "power_supply", "POWER_SUPPLY_SCOPE=Device\n", {"type": "Battery", **said})
        root = f"{self.rig.root}/sys"
        os.symlink(f"../../../{os.path.basename(self._hid)}", f"{root}{supply}/device")
        link = f"{root}/class/power_supply/{name}"
        os.symlink(os.path.relpath(root + supply, os.path.dirname(link)), link)
        self._links.append(link)
        return root + supply

    def unplug(self) -> None:
        """Take the device away."""
        self.go_on()
        for link in self._links:
            os.unlink(link)
        for server in self._servers:
            hang_up(server)
        for path in (self.node, self.node + ".ctl"):
            os.unlink(path)
        self.refuse(0)
        with self._lock:
            for one in self._readers + self._requesters:
                with contextlib.suppress(OSError):
                    one.shutdown(socket.SHUT_RDWR)
        shutil.rmtree(f"{self.rig.root}/sys{self._top}", ignore_errors=True)
        self.rig.devices.remove(self)

    def is_open(self) -> bool:
        """Whether anybody has it open now."""
        with self._lock:
            return bool(self._readers)

    # --- sysfs as the kernel lays it out -----------------------------------------------------------

    def _tree(self, interface: int) -> None:
        vendor, product = self.ids
        hid_name = f"{self.bus:04X}:{vendor:04X}:{product:04X}.{self.rig.next_id():04X}"
        parent = "/devices/virtual/misc/uhid"
        self._top = f"{parent}/{hid_name}"
        if self.bus == USB:
            usb = f"/devices/pci0000:00/0000:00:14.0/usb1/1-{self.n + 1}"
            parent = f"{usb}/1-{self.n + 1}:1.{interface}"
            self._top = usb
            ids = {"idVendor": f"{vendor:04x}", "idProduct": f"{product:04x}", "bcdDevice": "0110"}
            words = {"manufacturer": "Rig", "product": self.name, "serial": self.serial}
            self.rig.folder(usb, "usb", "DEVTYPE=usb_device\n", ids | words)
            self.rig.folder(parent, "usb", "DEVTYPE=usb_interface\n", {"bInterfaceNumber": f"{interface:02x}"})
        uevent = (
            f"DRIVER=hid-generic\nHID_ID={self.bus:04X}:{vendor:08X}:{product:08X}\nHID_NAME={self.name}\n"
            f"HID_PHYS={self.phys}\nHID_UNIQ={self.serial}\n"
        )
        self._hid = f"{parent}/{hid_name}"
        self.rig.folder(self._hid, "hid", uevent, {"report_descriptor": self.descriptor})
        raw = f"{parent}/{hid_name}/hidraw/hidraw{self.n}"
        number = f"240:{self.n}"
        self.rig.folder(raw, "hidraw", f"MAJOR=240\nMINOR={self.n}\nDEVNAME=hidraw{self.n}\n", {"dev": number})
        os.symlink(f"../../../{hid_name}", f"{self.rig.root}/sys{raw}/device")
        sys_root = self.rig.root + "/sys"
        self._links = [f"{sys_root}/class/hidraw/hidraw{self.n}", f"{sys_root}/dev/char/{number}"]
        for link in self._links:
            os.symlink(os.path.relpath(sys_root + raw, os.path.dirname(link)), link)

    # --- sockets -----------------------------------------------------------------------------------

    def _reader(self, connection: socket.socket) -> None:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 4 << 20)
        with self._lock:
            self._readers.append(connection)
            self.opens += 1
            self._lock.notify_all()
        threading.Thread(target=self._receive, args=(connection,), daemon=True).start()

    def _receive(self, connection: socket.socket) -> None:
        """What the opener writes, until it closes."""
        with connection:
            while data := _received(connection):
                self.on_written(data)
            with self._lock:
                self._readers.remove(connection)

    def _requester(self, connection: socket.socket) -> None:
        with self._lock:
            self._requesters.append(connection)
            self._requesters_ever += 1
            # An opener dials for reports first. Its requests are answered only when that call was taken, so that what
            # is fed after an open reaches it, as with the kernel.
            self._lock.wait_for(lambda: self.opens >= self._requesters_ever, timeout=10)
        threading.Thread(target=self._answer, args=(connection,), daemon=True).start()

    def _answer(self, connection: socket.socket) -> None:
        with connection:
            while data := _received(connection):
                result, out = self._request(struct.unpack("<I", data[:4])[0], data[4:])
                with contextlib.suppress(OSError):
                    connection.send(struct.pack("<i", result) + out)
            with self._lock:
                self._requesters.remove(connection)

    def _request(self, code: int, argument: bytes) -> tuple[int, bytes]:
        """The HIDIOC requests of linux/hidraw.h."""
        number, size = code & 0xFF, code >> 16 & 0x3FFF
        if number == 1:
            return 0, struct.pack("<i", len(self.descriptor))
        if number == 2:
            return 0, (struct.pack("<I", len(self.descriptor)) + self.descriptor)[:size]
        if number == 3:
            return 0, struct.pack("<IHH", self.bus, *self.ids)
        if number in _NAMES:
            text = (getattr(self, _NAMES[number]).encode() + b"\0")[:size]
            return len(text), text
        if number == 6:
            self.on_feature(argument)
            return size, b""
        if number == 7:
            self._answering.wait()
            found = self.on_get(argument[0])
            return (-errno.EIO, b"") if found is None else (len(found[:size]), found[:size])
        return -errno.EINVAL, b""

    def _keep_feature(self, report: bytes) -> None:
        self.set_features.append(report)
        self.features[report[0]] = report

    def _queued(self, reader: socket.socket) -> int:
        """Reports the opener has not read yet."""
        waiting: int = struct.unpack("i", fcntl.ioctl(reader, termios.TIOCOUTQ, b"\0" * 4))[0]
        return waiting // self._one_packet if self._one_packet else 0

    def _fullest(self) -> int:
        with self._lock:
            return max((self._queued(reader) for reader in self._readers), default=0)


class Rig:
    """A machine's HID devices, made up."""

    def __init__(self) -> None:
        self.root = tempfile.mkdtemp(prefix="hidrig")
        for folder in ("dev", "sys/class/hidraw", "sys/dev/char", "sys/bus", "sys/devices", "sys/class/usb"):
            os.makedirs(f"{self.root}/{folder}")
        self.devices: list[Device] = []
        self._ids = 0

    def __enter__(self) -> Rig:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def plug(
        self,
        descriptor: bytes,
        vendor: int,
        product: int,
        name: str,
        serial: str = "",
        *,
        bus: int = USB,
        interface: int = 0,
    ) -> Device:
        """Plug in a device; it gets the lowest free node number, as the kernel gives it."""
        used = {device.n for device in self.devices}
        n = next(i for i in range(64) if i not in used)
        device = Device(self, n, descriptor, (vendor, product), name, serial, bus, interface)
        self.devices.append(device)
        return device

    def env(self) -> dict[str, str]:
        """The environment of a program that shall see these devices."""
        return {**os.environ, **self.variables()}

    def variables(self) -> dict[str, str]:
        """What that environment adds."""
        return {"LD_PRELOAD": shim(), "HIDRIG_ROOT": self.root}

    def close(self) -> None:
        """Unplug everything and clean up."""
        for device in list(self.devices):
            device.unplug()
        shutil.rmtree(self.root, ignore_errors=True)

    def next_id(self) -> int:
        """The kernel's running number of HID devices."""
        self._ids += 1
        return self._ids

    def folder(self, path: str, subsystem: str, uevent: str, attributes: dict[str, Any]) -> None:
        """One sysfs folder with its subsystem link and attributes."""
        folder, subsystems = f"{self.root}/sys{path}", f"{self.root}/sys/class/{subsystem}"
        os.makedirs(folder, exist_ok=True)
        os.makedirs(subsystems, exist_ok=True)
        if not os.path.islink(folder + "/subsystem"):
            os.symlink(os.path.relpath(subsystems, folder), folder + "/subsystem")
        for name, value in {"uevent": uevent, **attributes}.items():
            data = value if isinstance(value, bytes) else str(value).encode() + (b"" if name == "uevent" else b"\n")
            Path(folder, name).write_bytes(data)


def paced(reports: Iterable[bytes], rate_hz: float) -> Iterator[bytes]:
    """The reports, each at its time. When this process was kept waiting it does not hurry to catch up: no device
    sends faster than its rate."""
    due = time.perf_counter()
    for report in reports:
        while (wait := due - time.perf_counter()) > 0:
            if wait > 3e-4:
                time.sleep(wait - 2e-4)
        yield report
        due = max(due + 1 / rate_hz, time.perf_counter() - 1 / rate_hz)


def _received(connection: socket.socket) -> bytes:
    try:
        return connection.recv(70_000)
    except OSError:
        return b""


def _packet_cost(report: bytes) -> int:
    """What one queued packet of this size costs in a socket's buffer."""
    a, b = socket.socketpair(socket.AF_UNIX, socket.SOCK_SEQPACKET)
    with a, b:
        a.send(report)
        cost: int = struct.unpack("i", fcntl.ioctl(a, termios.TIOCOUTQ, b"\0" * 4))[0]
    return cost

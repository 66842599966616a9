"""Made-up USB devices whose interface no HID driver presents, for programs under the shim (usbshim.c).

    with Rig() as rig:
        pad = UsbPad(rig)
        …                                 # hidapi's libusb back end in there finds, claims and reads it
        pad.feed(report)                  # False when nobody reads
        pad.driver, pad.written, pad.claims, pad.refuse(errno), pad.hold(), pad.unplug()

libusb itself runs; what is made up is the kernel below it: the node's requests and the tree in /sys.
"""

from __future__ import annotations

import contextlib
import errno
import os
import shutil
import socket
import struct
import threading
from collections.abc import Callable
from pathlib import Path

from tests.rig import claimed
from tests.rig.fakehid import Rig, hang_up, serve

KERNEL, PROGRAM = "rig-pad", "usbfs"
_GETDRIVER, _CLAIM, _RELEASE, _IOCTL = 8, 15, 16, 18
_DISCONNECT, _CONNECT = 0x5516, 0x5517


class UsbPad:
    """One device with one interface, which the kernel's driver has until somebody takes it."""

    def __init__(
        self,
        rig: Rig,
        protocol: tuple[int, int] = claimed.WIRED,
        *,
        ids: tuple[int, int] = (claimed.VENDOR, claimed.PRODUCT),
        name: str = claimed.NAME,
        serial: str = claimed.SERIAL,
        port: int = 1,
        interface_class: int = 0xFF,
    ) -> None:
        self.rig, self.ids, self.strings = rig, ids, ("Rig", name, serial)
        self.written: list[bytes] = []
        self.heard: Callable[[bytes], object] = lambda report: None
        """called with what the host sends"""
        self.stalls: Callable[[bytes], bool] = lambda report: False
        """whether it refuses what the host sends"""
        self.driver, self.claims = KERNEL, 0
        self.opens = 0
        self._lock = threading.Condition()
        self._data: dict[int, list[socket.socket]] = {}
        self._requests: dict[int, list[socket.socket]] = {}
        self._owner: socket.socket | None = None
        number = rig.next_id()
        self._dev = f"/3-{port}"
        self.key = f"3-{port}:1.0"
        self.node = f"/dev/bus/usb/003/{number:03d}"
        self._paths = [rig.root + self.node, f"{rig.root}{self.node}.ctl"]
        os.makedirs(os.path.dirname(self._paths[0]), exist_ok=True)
        self._servers = [serve(self._paths[0], self._reader), serve(self._paths[1], self._requester)]
        self._tree(number, protocol, interface_class)

    # --- what a test does --------------------------------------------------------------------------

    def feed(self, report: bytes) -> bool:
        """One input report to whoever has claimed the interface; False when nobody has."""
        with self._lock:
            owner = self._owner
        return owner is not None and self._say(owner, b"I" + report)

    def refuse(self, number: int) -> None:
        """Make opening fail with this errno; 0 allows it again."""
        path = Path(self._paths[0] + ".errno")
        if number:
            path.write_text(str(number))
        else:
            path.unlink(missing_ok=True)

    def hold(self) -> None:
        """Another program has it."""
        self._give(PROGRAM)

    def let_go(self) -> None:
        """It has it no more."""
        self._give(KERNEL)

    def unplug(self) -> None:
        """Take it away."""
        for server in self._servers:
            hang_up(server)
        self.refuse(0)
        for path in self._paths:
            os.unlink(path)
        for name in (self._dev[1:], self.key):
            os.unlink(f"{self.rig.root}/sys/bus/usb/devices/{name}")
        shutil.rmtree(f"{self.rig.root}/sys/devices{self._dev}", ignore_errors=True)
        with self._lock:
            for sockets in (*self._data.values(), *self._requests.values()):
                for one in sockets:
                    with contextlib.suppress(OSError):
                        one.shutdown(socket.SHUT_RDWR)

    # --- sysfs -------------------------------------------------------------------------------------

    def _tree(self, number: int, protocol: tuple[int, int], interface_class: int) -> None:
        root, device = self.rig.root, f"/devices{self._dev}"
        vendor, product = self.ids
        interface = struct.pack("<9B", 9, 4, 0, 0, 2, interface_class, *protocol, 0)
        ends = b"".join(struct.pack("<BBBBHB", 7, 5, address, 3, 64, 4) for address in (0x81, 0x02))
        config = struct.pack("<BBHBBBBB", 9, 2, 9 + len(interface + ends), 1, 1, 0, 0x80, 250) + interface + ends
        descriptor = struct.pack("<BBHBBBBHHHBBBB", 18, 1, 0x200, 0, 0, 0, 64, vendor, product, 0x110, 1, 2, 3, 1)
        uevent = f"DEVTYPE=usb_device\nMAJOR=189\nMINOR={number}\nDEVNAME=bus/usb/003/{number:03d}\n"
        said = {"idVendor": f"{vendor:04x}", "idProduct": f"{product:04x}", "product": self.strings[1]}
        said |= {"serial": self.strings[2], "manufacturer": "Rig", "bConfigurationValue": "1", "speed": "480"}
        said |= {"busnum": "3", "devnum": str(number)}
        self.rig.folder(device, "usb", uevent, {**said, "descriptors": descriptor + config})
        kind = {"bInterfaceClass": f"{interface_class:02x}", "bInterfaceSubClass": f"{protocol[0]:02x}"}
        kind |= {"bInterfaceProtocol": f"{protocol[1]:02x}", "bInterfaceNumber": "00"}
        self.rig.folder(f"{device}/{self.key}", "usb", "DEVTYPE=usb_interface\n", kind)
        self._give(KERNEL)
        devices = f"{root}/sys/bus/usb/devices"
        os.makedirs(devices, exist_ok=True)
        for name, path in ((self._dev[1:], device), (self.key, f"{device}/{self.key}")):
            os.symlink(os.path.relpath(f"{root}/sys{path}", devices), f"{devices}/{name}")

    def _give(self, driver: str) -> None:
        """To this driver; the kernel shows it as a link."""
        at = f"{self.rig.root}/sys/devices{self._dev}/{self.key}"
        folder = f"{self.rig.root}/sys/bus/usb/drivers/{driver}"
        self.driver = driver
        with contextlib.suppress(OSError):
            os.unlink(f"{at}/driver")
        with contextlib.suppress(OSError):  # it may be unplugged just now
            if driver and os.path.isdir(at):
                os.makedirs(folder, exist_ok=True)
                os.symlink(folder, f"{at}/driver")

    # --- sockets -----------------------------------------------------------------------------------

    def _reader(self, connection: socket.socket) -> None:
        connection.setsockopt(socket.SOL_SOCKET, socket.SO_SNDBUF, 4 << 20)
        with self._lock:
            self._data.setdefault(_process(connection), []).append(connection)
            self.opens += 1
            self._lock.notify_all()
        threading.Thread(target=self._transfers, args=(connection,), daemon=True).start()

    def _requester(self, connection: socket.socket) -> None:
        """Belongs to the handle that the same process opened with it: its first to the first, and so on."""
        process = _process(connection)
        with self._lock:
            mine = self._requests.setdefault(process, [])
            mine.append(connection)
            self._lock.wait_for(lambda: len(self._data.get(process, ())) >= len(mine), timeout=10)
            reports = self._data[process][len(mine) - 1]
        threading.Thread(target=self._answers, args=(connection, reports), daemon=True).start()

    def _transfers(self, connection: socket.socket) -> None:
        with connection:
            while packet := _received(connection):
                kind, data = packet[:1], packet[1:]
                if kind == b"O":
                    self.written.append(data)
                    refused = self.stalls(data)
                    self._say(connection, b"O" + struct.pack("<i", -errno.EPIPE if refused else 0))
                    if not refused:
                        self.heard(data)
                elif kind == b"C":
                    result, out = self._control(data)
                    self._say(connection, b"C" + struct.pack("<i", result) + out)
                else:
                    self._say(connection, b"X")
            with self._lock:
                if self._owner is connection:  # whoever closes without letting go, or is killed
                    self._owner = None
                    self._give("")

    def _answers(self, connection: socket.socket, reports: socket.socket) -> None:
        with connection:
            while data := _received(connection):
                with self._lock:
                    result, out = self._request(struct.unpack("<I", data[:4])[0] & 0xFF, data[4:], reports)
                with contextlib.suppress(OSError):
                    connection.send(struct.pack("<i", result) + out)

    def _request(self, number: int, argument: bytes, reports: socket.socket) -> tuple[int, bytes]:
        """The USBDEVFS requests of linux/usbdevice_fs.h, as the kernel answers them."""
        if number == _GETDRIVER:
            if not self.driver:
                return -errno.ENODATA, b""
            return 0, argument[:4] + self.driver.encode().ljust(256, b"\0")
        if number == _CLAIM:
            if self.driver:
                return -errno.EBUSY, b""
            self._owner, self.claims = reports, self.claims + 1
            self._give(PROGRAM)
        elif number == _RELEASE:
            if self._owner is not reports:
                return -errno.EINVAL, b""
            self._owner = None
            self._give("")
        elif number == _IOCTL:
            code = struct.unpack_from("<ii", argument)[1]
            if code == _DISCONNECT:
                if not self.driver or self.driver == PROGRAM:
                    return -errno.ENODATA, b""
                self._give("")
            elif code == _CONNECT:
                if self.driver:
                    return -errno.EBUSY, b""
                self._give(KERNEL)
        return 0, b""

    def _control(self, data: bytes) -> tuple[int, bytes]:
        """Strings (USB 2.0, 9.4.3 and 9.6.7); everything else stalls."""
        kind, request, value, _, length = struct.unpack_from("<BBHHH", data)
        if (kind, request, value >> 8) != (0x80, 6, 3):
            return -errno.EPIPE, b""
        index = value & 0xFF
        body = b"\x09\x04" if not index else self.strings[index - 1].encode("utf-16-le")
        found = bytes((len(body) + 2, 3)) + body
        return min(len(found), length), found[:length]

    @staticmethod
    def _say(connection: socket.socket, packet: bytes) -> bool:
        try:
            connection.send(packet, socket.MSG_NOSIGNAL)
        except OSError:
            return False
        return True


def _process(connection: socket.socket) -> int:
    """The process at the other end."""
    return int(struct.unpack("iII", connection.getsockopt(socket.SOL_SOCKET, socket.SO_PEERCRED, 12))[0])


def _received(connection: socket.socket) -> bytes:
    try:
        return connection.recv(70_000)
    except OSError:
        return b""
